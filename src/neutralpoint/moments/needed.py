"""What something had to supply, at a few times, as a pitching moment coefficient.

Whatever moves is compared in moment and not in its own unit: a moved load has no moment to work
with near n = 0, and there the need tells most.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import jax
import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.flight import MotionFlight
from neutralpoint.moments.required import Required
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.quantities import DEGREE, GRAVITY

# Times: as many as 200 sample paths bear a covariance of; fewer than four show no shape.
KNOTS = 20
FEWEST = 4
LONGEST = 60.0  # s after the reference, and after the onset, that are looked at
RIDGE = 1e-3  # of the mean variance, on the diagonal
# Column work that is nobody's cause: small corrections, turbulence. Analyst's estimate.
UNMODELLED_FORCE = 15.0  # N
UNMODELLED_TIME = 3.0  # s
# Hands that bring an airplane back act where its path is off by this much, or soon will be.
OFF_PATH = 2.0 * DEGREE
AHEAD = 2.0  # s that they look ahead; both analyst's
SAME = 1e-6  # singular value, of the largest, below which draws say the same
# Edges of the strata of the derivatives, as ranks: fine in the tails, where a need is least.
EDGES = np.array([0.01, 0.05, 0.15, 0.35, 0.65, 0.85, 0.95, 0.99])


Quantity = Callable[[Required], Array]  # one row of what it took, shape (S, m)


@dataclass(frozen=True)
class Needed:
    """A needed history at a few times, one for each stratum of the derivatives.

    Attributes:
        time: s, shape (k,).
        means: Moment coefficient beyond trimmed flight by stratum, shape (b, k).
        weights: Probability of each stratum, shape (b,).
        covariance: Within a stratum: of the motion and of what the strata leave, shape (k, k).
        total: Covariance over all, shape (k, k).
        samples: Number of sample paths behind the covariance.
        effect: Moment coefficient per unit of what moves, shape (k,).
        pull: Moment coefficient per newton of column pull, shape (k,).
        rising: True where the path is above the trimmed one, or soon will be, shape (k,).
        falling: True where it is below, shape (k,).
        scale: N m per unit of moment coefficient, shape (k,).
    """

    time: Array
    means: Array
    weights: Array
    covariance: Array
    total: Array
    samples: int
    effect: Array
    pull: Array
    rising: Flags
    falling: Flags
    scale: Array

    @property
    def known(self) -> bool:
        """Whether it is known at enough times to be judged."""
        return self.time.size >= FEWEST

    @property
    def mean(self) -> Array:
        """Mean over the strata, shape (k,)."""
        return self.weights @ self.means


@dataclass(frozen=True)
class Judged:
    """The part of a flight that is judged.

    Attributes:
        required: What it took, motion and derivatives drawn together.
        flight: Sample paths.
        drawn: What was drawn of the airplane, orthonormal columns, shape (S, p).
        knots: Nodes at which histories are compared, shape (k,); none beyond the stall.
        window: Smoothing window, s.
        inside: True in the judged time, shape (m,).
    """

    required: Required
    flight: MotionFlight
    drawn: Array
    knots: Index
    window: float
    inside: Flags

    @property
    def span(self) -> tuple[float, float]:
        """First and last time, s."""
        time = self.required.time[self.inside]
        return float(time[0]), float(time[-1])


def window_of(required: Required, onset: float | None = None) -> Flags:
    """From the end of the reference to `LONGEST` after it and after the onset.

    Args:
        required: What it took.
        onset: s; None where none is known.

    Returns:
        True inside, shape (m,).
    """
    start = required.time[np.flatnonzero(required.trimmed)[-1]]
    last = max(start, start if onset is None else onset) + LONGEST
    return (required.time >= start) & (required.time <= last)


def spread_of(drawn: Airplane, samples: int) -> Array:
    """What was drawn of an airplane, as orthonormal columns.

    Args:
        drawn: With drawn multipliers, leaves scalar or of shape (S, 1) or (S, m).
        samples: Number of paths S.

    Returns:
        Shape (S, p), each column of mean zero.
    """
    leaves = [np.asarray(leaf) for leaf in jax.tree.leaves(drawn)]
    columns = [leaf[:, 0] for leaf in leaves if leaf.ndim == 2 and leaf.shape[0] > 1]
    if not columns:
        return np.zeros((samples, 0))
    off = np.stack([column - column.mean() for column in columns], axis=1)
    size = off.std(axis=0)
    left, singular, _ = np.linalg.svd(off[:, size > 0.0] / size[size > 0.0], full_matrices=False)
    return left[:, singular > SAME * singular[0]]


def judged_part(
    drawn: Airplane,
    flight: MotionFlight,
    required: Required,
    *,
    window: float,
    onset: float | None = None,
) -> Judged:
    """Choose the times at which histories are compared.

    Args:
        drawn: The airplane with drawn multipliers, as `required` has it.
        flight: Sample paths.
        required: What it took.
        window: Smoothing window, s: knots lie no closer.
        onset: s; None where none is known.

    Returns:
        At most `KNOTS` nodes over the window after the reference.
    """
    inside = window_of(required, onset)
    time = required.time[inside]
    count = int(min(KNOTS, max(FEWEST, np.ptp(time) / window)))
    knots = np.linspace(min(time[0] + 0.5 * window, time[-1]), time[-1], count)
    nodes = np.clip(np.searchsorted(required.time, knots), 0, required.time.size - 1)
    return Judged(
        required=required,
        flight=flight,
        drawn=spread_of(drawn, flight.true_airspeed.shape[0]),
        knots=nodes[~required.stalled[nodes]],
        window=window,
        inside=inside,
    )


def off_path(judged: Judged) -> tuple[Flags, Flags]:
    """Where the path is above or below the trimmed one, now or within `AHEAD`.

    Args:
        judged: The flight.

    Returns:
        Above and below at the knots, each (k,).

    Source: sin(gamma) = n_x - (dV/dt)/g along the path.
    """
    flight, required = judged.flight, judged.required
    speed_rate = np.gradient(flight.true_airspeed, flight.step, axis=1)
    sine = (flight.longitudinal_load_factor - speed_rate / GRAVITY).mean(axis=0)
    path = np.arcsin(np.clip(sine, -1.0, 1.0))
    off = path - path[required.trimmed].mean()
    soon = off + AHEAD * np.gradient(path, flight.step)
    above, below = np.maximum(off, soon) > OFF_PATH, np.minimum(off, soon) < -OFF_PATH
    return above[judged.knots], below[judged.knots]


def worth_of_pull(required: Required) -> Array:
    """Moment coefficient per newton of column pull.

    Args:
        required: What it took.

    Returns:
        Shape (S, m).
    """
    return required.power.elevator / required.power.pull


def per_size(values: Array, effect: Array, common: Array) -> Array:
    """Paths over the size of their own effect, so that one history answers for all.

    Args:
        values: Shape (S, k).
        effect: What moves is worth so much on each path, shape (S, k).
        common: The same in the mean, shape (k,).

    Returns:
        Shape (S, k).
    """
    size = effect @ common / max(float(common @ common), 1e-30)
    return values / size[:, None]


def parted(values: Array, drawn: Array) -> tuple[Array, Array]:
    """Part the spread of a need into that of the derivatives and that of the motion.

    Args:
        values: Need on each path, shape (S, k).
        drawn: What was drawn of the airplane, orthonormal columns, shape (S, p).

    Returns:
        Need by the derivatives alone (S, k), and the covariance of the motion (k, k).

    Source: least squares of the paths on the draws, both of which are known.
    """
    mean = values.mean(axis=0)
    off = values - mean
    built = drawn @ (drawn.T @ off)
    noise = off - built
    return mean + built, noise.T @ noise / max(len(values) - 1 - drawn.shape[1], 1)


def strata(values: Array, noise: Array) -> tuple[Array, Array, Array]:
    """Sort the derivatives by what they do most to a need, beside its noise.

    Derivatives scale a need: they seldom turn its sign. One normal law over both would give the
    need a spread that grows with its mean, and no cause could be excluded; within a stratum the
    mean keeps its sign and only the noise is left.

    Args:
        values: Need by the derivatives alone, shape (S, k).
        noise: Covariance of the motion, shape (k, k).

    Returns:
        Means by stratum (b, k), weights (b,), and the covariance that the strata leave (k, k).
    """
    off = values - values.mean(axis=0)
    white = np.linalg.solve(np.linalg.cholesky(noise), off.T).T
    score = white @ np.linalg.svd(white, full_matrices=False)[2][0]
    rank = np.argsort(np.argsort(score, kind="stable"), kind="stable") / score.size
    which = np.searchsorted(EDGES, rank, side="right")
    groups = [values[which == g] for g in np.unique(which)]
    means = np.stack([group.mean(axis=0) for group in groups])
    left = np.concatenate([group - group.mean(axis=0) for group in groups])
    weights = np.array([len(group) for group in groups]) / len(values)
    return means, weights, left.T @ left / max(len(values) - len(groups), 1)


def needed_history(judged: Judged, paths: Quantity, effect: Quantity) -> Needed:
    """A needed moment coefficient at the knots, by strata of the derivatives.

    Args:
        judged: The flight.
        paths: Needed moment coefficient.
        effect: Moment coefficient per unit of what moves.

    Returns:
        The need, its covariance widened by small column work that is nobody's cause.
    """
    required, nodes = judged.required, judged.knots
    own = effect(required)[:, nodes]
    common, time = own.mean(axis=0), required.time[nodes]
    values = per_size(paths(required)[:, nodes], own, common)
    pull = np.median(per_size(worth_of_pull(required)[:, nodes], own, common), axis=0)
    apart = np.abs(time[:, None] - time[None, :])
    small = UNMODELLED_FORCE**2 * np.exp(-apart / UNMODELLED_TIME) * np.outer(pull, pull)
    built, motion = parted(values, judged.drawn)
    noise = _ridged(motion + small)
    means, weights, left = strata(built, noise)
    rising, falling = off_path(judged)
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.median((required.moment / required.moment_coefficient)[:, nodes], axis=0)
    return Needed(
        time=time,
        means=means,
        weights=weights,
        covariance=noise + left,
        total=_ridged(np.atleast_2d(np.cov(values.T)) + small),
        samples=len(values) - judged.drawn.shape[1],
        effect=common,
        pull=pull,
        rising=rising,
        falling=falling,
        scale=scale,
    )


def _ridged(covariance: Array) -> Array:
    size = covariance.shape[0]
    return covariance + (RIDGE * np.trace(covariance) / max(size, 1) + 1e-18) * np.eye(size)
