"""The flight as seen beside simulated ones: features, errors, and the trace that a fault leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Flags, Floats, Index
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.features import LOADS, NAMES, features, knots, unlisted
from neutralpoint.weighing.flights import Flown
from neutralpoint.weighing.nearest import Scale, closeness
from neutralpoint.weighing.odds import NOTHING

# A fault that moves no feature by this many standard deviations of the data's error and of ordinary
# flying, against the same flight without the fault, left no trace: it counts as nothing failed,
# which is all that can be told of it. Analyst's choice.
TRACE = 3.0
# Load factor over a window that a track of one reading a second does not show, beside the error
# that the smoother states: gusts and pulls that are faster, and the age of positions. Standard
# deviation; without it 90% bands held 63% on blind flights through the smoother.
UNSEEN_LOAD = 0.025
LEAST_TRACED = 0.1  # of the flights of a cause, those with most trace, are kept in any case
KEPT_OUT = 8  # every so manieth flight only tests


@dataclass(frozen=True)
class Compared:
    """Features of the flight and of the simulated ones.

    Attributes:
        at: Knots, s after the reference, shape (k,).
        observed: Mean over the sample paths, shape (f,).
        errors: Sample paths less their mean, shape (S, f).
        simulated: Of each cause, without errors, shape (n, f).
        traced: Which of these bear a trace of their cause, shape (n,).
        scale: Spread of error and ordinary flying.
    """

    at: Floats
    observed: Floats
    errors: Floats
    simulated: list[Floats]
    traced: list[Flags]
    scale: Scale


def traces(flown: list[Flown], simulated: list[Floats], sigma: Floats) -> list[Floats]:
    """How far each fault moved its flight, against the same flight without the fault.

    Args:
        flown: Simulated flights.
        simulated: Their features.
        sigma: Standard deviation of error and ordinary flying in each feature, shape (f,).

    Returns:
        Largest move of a feature in standard deviations, shape (n,) each; infinite where nothing
        failed.
    """
    names = [batch.cause for batch in flown]
    if NOTHING not in names:
        return [np.full(len(clean), np.inf) for clean in simulated]
    null = simulated[names.index(NOTHING)]
    moved = [
        np.abs((clean - null[batch.twin]) / sigma).max(axis=1)
        for batch, clean in zip(flown, simulated, strict=True)
    ]
    moved[names.index(NOTHING)] = np.full(len(null), np.inf)
    return moved


def compare(observed: Course, flown: list[Flown], window: float) -> Compared:
    """Put the flight as seen and the simulated ones on one footing.

    Args:
        observed: Sample paths after the reference.
        flown: Simulated flights by cause.
        window: Smoothing window of the data, s.

    Returns:
        Features of both.
    """
    at = knots(float(observed.time[-1]), window)
    return beside(
        observed, flown, [features(batch.course, at, window) for batch in flown], at, window
    )


def beside(
    observed: Course, flown: list[Flown], simulated: list[Floats], at: Floats, window: float
) -> Compared:
    """The same where the features of the simulated flights are already there.

    Args:
        observed: Sample paths after the reference.
        flown: Simulated flights by cause.
        simulated: Their features.
        at: Knots, s after the reference, shape (k,).
        window: Smoothing window of the data, s.

    Returns:
        Features of both.
    """
    each = features(observed, at, window)
    mean = each.mean(axis=0)
    each = each + _unseen(each.shape)
    scale = closeness(each - mean, simulated[_null(flown)])
    traced = [
        (moved >= TRACE) | (moved >= np.quantile(np.minimum(moved, 1e9), 1.0 - LEAST_TRACED))
        for moved in traces(flown, simulated, scale.sigma)
    ]
    return Compared(at, mean, each - mean, simulated, traced, scale)


def _unseen(shape: tuple[int, int]) -> Floats:
    """Errors of what a track does not show: always the same draws, for they are no one's chance."""
    paths, count = shape
    load = UNSEEN_LOAD * np.random.default_rng(0).standard_normal((paths, count // len(NAMES)))
    found = np.zeros((paths, len(NAMES), load.shape[1]))
    for name in LOADS:
        found[:, NAMES.index(name)] = load
    return found.reshape(shape)


def _null(flown: list[Flown]) -> int:
    """Place of the flights on which nothing failed."""
    names = [batch.cause for batch in flown]
    return names.index(NOTHING) if NOTHING in names else 0


def noisy(clean: Floats, errors: Floats, rng: np.random.Generator) -> Floats:
    """Features with errors as the data have them.

    Args:
        clean: Shape (n, f).
        errors: Error draws, shape (S, f).
        rng: Source of chance.

    Returns:
        Shape (n, f).
    """
    return clean + errors[rng.integers(0, len(errors), len(clean))]


def labelled(compared: Compared, rng, *, test: bool) -> tuple[Floats, Index]:
    """Features and labels for training or for the test, the unlisted cause as the last class.

    Flights with a trace are taken again until every cause has equally many. For the test they bear
    errors; in training errors are laid over them as it goes.

    Args:
        compared: Features.
        rng: Source of chance.
        test: The flights kept out of training, else the others.

    Returns:
        Shapes (n, f) and (n,).
    """
    rows = []
    for clean, traced in zip(compared.simulated, compared.traced, strict=True):
        chosen = (np.arange(len(clean)) % KEPT_OUT == 0) == test
        there = np.flatnonzero(chosen & traced)
        there = there if there.size else np.flatnonzero(chosen)
        rows.append(clean[there[np.arange(chosen.sum()) % there.size]])
    rows.append(unlisted(np.concatenate(rows), rng, len(rows[0])))
    labels = np.repeat(np.arange(len(rows)), [len(r) for r in rows])
    found = np.concatenate(rows)
    return (noisy(found, compared.errors, rng) if test else found), labels
