from __future__ import annotations

import hashlib
import json

import pytest
from PIL import Image

from bench.core.entries import DeviceRevoked
from bench.pictures.ingest import take_in
from bench.store.contacts import contacts
from bench.sync.exchange import PUSH_BYTES
from tests.conftest import START_MS
from tests.pictures import files
from tests.sync.sealing import Device


class Line:
    """The wire between a tablet and the bench of the tests."""

    def __init__(self, app, device):
        self.client, self.device = app.test_client(), device
        self.epoch = app.extensions["store"].epoch

    def ask(self, method, path, body=b"", **headers):
        signed = self.device.sign(method, path, body, self.epoch)
        extra = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.open(path, method=method, data=body, headers={**signed, **extra})

    def push(self, *texts, **changes):
        said = {"device": self.device.device, "epoch": self.epoch, "unsent": 0, "entries": texts}
        return self.ask("POST", "/sync/push", json.dumps({**said, **changes}).encode())


@pytest.fixture
def line(app, device):
    return Line(app, device)


@pytest.fixture
def rest(device, opened_case):
    def sealed(tooth=34, **fields):
        body = {"tooth": tooth, "seat": "mesial"}
        return device.seal("rest_wished", body, START_MS, **{"case": opened_case, **fields})

    return sealed


@pytest.fixture
def bare_photo():
    """A picture as a canvas writes it: pixels and nothing else."""
    picture = take_in(files.saved(Image.new("RGB", (90, 60), (120, 90, 60)), "JPEG"))
    return picture.original_bytes


def digest(data):
    return hashlib.sha256(data).hexdigest()


def refusal(answer):
    assert answer.json["words"]
    return answer.status_code, answer.json["code"]


def test_a_push_is_answered_with_receipts_and_the_cursor(line, rest, device, app):
    texts = [rest(34), rest(35)]

    answer = line.push(*texts, unsent=7)

    assert answer.status_code == 200
    assert [one["verdict"] for one in answer.json["receipts"]] == ["stored", "stored"]
    assert [one["digest"] for one in answer.json["receipts"]] == [digest(t.encode()) for t in texts]
    assert answer.json["cursor"] == {"seq": 2, "digest": digest(texts[1].encode())}
    assert answer.json["epoch"] == line.epoch
    assert contacts(app.extensions["store"])[device.device].unsent == 7


def test_the_case_page_shows_what_a_tablet_sent(line, rest, technician, opened_case):
    line.push(rest(34))

    assert "34" in technician.get(f"/case/{opened_case}/trail").text


def test_a_refused_entry_is_answered_in_words_with_its_field(line, rest):
    answer = line.push(rest(34, person="REA"), rest(35))

    first, second = answer.json["receipts"]
    assert (first["verdict"], first["code"], first["field"]) == ("refused", "not_allowed", "person")
    assert "REA" in first["words"]
    assert (second["code"], second["held_seq"]) == ("gap", 0)
    assert second["words"]


def test_the_words_of_a_body_out_of_bounds_name_what_is_wrong(line, rest):
    (receipt,) = line.push(rest(99)).json["receipts"]

    assert receipt["code"] == "no_such_tooth"
    assert "99" in receipt["words"]


def test_an_empty_push_tells_the_cursor(line, rest):
    line.push(rest(34))

    assert line.push().json["cursor"]["seq"] == 1


def test_a_stranger_is_not_known(app, rest, line):
    line.device = Device()

    assert refusal(line.push()) == (401, "unknown_device")


def test_a_revoked_device_is_turned_away_and_nothing_is_taken(line, rest, state, device, app):
    state(DeviceRevoked(device.device), person="SUP", reason="lost")

    assert refusal(line.push(rest(34))) == (403, "revoked")
    assert refusal(line.ask("GET", "/sync/cursors")) == (403, "revoked")
    assert app.extensions["log"].after(device.device, 0) == ()


def test_a_forged_signature_is_turned_away(line, rest, device, app):
    forger = Device()
    forger.device = device.device
    line.device = forger

    assert refusal(line.push(rest(34))) == (401, "bad_signature")
    assert app.extensions["log"].after(device.device, 0) == ()


