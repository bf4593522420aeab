from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.entries import Unknown
from bench.core.ids import entry_id
from bench.core.wire import digest_of
from bench.store.decode import decode
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.refusals import BatchTooLarge
from tests.store.scenes import CODE, KEY, opened, person, record, remade, tablet_chain


def verdicts(log: Log, batch: list[bytes]) -> list[str]:
    return [f"{one.verdict} {one.code}".strip() for one in log.append(batch)]


def test_a_chain_sent_twice_is_stored_once(log: Log) -> None:
    chain = tablet_chain(3)

    assert ["stored"] * 3 == verdicts(log, chain)
    assert ["already"] * 3 == verdicts(log, chain)
    assert chain == list(log.after("tablet-1", 0))


def test_a_receipt_names_id_and_digest(log: Log) -> None:
    (stored,) = tablet_chain(1)

    (receipt,) = log.append([stored])

    (entry,) = log.entries_of(CODE)
    assert (entry.id, digest_of(stored)) == (receipt.id, receipt.digest)


def test_a_batch_may_be_in_any_order(log: Log) -> None:
    chain = tablet_chain(4)

    assert ["stored"] * 4 == verdicts(log, [chain[2], chain[0], chain[3], chain[1]])


def test_a_gap_is_refused_with_the_number_held(log: Log) -> None:
    chain = tablet_chain(4)
    log.append(chain[:1])

    (receipt,) = log.append(chain[2:3])

    assert ("refused", "gap", 1) == (receipt.verdict, receipt.code, receipt.held_seq)


def test_the_same_id_with_other_bytes_is_an_alarm_and_kept(log: Log) -> None:
    (stored,) = tablet_chain(1)
    other = remade(stored, person="XY")
    log.append([stored])

    assert ["refused other_digest"] * 2 == verdicts(log, [other, other])
    kept = log.store.db.conn.execute("SELECT bytes, code FROM quarantine").fetchall()
    assert [(other, "other_digest")] == kept


def test_a_second_chain_of_one_device_is_refused_and_kept(log: Log) -> None:
    chain = tablet_chain(2)
    log.append(chain)
    forked = remade(chain[1], id=entry_id(1, 1))
    unlinked = remade(chain[1], id=entry_id(1, 2), seq=3, prev="0" * 64)

    assert ["refused chain_forked", "refused wrong_prev"] == verdicts(log, [forked, unlinked])
    assert 2 == check(log.store).kept_aside
    assert check(log.store).clean


def test_an_unknown_kind_is_stored_and_does_not_break_the_chain(log: Log) -> None:
    first, second = tablet_chain(2)
    strange = remade(first, kind="wax_tried", body={"b": 1e-7, "a": [True]})
    strange = strange.replace(b"1e-07", b"1e-7")
    linked = remade(second, prev=digest_of(strange))

    assert ["stored", "stored"] == verdicts(log, [strange, linked])
    assert Unknown('{"a":[true],"b":1e-7}') == log.entries_of(CODE)[0].body


