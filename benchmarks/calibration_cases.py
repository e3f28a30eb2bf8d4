"""Cases of known cause for `calibration.py`: airplanes, starts, another truth model, errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.quantities import DEGREE
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.simulate import Start

DURATION, WINDOW = 38.0, 2.0


@dataclass(frozen=True)
class Setting:
    """An airplane and the steady flight that the cases start from, SI."""

    airplane: str
    speed: float
    path_angle: float
    altitude: float

    def start(self) -> Start:
        """The start, known to about 1 m/s and a third of a degree."""
        rng = np.random.default_rng(7)
        return Start(
            self.speed + rng.normal(0.0, 1.0, 64),
            self.path_angle + rng.normal(0.0, 0.3 * DEGREE, 64),
            self.altitude,
        )


SETTINGS = (
    Setting("velmar-c7", 100.0, 0.0, 3000.0),
    Setting("ostrel-7", 125.0, 0.0, 5000.0),
    Setting("tarnley-180", 55.0, 0.0, 1500.0),
    Setting("velmar-c7", 85.0, 3.0 * DEGREE, 1200.0),
    Setting("ostrel-7", 110.0, 4.0 * DEGREE, 2500.0),
    Setting("tarnley-180", 48.0, 3.0 * DEGREE, 800.0),
    Setting("velmar-c7", 105.0, -3.0 * DEGREE, 4500.0),
)
# Settings that are also seen through a track and the smoother.
SMOOTHED = (0, 4, 2)


TWICE = 2.0  # a world that is further from its documents than the one that causes are flown in


# Errors of a motion: standard deviation, and time over which they change, s. About the middle of
# what track and smoother leave on the flights of `calibration_prepare.py`.
ERRORS = {
    "normal_load_factor": (0.03, 2.0),
    "longitudinal_load_factor": (0.015, 3.0),
    "bank_angle": (0.015, 3.0),
    "true_airspeed": (1.8, 60.0),
    "flight_path_angle": (0.005, 5.0),
    "altitude": (2.5, 10.0),
}


def wandering(rng, count, time_, sigma, scale):
    """Gaussian errors that forget themselves over a time scale."""
    apart = np.abs(time_[:, None] - time_[None, :])
    factor = np.linalg.cholesky(np.exp(-apart / scale) + 1e-9 * np.eye(time_.size))
    return sigma * rng.standard_normal((count, time_.size)) @ factor.T


def as_seen(course: Course, number: int, rng: np.random.Generator) -> Course:
    """One flight as a reconstruction gives it: one error made, its spread known."""
    paths = {}
    for name in COLUMNS:
        sigma, scale = ERRORS[name]
        errors = wandering(rng, 101, course.time, sigma, scale)
        paths[name] = getattr(course, name)[number] + errors[0] + errors[1:]
    return Course(course.time, **paths)


def some(course: Course, rows: np.ndarray) -> Course:
    """Some flights of a batch."""
    return Course(course.time, **{name: getattr(course, name)[rows] for name in COLUMNS})


@dataclass(frozen=True)
class Blind:
    """A case of known cause: what was seen, the flight as it was and without the fault.

    `cause` is empty for a recorded flight, `clean` and `twin` None then.
    """

    label: str
    start: Start
    airplane: str
    seen: Course
    cause: str
    values: np.ndarray
    clean: Course | None
    twin: Course | None
