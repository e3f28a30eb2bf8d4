"""The weighing by the shipped networks: odds in a moment, then a few flights of the case's own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.quickly import quickly
from neutralpoint.explanations import Cause
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.weighing.networks import load_shipped
from neutralpoint.weighing.amortised import (
    FlightSeen,
    Shipped,
    Standing,
    parameter_draws,
    see,
    standing_of,
    taken_in,
)
from neutralpoint.weighing.compare import compare
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.effects import effects
from neutralpoint.weighing.flights import Flown, Start, values_of
from neutralpoint.weighing.odds import UNLISTED, equal_prior
from neutralpoint.weighing.simulate import limited
from neutralpoint.weighing.weigh import Posterior, Weighed, nearest, reweigh
from neutralpoint.weighing.wider import WIDER_ORDINARY
from neutralpoint.weighing.window import BEGINS

FEW = 24  # flights of each cause that are drawn from its posterior and flown; analyst's
DRAWS = 400  # of the parameters of each cause


@dataclass(frozen=True)
class AtOnce:
    """What is known before anything is flown.

    Attributes:
        networks: The shipped ones.
        seen: The stretch that is compared.
        told: Of the airplane at the start, shape (e,).
        place: Whether the case lies inside what the networks were learned on.
    """

    networks: Shipped
    seen: FlightSeen
    told: Array
    place: Standing

    @cached_property
    def hidden(self) -> list[Array]:
        """What each network makes of the stretch, shape (2, h) each."""
        return taken_in(self.networks, self.seen, self.told)

    @property
    def latest(self) -> float:
        """Latest begin of a fault that the networks know, s after the reference."""
        return BEGINS * self.seen.length


_effects = quickly(effects)


def look(airplane: Airplane, start: Start, observed: Course, window: float) -> AtOnce:
    """What the networks are given of a case.

    Args:
        airplane: As documented and loaded.
        start: The steady flight that the stretch begins with.
        observed: Sample paths after it.
        window: Smoothing window of the data, s.

    Returns:
        It, with whether the networks may be asked.

    Raises:
        NeutralPointError: `track-too-short`, `networks-damaged`.
    """
    networks = load_shipped()
    at = {
        "speed": float(np.median(start.speed)),
        "path_angle": float(np.median(start.path_angle)),
        "height": start.pressure_altitude,
        "temperature_offset": start.temperature_offset,
        "flap": start.flap,
        "gear": start.gear,
    }
    found = _effects(airplane, at)
    names = tuple(sorted(found))
    told = np.array([float(found[name]) for name in names])
    return AtOnce(networks, see(observed, window), told, standing_of(networks, told, names))


def units_of(
    given: AtOnce, causes: tuple[Cause, ...], rng: np.random.Generator
) -> dict[str, Array]:
    """Parameters of the few flights that are flown of each cause.

    Args:
        given: Of `look`.
        causes: Which.
        rng: Source of chance.

    Returns:
        Normal scores by cause, shape (`FEW`, d) each.
    """
    return {cause.name: _drawn(given, cause, FEW, rng) for cause in causes if cause.parameters}


def _drawn(given: AtOnce, cause: Cause, count: int, rng: np.random.Generator) -> Array:
    return parameter_draws(
        given.networks,
        given.hidden,
        cause.name,
        size=len(cause.parameters),
        count=count,
        rng=rng,
    )


def weigh_at_once(
    given: AtOnce,
    observed: Course,
    flown: list[Flown],
    runs: Array,
    *,
    window: float,
    names: tuple[str, ...],
    rng: np.random.Generator,
) -> Weighed:
    """What the track alone says of the causes.

    Args:
        given: Of `look`.
        observed: Sample paths after the reference.
        flown: A few flights of each cause.
        runs: ln p(track | cause) of each network, over all windows, shape (R, C).
        window: Smoothing window of the data, s.
        names: Of the causes, the unlisted one last.
        rng: Source of chance.

    Returns:
        What was found, with equal prior weights.
    """
    odds = reweigh(names, equal_prior(names), runs)
    compared = compare(observed, flown, window)
    near = nearest(compared, flown)
    best = next(names[i] for i in odds.order() if names[i] != UNLISTED)
    return Weighed(
        odds,
        runs,
        given.networks.held_out,
        compared.at,
        compared.observed,
        near,
        {batch.cause: _posterior(given, batch.act, rng) for batch in flown if batch.parameters},
        min((n for n in near if n != best), key=lambda n: near[n].distance),
        {b.cause: float(t.mean()) for b, t in zip(flown, compared.traced, strict=True)},
    )


def _posterior(given: AtOnce, cause: Cause, rng: np.random.Generator) -> Posterior:
    """Parameters of one cause, SI."""
    unit = _drawn(given, cause, DRAWS, rng)
    own = limited(cause, (0.0, given.latest), WIDER_ORDINARY)
    names = tuple(p.name for p in cause.parameters)
    return Posterior(names, values_of(own.parameters, unit), True, float("nan"))
