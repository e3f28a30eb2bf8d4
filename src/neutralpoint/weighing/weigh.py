"""Odds between causes for one flight: simulated flights, features, network, parameters, nearest."""

from __future__ import annotations

from dataclasses import dataclass

import jax
import numpy as np
from numpy.typing import NDArray

from neutralpoint.weighing import parameters as fitting
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.features import features, knots, unlisted
from neutralpoint.weighing.nearest import Near, Scale, closeness, near
from neutralpoint.weighing.network import learn, log_evidence, standardise
from neutralpoint.weighing.odds import UNLISTED, Odds, combine
from neutralpoint.weighing.simulate import Flown

Floats = NDArray[np.float64]

NOTHING = "nothing-failed"
REPEATS = 3  # error draws laid over each simulated flight
KEPT_OUT = 8  # every so manieth flight only tests
# Log evidence is divided by this, and this much of the answer is the prior itself, whatever the
# data say: what blind cases from another model need for honest odds
# (benchmarks/calibration.py, benchmarks/results/calibration.json).
TEMPER = 1.0
LAPSE = 0.02


@dataclass(frozen=True)
class Posterior:
    """Parameters of one cause, given that it was the cause.

    Attributes:
        names: Of the parameters.
        draws: SI, shape (k, d).
        settled: Whether the sampler reached the posterior.
        log_evidence_error: Standard error of the sampler's own evidence.
    """

    names: tuple[str, ...]
    draws: Floats
    settled: bool
    log_evidence_error: float


@dataclass(frozen=True)
class Weighed:
    """What the weighing of one flight found.

    Attributes:
        odds: Between the causes and the unlisted one.
        runs: Log evidence of each network, as it came out, shape (R, C).
        held_out: Mean log score on simulated flights that were kept out, nats.
        at: Knots, s after the reference, shape (k,).
        observed: Features of the flight, shape (f,).
        near: Nearest simulated flights by cause.
        parameters: Posterior by cause; causes without parameters are not in it.
        twin: Cause of the nearest flight that the favourite did not make.
    """

    odds: Odds
    runs: Floats
    held_out: float
    at: Floats
    observed: Floats
    near: dict[str, Near]
    parameters: dict[str, Posterior]
    twin: str


@dataclass(frozen=True)
class _Compared:
    """Features of the flight and of the simulated ones."""

    at: Floats
    observed: Floats
    errors: Floats
    simulated: list[Floats]


def _compare(observed: Course, flown: list[Flown], window: float) -> _Compared:
    at = knots(float(observed.time[-1]), window)
    each = features(observed, at, window)
    mean = each.mean(axis=0)
    return _Compared(at, mean, each - mean, [features(batch.course, at, window) for batch in flown])


def _noisy(clean: Floats, errors: Floats, rng: np.random.Generator, repeats: int) -> Floats:
    """Features with errors as the data have them."""
    pick = rng.integers(0, len(errors), repeats * len(clean))
    return np.tile(clean, (repeats, 1)) + errors[pick]


def _labelled(compared: _Compared, rng, *, test: bool) -> tuple[Floats, NDArray[np.intp]]:
    """Features and labels for training or for the test, the unlisted cause as the last class."""
    rows = []
    for clean in compared.simulated:
        chosen = (np.arange(len(clean)) % KEPT_OUT == 0) == test
        rows.append(_noisy(clean[chosen], compared.errors, rng, 1 if test else REPEATS))
    rows.append(unlisted(np.concatenate(rows), rng, len(rows[0])))
    return np.concatenate(rows), np.repeat(np.arange(len(rows)), [len(r) for r in rows])


def temper(runs: Floats, prior: Floats) -> Floats:
    """Log evidence as blind cases allow it to count.

    Args:
        runs: Log evidence, shape (R, C).
        prior: Shape (C,).

    Returns:
        Shape (R, C).
    """
    tempered = runs / TEMPER
    share = np.exp(tempered - np.max(tempered, axis=1, keepdims=True))
    share /= (share @ prior)[:, None]
    return np.log((1.0 - LAPSE) * share + LAPSE)


