"""Fit one chain: mean, joint samples, and the noise levels that the data themselves show.

Noise levels follow from a fixed-point form of maximum marginal likelihood: what was seen, divided
by the number of degrees of freedom the data could have shown it in. The jerk level is a function of
time, so that a level flight and an upset in one track each get their own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import convolve1d, gaussian_filter1d

from neutralpoint.motion.gaps import Thinning
from neutralpoint.motion.process import Process
from neutralpoint.motion.rows import KINDS, Rows
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.numerics.banded import Factor, factorise, marginal_covariance

# Student-t degrees of freedom of a fix: heavy enough that one wild row in a hundred costs nothing.
# Lange, Little and Taylor, JASA 84 (1989) 881-896 recommend about 4 where it is not estimated.
FIX_FREEDOM = 4.0
# Weight of the slow jerk level against the local one, in degrees of freedom: this over the window,
# as movement changes the less the shorter it is looked at. Analyst's choice.
LEVEL_TIME = 18.0  # s
# An ordinary jerk level in a window of that length, less in a shorter one with the square of it,
# and the degrees of freedom it counts for: a level that a slow radar shows next to nothing of does
# not fall to that of still air, one that fixes a second apart show may. Analyst's choices.
USUAL_JERK, USUAL_WINDOW, USUAL_FREEDOM = 0.03, 10.0, 0.1  # (m/s^3)^2/Hz, s, -
# Away from any fix the jerk level is known less and less: its natural logarithm wanders by this
# variance per second, up to a factor of 4, and slowly. Analyst's choices.
GAP_GROWTH, GAP_LIMIT, GAP_TIME = 0.1, 2.0, 20.0
MAXIMUM_ROUNDS = 40
# The matrices hold information, and what they hold of the height of a whole flight is lost in
# rounding where the noise levels in one chain lie too far apart. So they are bounded: the jerk at
# 3 g of new acceleration within a second, the factor of a kind at a hundred times its nominal
# spread. Analyst's choices.
LARGEST_JERK = 1e3  # (m/s^3)^2/Hz
LARGEST_KAPPA = 1e4
TOUCHES = (0.0, 1e-13, 1e-12, 1e-11, 1e-10)  # of the diagonal, what rounding may have taken off
UNREAD = 1e-6  # degrees of freedom below which nothing was read within the window
TOLERANCE = 0.05


@dataclass(frozen=True)
class Levels:
    """Noise levels of a chain.

    Attributes:
        jerk: Jerk level of each grid step, (m/s^3)^2/Hz, shape (m - 1,).
        freedom: Degrees of freedom the jerk level rests on, shape (m - 1,).
        kappa: Factor on the nominal variance of each kind of row, shape (len(KINDS),).
        kappa_freedom: Degrees of freedom each factor rests on, shape (len(KINDS),).
        weights: Student-t weight of each row, shape (n,); near 0 for an outlier.
    """

    jerk: Array
    freedom: Array
    kappa: Array
    kappa_freedom: Array
    weights: Array


@dataclass(frozen=True)
class Chain:
    """A fitted chain.

    Attributes:
        mean: Shape (m, d).
        levels: Noise levels.
        residual: Standardised residual of each row, shape (n,).
        rounds: Rounds used.
        converged: Whether the levels settled.
    """

    mean: Array
    levels: Levels
    residual: Array
    rounds: int
    converged: bool


Extra = Callable[[Array, Array], Array]


def _information(
    process: Process, rows: Rows, prior: Array, jerk: Array, variance: Array
) -> tuple[Array, Array, Array]:
    """Precision blocks and information vector of the chain."""
    nodes, size = jerk.size + 1, process.size
    forward = process.inverse_noise @ process.transition
    diagonal = np.zeros((nodes, size, size))
    diagonal[0] = np.linalg.inv(process.first(prior, jerk[0]))
    diagonal[1:] += process.inverse_noise / jerk[:, None, None]
    diagonal[:-1] += (np.swapaxes(process.transition, -1, -2) @ forward) / jerk[:, None, None]
    coupling = -forward / jerk[:, None, None]
    scaled = rows.design / variance[:, None]
    squares = (scaled[:, :, None] * rows.design[:, None, :]).reshape(-1, size * size)
    diagonal += _summed(rows.node, squares, nodes).reshape(nodes, size, size)
    return diagonal, coupling, _summed(rows.node, scaled * rows.value[:, None], nodes)


def _summed(node: Index, values: Array, nodes: int) -> Array:
    """Sum of the rows at each node, (nodes, k); columns of nothing but zeros cost nothing."""
    total = np.zeros((nodes, values.shape[1]))
    for column in np.flatnonzero(values.any(axis=0)):
        total[:, column] = np.bincount(node, values[:, column], minlength=nodes)
    return total


class NotResolvedError(ArithmeticError):
    """The information in a chain is lost in rounding."""


def _factor(diagonal: Array, coupling: Array) -> Factor:
    """Factor; where rounding spoils it, with a touch more on the diagonal, up to a limit."""
    for touch in TOUCHES:
        raised = diagonal + touch * diagonal * np.eye(diagonal.shape[1]) if touch else diagonal
        factor = factorise(raised, coupling)
        if factor is not None:
            return factor
    raise NotResolvedError


def posterior(
    process: Process, rows: Rows, prior: Array, jerk: Array, variance: Array
) -> tuple[Factor, Array]:
    """Factor and mean of the chain given its noise levels.

    Args:
        process: Process on the grid.
        rows: Observations.
        prior: As in `Process.first`.
        jerk: Jerk level of each step, shape (m - 1,).
        variance: Variance of each row, shape (n,).

    Returns:
        Factor of the posterior precision, and mean, shape (m, d).
    """
    diagonal, coupling, vector = _information(process, rows, prior, jerk, variance)
    factor = _factor(diagonal, coupling)
    return factor, factor.solve(vector)


def log_evidence(process: Process, rows: Rows, prior: Array, jerk: Array, variance: Array) -> float:
    """Log marginal likelihood of the rows, for comparing latencies and lags.

    Args:
        process: Process on the grid.
        rows: Observations.
        prior: As in `Process.first`.
        jerk: Jerk level of each step, shape (m - 1,).
        variance: Variance of each row, shape (n,).

    Returns:
        ln p(rows | levels), natural units.
    """
    factor, mean = posterior(process, rows, prior, jerk, variance)
    residual = rows.value - rows.predict(mean)
    first = process.first(prior, jerk[0])
    chain = float((process.energy(mean) / jerk).sum() + mean[0] @ np.linalg.solve(first, mean[0]))
    log_prior = (
        float(process.size * np.log(jerk).sum())
        + float(np.broadcast_to(process.log_determinant_noise, jerk.size).sum())
        + float(np.linalg.slogdet(first)[1])
    )
    return -0.5 * (
        float((residual**2 / variance + np.log(2.0 * np.pi * variance)).sum())
        + chain
        + log_prior
        + factor.log_determinant
    )


def _local(values: Array, step: float, window: float) -> Array:
    """Triangular moving sum over `window` seconds either side."""
    reach = max(1, round(window / step))
    shape = 1.0 - np.abs(np.arange(-reach, reach + 1)) / (reach + 1.0)
    return convolve1d(values, shape, mode="reflect")


def _update_jerk(
    seen: Array, shown: Array, jerk: Array, *, step: float, window: float, calm: float
) -> tuple[Array, Array]:
    """Local jerk level and the degrees of freedom that it is drawn by.

    The freedom that the fixes have used up stands at their nodes, the movement it shows in the
    steps around them; the window is wider than that difference.
    """
    slow = np.exp(gaussian_filter1d(np.log(jerk), 4.0 * window / step, mode="nearest"))
    used = _local(0.5 * (shown[1:] + shown[:-1]), step, window)
    around, usual = LEVEL_TIME / window, USUAL_JERK * (window / USUAL_WINDOW) ** 2
    freedom = around + USUAL_FREEDOM + used
    known = around * slow + USUAL_FREEDOM * usual
    level = (known + _local(seen, step, window)) / freedom
    # Where nothing was read the level goes straight from that of one side to that of the other.
    lost, place = used < UNREAD, np.arange(level.size)
    if lost.any() and not lost.all():
        level[lost] = np.exp(np.interp(place[lost], place[~lost], np.log(level[~lost])))
    return np.clip(level, calm, LARGEST_JERK), freedom


def _update_kappa(
    rows: Rows, kappa: Array, ratio: Array, leverage: Array, floor: Array
) -> tuple[Array, Array]:
    """Variance factor of each kind: weighted misfit over the freedom left to misfit."""
    misfit = np.bincount(rows.kind, rows.weight * ratio, minlength=len(KINDS))
    freedom = np.bincount(rows.kind, rows.weight * (1.0 - leverage), minlength=len(KINDS))
    count = np.bincount(rows.kind, rows.weight, minlength=len(KINDS))
    # A few pseudo-readings at the nominal level hold a kind with hardly any rows.
    updated = (kappa * misfit + 2.0) / (np.maximum(freedom, 0.02 * count) + 2.0)
    return np.clip(updated, floor, LARGEST_KAPPA), np.maximum(freedom, 0.02 * count) + 2.0


def fit_chain(
    process: Process,
    rows: Rows,
    prior: Array,
    *,
    thin: Thinning,
    window: float,
    floor: Array,
    calm: float,
    extra: Extra,
    start: Levels | None = None,
) -> Chain:
    """Fit mean and noise levels of one chain.

    Args:
        process: Process on the kept nodes.
        rows: Observations at them.
        prior: As in `Process.first`.
        thin: Which nodes of the grid are kept, k of m.
        window: Half width of the window of the local jerk level, s.
        floor: Lowest factor allowed for each kind, shape (len(KINDS),).
        calm: Least jerk level, (m/s^3)^2/Hz.
        extra: From mean (k, d) and kappa to a variance added to each row, shape (n,).
        start: Levels to start from.

    Returns:
        The fitted chain.

    Source: the fixed point is D. J. C. MacKay, Neural Computation 4 (1992) 415-447, eq. 4.9, with
    Student-t weights after Lange, Little and Taylor, JASA 84 (1989) 881-896.
    """
    jerk = np.ones(thin.nodes - 1) if start is None else start.jerk
    place = thin.kept[rows.node]
    kappa = np.ones(len(KINDS)) if start is None else start.kappa
    weights = np.ones(rows.value.size) if start is None else start.weights
    added = np.zeros(rows.value.size)
    freedom, kappa_freedom = np.zeros_like(jerk), np.zeros_like(kappa)
    converged, rounds = False, 0
    for rounds in range(1, MAXIMUM_ROUNDS + 1):
        variance = kappa[rows.kind] * rows.variance + added
        diagonal, coupling, vector = _information(
            process, rows, prior, thin.level(jerk), variance / weights
        )
        mean = _factor(diagonal, coupling).solve(vector)
        covariance, _ = marginal_covariance(diagonal, coupling)
        spread = np.einsum("ni,nij,nj->n", rows.design, covariance[rows.node], rows.design)
        leverage = np.clip(weights * spread / variance, 0.0, 1.0)
        spread = leverage * variance / weights
        square = (rows.value - rows.predict(mean)) ** 2
        new_weights = (FIX_FREEDOM + 1.0) / (FIX_FREEDOM + (square + spread) / variance)
        # With the weights of these residuals, not of the round before: else a wild row throws the
        # factor up and down by a thousand from round to round.
        new_kappa, kappa_freedom = _update_kappa(
            rows, kappa, new_weights * square / variance, leverage, floor
        )
        shown = np.asarray(np.bincount(place, leverage, minlength=thin.nodes), dtype=float)
        seen = np.zeros(thin.nodes - 1)
        seen[thin.kept[:-1]] = process.energy(mean)
        new_jerk, freedom = _update_jerk(
            seen, shown, jerk, step=thin.step, window=window, calm=calm
        )
        change = max(
            float(np.abs(np.log(new_kappa / kappa)).max()),
            float(np.quantile(np.abs(np.log(new_jerk / jerk)), 0.98)),
        )
        jerk, kappa, weights = new_jerk, new_kappa, new_weights
        added = extra(mean, kappa)
        if change < TOLERANCE and rounds > 3:
            converged = True
            break
    variance = kappa[rows.kind] * rows.variance + added
    _, mean = posterior(process, rows, prior, thin.level(jerk), variance / weights)
    residual = (rows.value - rows.predict(mean)) / np.sqrt(variance)
    levels = Levels(jerk, freedom, kappa, kappa_freedom, weights)
    return Chain(mean, levels, residual, rounds, converged)


def _smooth_normal(rng: np.random.Generator, count: int, width: float) -> Array:
    """Normal numbers of unit variance that change over `width` steps, shape (count,)."""
    margin = int(np.ceil(4.0 * width))
    smooth = gaussian_filter1d(rng.standard_normal(count + 2 * margin), width, truncate=4.0)
    # A Gaussian of standard deviation w has the sum of squares 1/(2 w sqrt(pi)).
    return smooth[margin : margin + count] * np.sqrt(2.0 * width * np.sqrt(np.pi))


def _distance(node: Index, count: int) -> Array:
    """Steps from each of `count` steps to the nearest node with a row."""
    seen = np.unique(node)
    here = np.arange(count)
    after = np.minimum(np.searchsorted(seen, here), seen.size - 1)
    before = np.maximum(after - 1, 0)
    return np.minimum(np.abs(seen[after] - here), np.abs(here - seen[before])).astype(float)


def sample_chain(
    process: Process,
    rows: Rows,
    prior: Array,
    chain: Chain,
    *,
    thin: Thinning,
    window: float,
    rng: np.random.Generator,
    count: int,
    extra: Extra,
) -> Array:
    """Joint sample paths, with the noise levels drawn too.

    Args:
        process: Process on the kept nodes.
        rows: Observations at them.
        prior: As in `Process.first`.
        chain: Fitted chain.
        thin: Which nodes of the grid are kept, k of m.
        window: Half width of the window of the local jerk level, s.
        rng: Source of random numbers.
        count: Number of paths drawn at one draw of the levels.
        extra: As in `fit_chain`.

    Returns:
        Paths, shape (count, k, d).

    Source: log-normal approximation to the inverse-gamma posterior of a variance,
    sd(ln s) = sqrt(2/freedom) about a mean of ln(level) + 1/freedom (first terms of the digamma and
    trigamma functions).
    """
    levels, step = chain.levels, thin.step
    steps = levels.jerk.size
    local = _smooth_normal(rng, steps, 0.5 * window / step)
    slow = _smooth_normal(rng, steps, GAP_TIME / step)
    unseen = np.maximum(_distance(thin.kept[rows.node], steps) * step - window, 0.0)
    drift = np.sqrt(np.minimum(GAP_GROWTH * unseen, GAP_LIMIT))
    middle = levels.jerk * np.exp(1.0 / levels.freedom)
    jerk = middle * np.exp(local * np.sqrt(2.0 / levels.freedom) + slow * drift)
    shift = rng.standard_normal(levels.kappa.size) * np.sqrt(2.0 / levels.kappa_freedom)
    kappa = levels.kappa * np.exp(shift)
    variance = kappa[rows.kind] * rows.variance + extra(chain.mean, kappa)
    factor, mean = posterior(process, rows, prior, thin.level(jerk), variance / levels.weights)
    return mean + factor.deviations(rng, count)
