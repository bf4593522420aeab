from __future__ import annotations

import pytest

from bench.lan import names


@pytest.mark.parametrize(
    ("said", "label"),
    [("BENCH-PC", "bench-pc"), ("bench.lab.example", "bench"), ("Müller PC", "m-ller-pc"), ("", "bench"),
     ("---", "bench"), ("x" * 80, "x" * 50)],
)  # fmt: skip
def test_any_name_of_a_pc_becomes_one_label(said, label):
    assert names.host_name(said) == label


def test_the_name_announced_by_the_bench_itself_comes_first():
    assert names.domain_names("pc") == ("tiltbook-pc.local", "pc.local", "pc")


# RFC 1918 and RFC 4193: private addresses. RFC 5737 documentation addresses are no lab's.
@pytest.mark.parametrize(
    ("address", "private"),
    [("192.168.1.7", True), ("10.0.0.2", True), ("fd00::7", True), ("127.0.0.1", False), ("8.8.8.8", False),
     ("0.0.0.0", False), ("192.0.2.2", False), ("bench.local", False)],
)  # fmt: skip
def test_only_addresses_of_private_networks_are_the_labs(address, private):
    assert names.is_private(address) == private


def test_names_and_addresses_are_told_apart():
    assert names.split(["pc.local", "10.0.0.2", "fd00::7"]) == (
        ["pc.local"],
        ["10.0.0.2", "fd00::7"],
    )


def test_what_is_found_now_are_names_and_private_addresses():
    domains, numbers = names.split(names.names_now())

    assert domains[0].startswith("tiltbook-")
    assert all(names.is_private(one) for one in numbers)