def test_a_body_altered_on_the_way_is_turned_away(line, rest, device):
    body = json.dumps({"device": device.device, "epoch": line.epoch, "entries": []}).encode()
    headers = device.sign("POST", "/sync/push", body, line.epoch)

    answer = line.client.post("/sync/push", data=body + b" ", headers=headers)

    assert refusal(answer) == (401, "bad_signature")


def test_a_signature_for_one_address_is_none_for_another(line, device):
    headers = device.sign("GET", "/sync/cursors", b"", line.epoch)

    answer = line.client.get("/sync/after?device=x", headers=headers)

    assert refusal(answer) == (401, "bad_signature")


def test_after_a_restore_the_tablet_is_told_the_new_epoch_and_from_where(line, rest, app):
    text = rest(34)
    line.push(text)
    app.extensions["store"].start_new_epoch()

    answer = line.push(text)

    assert refusal(answer) == (409, "other_epoch")
    assert answer.json["epoch"] == app.extensions["store"].epoch
    assert answer.json["cursor"] == {"seq": 1, "digest": digest(text.encode())}


@pytest.mark.parametrize(
    "body",
    [b"", b"[]", b"{", b'{"device": 1}', b"\xff", b"[" * 5000, b'{"device":"x","epoch":"e"}'],
)
def test_what_is_no_push_is_refused(line, body):
    assert refusal(line.ask("POST", "/sync/push", body)) == (400, "bad_request")


def test_a_push_in_the_name_of_another_device_is_refused(line):
    assert refusal(line.push(device="tablet-000000000000")) == (400, "bad_request")
    assert refusal(line.push(unsent=-1)) == (400, "bad_request")


def test_more_than_a_batch_holds_is_refused_whole(line):
    assert refusal(line.push(*["{}"] * 501)) == (413, "oversize")
    assert refusal(line.push("x" * PUSH_BYTES)) == (413, "oversize")


def test_the_clock_of_the_pc_far_behind_turns_everybody_away(line, rest, hands):
    line.push(rest(34))
    hands.forward(-3 * 86_400)

    assert refusal(line.push(rest(35))) == (503, "bench_clock")


def test_busy_records_are_told_in_json(line, rest, app, monkeypatch):
    from bench.store.refusals import LogbookBusy

    def busy(*_):
        raise LogbookBusy(file="x", seconds=10)

    monkeypatch.setattr(app.extensions["intake"], "receive", busy)

    answer = line.push(rest(34))

    assert refusal(answer) == (503, "busy")
    assert answer.headers["Retry-After"]


def test_a_failure_of_the_program_is_told_in_json(line, rest, app, monkeypatch, caplog):
    monkeypatch.setattr(app.extensions["intake"], "receive", None)

    with caplog.at_level(100):
        answer = line.push(rest(34))

    assert refusal(answer) == (500, "failed")


def test_cursors_and_what_comes_after_them_are_read(line, rest, device):
    texts = [rest(34), rest(35), rest(36)]
    line.push(*texts)

    cursors = line.ask("GET", "/sync/cursors").json
    later = line.ask("GET", f"/sync/after?device={device.device}&seq=1&limit=1").json
    everything = line.ask("GET", f"/sync/after?device={device.device}").json

    assert cursors["epoch"] == line.epoch
    assert cursors["cursors"][device.device] == {"seq": 3, "digest": digest(texts[2].encode())}
    assert (later["entries"], everything["entries"]) == ([texts[1]], texts)


def test_no_answer_is_longer_than_a_push(line, rest, device, monkeypatch):
    texts = [rest(34), rest(35), rest(36)]
    line.push(*texts)
    monkeypatch.setattr("bench.sync.exchange.PUSH_BYTES", len(texts[0]) * 2 + 100)

    assert line.ask("GET", f"/sync/after?device={device.device}&seq=0").json["entries"] == texts[:2]


def test_the_kinds_are_told_without_a_signature(stranger):
    assert stranger.get("/sync/kinds").json["rest_wished"] == {"tooth": "whole", "seat": "text"}