@pytest.mark.parametrize(
    ("changes", "code", "field"),
    [
        ({"id": "x"}, "no_entry_id", "id"),
        ({"device": "../etc"}, "bad_device", "device"),
        ({"device": ""}, "bad_device", "device"),
        ({"at": "2025-01-01T00:00:00Z"}, "bad_at", "at"),
        ({"prev": "abc"}, "bad_prev", "prev"),
        ({"kind": "Undercut"}, "bad_kind", "kind"),
        ({"seq": 0}, "out_of_range", "seq"),
        ({"seq": 2**60}, "out_of_range", "seq"),
        ({"v": 0}, "out_of_range", "v"),
        ({"person": ""}, "missing", "person"),
        ({"case": "22222223"}, "bad_code", "case"),
        ({"case": None}, "missing", "case"),
        ({"setting": None}, "no_setting", "setting"),
        ({"supersedes": ["x"]}, "no_entry_id", "supersedes"),
        ({"supersedes": [KEY]}, "missing", "reason"),
        ({"reason": "\x07"}, "control_characters", "reason"),
        ({"body": {"tooth": 34}}, "bad_body", "body"),
        (
            {"body": {"tooth": 99, "surface": "M", "gauge_mm": 1, "contact": "none"}},
            "no_such_tooth",
            "tooth",
        ),
        ({"extra": 1}, "not_canonical", "entry"),
        ({"seq": "1"}, "unreadable", "entry"),
    ],
)
def test_what_breaks_its_bounds_is_refused(
    log: Log, changes: dict[str, object], code: str, field: str
) -> None:
    (stored,) = tablet_chain(1)

    (receipt,) = log.append([remade(stored, **changes)])

    assert ("refused", code, field) == (receipt.verdict, receipt.code, receipt.field)
    assert {} == log.cursors()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"seq":1', b'"seq": 1'),
        (b'"seq":1', b'"seq":1.0'),
        (b"0.25", b"0.250"),
        (b'"marked":false', b'"marked":false '),
        (b'"person":"AB"', b'"person":"\\u0041B"'),
        (b'"contact":"both"', b'"contact":"\\u0062oth"'),
        (b'"drop_mm":2', b'"drop_mm":2,"drop_mm":2'),
    ],
)
def test_bytes_that_are_not_canonical_are_refused(log: Log, old: bytes, new: bytes) -> None:
    (stored,) = tablet_chain(1)

    (receipt,) = log.append([stored.replace(old, new)])

    assert "refused" == receipt.verdict
    assert receipt.code in {"not_canonical", "unreadable"}


@pytest.mark.parametrize(
    "stored",
    [b"", b"{}", b"\xff\xfe", b"[" * 70_000, b"[" * 60_000, b"x" * 65_537],
    ids=["empty", "bare", "no text", "deep and too large", "deep", "too large"],
)
def test_bytes_that_are_no_entry_are_refused(log: Log, stored: bytes) -> None:
    (receipt,) = log.append([stored])

    assert ("", digest_of(stored), "refused") == (receipt.id, receipt.digest, receipt.verdict)


def test_a_body_with_fields_of_a_newer_version_is_stored(log: Log) -> None:
    (stored,) = tablet_chain(1)
    entry = log.append([stored.replace(b'"tooth":34', b'"tooth":34,"zest":1')])

    assert ["stored"] == [one.verdict for one in entry]


def test_a_batch_that_is_too_large_is_refused(log: Log) -> None:
    with pytest.raises(BatchTooLarge):
        log.append([b""] * 501)


def test_cursors_tell_how_far_each_device_is_held(log: Log) -> None:
    log.append(tablet_chain(3) + tablet_chain(2, "tablet-2", 2))
    (own,) = record(log, person())

    held = {device: cursor.seq for device, cursor in log.cursors().items()}

    assert {"tablet-1": 3, "tablet-2": 2, log.store.device: 1} == held
    assert own.digest == log.cursors()[log.store.device].digest


def test_entries_after_a_number_come_in_order_and_no_more_than_asked(log: Log) -> None:
    chain = tablet_chain(5)
    log.append(chain)

    assert tuple(chain[2:4]) == log.after("tablet-1", 2, limit=2)


CHAINS = [*tablet_chain(6), *tablet_chain(5, "tablet-2"), *tablet_chain(4, "tablet-3", 2)]


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_any_repeat_split_and_order_of_batches_ends_in_one_state(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    sent = data.draw(st.permutations(CHAINS * 2))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(sent)), max_size=4)))
    batches = [sent[a:b] for a, b in zip([0, *cuts], [*cuts, len(sent)], strict=True)]

    with opened(tmp_path_factory.mktemp("bench")) as store:
        log = Log(store)
        stored: list[str] = []
        while {device: c.seq for device, c in log.cursors().items()} != {
            "tablet-1": 6, "tablet-2": 5, "tablet-3": 4
        }:  # fmt: skip
            for batch in batches:
                stored += [one.id for one in log.append(batch) if one.verdict == "stored"]

        assert sorted(decode(stored).id for stored in CHAINS) == sorted(stored)
        assert CHAINS == [b for n in (1, 2, 3) for b in log.after(f"tablet-{n}", 0)]
        assert check(store).clean
