"""Colours as text, and how far apart they look, against OpenCV."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.colours import Rgb, apart, lab_of, rgb_of, written

parts = st.integers(0, 255)
colours = st.tuples(parts, parts, parts)


@given(colours)
def test_a_colour_reads_back_as_it_is_written(rgb: Rgb) -> None:
    assert rgb_of(written(rgb)) == rgb
    assert rgb_of(written(rgb).upper()) == rgb


@pytest.mark.parametrize("text", ["", "red", "#12345", "#1234567", "#12345g", "123456", "#١٢٣٤٥٦"])
def test_what_is_no_colour_is_refused(text: str) -> None:
    with pytest.raises(BadEntry) as caught:
        rgb_of(text)

    assert (caught.value.field, caught.value.code) == ("value", "bad_colour")


@given(colours)
def test_lightness_and_opponents_are_those_of_opencv(rgb: Rgb) -> None:
    pixel = np.array([[rgb]], np.float32) / 255

    theirs = cv2.cvtColor(pixel, cv2.COLOR_RGB2Lab)[0, 0]

    # OpenCV works with tables of its own, which are off by some tenths for dark colours.
    assert np.allclose(theirs, lab_of(rgb), atol=0.6)


@given(colours, colours)
def test_two_colours_are_as_far_apart_either_way(one: Rgb, other: Rgb) -> None:
    assert apart(one, other) == apart(other, one)
    assert apart(one, one) == 0
