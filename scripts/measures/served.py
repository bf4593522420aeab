"""A bench with an invented lab, served on loopback by a process of its own, and a client for it."""

from __future__ import annotations

import http.client
import re
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from urllib.parse import urlencode

from bench.core.case import Case
from bench.core.lab import Lab
from bench.core.survey import Survey
from bench.store.log import Log
from bench.store.open import Store, open_store

START_S = 60
AS_BROWSERS = {"Accept-Encoding": "gzip"}
# sqlite-utils imports pandas where it is installed: here, for the tests, and on no bench PC.
AS_INSTALLED = "import runpy, sys; sys.modules['pandas'] = None; runpy.run_module('bench', run_name='__main__')"


@dataclass
class Bench:
    """A filled data folder; the server starts at the first question and is asked by http.client."""

    folder: Path
    cases: int
    photos: int = 3
    cookies: dict[str, str] = field(default_factory=dict)
    process: subprocess.Popen[bytes] | None = None

    @cached_property
    def store(self) -> Store:
        """The filled store, opened in this process."""
        command = [sys.executable, "-m", "bench", "demo", "--data", str(self.folder)]
        done = subprocess.run(
            [*command, "--cases", str(self.cases)], capture_output=True, text=True
        )
        if done.returncode:
            raise SystemExit(f"the invented lab could not be made: {done.stderr}")
        self.said = done.stdout
        return open_store(self.folder)

    @cached_property
    def log(self) -> Log:
        """The log of the filled store."""
        return Log(self.store)

    @cached_property
    def codes(self) -> list[str]:
        """The codes of the cases, in order."""
        found = self.store.db.conn.execute("SELECT code FROM case_summaries ORDER BY code")
        return [code for (code,) in found]

    def survey(self, code: str) -> Survey:
        """Return a case with its laboratory, read afresh."""
        case: Case = self.log.case(code)
        lab: Lab = self.log.lab()
        return Survey(case, lab)

    @cached_property
    def port(self) -> int:
        """The port on which the server answers; starting it on first use."""
        _ = self.store
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port: int = probe.getsockname()[1]
        command = [sys.executable, "-c", AS_INSTALLED, "serve", "--data", str(self.folder)]
        self.process = subprocess.Popen([*command, "--port", str(port)], stdout=subprocess.DEVNULL)
        _await(port)
        return port

    @cached_property
    def line(self) -> http.client.HTTPConnection:
        """One kept connection, as a browser keeps it."""
        return http.client.HTTPConnection("127.0.0.1", self.port)

    def ask(
        self, path: str, form: dict[str, str] | None = None, **headers: str
    ) -> tuple[int, bytes, dict[str, str]]:
        """Return status, body and headers of a GET, or of a POST with a form."""
        sent = {"Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items()), **headers}
        if form is None:
            self.line.request("GET", path, headers=sent)
        else:
            sent["Content-Type"] = "application/x-www-form-urlencoded"
            sent["Origin"] = f"http://127.0.0.1:{self.port}"
            self.line.request("POST", path, body=urlencode(form), headers=sent)
        answer = self.line.getresponse()
        body = answer.read()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.split(";")[0]
        return answer.status, body, {k.lower(): v for k, v in answer.getheaders()}

    def sign_in(self, role: str = "technician") -> None:
        """Sit down at the bench as one of the invented people of a role."""
        _ = self.store
        initials, pin = somebody(self.said, role)
        form = hidden_fields(self.ask(f"/who?initials={initials}")[1].decode())
        status, body, _headers = self.ask("/who", {**form, "initials": initials, "pin": pin})
        if status not in (302, 303):
            raise SystemExit(f"signing in as {initials} was answered {status}: {body[:300]!r}")

    def stop(self) -> None:
        """Stop the server and let go of the store."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(timeout=20)
        if "store" in self.__dict__:
            self.store.close()


def hidden_fields(page: str) -> dict[str, str]:
    """Return the hidden fields of a page by name; of like-named ones the last."""
    found: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*type=\"hidden\"[^>]*>", page):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name:
            found[name[1]] = value[1] if value else ""
    return found


def somebody(said: str, role: str) -> tuple[str, str]:
    for line in said.splitlines():
        found = re.search(r"\b([A-Z]{2,4}[0-9]?)\b.*" + role + r".*?\b(\d{4,8})\b", line)
        if found:
            return found[1], found[2]
    raise SystemExit(f"the demo command names no {role} with a PIN")


def _await(port: int) -> None:
    until = time.monotonic() + START_S
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.05)
    raise SystemExit("the server did not start")
