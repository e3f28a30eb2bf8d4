"""Odds at once: what the shipped networks say of a stretch of flight, and whether they may.

What comes in: sample paths of the motion from a steady flight on, and what is told of the airplane
at that start. What goes out: log evidence of each network, parameters of each cause, and whether
the case lies inside what the networks were learned on.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import log_softmax, logsumexp, softmax

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Floats
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.shipped import body, mixture, tell
from neutralpoint.weighing.window import (
    KNOTS,
    LONGEST,
    SHORTEST,
    SIDEWAYS,
    TYPICAL,
    TYPICAL_WINDOW,
    channels,
    compressed,
    knot_weights,
    known_how_well,
    of_the_data,
)

FAR = -30.0  # logit of a cause that cannot act, as in `training/learn.py`
CLIPPED = 6.0  # standard deviations that a number of a start is clipped at, likewise
# Errors and memories of the data are told within these factors of the typical ones: what the
# networks were learned on, `training/batches.py`.
LEAST_ERROR, MOST_ERROR, MEMORIES = 0.05, 80.0, 4.0
# Smoothing window of the data with a fix a second, s; interval of fixes by which the networks were
# found too sure, s; share of the way beyond it up to which they are taken to be ever surer.
OFTEN_WINDOW, RARE, BEYOND_RARE = 2.0, 4.8, 1.5
# Decimals that are kept: beyond them lies the order in which a processor adds up.
SETTLED = 8
Verdict = Literal["inside", "at the edge", "outside"]
INSIDE: Verdict = "inside"
EDGE: Verdict = "at the edge"
OUTSIDE: Verdict = "outside"


@dataclass(frozen=True)
class Shipped:
    """The shipped networks, R of them.

    Attributes:
        weights: Of each network.
        causes: Names in the order of the outputs.
        centre: Of what is told of a start, shape (e,).
        scale: Its spread, shape (e,).
        near: Starts that were learned from, standardised, shape (n, e).
        edges: Distances from them up to which a start counts as inside and as at the edge.
        temperature: What the outputs are divided by, with a fix a second.
        rarer: By how much more where fixes are `RARE` s apart.
        held_out: Mean log score on flights that were kept out of the learning, nats.
    """

    weights: tuple[dict[str, Floats], ...]
    causes: tuple[str, ...]
    centre: Floats
    scale: Floats
    near: Floats
    edges: tuple[float, float]
    temperature: float
    rarer: float
    held_out: float


@dataclass(frozen=True)
class FlightSeen:
    """A stretch of flight as the networks see it.

    Attributes:
        series: Shape (KNOTS, 13).
        context: Of the data, shape (8,).
        length: s.
        error: Error of the data over the typical one, the geometric mean over columns and knots.
    """

    series: Floats
    context: Floats
    length: float
    error: float


@dataclass(frozen=True)
class Standing:
    """Where a case lies among what the networks were learned on.

    Attributes:
        verdict: `INSIDE`, `EDGE` or `OUTSIDE`.
        distance: From the nearest start that was learned from, over the edge of the inside.
        odd: Name of the number that is furthest from the middle.
        by: By how many standard deviations.
    """

    verdict: Verdict
    distance: float
    odd: str
    by: float


def read_networks(data: bytes) -> Shipped:
    """Networks from the bytes of their file.

    Args:
        data: As `training/ship.py` writes them.

    Returns:
        Them.
    """
    with np.load(io.BytesIO(data), allow_pickle=False) as held:
        stacked = {
            name.removeprefix("weights."): held[name].astype(float)
            for name in held.files
            if name.startswith("weights.")
        }
        count = len(next(iter(stacked.values())))
        return Shipped(
            tuple({name: x[i] for name, x in stacked.items()} for i in range(count)),
            tuple(str(name) for name in held["causes"]),
            held["centre"].astype(float),
            held["scale"].astype(float),
            held["near"].astype(np.float32),
            tuple(float(x) for x in held["edges"]),  # type: ignore[arg-type]
            float(held["temperature"]),
            float(held["rarer"]),
            float(held["held_out"]),
        )


def see(course: Course, window: float, length: float | None = None) -> FlightSeen:
    """A stretch of flight as the networks see it.

    Args:
        course: Sample paths from a steady flight on.
        window: Smoothing window of the data, s.
        length: Of the stretch, s; None for all of it, at most `LONGEST`.

    Returns:
        The stretch.

    Raises:
        NeutralPointError: `track-too-short` below `SHORTEST` seconds.
    """
    last = float(course.time[-1])
    length = min(last if length is None else length, last, LONGEST)
    if length < SHORTEST - 1e-6:
        raise NeutralPointError(
            "track-too-short",
            f"{length:.0f} s of flight follow the steady flight; the odds need {SHORTEST:.0f} s.",
            where="track",
            hint="Give an earlier reference or onset in the case file.",
        )
    columns = np.stack([getattr(course, name) for name in COLUMNS], axis=-1)
    weights = knot_weights(course.time, length, window)
    mean = channels(columns, weights).mean(axis=0)
    errors = columns - columns.mean(axis=0)
    at = np.clip(
        np.searchsorted(course.time, (np.arange(KNOTS) + 0.5) / KNOTS * length),
        0,
        course.time.size - 1,
    )
    typical = np.array([size for size, _ in TYPICAL])
    sigma = np.clip(errors.std(axis=0)[at], LEAST_ERROR * typical, MOST_ERROR * typical)
    told = known_how_well(sigma)
    context = of_the_data(np.asarray(length), np.asarray(window), _memory(errors, course.step))
    return FlightSeen(
        np.concatenate([compressed(mean), told], axis=-1),
        context,
        length,
        float(np.exp(told.mean())),
    )


def _memory(errors: Floats, step: float) -> Floats:
    """Time over which the error of each column changes, s, shape (6,)."""
    lag = max(1, round(1.0 / step))
    own = (errors[:, :-lag] * errors[:, lag:]).mean(axis=(0, 1))
    both = np.sqrt((errors[:, :-lag] ** 2).mean(axis=(0, 1)) * (errors[:, lag:] ** 2).mean((0, 1)))
    alike = np.clip(own / np.maximum(both, 1e-30), 0.01, 0.9999)
    typical = np.array([time for _, time in TYPICAL])
    return np.clip(-lag * step / np.log(alike), typical / MEMORIES, typical * MEMORIES)


def taken_in(networks: Shipped, seen: FlightSeen, told: Floats) -> list[Floats]:
    """What each network makes of a stretch and of its mirror image.

    Args:
        networks: The shipped ones.
        seen: The stretch.
        told: Of the airplane at the start, shape (e,).

    Returns:
        Shape (2, HIDDEN) each.
    """
    mirror = np.ones(seen.series.shape[1])
    mirror[SIDEWAYS] = -1.0
    series = np.stack([seen.series, seen.series * mirror])
    number = np.clip((told - networks.centre) / networks.scale, -CLIPPED, CLIPPED)
    context = np.concatenate([number, seen.context])
    return [body(w, series, np.stack([context, context])) for w in networks.weights]


def spread_of(temperature: float, rarer: float, context: Floats) -> Floats:
    """What the outputs are divided by: networks are surer by rare fixes than they may be.

    Args:
        temperature: Of the networks, with a fix a second.
        rarer: By how much more where fixes are `RARE` s apart.
        context: Of the data, shape (..., 8).

    Returns:
        Shape (...).

    Source: temperature scaling, Guo et al., Proc. ICML 34 (2017) 1321, section 4.2, from memory;
    by a power of the interval of fixes, on flights of its own (docs/explanation/odds-networks.md).
    Checked against: tests/unit/test_weighing_amortised.py; benchmarks/through_smoother.py.
    """
    window = TYPICAL_WINDOW * np.exp(np.asarray(context, float)[..., 1])
    share = np.log(window / OFTEN_WINDOW) / np.log(RARE)
    return np.asarray(temperature * rarer ** np.clip(share, 0.0, BEYOND_RARE))


def track_evidence(
    networks: Shipped, seen: FlightSeen, told: Floats, names: tuple[str, ...]
) -> Floats:
    """ln p(stretch | cause) of each network, up to a constant that all causes of a row share.

    Args:
        networks: The shipped ones.
        seen: The stretch.
        told: Of the airplane at the start, `effects.effects` by name, shape (e,).
        names: Of the causes that can act, the unlisted one among them.

    Returns:
        Shape (R, C) in the order of `names`; exponentials sum to 1.
    """
    column = [networks.causes.index(name) for name in names]
    hidden = taken_in(networks, seen, told)
    logits = [
        tell(w, h).mean(axis=0)[column] for w, h in zip(networks.weights, hidden, strict=True)
    ]
    spread = spread_of(networks.temperature, networks.rarer, seen.context)
    found = log_softmax(np.array(logits) / spread, axis=1)
    return np.round(found, SETTLED)


def odds_of(runs: list[Floats], weights: Floats) -> Floats:
    """Evidence where the begin of the stretch is open: the mean over the begins that are possible.

    Args:
        runs: Of `track_evidence`, one entry a begin, shape (R, C) each.
        weights: Of each begin.

    Returns:
        Shape (R, C).
    """
    share = np.asarray(weights, float) / np.sum(weights)
    return np.asarray(logsumexp(np.stack(runs), axis=0, b=share[:, None, None]))


def parameter_draws(
    networks: Shipped,
    hidden: list[Floats],
    cause: str,
    *,
    size: int,
    count: int,
    rng: np.random.Generator,
) -> Floats:
    """Parameters of one cause given the stretch, as normal scores.

    Args:
        networks: The shipped ones.
        hidden: Of `taken_in`.
        cause: Its name.
        size: How many parameters it has.
        count: Draws.
        rng: Source of chance.

    Returns:
        Shape (count, size).
    """
    number = np.array([networks.causes.index(cause)] * 2)
    parts = [mixture(w, h, number) for w, h in zip(networks.weights, hidden, strict=True)]
    share, mean, spread = (np.concatenate([p[i] for p in parts]) for i in range(3))
    weight = softmax(share.reshape(-1))
    pick = rng.choice(weight.size, count, p=weight)
    middle = mean.reshape(-1, mean.shape[-1])[pick, :size]
    wide = np.exp(spread.reshape(-1, spread.shape[-1])[pick, :size])
    return np.round(middle + wide * rng.standard_normal((count, size)), SETTLED)


def standing_of(networks: Shipped, told: Floats, names: tuple[str, ...]) -> Standing:
    """Whether a case lies inside what the networks were learned on.

    Args:
        networks: The shipped ones.
        told: Of the airplane at the start, shape (e,).
        names: Of these numbers.

    Returns:
        The place.

    Source: distance to the nearest neighbour, root mean square over the numbers; the edges are
    those that hold 95 and 99.5% of the starts of airplanes that were kept out of the learning.
    """
    number = (told - networks.centre) / networks.scale
    far = np.sqrt(((np.clip(number, -CLIPPED, CLIPPED) - networks.near) ** 2).mean(axis=1)).min()
    beyond = np.abs(number).max()
    inside, edge = networks.edges
    verdict = INSIDE if far <= inside else EDGE if far <= edge else OUTSIDE
    odd = int(np.argmax(np.abs(number)))
    return Standing(
        OUTSIDE if beyond > 2.0 * CLIPPED else verdict,
        float(far / inside),
        names[odd],
        float(number[odd]),
    )
