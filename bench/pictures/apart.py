"""Pictures taken in, read for their label and looked at, in processes of their own.

What a decoder or a fit does with a hostile picture then ends that process and not the server. A
child is started when first asked and kept for the next picture. It is replaced after some dozens
of them, after one that took too long and after one that broke it, and goes when nobody asks for
long. One child takes in and reads labels, another looks: a long look holds up no photo that
arrives. Messages are two lengths of four bytes, a header as JSON, and the picture behind it.
"""

from __future__ import annotations

import atexit
import json
import os
import struct
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from threading import Lock, Timer
from typing import Any, BinaryIO, cast

from bench.pictures.ingest import Picture
from bench.pictures.refusal import PictureRefused
from bench.pictures.scan import ScanResult
from bench.pictures.seen import Corners, LabelSeen, MarkColours, MarkSeen, Rgb, Seen

__all__ = ["Child", "LookFailed", "look", "read_label", "sampled", "settle", "take_in"]

TIME_LIMIT_S, IDLE_S = 20.0, 600.0
MOST_LOOKS = 40
MOST_MEMORY_BYTES = 3_000_000_000
_LENGTH = struct.Struct(">II")
_SENT_BEHIND = ("original_bytes", "display_bytes", "thumb_bytes")


class LookFailed(RuntimeError):
    """A look that gave no answer; what, why and what to do are `pictures.look.<code>`.

    Codes: 'slow' (it took longer than the limit), 'broken' (the process ended on this picture).
    """

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code
        self.params: dict[str, str | int] = {"seconds": round(TIME_LIMIT_S)}


def take_in(data: bytes, declared: str = "") -> Picture:
    """Return the picture in a file, as `ingest.take_in`; raise PictureRefused.

    Its codes are those, and 'slow' (with `seconds`) and 'broken' as of LookFailed.
    """
    found, behind = _taken("take_in", {"declared": declared}, data)
    parts, at = dict[str, bytes](), 0
    for name in _SENT_BEHIND:
        parts[name], at = behind[at : at + found[name]], at + found[name]
    return Picture(**{**found, **parts})


def read_label(image_bytes: bytes) -> ScanResult:
    """Return the one label code in a photo, as `scan.read_label`; raise PictureRefused as `take_in`."""
    found, _ = _taken("read_label", {}, image_bytes)
    return ScanResult(**found)


def _taken(call: str, asked: Mapping[str, Any], data: bytes) -> tuple[Any, bytes]:
    """Ask twice where the child broke: somebody may have ended it from outside."""
    try:
        return _INTAKE.ask_whole(call, asked, data)
    except LookFailed as failed:
        if failed.code == "slow":
            raise PictureRefused(failed.code, failed.params) from failed
    try:
        return _INTAKE.ask_whole(call, asked, data)
    except LookFailed as failed:
        raise PictureRefused(failed.code, failed.params) from failed


def look(image_bytes: bytes, colours: MarkColours, *, code: str | None, label_mm: float) -> Seen:
    """Return what a photo shows, as `looking.look`; raise LookFailed or PictureRefused."""
    asked = {"colours": _listed(colours), "code": code, "label_mm": label_mm}
    return _seen(_LOOKS.ask("look", asked, image_bytes))


def sampled(image_bytes: bytes, x_px: float, y_px: float) -> Rgb:
    """Return the colour of the stroke at a place, as `looking.sampled`."""
    red, green, blue = _LOOKS.ask("sampled", {"x_px": x_px, "y_px": y_px}, image_bytes)
    return int(red), int(green), int(blue)


def settle(
    image_bytes: bytes,
    colours: MarkColours,
    x_px: float,
    y_px: float,
    *,
    px_per_mm: float | None = None,
) -> MarkSeen | None:
    """Return the mark near a place that was tapped, as `looking.settle`."""
    asked = {"colours": _listed(colours), "x_px": x_px, "y_px": y_px, "px_per_mm": px_per_mm}
    mark = _LOOKS.ask("settle", asked, image_bytes)
    return None if mark is None else MarkSeen(**mark)


