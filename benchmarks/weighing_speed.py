"""Seconds of one core that a quick look and a whole weighing take.

    JAX_COMPILATION_CACHE_DIR=FOLDER python benchmarks/weighing_speed.py

Run it twice: the second run finds the compiled programs of the first.
"""

from __future__ import annotations

import resource
import time

import numpy as np

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.odds import UNLISTED, equal_prior
from neutralpoint.weighing.predictive import predict
from neutralpoint.weighing.simulate import Start, flyable, simulate
from neutralpoint.weighing.weigh import weigh
from neutralpoint.weighing.wider import wider_airplane

ERRORS = dict(zip(COLUMNS, (0.03, 0.015, 0.015, 1.5, 0.005, 3.0), strict=True))
FLIGHTS = {"quick": 192, "full": 1000}


def seen(batch, number: int, rng: np.random.Generator) -> Course:
    """One flight as a reconstruction gives it, 100 paths."""
    paths = {
        name: getattr(batch.course, name)[number] + sigma * rng.standard_normal((100, 1))
        for name, sigma in ERRORS.items()
    }
    return Course(batch.course.time, **paths)


class Clock:
    """Prints what each part took, s of one core and on the wall."""

    def __init__(self) -> None:
        self.core, self.wall = self.now()

    @staticmethod
    def now() -> tuple[float, float]:
        """Seconds of one core so far, and the time."""
        return sum(resource.getrusage(resource.RUSAGE_SELF)[:2]), time.perf_counter()

    def tell(self, what: str) -> None:
        """Print one part."""
        core, wall = self.now()
        print(f"{what}: {core - self.core:.1f} s of one core, {wall - self.wall:.1f} s", flush=True)
        self.core, self.wall = core, wall


def main() -> None:
    """Run and print."""
    clock, rng = Clock(), np.random.default_rng(1)
    described = load_airplane("velmar-c7")
    causes = flyable(described.airplane)
    start = Start(np.full(64, 100.0), np.zeros(64), 3000.0)
    prior = equal_prior((*(cause.name for cause in causes), UNLISTED))
    for label, count in FLIGHTS.items():
        drawn = wider_airplane(described.uncertainty).draw(rng, count * len(causes))
        flown = simulate(described.airplane, drawn, start, causes, rng=rng, duration=38.0)
        clock.tell(f"{label}: flights")
        course = seen(flown[1], 3, rng)
        deep = label == "full"
        weigh(course, flown, window=2.0, prior=prior, rng=rng, deep=deep)
        clock.tell(f"{label}: networks{' and parameters' if deep else ''}")
    predict(flown, course, window=2.0, rng=rng)
    clock.tell("full: flights drawn nearer")


if __name__ == "__main__":
    main()
