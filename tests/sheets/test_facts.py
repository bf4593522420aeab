from __future__ import annotations

from bench.core.entries import (
    Exempted,
    GuidePlaneRead,
    Overruled,
    PhotoMarksConfirmed,
    SettingTaken,
    TripodMarked,
)
from bench.core.ids import shown_code
from bench.core.tripod import triangle_from
from bench.words import Words
from bench.words.reader import Reader
from tests.sheets.story import CODE, Story, facts, fullest, released, seen, surveyed


def texts(block):
    rows = [" | ".join(row.cells) for row in block.table.rows] if block.table else []
    return [
        *(f"{label}: {text}" for label, text in block.pairs),
        *rows,
        *(n.text for n in block.notes),
    ]


def part(found, key):
    every = (found.setting, found.tripod, *found.right, *found.middle, *found.below)
    return next(block for block in every if block.key == key)


def test_a_released_case_says_by_whom_and_when():
    found = facts(released())

    assert found.released
    assert found.status.startswith("Released to design 2026-03-09 08:")
    assert found.status.endswith("by TEC.")


def test_a_case_that_was_never_released_says_so_first():
    found = facts(surveyed())

    assert not found.released
    assert found.status.startswith("NOT RELEASED:")


def test_a_release_that_was_overtaken_is_no_release():
    story = released()
    story.say(SettingTaken(6.0, 1.5, "T1", 0.5))

    found = facts(story)

    assert "recalled" == found.state
    assert found.status.startswith("NOT RELEASED:")


def test_what_is_to_be_taken_off_is_asked_for_by_tooth_and_surface():
    found = facts(surveyed())

    assert [
        "45 D (second premolar): take off 0.30\u00a0mm; the plane may run 2.50\u00a0mm."
    ] == texts(part(found, "changes"))


def test_no_tooth_change_is_said_in_words():
    found = facts(Story())

    assert ["None is asked for."] == texts(part(found, "changes"))


def test_a_new_setting_marks_every_finding_stale_with_the_setting_it_was_read_at():
    story = surveyed()
    story.say(SettingTaken(6.0, 1.5, "T1", 0.5))

    found = facts(story)

    assert all(row.cells[-1] == "STALE: setting 1" for row in part(found, "planes").table.rows)
    assert all(row.force == "stale" for row in part(found, "tips").table.rows)
    assert part(found, "tripod").notes[0].text == "STALE: read at setting 1"
    assert "STALE: read at setting 1" in part(found, "changes").notes[0].text


def test_what_is_missing_is_named_and_never_left_blank():
    story = Story()

    found = facts(story)

    assert "NOT RECORDED" in dict(found.about)["Prescription"]
    assert "NOT RECORDED" in texts(part(found, "tripod"))[0]
    assert "NOT RECORDED" in texts(part(found, "interferences"))[0]
    assert "stopped" == part(found, "setting").notes[0].force


def test_a_plane_that_was_not_read_has_a_line_of_its_own():
    story = Story()
    for entry in surveyed().entries[1:9]:
        story.say(entry.body)

    found = facts(story)

    rows = {row.cells[0]: row for row in part(found, "planes").table.rows}
    assert {"47 M", "45 D", "35 D", "37 M"} == set(rows)
    assert "NOT RECORDED" == rows["45 D"].cells[-1]


def test_each_tip_names_gauge_depth_material_arm_and_reciprocation():
    found = facts(surveyed())

    first = part(found, "tips").table.rows[0].cells
    assert ("45 MB", "0.25\u00a0mm", "1.40\u00a0mm", "Co-Cr, 16.00\u00a0mm", "arm") == first[:5]


def test_balanced_retention_is_said_with_the_sides_that_hold():
    notes = part(facts(surveyed()), "retention").notes

    assert notes[0].text.startswith("Balanced")
    assert "done" == notes[0].force


def test_the_tripod_says_its_distances_and_how_finely_it_holds_the_tilt():
    told = texts(part(facts(surveyed()), "tripod"))

    assert "Distances: A–B 40.00\u00a0mm, A–C 41.00\u00a0mm, B–C 39.00\u00a0mm" in told  # noqa: RUF001
    assert any(line.startswith("Holds the tilt: to 0.4") for line in told)


def test_the_sheet_says_what_the_photo_of_the_marks_says_of_the_caliper():
    story = surveyed()
    (marked,) = (e for e in story.entries if isinstance(e.body, TripodMarked))
    square = (100.0, 100.0, 300.0, 100.0, 300.0, 300.0, 100.0, 300.0)
    as_recorded, narrower = (
        tuple(
            f
            for x, y in triangle_from(ab, 41.0, 39.0).marks_mm
            for f in (400 + 10 * x, 450 - 10 * y)
        )
        for ab in (40.0, 37.0)
    )
    told = []
    for marks in (None, as_recorded, narrower):
        if marks:
            story.say(PhotoMarksConfirmed("a" * 64, marked.id, 20.0, square, marks, ("moved",) * 3))
        told.append([n.text for n in part(facts(story), "tripod").notes if "Photo of" in n.text])

    assert told[0] == []
    assert "bears the caliper out" in told[1][0]
    assert "AB differs by 3.0" in told[2][0]


def test_an_overruling_and_an_exemption_stand_on_the_sheet_with_their_reasons():
    story = surveyed()
    story.entries = [e for e in story.entries if e.kind != "photo_kept"]
    (blocking,) = seen(story)[1].blocking
    story.say(Overruled("R5", (blocking.reason.key,)), person="SUP", reason="Camera broken today")
    story.say(Exempted(("45D", "35D")), person="SUP", reason="Planes control the path")

    found = facts(story)

    assert any(
        "SUP" in text and "Camera broken today" in text for text in texts(part(found, "against"))
    )
    assert any("Planes control the path" in text for text in texts(part(found, "retention")))


def test_like_reasons_are_told_together():
    found = facts(fullest())

    against = texts(part(found, "against"))
    assert len(against) < 45
    assert any("like reasons" in text for text in against)


def test_the_reader_sees_universal_numbers_and_inches():
    found = facts(surveyed(), Reader(Words("en"), "universal", "inch"))

    assert part(found, "tips").table.rows[0].cells[:2] == ("29 MB", "0.010\u00a0in")


def test_a_cast_not_known_to_be_disinfected_brings_its_caution():
    known, unknown = facts(surveyed()), facts(Story())

    assert len(known.cautions) + 1 == len(unknown.cautions)


def test_the_square_holds_the_address_of_the_case():
    found = facts(surveyed())

    assert f"HTTPS://BENCH-PC.EXAMPLE:8480/C/{CODE}" == found.address
    assert shown_code(CODE) == found.shown_code


def test_a_guide_plane_read_again_counts_once():
    story = surveyed()
    first = next(
        e for e in story.entries if isinstance(e.body, GuidePlaneRead) and e.body.tooth == 45
    )
    story.say(
        GuidePlaneRead(45, "D", "none"), supersedes=(first.id,), reason="Ground and read again"
    )

    found = facts(story)

    assert ["None is asked for."] == texts(part(found, "changes"))
