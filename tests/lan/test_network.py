from __future__ import annotations

import socket
import ssl
import threading
import time
import urllib.request
from contextlib import closing, suppress

import pytest
from cryptography import x509

from bench.lan import network
from bench.lan.authority import Authority
from bench.lan.trustpage import FILE, KINDS
from bench.words import Words
from tests.lan.served import NAMES, served


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    with served(tmp_path_factory.mktemp("lan")) as held:
        yield held


def ask(bench, path="/health", **headers):
    with closing(bench.connection()) as line:
        line.request("GET", path, headers=headers)
        answer = line.getresponse()
        return answer.status, answer.headers, answer.read()


def test_a_tablet_that_trusts_the_authority_reaches_the_bench(bench):
    status, _, body = ask(bench)

    assert (status, b'"ok"' in body) == (200, True)


def test_a_tablet_that_does_not_trust_it_is_warned(bench):
    with pytest.raises(ssl.SSLCertVerificationError):
        socket_to(bench, ssl.create_default_context())


def socket_to(bench, context):
    with closing(socket.create_connection(("localhost", bench.settings.port), 5)) as plain:
        return context.wrap_socket(plain, server_hostname="localhost").close()


def test_the_cookie_is_for_tls_alone(bench):
    _, headers, _ = ask(bench, "/start")

    assert "Secure" in headers["Set-Cookie"]


@pytest.mark.parametrize("host", NAMES)
def test_the_names_of_the_network_are_ours(bench, host):
    assert ask(bench, "/start", Host=f"{host}:{bench.settings.port}")[0] == 200


@pytest.mark.parametrize("host", ["evil.example", "elsewhere.local", "192.168.77.77"])
def test_a_name_that_is_not_ours_is_refused_on_the_network_too(bench, host):
    assert ask(bench, "/start", Host=host)[0] == 400


def test_clients_that_stall_in_the_handshake_hold_up_nobody(bench):
    """Forty clients connect and say nothing, or stop in the middle of their first message."""
    with_stalls = [
        socket.create_connection(("localhost", bench.settings.port), 5) for _ in range(40)
    ]
    for stalled in with_stalls[20:]:
        stalled.sendall(b"\x16\x03\x01\x02\x00\x01")
    try:
        waited_s = []
        for _ in range(5):
            begun = time.monotonic()
            assert ask(bench)[0] == 200
            waited_s.append(time.monotonic() - begun)
    finally:
        for stalled in with_stalls:
            stalled.close()

    assert max(waited_s) < 3


def test_plain_http_to_the_tls_port_harms_nobody(bench):
    with closing(socket.create_connection(("localhost", bench.settings.port), 5)) as plain:
        plain.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
        with suppress(OSError):
            plain.recv(100)

    assert ask(bench)[0] == 200


def test_a_certificate_renewed_while_serving_is_the_one_served_next(bench):
    before = bench.network.certificates.leaf
    names = (*NAMES, "192.168.1.44")

    network.look_again(bench.app, Authority(bench.settings.data), bench.network, names)

    served_now = x509.load_pem_x509_certificate(
        ssl.get_server_certificate(("localhost", bench.settings.port)).encode()
    )
    assert served_now == bench.network.certificates.leaf != before
    assert ask(bench, "/start", Host="192.168.1.44")[0] == 200


def plain(bench, path=""):
    address = f"http://localhost:{bench.settings.trust_port}/{path}"
    with urllib.request.urlopen(address, timeout=5) as answer:
        return answer.headers, answer.read()


def test_the_page_of_trust_hands_out_the_authority_and_the_steps(bench):
    _, page = plain(bench)
    headers, der = plain(bench, FILE)

    text = page.decode()
    assert x509.load_der_x509_certificate(der) == bench.network.certificates.authority
    assert headers["Content-Type"] == "application/x-x509-ca-cert"
    assert bench.network.certificates.fingerprint in text
    assert text.count("<svg") == 2
    assert all(Words("en").say(f"trust.{kind}.title") in text for kind in KINDS)
    assert "style=" not in text
    assert "<script" not in text


def test_the_page_of_trust_knows_nothing_else(bench):
    _, page = plain(bench, "case/22222222")
    refused = urllib.request.Request(
        f"http://localhost:{bench.settings.trust_port}/", b"x", method="POST"
    )

    assert b"<h1>" in page
    with pytest.raises(urllib.error.HTTPError) as wrong:
        urllib.request.urlopen(refused, timeout=5)
    assert wrong.value.code == 405
    wrong.value.close()


def test_many_tablets_at_once_are_all_answered(bench):
    seen = []

    def look():
        seen.append(ask(bench)[0])

    threads = [threading.Thread(target=look) for _ in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)

    assert seen == [200] * 24
