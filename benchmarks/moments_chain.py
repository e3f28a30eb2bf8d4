"""From the track of one flight to what it took: the chain that the moments benchmarks share."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.earth.weather import Weather
from neutralpoint.moments import (
    Energy,
    Judged,
    Judgement,
    MotionFlight,
    Required,
    batched,
    energy,
    flight_from_paths,
    judge_causes,
    judged_part,
    last_trimmed,
    required_moment,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.question import Question
from neutralpoint.motion import LiftData, Motion, estimate_motion
from neutralpoint.track import Track

WINDOW = 2.0  # s, of tracks with a fix a second
SAMPLES = 200


@dataclass(frozen=True)
class Chain:
    """What the analyst has at the end, and the seconds it took: motion, moments, verdicts."""

    motion: Motion
    flight: MotionFlight
    trimmed: np.ndarray
    required: Required
    part: Judged
    energy: Energy
    verdicts: list[Judgement]
    seconds: tuple[float, float, float]


def analyse(
    track: Track,
    *,
    weather: Weather,
    lift: LiftData,
    airplane: Airplane,
    uncertainty: Uncertainty,
    onset: float | None,
    rng: np.random.Generator,
    samples: int = SAMPLES,
    window: float = WINDOW,
) -> Chain:
    """One flight from its track to its verdicts, the onset given."""
    started = time.perf_counter()
    motion = estimate_motion(track, weather=weather, lift=lift, rng=rng, samples=samples)
    moved = time.perf_counter()
    flight = flight_from_paths(motion.time, motion.is_fix, motion.paths, window)
    flight = with_gusts(flight, rng, window)
    drawn = batched(apply_multipliers(airplane, uncertainty.draw(rng, samples)))
    drawn = with_power_effect(drawn, rng, samples)
    trimmed = last_trimmed(flight, before=onset)
    required = required_moment(drawn, flight, trimmed, window=window)
    found = energy(drawn, flight, required)
    worked = time.perf_counter()
    part = judged_part(drawn, flight, required, window=window, onset=onset)
    judged = judge_all(motion, airplane, part, found, rng)
    seconds = (moved - started, worked - moved, time.perf_counter() - worked)
    return Chain(motion, flight, trimmed, required, part, found, judged, seconds)


def judge_all(
    motion: Motion, airplane: Airplane, part: Judged, found: Energy, rng: np.random.Generator
) -> list[Judgement]:
    """The judgements on one flight, the load unknown."""
    grid = ~motion.is_fix
    return judge_causes(
        Question(airplane, part, rng),
        found,
        bank=motion.paths["bank_angle"][:, grid],
        bank_known=motion.observable["bank_angle"][grid],
    )
