from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from functools import cache

import pytest

from bench.pictures import apart, ingest, looking, scan
from bench.pictures.apart import Child, LookFailed
from bench.pictures.ingest import PictureRefused
from bench.pictures.scan import ScanResult
from bench.words import Words
from tests.pictures import files, photomaker

ASKED = {"colours": [[190, 40, 45], [45, 70, 160]], "code": None, "label_mm": 20}
PICTURE = files.saved(files.four_corners())
# A child that some pictures break: what the names say happens inside the look.
FRAGILE = """
import os, time
from bench.pictures import apart, ingest, looking
kept, kept_in = looking.look, ingest.take_in
def take_in(data, *given):
    look_out(data)
    return kept_in(data, *given)
def look(data, *given, **named):
    look_out(data)
    return kept(data, *given, **named)
def look_out(data):
    if data == b"ends":
        os._exit(3)
    if data == b"hangs":
        time.sleep(60)
    if data == b"raises":
        raise MemoryError
looking.look, ingest.take_in = look, take_in
apart.main()
"""


@cache
def ordinary() -> tuple[bytes, photomaker.Truth]:
    return photomaker.photo(90_001)


@pytest.fixture
def fragile() -> Iterator[Child]:
    child = Child(time_limit_s=15, command=(sys.executable, "-c", FRAGILE))
    yield child
    child.stop()


@pytest.fixture
def real() -> Iterator[Child]:
    child = Child(most_looks=2)
    yield child
    child.stop()


def code_of(child: Child, data: bytes) -> str:
    with pytest.raises(LookFailed) as caught:
        child.ask("look", ASKED, data)
    return caught.value.code


def pid_of(child: Child) -> int | None:
    return child._process and child._process.pid


def test_the_answers_are_those_of_the_calls_themselves():
    data, truth = ordinary()
    x, y = truth.marks_px[0]
    wanted = {"code": truth.code, "label_mm": truth.label_mm}

    assert looking.look(data, truth.colours, **wanted) == apart.look(data, truth.colours, **wanted)
    assert looking.sampled(data, x, y) == apart.sampled(data, x, y)
    assert looking.settle(data, truth.colours, x, y) == apart.settle(data, truth.colours, x, y)
    assert apart.settle(PICTURE, truth.colours, 200, 150) is None


@pytest.mark.parametrize(
    "data", [b"", b"no picture", PICTURE[:200], files.png_of_size(60_000, 60_000)]
)
def test_a_refusal_in_the_child_is_a_refusal_here(data):
    with pytest.raises(PictureRefused) as here:
        looking.sampled(data, 1, 1)
    with pytest.raises(PictureRefused) as there:
        apart.sampled(data, 1, 1)

    assert (here.value.code, here.value.params) == (there.value.code, there.value.params)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_taken_in_by_the_child_is_the_picture(kind):
    data = files.talkative(kind)

    assert ingest.take_in(data, f"cast.{kind}") == apart.take_in(data, f"cast.{kind}")


def test_a_label_read_by_the_child_is_the_label():
    data, truth = ordinary()

    assert ScanResult(truth.code) == apart.read_label(data)
    assert scan.read_label(PICTURE) == apart.read_label(PICTURE)


@pytest.mark.parametrize("bad", [b"ends", b"raises"])
def test_a_picture_that_breaks_the_child_is_refused_and_the_next_is_taken_in(
    bad, fragile, monkeypatch
):
    monkeypatch.setattr(apart, "_INTAKE", fragile)
    with pytest.raises(PictureRefused) as caught:
        apart.take_in(bad)

    assert "broken" == caught.value.code
    assert 400 == apart.take_in(PICTURE).width_px


def test_a_picture_that_takes_too_long_to_take_in_is_refused(fragile, monkeypatch):
    monkeypatch.setattr(apart, "_INTAKE", fragile)
    apart.take_in(PICTURE)
    fragile.time_limit_s = 0.5

    with pytest.raises(PictureRefused) as caught:
        apart.take_in(b"hangs")

    assert ("slow", {"seconds": 20}) == (caught.value.code, caught.value.params)


def test_one_bad_picture_does_not_keep_the_next_from_being_looked_at(fragile):
    for bad in (b"ends", b"raises"):
        assert "broken" == code_of(fragile, bad)
        assert [] == fragile.ask("look", ASKED, PICTURE)["marks"]


def test_a_picture_that_takes_too_long_is_given_up(fragile):
    fragile.ask("look", ASKED, PICTURE)
    fragile.time_limit_s = 0.5
    begun = time.monotonic()

    assert "slow" == code_of(fragile, b"hangs")

    assert time.monotonic() - begun < 10
    fragile.time_limit_s = 15
    assert [] == fragile.ask("look", ASKED, PICTURE)["marks"]


def test_a_child_that_was_ended_from_outside_is_started_again(real):
    real.ask("sampled", {"x_px": 1, "y_px": 1}, PICTURE)
    assert real._process is not None
    real._process.kill()
    real._process.wait()

    assert 3 == len(real.ask("sampled", {"x_px": 1, "y_px": 1}, PICTURE))


def test_a_child_stays_for_the_next_picture_and_is_replaced_after_some(real):
    seen = []
    for _ in range(3):
        real.ask("sampled", {"x_px": 1, "y_px": 1}, PICTURE)
        seen.append(pid_of(real))

    assert seen[0] is not None
    assert seen[1] is None
    assert seen[2] not in (None, seen[0])


def test_a_child_that_nobody_asks_goes():
    child = Child(idle_s=0.05)
    child.ask("sampled", {"x_px": 1, "y_px": 1}, PICTURE)

    until = time.monotonic() + 10
    while child._process is not None and time.monotonic() < until:
        time.sleep(0.02)

    assert child._process is None


def test_a_server_that_goes_does_not_wait_for_its_child():
    asked = (
        "import sys, threading, time; from bench.pictures.apart import Child;"
        "child = Child(command=(sys.executable, '-c', 'import time; time.sleep(60)'));"
        "threading.Thread(target=lambda: child.ask('look', {}, b''), daemon=True).start();"
        "time.sleep(1); child.leave(); print('gone')"
    )
    begun = time.monotonic()

    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True)

    assert "gone" == said.stdout.strip()
    assert time.monotonic() - begun < 15


def test_a_child_that_cannot_start_is_told_as_broken():
    child = Child(command=(sys.executable, "-c", "raise SystemExit(1)"))

    assert "broken" == code_of(child, PICTURE)


def test_the_server_does_not_load_what_the_child_works_with():
    asked = (
        "import sys, bench.pictures.apart, bench.pictures.looking;"
        "print(sorted({'numpy', 'scipy', 'zxingcpp'} & set(sys.modules)))"
    )

    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)

    assert "[]" == said.stdout.strip()


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("code", ["slow", "broken"])
def test_why_there_was_no_answer_can_be_told(code, language):
    failed = LookFailed(code)

    for part in ("what", "why", "do"):
        assert Words(language).say(f"pictures.look.{code}.{part}", **failed.params)