def reweigh(
    names: tuple[str, ...], prior: Floats, runs: Floats, beside: Floats | float = 0.0
) -> Odds:
    """Odds from evidence that is already there; nothing is flown.

    Args:
        names: Of the causes, the unlisted one last.
        prior: The analyst's, shape (C,).
        runs: Log evidence of the track from each network, shape (R, C).
        beside: Log likelihood of evidence other than the track, shape (C,).

    Returns:
        The odds.
    """
    return combine(names, prior, temper(runs, prior) + beside)


def weigh(
    observed: Course,
    flown: list[Flown],
    *,
    window: float,
    prior: Floats,
    rng: np.random.Generator,
    seeds: int = 5,
    deep: bool = True,
) -> Weighed:
    """Weigh the causes of one flight.

    Args:
        observed: Sample paths after the reference.
        flown: Simulated flights by cause, equally many of each.
        window: Smoothing window of the data, s.
        prior: The analyst's, causes in the order of `flown`, then the unlisted one.
        rng: Source of chance.
        seeds: Networks; the band of the odds is over them.
        deep: Also find parameters and nearest flights.

    Returns:
        What was found.

    Checked against: tests/recovery/test_weighing.py and benchmarks/calibration.py.
    """
    compared = _compare(observed, flown, window)
    names = (*(batch.cause for batch in flown), UNLISTED)
    train, labels = _labelled(compared, rng, test=False)
    network = learn(
        train,
        labels,
        classes=len(names),
        key=jax.random.key(int(rng.integers(2**31))),
        seeds=seeds,
        test=_labelled(compared, rng, test=True),
    )
    runs = log_evidence(network, compared.observed[None])[:, 0]
    odds = reweigh(names, prior, runs)
    found, posteriors, twin = {}, {}, ""
    if deep:
        found = _nearest(compared, flown)
        posteriors = _parameters(compared, flown, network, rng)
        best = next(names[i] for i in odds.order() if names[i] != UNLISTED)
        twin = min((n for n in found if n != best), key=lambda n: found[n].distance)
    return Weighed(
        odds,
        runs,
        float(network.held_out),
        compared.at,
        compared.observed,
        found,
        posteriors,
        twin,
    )


def scale_of(compared: _Compared, flown: list[Flown]) -> Scale:
    """What counts as close for this flight: the spread of flights on which nothing failed.

    Args:
        compared: Features.
        flown: Simulated flights.

    Returns:
        The scale.
    """
    names = [batch.cause for batch in flown]
    ordinary = compared.simulated[names.index(NOTHING) if NOTHING in names else 0]
    return closeness(compared.errors, ordinary)


def _nearest(compared: _Compared, flown: list[Flown]) -> dict[str, Near]:
    scale = scale_of(compared, flown)
    return {
        batch.cause: near(clean, compared.observed, scale)
        for batch, clean in zip(flown, compared.simulated, strict=True)
    }


def _parameters(compared: _Compared, flown: list[Flown], network, rng) -> dict[str, Posterior]:
    """Posteriors of the parameters, all causes in one batch."""
    models, batches = [], []
    seen = np.asarray(standardise(compared.observed, network.centre, network.scale))
    for batch, clean in zip(flown, compared.simulated, strict=True):
        if not batch.parameters:
            continue
        noisy = _noisy(clean, compared.errors, rng, 1)
        scaled = np.asarray(standardise(noisy, network.centre, network.scale))
        summary, there = fitting.summarise(scaled, batch.unit, seen)
        padded = fitting.pad(there[None])[0]
        models.append(fitting.fit(fitting.pad(summary), fitting.pad(batch.unit), padded))
        batches.append(batch)
    if not models:
        return {}
    keys = jax.random.split(jax.random.key(int(rng.integers(2**31))), len(models))
    found = fitting.posteriors(keys, models)
    return {
        batch.cause: Posterior(
            batch.parameters,
            _to_values(np.asarray(found.particles)[number], batch),
            bool(found.settled[number]),
            float(found.error[number]),
        )
        for number, batch in enumerate(batches)
    }


def _to_values(unit: Floats, batch: Flown) -> Floats:
    """Normal scores to SI by the quantiles of the draws themselves."""
    columns = []
    for number in range(len(batch.parameters)):
        order = np.argsort(batch.unit[:, number])
        columns.append(
            np.interp(unit[:, number], batch.unit[order, number], batch.values[order, number])
        )
    return np.stack(columns, axis=1)
