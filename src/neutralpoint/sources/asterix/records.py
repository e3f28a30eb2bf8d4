"""What one ASTERIX record says: times, position, altitude, velocity, and what makes it doubtful."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from neutralpoint.quantities import DEGREE, EARTH_RADIUS, FOOT, FOOT_PER_MINUTE, KNOT, NAUTICAL_MILE
from neutralpoint.sources.accuracy import SLOWEST, position_sigma, velocity_sigmas
from neutralpoint.sources.asterix.blocks import BlockEntry
from neutralpoint.track import VerticalRateSource

LEVEL = 100.0 * FOOT
COASTED = "the tracker coasted: no new plot"
# Positions of plots in category 048, TYP = 0 (specification, item I048/020).
NO_DETECTION = "the station extrapolated: no detection"


@dataclass
class StateRecord:
    """One record in SI.

    Attributes:
        address: 24-bit address, six hexadecimal digits; empty where absent.
        number: Track number; None where absent.
        values: Time of day (s) and value of each channel.
        doubts: Why a channel is doubtful.
        age: Seconds since the youngest plot that the state rests on; None where not said.
        polar: Time of day, slant range (m) and azimuth (rad) of a plot.
        rate_source: What the vertical rate is the rate of.
        sigmas: Standard deviation that is stated of a channel, SI.
    """

    address: str = ""
    number: int | None = None
    values: dict[str, tuple[float, Any]] = field(default_factory=dict)
    doubts: dict[str, str] = field(default_factory=dict)
    age: float | None = None
    polar: tuple[float, float, float] | None = None
    rate_source: VerticalRateSource = "unknown"
    sigmas: dict[str, float] = field(default_factory=dict)


def said(entry: BlockEntry) -> StateRecord | None:
    """What a record says.

    Args:
        entry: The record.

    Returns:
        Its content; None where it has no time.

    Source: EUROCONTROL ASTERIX specifications, categories 021, 048 and 062, through the decoder.
    Checked against: tests/unit/test_sources_asterix.py.
    """
    return {21: _ads_b, 48: _plot, 62: _system_track}[entry.category](entry)


def _address(value: float | None) -> str:
    return "" if value is None else f"{int(value):06X}"


def _put(
    out: StateRecord, name: str, time: float | None, value: float | None, factor: float
) -> None:
    if time is not None and value is not None:
        out.values[name] = (time, value * factor)


def _ads_b(entry: BlockEntry) -> StateRecord | None:
    """Category 021: applicability before reception, reception before report."""
    v = entry.value
    seen = next((t for t in (v("071"), v("073"), v("077"), v("030")) if t is not None), None)
    if seen is None:
        return None
    moving = next((t for t in (v("072"), v("075"), seen) if t is not None), seen)
    out = StateRecord(_address(v("080")), _whole(v("161")))
    for item in ("131", "130"):
        latitude, longitude = v(item, "LAT"), v(item, "LON")
        if latitude is not None and longitude is not None:
            out.values["position"] = (seen, (latitude * DEGREE, longitude * DEGREE))
            break
    _put(out, "pressure_altitude", seen, v("145"), LEVEL)
    _put(out, "geometric_altitude", seen, v("140"), FOOT)
    _put(out, "ground_speed", moving, v("160", "GS"), NAUTICAL_MILE)
    _put(out, "track_angle", moving, v("160", "TA"), DEGREE)
    _rate(out, moving, (v("155", "BVR"), v("155", "RE")), (v("157", "GVR"), v("157", "RE")))
    _put(out, "roll", moving, v("230"), DEGREE)
    _put(out, "true_airspeed", moving, v("151", "TAS"), KNOT)
    _put(out, "magnetic_heading", moving, v("152"), DEGREE)
    _categories(out, _whole(v("090", "NACP")), _whole(v("090", "NUCRNACV")))
    if v("160", "RE"):
        out.doubts["ground_speed"] = "the speed is beyond the end of its scale"
    return out


def _categories(out: StateRecord, position: int | None, velocity: int | None) -> None:
    """Item 021/090: accuracies that the airplane states of position and velocity."""
    level, vertical = velocity_sigmas(velocity)
    out.sigmas = {"position": position_sigma(position), "ground_speed": level}
    if "ground_speed" in out.values:
        out.sigmas["track_angle"] = level / max(out.values["ground_speed"][1], SLOWEST)
    if out.rate_source == "geometric":
        out.sigmas["vertical_rate"] = vertical


def _estimated(entry: BlockEntry, out: StateRecord) -> None:
    """Item 062/500: standard deviations that the tracker estimates."""
    v = entry.value
    north, east = v("500", "APW", "LAT"), v("500", "APW", "LON")
    if north is not None and east is not None and "position" in out.values:
        latitude = out.values["position"][1][0]
        across = east * DEGREE * math.cos(latitude)
        out.sigmas["position"] = EARTH_RADIUS * math.hypot(north * DEGREE, across) / math.sqrt(2.0)
    elif (metres := (v("500", "APC", "X"), v("500", "APC", "Y"))) != (None, None):
        out.sigmas["position"] = math.hypot(*(m or 0.0 for m in metres)) / math.sqrt(2.0)
    across, along = v("500", "ATV", "X"), v("500", "ATV", "Y")
    if across is not None and along is not None and "ground_speed" in out.values:
        level = math.hypot(across, along) / math.sqrt(2.0)
        out.sigmas["ground_speed"] = level
        out.sigmas["track_angle"] = level / max(out.values["ground_speed"][1], SLOWEST)
    if (rate := v("500", "ARC")) is not None:
        out.sigmas["vertical_rate"] = rate * FOOT_PER_MINUTE


def _rate(out: StateRecord, time: float, baro, geometric) -> None:
    kinds: tuple[tuple[Any, VerticalRateSource], ...] = ((baro, "baro"), (geometric, "geometric"))
    for (value, beyond), kind in kinds:
        if value is not None:
            _put(out, "vertical_rate", time, value, FOOT_PER_MINUTE)
            out.rate_source = kind
            if beyond:
                out.doubts["vertical_rate"] = "the vertical rate is beyond the end of its scale"
            return


def _whole(value: float | None) -> int | None:
    return None if value is None else int(value)


def _plot(entry: BlockEntry) -> StateRecord | None:
    """Category 048: a plot in range and azimuth of one station."""
    v = entry.value
    time = v("140")
    if time is None:
        return None
    out = StateRecord(_address(v("220")), _whole(v("161", "TRN") if entry.has("161") else None))
    if out.number is None:
        out.number = _whole(v("161"))
    rho, theta = v("040", "RHO"), v("040", "THETA")
    if rho is not None and theta is not None:
        out.polar = (time, rho * NAUTICAL_MILE, theta * DEGREE)
    _put(out, "pressure_altitude", time, v("090", "FL"), LEVEL)
    if v("090", "V") or v("090", "G"):
        out.doubts["pressure_altitude"] = "the altitude is not validated, or garbled"
    _put(out, "ground_speed", time, v("200", "GSP"), NAUTICAL_MILE)
    _put(out, "track_angle", time, v("200", "HDG"), DEGREE)
    if v("020", "TYP") == 0.0:
        out.doubts["position"] = NO_DETECTION
    if v("170", "GHO"):
        out.doubts["position"] = "the station calls the plot a ghost"
    return out


def _system_track(entry: BlockEntry) -> StateRecord | None:
    """Category 062: the state of a tracker at its own time, not that of a plot."""
    v = entry.value
    time = v("070")
    if time is None:
        return None
    out = StateRecord(_address(v("380", "ADR")), _whole(v("040")))
    latitude, longitude = v("105", "LAT"), v("105", "LON")
    if latitude is not None and longitude is not None:
        out.values["position"] = (time, (latitude * DEGREE, longitude * DEGREE))
    level_age = v("295", "MFL") or 0.0
    _put(out, "pressure_altitude", time - level_age, v("136"), LEVEL)
    _put(out, "geometric_altitude", time, v("130"), FOOT)
    east, north = v("185", "VX"), v("185", "VY")
    if east is not None and north is not None:
        out.values["ground_speed"] = (time, math.hypot(east, north))
        out.values["track_angle"] = (time, math.atan2(east, north))
    _put(out, "vertical_rate", time, v("220"), FOOT_PER_MINUTE)
    _put(out, "roll", time, v("380", "RAN"), DEGREE)
    _estimated(entry, out)
    ages = [
        a
        for a in (v("290", n) for n in ("PSR", "SSR", "MDS", "ADS", "ES", "MLT", "VDL"))
        if a is not None
    ]
    out.age = min(ages) if ages else None
    if v("080", "CST"):
        for name in out.values:
            out.doubts[name] = COASTED
    return out
