"""Odds between causes for one flight: simulated flights, features, network, parameters, nearest."""

from __future__ import annotations

from dataclasses import dataclass

import jax
import numpy as np
from scipy.special import softmax

from neutralpoint.numerics.arrays import Floats
from neutralpoint.weighing import parameters as fitting
from neutralpoint.weighing.compare import Compared, compare, labelled, noisy
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.features import NAMES, mirrored
from neutralpoint.weighing.flights import Flown
from neutralpoint.weighing.nearest import Near, near
from neutralpoint.weighing.network import (
    MOST_STEPS,
    Network,
    learn,
    log_evidence,
    standardise,
)
from neutralpoint.weighing.odds import NOTHING, UNLISTED, Odds, combine

# With the chance LAPSE one fault is told from another less surely than the networks say: by the
# power TEMPERED of what they say. With the chance NULL_LAPSE nothing at all is told. Settled on
# flights of three simulators: decisions/0023 and 0024. Printed scores are of other flights.
LAPSE, TEMPERED = 0.3, 0.4
NULL_LAPSE = 0.005
QUICK_STEPS = 700  # batches that the networks of a quick look see; analyst's, for its 20 s


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
        traced: Share of the simulated flights of each cause on which it left a trace.
    """

    odds: Odds
    runs: Floats
    held_out: float
    at: Floats
    observed: Floats
    near: dict[str, Near]
    parameters: dict[str, Posterior]
    twin: str
    traced: dict[str, float]


def lapsed(
    names: tuple[str, ...], runs: Floats, lapse: float = LAPSE, null_lapse: float = NULL_LAPSE
) -> Floats:
    """Log evidence that does not trust itself further than stated.

    The odds of any fault against none are kept but for the smaller lapse; the larger one makes the
    faults more alike among each other. Neither depends on the prior, so Bayes factors do not
    either.

    Args:
        names: Of the causes, shape (C,).
        runs: Log evidence, shape (R, C).
        lapse: Chance that one fault is told from another by the power `TEMPERED` alone.
        null_lapse: Chance that nothing can be told.

    Returns:
        Shape (R, C).
    """
    share = softmax(runs, axis=1)
    faults = np.array([name != NOTHING for name in names])
    alike = share**TEMPERED * faults
    alike *= share[:, faults].sum(axis=1, keepdims=True) / alike.sum(axis=1, keepdims=True)
    mixed = np.where(faults, (1.0 - lapse) * share + lapse * alike, share)
    return np.log((1.0 - null_lapse) * mixed + null_lapse / len(names))


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
    return combine(names, prior, lapsed(names, runs) + beside)


def tell_apart(
    compared: Compared, rng: np.random.Generator, seeds: int, most: int = MOST_STEPS
) -> Network:
    """Train networks to tell the causes of one flight apart.

    Args:
        compared: Features of the flight and of the simulated ones.
        rng: Source of chance.
        seeds: How many networks.
        most: Batches at most that they are trained on.

    Returns:
        The networks; the unlisted cause is their last class.
    """
    train, labels = labelled(compared, rng, test=False)
    return learn(
        train,
        labels,
        classes=len(compared.simulated) + 1,
        key=jax.random.key(int(rng.integers(2**31))),
        seeds=seeds,
        most=most,
        channels=len(NAMES),
        errors=compared.errors,
        mirror=mirrored(train.shape[1]),
        test=labelled(compared, rng, test=True),
    )


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
        deep: Train at length and find the parameters; else a quick look.

    Returns:
        What was found.

    Checked against: tests/recovery/test_weighing.py and benchmarks/calibration.py.
    """
    compared = compare(observed, flown, window)
    names = (*(batch.cause for batch in flown), UNLISTED)
    network = tell_apart(compared, rng, seeds, MOST_STEPS if deep else QUICK_STEPS)
    runs = log_evidence(network, compared.observed[None])[:, 0]
    odds = reweigh(names, prior, runs)
    found = nearest(compared, flown)
    posteriors = _parameters(compared, flown, network, rng) if deep else {}
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
        {b.cause: float(t.mean()) for b, t in zip(flown, compared.traced, strict=True)},
    )


def nearest(compared: Compared, flown: list[Flown]) -> dict[str, Near]:
    """The nearest flight of each cause.

    Args:
        compared: Features of the flight and of the simulated ones.
        flown: The simulated flights.

    Returns:
        One entry a cause.
    """
    return {
        batch.cause: near(clean, compared.observed, compared.scale)
        for batch, clean in zip(flown, compared.simulated, strict=True)
    }


def _parameters(compared: Compared, flown: list[Flown], network, rng) -> dict[str, Posterior]:
    """Posteriors of the parameters, all causes in one batch."""
    asked = [
        Asked(batch, clean, compared.errors, compared.observed)
        for batch, clean in zip(flown, compared.simulated, strict=True)
        if batch.parameters
    ]
    found = parameters_of(asked, network, rng)
    return {one.flown.cause: posterior for one, posterior in zip(asked, found, strict=True)}


@dataclass(frozen=True)
class Asked:
    """A cause whose parameters are wanted: its flights, their features, errors, the flight seen."""

    flown: Flown
    simulated: Floats
    errors: Floats
    observed: Floats


def parameters_of(
    asked: list[Asked], network: Network, rng: np.random.Generator
) -> list[Posterior]:
    """Posterior of the parameters of causes, all in one batch.

    Args:
        asked: Which, one a cause or a flight.
        network: Gives the scale of the features.
        rng: Source of chance.

    Returns:
        One entry each.
    """
    models = []
    for one in asked:
        scaled = np.asarray(
            standardise(noisy(one.simulated, one.errors, rng), network.centre, network.scale)
        )
        seen = np.asarray(standardise(one.observed, network.centre, network.scale))
        summary, there = fitting.summarise(scaled, one.flown.unit, seen)
        padded = fitting.pad(there[None])[0]
        models.append(fitting.fit(fitting.pad(summary), fitting.pad(one.flown.unit), padded))
    if not models:
        return []
    keys = jax.random.split(jax.random.key(int(rng.integers(2**31))), len(models))
    found = fitting.posteriors(keys, models)
    return [
        Posterior(
            one.flown.parameters,
            _to_values(np.asarray(found.particles)[number], one.flown),
            bool(found.settled[number]),
            float(found.error[number]),
        )
        for number, one in enumerate(asked)
    ]


def _to_values(unit: Floats, batch: Flown) -> Floats:
    """Normal scores to SI by the quantiles of the draws themselves."""
    columns = []
    for number in range(len(batch.parameters)):
        order = np.argsort(batch.unit[:, number])
        columns.append(
            np.interp(unit[:, number], batch.unit[order, number], batch.values[order, number])
        )
    return np.stack(columns, axis=1)
