"""What the observers leave of two causes that take an illusion as given, on their own flights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.explanations.hand import FELT_LAG
from neutralpoint.numerics.arrays import Index
from neutralpoint.senses import Ride, draw_organs, enough_felt, hidden_bank, perceive, ride_of
from neutralpoint.senses.seat import incidence_of
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.flights import RECORD, Flown
from neutralpoint.weighing.predictive import Predictive

FLIGHTS = 60  # drawn by how well they follow the track
ASKED = (CauseName.SOMATOGRAVIC_INPUT, CauseName.SPIRAL_DIVE)


@dataclass(frozen=True)
class LeftOf:
    """What is left of a cause.

    Attributes:
        cause: Its name.
        share: Of its flights on which what is perceived supplies what the cause takes as given,
            the mean of both models.
        models: The same by model.
    """

    cause: CauseName
    share: float
    models: tuple[float, float]


def ride_flown(flown: Flown, rows: Index) -> Ride:
    """The seat of simulated flights, at the center of gravity.

    Args:
        flown: Flights of a cause.
        rows: Which of them, shape (n,).

    Returns:
        Their ride, heading from the way over the ground.
    """
    some = flown.rows(rows)
    course = some.course
    north = np.gradient(some.north, RECORD, axis=1)
    east = np.gradient(some.east, RECORD, axis=1)
    incidence = incidence_of(some.pitch, course.flight_path_angle, course.bank_angle)
    return ride_of(
        heading=np.unwrap(np.arctan2(east, north), axis=1),
        path_angle=course.flight_path_angle,
        bank=np.unwrap(course.bank_angle, axis=1),
        incidence=incidence,
        across=course.normal_load_factor,
        along=course.longitudinal_load_factor,
        seat=np.zeros((len(some.pitch), 3)),
        step=RECORD,
    )


def left_of(near: dict[str, Predictive], rng: np.random.Generator) -> list[LeftOf]:
    """Ask the flights of both causes that follow the track.

    Args:
        near: Flights of each cause given what was seen.
        rng: Source of chance for the flights taken and for people.

    Returns:
        One entry a cause that was flown.
    """
    return [_one(name, near[name], rng) for name in ASKED if name in near]


def _one(name: CauseName, near: Predictive, rng: np.random.Generator) -> LeftOf:
    rows = rng.choice(near.weight.size, FLIGHTS, p=near.weight).astype(np.intp)
    ride = ride_flown(near.flown, rows)
    perceived = perceive(ride, draw_organs(rng, FLIGHTS))
    values = dict(zip(near.flown.parameters, near.flown.values[rows].T, strict=True))
    if name == CauseName.SPIRAL_DIVE:
        supplied = hidden_bank(ride, perceived, values["start"])
    else:
        supplied = enough_felt(
            ride, perceived, begin=values["start"], belief=values["belief"], lag=FELT_LAG
        )
    models = supplied.mean(axis=1)
    return LeftOf(name, float(models.mean()), (float(models[0]), float(models[1])))
