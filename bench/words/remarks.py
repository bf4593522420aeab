"""What the tilt finder tells, and what it lacks, in the words of the bench."""

from __future__ import annotations

from collections.abc import Mapping

from bench.core.remark import Remark
from bench.words.reader import Reader

WAYS = (
    "front", "front_right", "right", "back_right", "back", "back_left", "left", "front_left",
)  # fmt: skip
_EXCLUDES = {True: "site_excludes", False: "sites_exclude"}


def remark_in_words(remark: Remark, reader: Reader) -> str:
    """Return what a remark of the tilt finder says, as one sentence."""
    params = _params(remark.params, reader)
    code = remark.code
    if code == "sites_exclude":
        code = _EXCLUDES[len(_sites(remark.params["sites"])) == 1]
    return reader.say(f"tiltmap.remark.{code}", **params)


def lacking_in_words(remark: Remark, reader: Reader) -> str:
    """Return which reading is lacking, as one sentence."""
    return reader.say(f"tiltmap.lacking.{remark.code}", **_params(remark.params, reader))


def arms_in_words(remark: Remark, reader: Reader) -> str:
    """Return how arms compare, as one sentence: ratios alone, never a force."""
    params = remark.params
    said = {name: reader.site(str(params[name])) for name in ("arm", "beside") if name in params}
    if "arms" in params:
        said["arms"] = reader.sites(_sites(params["arms"]))
    if "times" in params:
        said["times"] = reader.number(float(str(params["times"])), 1)
    if "length_mm" in params:
        length = reader.number(float(str(params["length_mm"])), 1)
        said["length"] = reader.say("choices.figure.mm", value=length)
    return reader.say(f"retentionpage.arms.{remark.code}", **said)


def way_in_words(azimuth_deg: float, reader: Reader) -> str:
    """Return a direction on the cast, from +X (viewer's right) toward the front, as one of eight."""
    clockwise_from_front = (90.0 - azimuth_deg) % 360.0
    return reader.say(f"tiltmap.way.{WAYS[round(clockwise_from_front / 45.0) % 8]}")


def _params(params: Mapping[str, object], reader: Reader) -> dict[str, str]:
    said = {name: _shown(name, value, reader) for name, value in params.items()}
    if "least_mm" in params:
        said["wanted"] = reader.say("tiltmap.wanted", least=said["least_mm"])
    if "azimuth_deg" in params:
        said["way"] = way_in_words(float(str(params["azimuth_deg"])), reader)
    return said


def _shown(name: str, value: object, reader: Reader) -> str:
    if name in ("site", "plane"):
        return reader.site(str(value))
    if name == "sites":
        return reader.listed(reader.site(site) for site in _sites(value))
    if name == "edge":
        return reader.choice("edge", value)
    if name == "bound":
        return reader.say(f"tiltmap.bound.{value}")
    if value is None:
        return ""
    if name.endswith("_deg"):
        return reader.angle(round(abs(float(str(value))), 1))
    return reader.length(float(str(value)))


def _sites(value: object) -> tuple[str, ...]:
    assert isinstance(value, tuple)
    return value