def _listed(colours: MarkColours) -> list[Rgb]:
    return [colours.mark_rgb, colours.ring_rgb]


def _seen(said: dict[str, Any]) -> Seen:
    label = said.pop("label")
    if label is not None:
        first, second, third, fourth = (tuple(corner) for corner in label["corners_px"])
        corners = cast(Corners, (first, second, third, fourth))
        label = LabelSeen(label["code"], corners, label["refined"])
    marks = tuple(MarkSeen(**mark) for mark in said.pop("marks"))
    others, hints = (tuple(said.pop(name)) for name in ("other_codes", "hints"))
    return Seen(**said, label=label, marks=marks, other_codes=others, hints=hints)


@dataclass
class Child:
    """One child process and who may speak to it: one picture at a time, others wait."""

    time_limit_s: float = TIME_LIMIT_S
    idle_s: float = IDLE_S
    most_looks: int = MOST_LOOKS
    command: tuple[str, ...] = (sys.executable, "-m", "bench.pictures.apart")

    def __post_init__(self) -> None:
        self._one_at_a_time = Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._idle: Timer | None = None
        self._looks = 0

    def ask(self, call: str, asked: Mapping[str, Any], image_bytes: bytes) -> Any:
        """Return the child's answer; raise PictureRefused as it did, or LookFailed."""
        return self.ask_whole(call, asked, image_bytes)[0]

    def ask_whole(
        self, call: str, asked: Mapping[str, Any], image_bytes: bytes
    ) -> tuple[Any, bytes]:
        """Return the child's answer and the bytes that came behind it; raise as `ask`."""
        message = json.dumps({"call": call, **asked}).encode()
        with self._one_at_a_time:
            self._wait_no_more()
            answer, behind = self._answer(message, image_bytes)
            self._idle = _timer(self.idle_s, self.stop)
        if "refused" in answer:
            raise PictureRefused(answer["refused"], answer["params"])
        if "failed" in answer:
            raise LookFailed("broken")
        return answer["found"], behind

    def stop(self) -> None:
        """End the child once it has answered; the next picture starts another one."""
        with self._one_at_a_time:
            self._wait_no_more()
            self._end()

    def leave(self) -> None:
        """End the child at once, whatever it is at: the server itself is going."""
        if self._process is not None:
            self._process.kill()

    def _wait_no_more(self) -> None:
        if self._idle is not None:
            self._idle.cancel()
            self._idle = None

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                _closed(pipe)

    def _answer(self, message: bytes, image_bytes: bytes) -> tuple[dict[str, Any], bytes]:
        process = self._ready()
        late: list[bool] = []

        def give_up() -> None:
            late.append(True)
            process.kill()

        watch = _timer(self.time_limit_s, give_up)
        try:
            said = _exchanged(process, message, image_bytes)
        finally:
            watch.cancel()
        self._looks += 1
        if said is None or late:
            self._end()
            raise LookFailed("slow" if late else "broken")
        if self._looks >= self.most_looks:
            self._end()
        return said

    def _ready(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self._end()
            self._looks = 0
            self._process = subprocess.Popen(
                self.command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=_environment(),
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        return self._process


def _timer(after_s: float, call: Callable[[], None]) -> Timer:
    timer = Timer(after_s, call)
    timer.daemon = True
    timer.start()
    return timer


def _environment() -> dict[str, str]:
    """Return an environment in which the child finds this very package and uses one core."""
    home = str(Path(__file__).resolve().parents[2])
    before = os.environ.get("PYTHONPATH")
    path = os.pathsep.join([home, before] if before else [home])
    one_core = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
    return {**os.environ, **one_core, "PYTHONPATH": path}


def _exchanged(
    process: subprocess.Popen[bytes], message: bytes, image_bytes: bytes
) -> tuple[dict[str, Any], bytes] | None:
    """Send a picture and read the answer; None where the child ended meanwhile."""
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        _send(process.stdin, message, image_bytes)
        said, behind = _received(process.stdout)
        return json.loads(said), behind
    except (OSError, EOFError, ValueError):
        return None


def _send(pipe: BinaryIO | Any, message: bytes, image_bytes: bytes) -> None:
    pipe.write(_LENGTH.pack(len(message), len(image_bytes)))
    pipe.write(message)
    pipe.write(image_bytes)
    pipe.flush()


def _received(pipe: BinaryIO | Any) -> tuple[bytes, bytes]:
    message, image_bytes = _LENGTH.unpack(_exactly(pipe, _LENGTH.size))
    return _exactly(pipe, message), _exactly(pipe, image_bytes)


def _exactly(pipe: BinaryIO | Any, count: int) -> bytes:
    data = pipe.read(count)
    if len(data) < count:
        raise EOFError
    return cast(bytes, data)


def _closed(pipe: BinaryIO | Any) -> None:
    try:
        pipe.close()
    except OSError:
        return  # what was still to be written has nobody to read it


_INTAKE, _LOOKS = Child(), Child()
atexit.register(_INTAKE.leave)
atexit.register(_LOOKS.leave)


def serve(heard: BinaryIO, said: BinaryIO) -> None:
    """Answer looks until nobody asks any more."""
    while True:
        try:
            message, image_bytes = _received(heard)
        except EOFError:
            return
        answer, behind = _answered(json.loads(message), image_bytes)
        _send(said, json.dumps(answer).encode(), behind)


def _answered(asked: dict[str, Any], image_bytes: bytes) -> tuple[dict[str, Any], bytes]:
    try:
        found = _CALLS[asked["call"]](asked, image_bytes)
    except PictureRefused as refused:
        return {"refused": refused.code, "params": refused.params}, b""
    except Exception as failed:
        return {"failed": type(failed).__name__}, b""
    return _in_two(found) if isinstance(found, Picture) else ({"found": found}, b"")


def _in_two(picture: Picture) -> tuple[dict[str, Any], bytes]:
    """Tell of a picture how long each of its files is, and send the files behind that."""
    told = vars(picture)
    lengths = {name: len(told[name]) for name in _SENT_BEHIND}
    return {"found": {**told, **lengths}}, b"".join(told[name] for name in _SENT_BEHIND)


def _take_in(asked: dict[str, Any], data: bytes) -> object:
    from bench.pictures import ingest

    return ingest.take_in(data, asked["declared"])


def _read_label(asked: dict[str, Any], image_bytes: bytes) -> object:
    from bench.pictures import scan

    return asdict(scan.read_label(image_bytes))


def _look(asked: dict[str, Any], image_bytes: bytes) -> object:
    from bench.pictures import looking

    colours, code = _colours(asked), asked["code"]
    return asdict(looking.look(image_bytes, colours, code=code, label_mm=asked["label_mm"]))


def _sampled(asked: dict[str, Any], image_bytes: bytes) -> object:
    from bench.pictures import looking

    return looking.sampled(image_bytes, asked["x_px"], asked["y_px"])


def _settle(asked: dict[str, Any], image_bytes: bytes) -> object:
    from bench.pictures import looking

    mark = looking.settle(
        image_bytes,
        _colours(asked),
        asked["x_px"],
        asked["y_px"],
        px_per_mm=asked["px_per_mm"],
    )
    return None if mark is None else asdict(mark)


def _colours(asked: dict[str, Any]) -> MarkColours:
    mark, ring = (cast(Rgb, tuple(rgb)) for rgb in asked["colours"])
    return MarkColours(mark, ring)


_CALLS: dict[str, Callable[[dict[str, Any], bytes], object]] = {
    "take_in": _take_in,
    "read_label": _read_label,
    "look": _look,
    "sampled": _sampled,
    "settle": _settle,
}


def _bound_memory() -> None:
    """Hold the child below a size, where the platform knows such a bound."""
    try:
        import resource
    except ImportError:
        return
    try:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    except (OSError, ValueError):
        return  # not every platform lets this be set


def main() -> None:
    """Bound this process and answer on the pipes it was started with."""
    _bound_memory()
    heard, said = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # a stray word must not get among the answers
    serve(heard, said)


if __name__ == "__main__":
    main()
