"""The program as it is started: `tiltbook serve --lan` in a process of its own."""

from __future__ import annotations

import json
import signal
import ssl
import subprocess
import sys
import time
import urllib.request
from contextlib import closing
from http.client import HTTPSConnection
from pathlib import Path

from tests.lan.served import free_ports

ROOT = Path(__file__).resolve().parents[2]


def trust_page(port):
    until = time.monotonic() + 40
    while time.monotonic() < until:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=2) as answer:
                return answer.read().decode()
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the page of trust did not come up")


def health(port, authority):
    context = ssl.create_default_context(cafile=authority)
    with closing(HTTPSConnection("localhost", port, timeout=10, context=context)) as line:
        line.request("GET", "/health")
        return json.loads(line.getresponse().read())


def test_the_program_answers_the_network_and_ends_when_asked(tmp_path):
    port = free_ports()
    command = [
        sys.executable,
        "-m",
        "bench",
        "serve",
        "--lan",
        "--data",
        tmp_path / "d",
        "--port",
        port,
    ]
    process = subprocess.Popen(
        [str(part) for part in command],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    try:
        page = trust_page(port + 1)
        said = health(port, tmp_path / "d" / "certificates" / "authority.pem")
    finally:
        process.send_signal(signal.SIGTERM)
        told, _ = process.communicate(timeout=40)

    assert "Trust this bench" in page
    assert said["status"] == "ok"
    assert process.returncode == 0
    assert f":{port}" in told
    assert "Stopped." in told
