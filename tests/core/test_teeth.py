"""Teeth and sites: what is refused tells what, why and what to do."""

from __future__ import annotations

import pytest

from bench.core.arch import WrongArch, require_on_arch
from bench.core.surfaces import NoSuchSite, Site, site_from
from bench.core.teeth import NoSuchTooth, from_universal, mirrored, require_tooth, to_universal

# ISO 3950 against Universal numbers: corners of both systems (common practice, no source).
UNIVERSAL = ((18, 1), (11, 8), (21, 9), (28, 16), (38, 17), (31, 24), (41, 25), (48, 32))


@pytest.mark.parametrize(("tooth", "number"), UNIVERSAL)
def test_both_numberings_name_the_same_teeth(tooth: int, number: int) -> None:
    assert number == to_universal(tooth)
    assert tooth == from_universal(number)


@pytest.mark.parametrize("number", [0, 10, 19, 29, 49, 55, 111])
def test_a_number_that_names_no_tooth_is_refused(number: int) -> None:
    with pytest.raises(NoSuchTooth) as caught:
        require_tooth(number)

    assert (caught.value.code, caught.value.params) == ("no_such_tooth", {"tooth": number})
    assert str(caught.value).startswith(f"{number} is no permanent tooth.")


@pytest.mark.parametrize("number", [0, 33])
def test_a_number_outside_the_universal_ones_is_refused(number: int) -> None:
    with pytest.raises(NoSuchTooth, match=f"{number} is no permanent tooth"):
        from_universal(number)


def test_a_tooth_of_the_other_arch_is_a_tooth_that_is_not_there() -> None:
    with pytest.raises(NoSuchTooth) as caught:
        require_on_arch("lower", 16)

    assert isinstance(caught.value, WrongArch)
    assert caught.value.code == "tooth_not_on_arch"


@pytest.mark.parametrize("text", ["", "34", "34X", "B34", "34mb", "{0}B", "\uff13\uff14B"])
def test_text_that_is_no_site_is_refused(text: str) -> None:
    with pytest.raises(NoSuchSite) as caught:
        site_from(text)

    assert (caught.value.code, caught.value.params) == ("no_such_site", {"site": text})


def test_a_site_of_no_tooth_names_the_tooth() -> None:
    with pytest.raises(NoSuchTooth):
        site_from("49B")


def test_a_site_is_written_and_read_back() -> None:
    assert Site(34, "MB") == site_from("34MB")
    assert Site(34, "MB").text == "34MB"


@pytest.mark.parametrize("tooth", [18, 21, 34, 47])
def test_the_mirror_of_a_mirror_is_the_tooth(tooth: int) -> None:
    assert mirrored(tooth) != tooth
    assert tooth == mirrored(mirrored(tooth))
