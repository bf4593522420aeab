from __future__ import annotations

from collections import Counter
from math import dist

import pytest

from bench.core.casephotos import check_of, photos_of
from bench.core.colours import rgb_of
from bench.core.entries import KINDS, PolicySet, Remounted, UndercutRead, Unknown
from bench.core.entries.case import PhotoKept
from bench.core.policy import Policy
from bench.core.release import STATES, judge
from bench.core.remountphotos import remount_photos
from bench.core.rules.records import same_marks
from bench.core.steps import STEPS
from bench.core.summary import summarise
from bench.core.survey import Survey
from bench.core.wire import body_document
from bench.demo.fill import PHOTOS, NotEmpty, fill
from bench.pictures.looking import look
from bench.pictures.scan import read_label
from bench.pictures.seen import MarkColours
from bench.store.credentials import Credentials
from bench.store.integrity import check
from bench.store.log import Log, iso
from bench.store.open import open_store
from bench.store.photos import PhotoShelf
from bench.words import Words
from bench.words.wording import (
    Reader,
    contradiction_in_words,
    entry_in_words,
    fate_in_words,
    kennedy_in_words,
    reason_in_words,
)

NOW_MS = 1_764_063_600_000
CASES = 24
PENCILS = MarkColours(*(rgb_of(Policy().texts[one]) for one in ("mark_colour", "ring_colour")))


class Lab:
    """A filled logbook, folded once."""

    def __init__(self, folder):
        self.store = open_store(folder)
        self.filled = fill(self.store, CASES, seed=1, now_ms=NOW_MS)
        self.log = Log(self.store)
        self.lab = self.log.lab()
        self.cases = {one.story: self.log.case(one.code) for one in self.filled.cases}
        self.lines = [summarise(case, self.lab) for case in self.cases.values()]

    def entries(self):
        return [entry for case in self.cases.values() for entry in case.entries]

    def judged(self, story):
        return judge(Survey(self.cases[story], self.lab)).judged


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    lab = Lab(tmp_path_factory.mktemp("demo"))
    yield lab
    lab.store.close()


def test_every_state_is_there(demo):
    assert set(STATES) == {line.state for line in demo.lines}


def test_a_case_waits_at_every_step_of_the_survey(demo):
    waiting = {line.step for line in demo.lines if line.state in ("received", "surveying", "ready")}

    assert set(STEPS) == waiting


def test_every_class_is_there_on_both_arches(demo):
    found = {(line.arch, line.kennedy.split()[0]) for line in demo.lines}

    assert {(arch, c) for arch in ("upper", "lower") for c in ("I", "II", "III", "IV")} <= found


def test_nearly_every_kind_of_entry_is_there(demo):
    said = {entry.kind for entry in (*demo.entries(), *demo.log.lab_entries())}

    assert set(KINDS) == said & set(KINDS)


def test_people_have_roles_and_the_pins_that_were_told(demo):
    roles = Counter(person.role for person in demo.filled.people)
    credentials = Credentials(demo.store)

    assert Counter(supervisor=2, technician=4, reader=1) == roles
    assert credentials.verify(demo.filled.people[0].initials, demo.filled.people[0].pin, NOW_MS)
    assert all(credentials.has_pin(person.initials) for person in demo.filled.people)
    assert {p.initials for p in demo.filled.people} == {
        p.initials for p in demo.lab.people.values() if p.active
    }


def test_instruments_are_there_with_their_checks(demo):
    sizes = {one.size_mm for one in demo.lab.in_service("gauge")}
    newest = {one.tag: one.checks[-1] for one in demo.lab.in_service("gauge")}
    overdue_before = iso(NOW_MS - 60 * 86_400_000)

    assert {0.25, 0.5, 0.75} == sizes
    assert 2 == len(demo.lab.in_service("surveyor"))
    assert {True, False} == {one.has_scale for one in demo.lab.in_service("table")}
    assert ["G25-2"] == [tag for tag, entry in newest.items() if not entry.body.passed]
    assert ["G75-1"] == [tag for tag, entry in newest.items() if entry.at < overdue_before]