def test_a_photo_is_taken_whole_and_then_held(line, bare_photo, technician):
    path = f"/sync/photo/{digest(bare_photo)}"

    before = line.ask("HEAD", path)
    answer = line.ask("PUT", path, bare_photo)

    assert (before.status_code, before.headers["X-Tiltbook-Held"]) == (404, "0")
    assert (answer.status_code, answer.json["sha256"]) == (200, digest(bare_photo))
    assert line.ask("HEAD", path).status_code == 200
    assert line.ask("PUT", path, bare_photo).status_code == 200
    assert technician.get(f"/photo/{digest(bare_photo)}/thumb").status_code == 200


def test_a_photo_cut_off_goes_on_where_it_stopped(line, bare_photo):
    path, total, half = f"/sync/photo/{digest(bare_photo)}", len(bare_photo), len(bare_photo) // 2
    first = line.ask("PUT", path, bare_photo[:half], Content_Range=f"bytes 0-{half - 1}/{total}")

    held = int(line.ask("HEAD", path).headers["X-Tiltbook-Held"])
    last = line.ask(
        "PUT", path, bare_photo[held:], Content_Range=f"bytes {held}-{total - 1}/{total}"
    )

    assert (first.status_code, first.json) == (202, {"held": half})
    assert held == half
    assert last.status_code == 200


def test_a_piece_from_elsewhere_is_told_where_to_go_on(line, bare_photo):
    total = len(bare_photo)

    answer = line.ask(
        "PUT", f"/sync/photo/{digest(bare_photo)}", bare_photo[10:],
        Content_Range=f"bytes 10-{total - 1}/{total}",
    )  # fmt: skip

    assert refusal(answer) == (409, "other_offset")
    assert answer.json["held"] == 0


def test_what_is_no_photo_or_not_the_one_named_is_thrown_away(line, bare_photo):
    wrong = line.ask("PUT", f"/sync/photo/{'0' * 64}", bare_photo)
    nonsense = line.ask("PUT", f"/sync/photo/{digest(b'GIF89a')}", b"GIF89a")

    assert refusal(wrong) == (422, "other_digest")
    assert refusal(nonsense) == (422, "kind")
    assert line.ask("HEAD", f"/sync/photo/{digest(b'GIF89a')}").headers["X-Tiltbook-Held"] == "0"


def test_a_photo_that_says_where_it_was_taken_is_refused(line, bare_photo):
    # ITU-T T.81, B.2.4.6: APP1, length, data, right after the start of the image.
    talkative = bare_photo[:2] + b"\xff\xe1\x00\x08secret" + bare_photo[2:]

    answer = line.ask("PUT", f"/sync/photo/{digest(talkative)}", talkative)

    assert refusal(answer) == (422, "not_bare")


@pytest.mark.parametrize("name", ["x", "0" * 63, "G" * 64])
def test_what_names_no_photo_is_refused(line, name):
    assert line.ask("HEAD", f"/sync/photo/{name}").status_code == 400
    assert refusal(line.ask("PUT", f"/sync/photo/{name}", b"x")) == (400, "bad_request")


def test_when_room_is_short_photos_stop_and_entries_go_on(line, rest, bare_photo, monkeypatch):
    monkeypatch.setattr("bench.sync.arriving.LEAST_FREE_BYTES", 1 << 62)

    photo = line.ask("PUT", f"/sync/photo/{digest(bare_photo)}", bare_photo)
    entry = line.push(rest(34))

    assert refusal(photo) == (507, "no_room")
    assert entry.json["receipts"][0]["verdict"] == "stored"


def test_two_tablets_that_differ_are_both_kept_and_shown_until_somebody_settles_it(
    line, device, app, state, opened_case, technician
):
    from bench.core.entries import DevicePaired

    other = Device()
    state(DevicePaired(other.device, "table two", other.public_key), person="SUP")
    said = ("sound", "chipped")
    for tablet, soundness in zip((device, other), said, strict=True):
        body = {"soundness": soundness, "remark": ""}
        text = tablet.seal("cast_received", body, START_MS, case=opened_case)
        answer = Line(app, tablet).push(text)
        assert answer.json["receipts"][0]["verdict"] == "stored"

    case = app.extensions["log"].case(opened_case)
    page = technician.get(f"/case/{opened_case}/trail").text
    assert [len(found.entries) for found in case.contradictions] == [2]
    assert "state of the cast on arrival" in page
