"""Simulated flights: where they start, what was drawn for them, and what became of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import jax
import numpy as np
from jax import Array
from scipy.special import ndtr

from neutralpoint.airplane.model import Airplane, Multipliers
from neutralpoint.explanations import Cause, Parameter
from neutralpoint.numerics.arrays import Floats, Index
from neutralpoint.weighing.course import BESIDE, COLUMNS, Course

RECORD = 0.5  # s between records; flights are compared over windows of 2 s and more
LENGTH = 20.0  # s: flights are flown for whole multiples, so that few lengths are compiled


@dataclass(frozen=True)
class Start:
    """Where the last trimmed flight ended, with what is not known of it.

    Attributes:
        speed: True airspeed, m/s, shape (S,).
        path_angle: Air-relative, rad, shape (S,).
        pressure_altitude: m.
        temperature_offset: From standard, K.
        flap: 0 to 1.
        gear: 0 to 1.
    """

    speed: Floats
    path_angle: Floats
    pressure_altitude: float
    temperature_offset: float = 0.0
    flap: float = 0.0
    gear: float = 0.0


@dataclass(frozen=True)
class Drawn:
    """All that makes flights what they are, one row a flight.

    Attributes:
        unit: Normal scores of the cause's parameters, filled up with zeros, shape (n, WIDTH).
        ordinary: Normal scores of what is drawn whatever the cause, shape (n, o).
        multipliers: Of the airplane's derivatives, leaves (n,).
        begin: Speed, path angle and the rest of the start, each (n,).
        number: Of the turbulence, shape (n,); flights with one number fly in the same gusts.
    """

    unit: Floats
    ordinary: Floats
    multipliers: Multipliers
    begin: dict[str, Floats]
    number: Index

    def rows(self, chosen: Index) -> Drawn:
        """Some of the rows.

        Args:
            chosen: Indices.

        Returns:
            These rows.
        """
        return Drawn(
            self.unit[chosen],
            self.ordinary[chosen],
            jax.tree.map(lambda leaf: np.asarray(leaf)[chosen], self.multipliers),
            {name: values[chosen] for name, values in self.begin.items()},
            self.number[chosen],
        )


@dataclass(frozen=True)
class Plan:
    """What all flights of one weighing share.

    Attributes:
        airplane: As documented and loaded.
        ordinary: What is drawn whatever the cause.
        duration: Of the flight that is compared, s.
        key: JAX random key of the gusts.
    """

    airplane: Airplane
    ordinary: tuple[Parameter, ...]
    duration: float
    key: Array

    @property
    def flown_for(self) -> float:
        """How long flights are flown, s."""
        return float(LENGTH * np.ceil((self.duration + RECORD) / LENGTH))

    @property
    def records(self) -> int:
        """How many records are kept."""
        return int(np.ceil(self.duration / RECORD)) + 1


@dataclass(frozen=True)
class Flown:
    """Simulated flights of one cause.

    Attributes:
        cause: Its name.
        parameters: Names, in the order of `unit` and `values`.
        unit: Normal scores of the parameters, shape (n, d).
        values: SI, shape (n, d).
        course: The flights.
        trim: Trim surface, rad, shape (n, m).
        column_force: N, pull positive, shape (n, m).
        pitch: rad, shape (n, m).
        north: m from the start, along its heading, shape (n, m).
        east: m from the start, to the right of its heading, shape (n, m).
        act: The cause with the priors it was drawn from.
        drawn: What the flights were made of; causes share all but `unit`, row by row.
        twin: Row of the flight on which nothing failed and all else is the same, shape (n,).
        plan: What the flights of all causes share.
    """

    cause: str
    parameters: tuple[str, ...]
    unit: Floats
    values: Floats
    course: Course
    trim: Floats
    column_force: Floats
    pitch: Floats
    north: Floats
    east: Floats
    act: Cause
    drawn: Drawn
    twin: Index
    plan: Plan

    def rows(self, chosen: Index) -> Flown:
        """Some of the flights.

        Args:
            chosen: Indices.

        Returns:
            These flights.
        """
        course = {name: getattr(self.course, name)[chosen] for name in COLUMNS}
        return replace(
            self,
            unit=self.unit[chosen],
            values=self.values[chosen],
            course=Course(self.course.time, **course),
            drawn=self.drawn.rows(chosen),
            twin=self.twin[chosen],
            **{name: getattr(self, name)[chosen] for name in BESIDE},
        )


def values_of(parameters: tuple[Parameter, ...], unit: Floats) -> Floats:
    """Normal scores as values.

    Args:
        parameters: With their priors.
        unit: Normal scores, one column a parameter; further columns are left out.

    Returns:
        SI, shape (n, d).
    """
    columns = [np.asarray(p.prior.quantile(ndtr(unit[:, i]))) for i, p in enumerate(parameters)]
    return np.array(columns, dtype=float).reshape(-1, len(unit)).T


def flown_of(cause: Cause, plan: Plan, drawn: Drawn, rows: Floats, twin: Index) -> Flown:
    """Flights of one cause from their rows.

    Args:
        cause: With the priors it was drawn from.
        plan: What all flights share.
        drawn: What the flights were made of.
        rows: Of `fly_drawn`, shape (n, m, 11).
        twin: See `Flown`.

    Returns:
        The flights.
    """
    count = len(cause.parameters)
    columns = np.moveaxis(rows, 2, 0)
    return Flown(
        cause.name,
        tuple(p.name for p in cause.parameters),
        drawn.unit[:, :count],
        values_of(cause.parameters, drawn.unit),
        Course(RECORD * np.arange(rows.shape[1]), *columns[: len(COLUMNS)]),
        *columns[len(COLUMNS) :],
        act=cause,
        drawn=drawn,
        twin=twin,
        plan=plan,
    )
