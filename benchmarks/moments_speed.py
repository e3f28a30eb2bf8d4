"""The required moment of 200 sample paths of 10 minutes, beside a plain loop over the paths.

    python benchmarks/moments_speed.py [AIRPLANE]

Printed: the first call (it compiles), the warm call, the loop, and how far the two results differ.
Called by moments_recovery.py, whose result holds it.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import jax
import numpy as np
from moments_chain import WINDOW

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.moments import (
    MotionFlight,
    batched,
    energy,
    judge_causes,
    judged_part,
    required_moment,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.question import Question
from neutralpoint.quantities import GRAVITY

PATHS, LENGTH, STEP = 200, 600.0, 0.25  # paths, s, s
LOOPED = 20  # paths of the loop that are timed; the others cost the same


def invented_flight(rng: np.random.Generator, airspeed: float = 90.0) -> MotionFlight:
    """Level flight in which load factor and speed wander, another way on each path."""
    time_s = np.arange(0.0, LENGTH, STEP)
    slow = 2.0 * np.pi * time_s / 60.0
    phase, size = rng.uniform(0.0, 6.28, (PATHS, 1)), rng.uniform(0.5, 1.5, (PATHS, 1))
    load = 1.0 + 0.1 * size * np.sin(slow + phase)
    load = np.where(time_s < 60.0, 1.0, load)
    speed = airspeed + 2.0 * size * np.cos(slow + phase)
    flight = MotionFlight(
        time=time_s,
        true_airspeed=speed,
        dynamic_pressure=0.5 * speed**2,
        mach=speed / 330.0,
        density=np.ones_like(speed),
        normal_load_factor=load,
        longitudinal_load_factor=0.02 * np.sin(slow + phase),
        path_rate=GRAVITY / speed * (load - 1.0),
        gust_angle=np.zeros_like(speed),
    )
    return with_gusts(flight, rng, WINDOW)


def part_of(flight: MotionFlight, path: int) -> MotionFlight:
    """One path of a flight."""
    one = {name: values[path : path + 1] for name, values in vars(flight).items() if name != "time"}
    return replace(flight, **one)


def measure(airplane: Airplane, uncertainty: Uncertainty) -> str:
    """Time both and say so in a paragraph."""
    rng = np.random.default_rng(1)
    flight = invented_flight(rng)
    trimmed = flight.time < 55.0
    drawn = batched(apply_multipliers(airplane, uncertainty.draw(rng, PATHS)))
    drawn = with_power_effect(drawn, rng, PATHS)
    bank = np.zeros_like(flight.true_airspeed)

    def whole() -> tuple[float, float, np.ndarray]:
        started = time.perf_counter()
        required = required_moment(drawn, flight, trimmed, window=WINDOW)
        found = energy(drawn, flight, required)
        middle = time.perf_counter()
        part = judged_part(drawn, flight, required, window=WINDOW)
        question = Question(airplane, part, rng)
        judge_causes(question, found, bank=bank, bank_known=np.ones(bank.shape[1], bool))
        return middle - started, time.perf_counter() - middle, required.elevator

    first, (moment, judged, together) = sum(whole()[:2]), whole()

    def alone(path: int) -> np.ndarray:
        one = jax.tree.map(lambda x: x[path : path + 1] if np.ndim(x) == 2 else x, drawn)
        part = part_of(flight, path)
        required = required_moment(one, part, trimmed, window=WINDOW)
        energy(one, part, required)
        return required.elevator[0]

    alone(0)  # compiles
    started = time.perf_counter()
    looped = np.stack([alone(path) for path in range(LOOPED)])
    loop = (time.perf_counter() - started) * PATHS / LOOPED
    off = np.abs(looped - together[:LOOPED]).max()
    return (
        f"{PATHS} paths of {LENGTH / 60.0:.0f} minutes at {STEP:g} s: first call {first:.1f} s, "
        f"warm {moment:.2f} s for the required moment and {judged:.2f} s for the verdicts. A plain "
        f"loop over the paths takes {loop:.1f} s for the same moment (timed on {LOOPED} of them), "
        f"{loop / moment:.0f} times as long; the results differ by {off:.0e} rad of elevator."
    )


def main() -> None:
    """Measure one airplane of the catalogue."""
    from neutralpoint.airplane_file.build import load_airplane

    described = load_airplane(sys.argv[1] if len(sys.argv) > 1 else "velmar-c7")
    print(measure(described.airplane, described.uncertainty))


if __name__ == "__main__":
    main()
