from __future__ import annotations

from bench.sheets import ink


def test_letters_the_standard_fonts_lack_are_told_plainly():
    assert ink.latin("Äquatorlinie, Łódź ①") == "Äquatorlinie, ?ódz 1"


def test_a_minus_sign_is_drawn_as_a_dash_of_its_length():
    assert ink.latin("\u22120.24°") == "\u20130.24°"


def test_a_word_drawn_whole_bears_no_soft_hyphen():
    assert ink.latin("Klammer\u00addraht") == "Klammerdraht"
    assert ink.latin("Klammer\u00addraht", parted=True) == "Klammer\u00addraht"


def test_a_paragraph_parts_a_word_at_its_soft_hyphen():
    narrow = ink.words("Dreipunkt\u00admarkierung", ink.style(10))

    narrow.wrap(60, 1000)

    lines = [
        "".join(getattr(part, "text", part) for part in line[1]) for line in narrow.blPara.lines
    ]
    assert lines == ["Dreipunkt-", "markierung"]
