"""What the motion makes of two invented records: one a second by receivers, one by a radar."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.case import load_case
from neutralpoint.motion import (
    ONSET_SIGNALS,
    ParameterEstimate,
    estimate_motion,
    fault_begin,
    on_ground,
    sample_count,
    upset_onsets,
)

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


def known() -> dict[str, Any]:
    """Motion, ground, onset and resolution of each record."""
    return {name: _of(name) for name in ("quorleigh", "drumoule")}


def _of(name: str) -> dict[str, Any]:
    case = load_case(EXAMPLES / name)
    motion = estimate_motion(
        case.track,
        weather=case.weather,
        lift=case.lift,
        rng=np.random.default_rng(505),
        altimeter_setting=case.altimeter_setting.value,
        altimeter_sigma=200.0,
        static_error=ParameterEstimate(20.0, 10.0),
        samples=40,
    )
    ground = on_ground(motion.time, motion.paths, case.lift)
    grid = ~motion.is_fix
    signals = {key: motion.paths[key][:, grid] for key in ONSET_SIGNALS}
    onsets = upset_onsets(motion.time[grid], signals, ground[grid])
    return {
        "motion": motion,
        "ground": ground,
        "onsets": onsets,
        "interval": onsets.interval,
        "fault": fault_begin(onsets),
        "samples": sample_count(case.track.fixes.time),
    }
