"""The mirror image of a case mirrors everything found against it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.claims import teeth_named_by
from bench.core.entries import Body, CaseOpened, Entry, SettingTaken, TeethRecorded, Withdrawn
from bench.core.rules.reason import Reason
from bench.core.surfaces import SURFACES
from bench.core.teeth import is_tooth, mirrored
from tests.core.bench_story import PLANS, Story, a_ready_cast, a_tip, an_undercut

Comparable = tuple[str, ...]
OTHER = {"right": "left", "left": "right", "right_mm": "left_mm", "left_mm": "right_mm"}
NAMING_TEETH = ("tooth", "sites", "missing", "replaced", "extractions")


def mirror(value: object) -> object:
    """Turn teeth and sites, alone, in text with bars between, or in tuples; leave all else."""
    if isinstance(value, tuple):
        return tuple(mirror(one) for one in value)
    if isinstance(value, int) and is_tooth(value):
        return mirrored(value)
    if isinstance(value, str):
        return "|".join(mirror_text(part) for part in value.split("|"))
    return value


def mirror_text(text: str) -> str:
    if text[:2].isdigit() and text[2:] in ("", *SURFACES):
        return f"{mirrored(int(text[:2]))}{text[2:]}"
    return text


def mirror_entry(entry: Entry) -> Entry:
    """The same statement about the other side of the mouth."""
    body = entry.body
    if isinstance(body, SettingTaken) and body.lat_deg is not None:
        return replace(entry, body=replace(body, lat_deg=-body.lat_deg))
    turned = {name: mirror(getattr(body, name)) for name in NAMING_TEETH if hasattr(body, name)}
    return replace(entry, body=replace(body, **turned)) if turned else entry  # type: ignore[type-var]


def mirror_reason(reason: Reason) -> Reason:
    params = {OTHER.get(name, name): mirror(value) for name, value in reason.params.items()}
    if "side" in params:
        params["side"] = OTHER[str(params["side"])]
    stem, _, side = reason.problem.rpartition("_")
    problem = f"{stem}_{OTHER[side]}" if side in OTHER else reason.problem
    return replace(reason, problem=problem, subject=mirror_subject(reason), params=params)  # type: ignore[arg-type]


def mirror_subject(reason: Reason) -> str:
    """What a reason is about; balance is about the letters of the right, then those of the left."""
    if reason.rule in ("B1", "B5"):
        return "|".join(reversed(reason.subject.split("|")))
    return str(mirror(reason.subject))


def comparable(reason: Reason) -> Comparable:
    """A reason without the order in which it names sites and entries."""
    return (
        reason.key, reason.step, repr(in_any_order(reason.params)), *sorted(reason.entries)
    )  # fmt: skip


def in_any_order(params: Mapping[str, object]) -> list[tuple[str, object]]:
    return sorted(
        (name, sorted(value) if isinstance(value, tuple) else value)
        for name, value in params.items()
    )


changes: st.SearchStrategy[Body] = st.one_of(
    st.builds(
        an_undercut,
        st.sampled_from((45, 44, 34, 35)),
        st.sampled_from(("MB", "L")),
        gauge_mm=st.sampled_from((0.25, 0.5)),
        contact=st.sampled_from(("both", "none")),
    ),
    st.builds(
        a_tip,
        st.sampled_from((45, 44, 34, 35)),
        st.sampled_from(("MB", "L")),
        material=st.sampled_from(("co_cr", "wrought_wire")),
        reciprocation=st.sampled_from(("arm", "none")),
    ),
    st.builds(SettingTaken, st.just(4.0), st.sampled_from((-11.0, 2.0)), st.just("T1"), st.just(1)),
)


@settings(max_examples=80, deadline=None)
@given(
    st.sampled_from(sorted(PLANS)),
    st.lists(changes, max_size=4),
    st.lists(st.integers(1, 24), max_size=4, unique=True),
)
def test_the_mirror_image_of_a_case_mirrors_every_reason(
    kennedy: str, bodies: list[Body], taken_back: list[int]
) -> None:
    story = a_ready_cast(kennedy)
    for body in bodies:
        if all(tooth in story.case.present for _, tooth in teeth_named_by(body)):
            story.hear(body)
    for number in taken_back:
        story.hear(Withdrawn(story.entries[number].id), reason="a reason")

    image = Story(map(mirror_entry, story.entries), story.lab_entries)

    here = sorted(comparable(mirror_reason(one.reason)) for one in story.verdict.judged)
    there = sorted(comparable(one.reason) for one in image.verdict.judged)
    assert here == there
    assert story.survey.kennedy.kennedy_class == image.survey.kennedy.kennedy_class


def test_the_mirror_turns_each_statement_and_turns_it_back() -> None:
    story = a_ready_cast("II")

    image = [mirror_entry(entry) for entry in story.entries]

    assert isinstance(image[0].body, CaseOpened)
    assert image[1].body == TeethRecorded((36, 37, 38, 48), (36, 37))
    assert [mirror_entry(entry) for entry in image] == story.entries
