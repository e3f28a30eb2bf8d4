"""What the motion makes of invented records: a fix a second, a radar, coarse figures, a gap."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.case import Case, load_case
from neutralpoint.motion import (
    ONSET_SIGNALS,
    Motion,
    ParameterEstimate,
    estimate_motion,
    fault_begin,
    on_ground,
    sample_count,
    stated,
    stretches,
    upset_onsets,
)
from neutralpoint.quantities import DEGREE, FOOT
from neutralpoint.track import Observations, Track

# Large against what moves them: their spread is kept beside them.
PLACE = ("latitude", "longitude", "altitude", "pressure_altitude")
EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


def known() -> dict[str, Any]:
    """Motion, ground, onset and resolution of each record."""
    fine, radar = load_case(EXAMPLES / "quorleigh"), load_case(EXAMPLES / "drumoule")
    return {
        "fine": _of(fine, fine.track),
        "radar": _of(radar, radar.track),
        "coarse": _of(fine, _coarse(fine.track)),
        "gap": _of(fine, _with_gap(fine.track)),
        "stated": stated(12.5),
    }


def _rounded(seen: Observations, step: float) -> Observations:
    return replace(seen, value=np.round(seen.value / step) * step, step=step)


def _coarse(track: Track) -> Track:
    """Every third fix to a thousandth of a degree, height by satellite, no vertical rate."""
    position = track.fixes.taken(np.arange(len(track.fixes)) % 3 == 0)
    height = track.altitudes.taken(np.arange(len(track.altitudes)) % 3 == 0)
    return replace(
        track,
        position=_rounded(position, 1e-3 * DEGREE),
        pressure_altitude=None,
        geometric_altitude=_rounded(height, 50.0 * FOOT),
        vertical_rate=None,
        ground_speed=None,
        track_angle=None,
    )


def _with_gap(track: Track) -> Track:
    """Forty seconds are lost; errors are stated, heights come in two steps."""

    def kept(seen: Observations | None) -> Observations | None:
        if seen is None:
            return None
        since = seen.time - seen.time[0]
        return seen.taken((since < 60.0) | (since > 100.0))

    found = replace(track, **{name: kept(seen) for name, seen in track.channels().items()})
    position, height = found.fixes, found.altitudes
    even = np.arange(len(height)) % 2 == 0
    steps = np.where(even, 25.0, 100.0) * FOOT
    return replace(
        found,
        position=replace(position, sigma=np.linspace(8.0, 30.0, len(position))),
        pressure_altitude=replace(
            height, value=np.round(height.value / steps) * steps, step=100.0 * FOOT, steps=steps
        ),
        time_sigma=0.1,
    )


def _of(case: Case, track: Track) -> dict[str, Any]:
    motion = _moved(case, track)
    ground = on_ground(motion.time, motion.paths, case.lift)
    grid = ~motion.is_fix
    signals = {key: motion.paths[key][:, grid] for key in ONSET_SIGNALS}
    onsets = upset_onsets(motion.time[grid], signals, ground[grid])
    spread = {name: motion.paths[name].astype(float).std(axis=0).mean() for name in PLACE}
    return {
        "motion": motion,
        "spread": spread,
        "ground": ground,
        "air": stretches(~ground),
        "onsets": onsets,
        "interval": onsets.interval,
        "fault": fault_begin(onsets),
        "samples": sample_count(track.fixes.time),
    }


def _moved(case: Case, track: Track) -> Motion:
    return estimate_motion(
        track,
        weather=case.weather,
        lift=case.lift,
        rng=np.random.default_rng(505),
        altimeter_setting=case.altimeter_setting.value,
        altimeter_sigma=200.0,
        static_error=ParameterEstimate(20.0, 10.0),
        samples=24,
    )
