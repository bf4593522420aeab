from __future__ import annotations

import pytest

from bench.core.ids import BadCode, code_from_typed
from bench.pictures.ingest import PictureRefused, take_in
from bench.pictures.label import BadLabel, LabelFacts, label_image, label_sheet_images
from bench.words import Words
from tests.pictures import files

say = Words("en").say


def told(room: str, refusal: BadCode | BadLabel | PictureRefused) -> list[str]:
    parts = ("what", "why", "do")
    return [say(f"{room}.{refusal.code}.{part}", **refusal.params) for part in parts]


@pytest.mark.parametrize("typed", ["K7Q2-M4X0", "K7Q2", "K7Q2M4X2", "{0}"])
def test_what_is_wrong_with_a_typed_code_can_be_told(typed):
    with pytest.raises(BadCode) as caught:
        code_from_typed(typed)

    assert all(told("labels.typed", caught.value))


@pytest.mark.parametrize(
    ("base_url", "options"),
    [
        ("bench", {}),
        ("http://" + "a" * 90, {}),
        ("http://a", {"code_mm": 21}),
        ("http://a", {"dpi": 10}),
    ],
)
def test_what_is_wrong_with_a_label_can_be_told(base_url, options):
    facts = LabelFacts("22222222", "2417", "upper", base_url)

    with pytest.raises(BadLabel) as caught:
        label_image(facts, say, **options)

    assert all(told("labels.refused", caught.value))


@pytest.mark.parametrize(("count", "options"), [(0, {}), (501, {}), (1, {"paper": "A0"})])
def test_what_is_wrong_with_a_sheet_can_be_told(count, options):
    labels = [LabelFacts("22222222", "2417", "upper", "http://a")] * count

    with pytest.raises(BadLabel) as caught:
        label_sheet_images(labels, say, **options)

    assert all(told("labels.refused", caught.value))


@pytest.mark.parametrize(
    ("data", "declared"),
    [
        (b"", ""),
        (bytes(30_000_001), ""),
        (b"\0\0\0\x18ftypheic", ""),
        (b"GIF89a", ""),
        (files.saved(files.four_corners()), "cast.png"),
        (files.png_of_size(60_000, 60_000), ""),
        (files.png_of_size(60, 60), ""),
    ],
    ids=["empty", "heavy", "heic", "kind", "mismatched", "pixels", "damaged"],
)
def test_why_a_picture_is_refused_can_be_told(data, declared):
    with pytest.raises(PictureRefused) as caught:
        take_in(data, declared)

    assert all(told("pictures.refused", caught.value))