def test_the_policy_was_changed_once_again(demo):
    set_to = [
        entry.body.value
        for entry in demo.log.lab_entries()
        if isinstance(entry.body, PolicySet) and entry.body.item == "gauge_check_days"
    ]

    assert ["120", "60"] == set_to
    assert 60 == demo.lab.policy.number("gauge_check_days")


def test_a_contradiction_came_from_another_tablet(demo):
    case = demo.cases["contradiction"]

    (found,) = case.contradictions
    assert 2 == len({entry.device for entry in found.entries})
    assert 2 == len({entry.person for entry in found.entries})


def test_a_kind_this_version_does_not_know_is_kept(demo):
    unknown = [e for e in demo.cases["released"].entries if isinstance(e.body, Unknown)]

    assert ["stone_weighed"] == [entry.kind for entry in unknown]


def test_an_overruling_and_an_exemption_let_cases_go(demo):
    assert [("R4", "overruled")] == [
        (one.reason.rule, one.force) for one in demo.judged("overruled") if one.force != "warns"
    ]
    assert Survey(demo.cases["exempted"], demo.lab).exemption is not None


def test_stale_findings_were_partly_left_and_partly_confirmed(demo):
    def stale(story):
        return [one for one in demo.judged(story) if one.reason.rule == "S2"]

    kinds = Counter(entry.kind for entry in demo.cases["stale"].entries)
    assert stale("stale")
    assert kinds["confirmed"]
    assert not stale("confirmed")


def test_corrections_and_withdrawals_have_reasons(demo):
    case = demo.cases["corrected"]
    by = {entry.id: entry for entry in case.aside.values()}.values()

    assert {"undercut_read", "withdrawn"} == {entry.kind for entry in by}
    assert all(entry.reason for entry in by)


def test_disturbances_are_open_and_settled(demo):
    assert 1 == len(demo.cases["disturbed"].disturbances)
    assert () == demo.cases["fell and settled"].disturbances
    assert any(e.kind == "disturbed" for e in demo.cases["fell and settled"].entries)


def test_remounts_lie_within_and_outside_tolerance(demo):
    remounts = [e.body for e in demo.entries() if isinstance(e.body, Remounted)]
    people = {e.person for e in demo.cases["put back"].entries if isinstance(e.body, Remounted)}

    assert {True, False} == {body.passes for body in remounts}
    assert len(people) == 3


def test_worn_and_overdue_gauges_were_used(demo):
    found = {
        one.reason.problem
        for story in demo.cases
        for one in demo.judged(story)
        if one.reason.rule == "R8"
    }

    assert {"failed", "overdue"} <= found


def test_extractions_third_molars_and_a_table_without_a_scale_are_there(demo):
    codes = {
        reason.code
        for case in demo.cases.values()
        for reason in Survey(case, demo.lab).kennedy.reasons
    }
    settings = [setting for case in demo.cases.values() for setting in case.settings]

    assert {"extraction_first", "third_molar_abutment", "third_molar_ignored"} <= codes
    assert any(setting.ap_deg is None for setting in settings)


def test_case_numbers_fit_the_default_pattern(demo):
    assert [] == [
        line.number for line in demo.lines if not Policy().fits_number_pattern(line.number)
    ]


def test_everything_was_said_in_the_weeks_before_now(demo):
    times = [entry.at for entry in demo.entries()]

    assert iso(NOW_MS - 43 * 86_400_000) < min(times)
    assert iso(NOW_MS - 15 * 86_400_000) > min(times)
    assert iso(NOW_MS - 4 * 86_400_000) < max(times) < iso(NOW_MS)


def test_photos_are_small_on_the_shelf_and_show_the_label_of_their_case(demo):
    shelf = PhotoShelf(demo.store.folder / PHOTOS)
    case = demo.cases["released"]
    (said,) = case.said(PhotoKept)
    with shelf.open(said.body.sha256) as file:
        photo = file.read()

    kept = {e.body.sha256 for e in demo.entries() if isinstance(e.body, PhotoKept)}
    assert [] == list(shelf.verify(kept))
    assert kept == set(shelf.names())
    assert len(photo) < 100_000
    assert read_label(photo).code == case.code


