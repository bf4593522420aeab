from __future__ import annotations

import pytest
from zeroconf import IPVersion, Zeroconf

from bench.lan import announce

NAMES = ("tiltbook-test-of-announcing.local", "127.0.0.1")


def heard():
    """Ask, as another machine would, for the service of the bench."""
    asking = Zeroconf(interfaces=["127.0.0.1"], ip_version=IPVersion.V4Only)
    try:
        name = f"tiltbook-test-of-announcing.{announce.SERVICE}"
        return asking.get_service_info(announce.SERVICE, name, 3000)
    finally:
        asking.close()


def test_the_name_is_heard_with_address_and_port_while_the_bench_serves():
    with announce.announced(NAMES, 8480) as done:
        found = heard()

    assert done
    assert (found.server, found.port) == ("tiltbook-test-of-announcing.local.", 8480)
    assert found.parsed_addresses() == ["127.0.0.1"]


@pytest.mark.parametrize("names", [("pc.local",), ("pc.local", "fd00::7")])
def test_without_an_address_there_is_nothing_to_announce(names):
    with announce.announced(names, 8480) as done:
        assert not done


def test_without_the_library_the_bench_serves_all_the_same(monkeypatch):
    monkeypatch.setattr(announce, "find_spec", lambda _: None)

    with announce.announced(NAMES, 8480) as done:
        assert not done
