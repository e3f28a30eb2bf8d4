"""The trim drive as a cause: its motor runs, or its surface comes loose."""

from __future__ import annotations

from functools import partial

import numpy as np

from neutralpoint.moments.comparing import trim_needs
from neutralpoint.moments.judge import (
    Extra,
)
from neutralpoint.moments.judgement import (
    Grant,
    Judgement,
)
from neutralpoint.moments.question import Question, standing, trim_power
from neutralpoint.moments.shapes import (
    Histories,
    motor_runs,
    steps,
    two_motor_runs,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName

BREAKS = np.array([0.2, 1.0])  # s that a part takes to let go; analyst's
SIZES = 30  # tried between the least and the most; finer than the data tell apart


def _both_ways(sizes: Array) -> Array:
    return np.r_[-sizes[::-1], sizes]


def trim_causes(question: Question) -> list[Judgement]:
    """Runs of the pitch-trim motor, and a trim surface or elevator that came loose.

    Args:
        question: What is judged.

    Returns:
        None where the airplane has no pitch trim; no runs where it is turned by hand alone.
    """
    airplane, required = question.airplane, question.judged.required
    drive = airplane.trim_drive
    if drive.kind == "none":
        return []
    needed = question.of(standing, partial(trim_power, drive.kind))
    setting = float(np.median(required.setting))
    travel = (float(drive.travel_min) - setting, float(drive.travel_max) - setting)
    slow, fast = sorted((float(drive.loaded_rate), float(drive.rate)))
    rates = _both_ways(np.linspace(0.9 * slow, 1.1 * fast, 4))
    wider = _both_ways(np.linspace(0.5 * slow, 2.0 * fast, 5))
    double = (2.0 * travel[0], 2.0 * travel[1])
    compared = trim_needs(airplane, question.judged, travel)
    runaway = CauseName.STABILIZER_RUNAWAY if drive.kind == "stabilizer" else CauseName.TAB_RUNAWAY
    motors = ((runaway, motor_runs), (CauseName.INTERMITTENT_RUNAWAY, two_motor_runs))
    found = []
    for cause, make in motors if fast > 0.0 else ():  # turned by hand alone: nothing runs away

        def runs(rates: Array, travel: tuple[float, float], make=make) -> Histories:
            return question.averaged(lambda time: make(time, rates, travel))

        extras = (
            Extra(Grant.OTHER_RATE, 2.0 * fast, runs(wider, travel)),
            Extra(Grant.OTHER_TRAVEL, 2.0 * max(map(abs, travel)), runs(rates, double)),
        )
        found.append(
            question.judge(cause, needed, runs(rates, travel), extras=extras, comparisons=compared)
        )
    size = 3.0 * max(map(abs, travel))
    sizes = _both_ways(np.geomspace(0.01, 1.0, SIZES) * size)
    loose = question.averaged(lambda time: steps(time, sizes, BREAKS))
    found.append(question.judge(CauseName.SEPARATION, needed, loose, comparisons=compared[:1]))
    return found
