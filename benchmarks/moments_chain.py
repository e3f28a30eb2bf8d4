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
    Flight,
    Required,
    Verdict,
    batched,
    energy,
    flight_from_paths,
    last_trimmed,
    required_moment,
    verdicts,
    with_gusts,
    with_power_effect,
)
from neutralpoint.motion import LiftData, Motion, estimate_motion
from neutralpoint.track import Track

WINDOW = 2.0  # s, of tracks with a fix a second
SAMPLES = 200
INNOCENT = "nothing failed, flown by hand"


@dataclass(frozen=True)
class Chain:
    """What the analyst has at the end, and the seconds it took: motion, moments, verdicts."""

    motion: Motion
    flight: Flight
    trimmed: np.ndarray
    required: Required
    energy: Energy
    verdicts: list[Verdict]
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
) -> Chain:
    """One flight from its track to its verdicts, the onset given."""
    started = time.perf_counter()
    motion = estimate_motion(track, weather=weather, lift=lift, rng=rng, samples=samples)
    moved = time.perf_counter()
    flight = flight_from_paths(motion.time, motion.is_fix, motion.paths, WINDOW)
    flight = with_gusts(flight, rng, WINDOW)
    drawn = batched(apply_multipliers(airplane, uncertainty.draw(rng, samples)))
    drawn = with_power_effect(drawn, rng, samples)
    trimmed = last_trimmed(flight, before=onset)
    required = required_moment(drawn, flight, trimmed, window=WINDOW)
    found = energy(drawn, flight, required)
    worked = time.perf_counter()
    judged = judge_all(motion, airplane, required)
    seconds = (moved - started, worked - moved, time.perf_counter() - worked)
    return Chain(motion, flight, trimmed, required, found, judged, seconds)


def judge_all(motion: Motion, airplane: Airplane, required: Required) -> list[Verdict]:
    """The verdicts on one flight, the load unknown."""
    return verdicts(
        airplane,
        required,
        window=WINDOW,
        bank=motion.paths["bank_angle"][:, ~motion.is_fix],
        stabilizer_now=float(np.median(required.setting)),
    )