def test_photos_measure_what_is_recorded_but_where_a_slip_was_made(demo):
    verdicts = Counter(
        check.verdict
        for case in demo.cases.values()
        for photo in photos_of(case)
        if photo.aside is None and (check := check_of(photo, case)) is not None
    )

    assert verdicts["agree"] > 3
    assert verdicts["swapped"] or verdicts["look_again"]
    assert set(verdicts) <= {"agree", "swapped", "look_again"}


def test_a_cast_put_back_is_known_for_the_same_by_its_photos(demo):
    survey = Survey(demo.cases["put back"], demo.lab)

    found = remount_photos(survey.case, same_marks(survey))
    assert found.record is not None
    assert found.later is not None
    assert found.record.sha != found.later.sha
    assert "same" == found.recognised.finding
    assert 0 < max(found.recognised.by_mm) < 0.5


@pytest.mark.parametrize("story", ["released", "put back"])
def test_label_and_marks_of_a_photo_are_found_where_they_were_confirmed(demo, story):
    case = demo.cases[story]
    photo = photos_of(case)[-1]
    with PhotoShelf(demo.store.folder / PHOTOS).open(photo.sha) as file:
        seen = look(file.read(), PENCILS, code=case.code, label_mm=20)

    assert seen.label is not None
    assert seen.label.code == case.code
    for found, there in zip(seen.label.corners_px, photo.marks.body.corners, strict=True):
        assert dist(found, there) < 1
    for mark in photo.marks.body.marks:
        assert min(dist(mark, (one.x_px, one.y_px)) for one in seen.marks) < 1.5


def test_the_logbook_is_sound(demo):
    report = check(demo.store)

    assert report.clean, report.problems
    assert (demo.filled.entries, CASES, 0) == (report.entries, report.cases, report.kept_aside)


def test_every_entry_and_every_reason_can_be_told(demo):
    reader = Reader(Words("en"), "universal", "inch")

    for case in demo.cases.values():
        survey = Survey(case, demo.lab)
        told = [entry_in_words(entry, case, reader) for entry in case.entries]
        told += [
            fate_in_words(entry, case, reader) for entry in case.entries if entry.id in case.aside
        ]
        for one in judge(survey).judged:
            said = reason_in_words(one, reader)
            assert said.remedy
            told += [said.sentence, said.remedy, said.source]
        told += kennedy_in_words(survey.kennedy, reader).reasons
        for found in case.contradictions:
            told += contradiction_in_words(found, case, reader).statements
        assert all(told)
        assert not [
            text
            for text in told
            if "{" in text or "None" in text or "_" in text.replace("stone_weighed", "")
        ]
    assert all(entry_in_words(entry, None, reader) for entry in demo.log.lab_entries())


def test_the_same_seed_fills_the_same_logbook(demo, tmp_path):
    def told(log, filled):
        return {
            (entry.id, entry.kind, entry.at, str(body_document(entry.body)))
            for one in filled.cases
            for entry in log.entries_of(one.code)
        }

    few = [open_store(tmp_path / str(n)) for n in (1, 2)]
    filled = [fill(store, 3, seed=7, now_ms=NOW_MS) for store in few]

    assert filled[0] == filled[1]
    assert told(Log(few[0]), filled[0]) == told(Log(few[1]), filled[1])
    assert filled[0].cases != demo.filled.cases[:3]
    for store in few:
        store.close()


def test_a_logbook_with_entries_is_left_alone(demo):
    with pytest.raises(NotEmpty, match="empty folder"):
        fill(demo.store, 1, seed=2, now_ms=NOW_MS)


def test_a_large_lab_shares_its_photos(tmp_path):
    store = open_store(tmp_path)

    filled = fill(store, 70, seed=3, now_ms=NOW_MS)

    assert 70 == len(filled.cases)
    assert filled.photos <= 36
    assert check(store).clean
    store.close()


def test_a_reading_says_the_gauge_it_was_made_with(demo):
    readings = [e.body for e in demo.entries() if isinstance(e.body, UndercutRead)]

    assert all(body.gauge in demo.lab.instruments for body in readings)
