"""How the airplane is moved between readings that are seconds apart: regimes drawn from what fits.

Where fixes come every second they show how hard an airplane is moved. A radar that turns in five
seconds shows it only by how far the airplane is from where it would have been, and the level that
fits best says little of what else fits: still air, rough air and hands leave overlapping traces.
So the flight is a chain of regimes, each with a size of its own for a slow part of the
acceleration and for a part that hands and gusts make within seconds. It may change at any
time, mostly within one manner of flight. A filter runs with all regimes side by side, their
histories are drawn backward by their probability, and paths are drawn by each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.linalg import expm

from neutralpoint.motion.chain import Levels, posterior
from neutralpoint.motion.gaps import Thinning
from neutralpoint.motion.process import Family
from neutralpoint.motion.rows import Rows
from neutralpoint.numerics.arrays import Array, Index

# Standard deviations of the parts of the acceleration, m/s^2, and of the vertical speed that gusts
# make, m/s, each with its chance beforehand: from a flight on autopilot in still air to hands that
# throw the airplane about. Analyst's choices.
Part = dict[float, float]


@dataclass(frozen=True)
class MannerOfFlight:
    """A manner of flight: what moves the airplane, and for how long.

    Attributes:
        parts: Standard deviations of the parts of the acceleration, m/s^2, and of the vertical
            speed that gusts make, m/s, each with its chance beforehand.
        regime: s, that one combination of them lasts on the mean.
        lasts: s, that the manner itself does.
    """

    parts: tuple[Part, ...]
    regime: float
    lasts: float


# Over the ground a flight is flown as it is meant to be, or it is thrown about: that lasts a minute
# or more, and while it does a fix or two that show little are no still air. Vertically the chances
# of the sizes say as much: a second manner moved nothing (decisions/0012). Analyst's choices.
OVER_GROUND = (
    MannerOfFlight(({0.1: 1.0, 0.4: 1.0}, {0.15: 1.0, 0.5: 1.0, 1.5: 0.2}), 40.0, 150.0),
    MannerOfFlight(
        ({0.1: 1.0, 0.4: 1.0, 1.6: 1.0}, {0.5: 0.5, 1.5: 1.0, 3.5: 1.0, 8.0: 0.5}), 15.0, 60.0
    ),
)
# 100 ft of altitude every 5 s hardly tell gusts from still air, so that the chance counts there.
UPWARD = (
    MannerOfFlight(
        (
            {0.15: 1.0, 0.8: 1.0},
            {0.15: 1.0, 0.8: 1.0, 3.0: 1.0, 8.0: 1.0},
            {0.3: 0.45, 1.7: 0.35, 5.0: 0.2},
        ),
        40.0,
        150.0,
    ),
)
# What somebody who was there says of the air, where the readings do not tell. Each word stands for
# a load: light 0.2 to 0.5 g at its peaks, moderate to 1 g, severe beyond (FAA AC 00-30, from
# memory), three times the root mean square; gusts of 1 m/s make 0.7 m/s^2 of it (`GUST_TIME`).
# People differ by a word as often as not: shares are the analyst's.
Turbulence = Literal["smooth", "light", "moderate", "severe"]
GUSTS_TOLD: dict[Turbulence, Part] = {
    "smooth": {0.3: 0.8, 1.3: 0.2},
    "light": {0.3: 0.2, 1.3: 0.6, 2.8: 0.2},
    "moderate": {1.3: 0.2, 2.8: 0.6, 5.0: 0.2},
    "severe": {2.8: 0.1, 5.0: 0.5, 7.0: 0.4},
}
# Noise of all readings over that of the fit, searched: the fit may take hands for noise.
NOISE = np.geomspace(0.4, 2.5, 6)
NOISE_SPREAD = 0.5  # standard deviation of its natural logarithm beforehand. Analyst's choice
LOST = 0.05  # weight below which the fit takes a reading for wild
FREEDOM = 4.0  # as `chain.FIX_FREEDOM`
REWEIGHTED = 2  # times that the weights of the readings are found anew for the drawn regimes


@dataclass(frozen=True)
class Regimes:
    """What the filter found, ready to draw histories from.

    Attributes:
        node: Kept node of each time with readings, ascending, shape (t,).
        chance: Filtered probability of each regime then, by noise factor, shape (k, t, r).
        noise: Probability of each factor of `NOISE`, shape (k,).
        share: Probability of each regime now after each at the reading before, shape (t, r, r).
    """

    node: Index
    chance: Array
    noise: Array
    share: Array

    def drawn(self, rng: np.random.Generator) -> tuple[float, Index]:
        """One noise factor and one regime for each time.

        Args:
            rng: Source of random numbers.

        Returns:
            Factor, and index of the regime, shape (t,).
        """
        k = int(rng.choice(self.noise.size, p=self.noise))
        chance, times = self.chance[k], self.node.size
        history = np.empty(times, dtype=np.intp)
        history[-1] = _pick(rng, chance[-1])
        for t in range(times - 2, -1, -1):
            history[t] = _pick(rng, chance[t] * self.share[t + 1][:, history[t + 1]])
        return float(NOISE[k]), history

    def between(self, history: Index, nodes: int) -> Index:
        """Regime of each step between kept nodes.

        Args:
            history: Regime at each time with readings, shape (t,).
            nodes: Kept nodes, k.

        Returns:
            That of the next reading, shape (k - 1,).
        """
        after = np.searchsorted(self.node, np.arange(1, nodes))
        return history[np.minimum(after, history.size - 1)]


def _pick(rng: np.random.Generator, weight: Array) -> int:
    total = np.cumsum(weight)
    return min(int(np.searchsorted(total, rng.random() * total[-1])), weight.size - 1)


def _grid(parts: tuple[Part, ...]) -> tuple[Array, Array]:
    """Every combination of parts: variances, shape (r, parts), and chances, shape (r,)."""
    values = np.meshgrid(*(np.square(list(part)) for part in parts), indexing="ij")
    weights = np.meshgrid(*(list(part.values()) for part in parts), indexing="ij")
    product = np.prod([part.ravel() for part in weights], axis=0)
    return np.stack([part.ravel() for part in values], axis=-1), product / product.sum()


def upward(turbulence: Turbulence | None) -> tuple[MannerOfFlight, ...]:
    """Manners of flight upward in air that somebody reported.

    Args:
        turbulence: As reported; None where nobody did.

    Returns:
        Those of `UPWARD`, with the gusts of that air.
    """
    if turbulence is None:
        return UPWARD
    gusts = GUSTS_TOLD[turbulence]
    return tuple(replace(manner, parts=(*manner.parts[:-1], gusts)) for manner in UPWARD)


def sizes(manners: tuple[MannerOfFlight, ...]) -> Array:
    """Variance of each part in each regime.

    Args:
        manners: Manners of flight.

    Returns:
        Every combination of the parts of each, shape (r, parts).
    """
    return np.concatenate([_grid(manner.parts)[0] for manner in manners])


def chances(manners: tuple[MannerOfFlight, ...]) -> Array:
    """Probability of each regime at the start, as of any time.

    Args:
        manners: As in `sizes`.

    Returns:
        Shape (r,), in the order of `sizes`.
    """
    whole = sum(manner.lasts for manner in manners)
    return np.concatenate([_grid(m.parts)[1] * m.lasts / whole for m in manners])


def rates(manners: tuple[MannerOfFlight, ...]) -> Array:
    """How often each regime gives way to each other one.

    Args:
        manners: As in `sizes`.

    Returns:
        1/s, shape (r, r), rows sum to 0.
    """
    each = [_grid(manner.parts)[1] for manner in manners]
    found = np.zeros((sum(c.size for c in each),) * 2)
    edge = np.cumsum([0] + [c.size for c in each])
    for i, manner in enumerate(manners):
        rows = slice(edge[i], edge[i + 1])
        others = sum(m.lasts for k, m in enumerate(manners) if k != i)
        for k, (to, chance) in enumerate(zip(manners, each, strict=True)):
            columns = slice(edge[k], edge[k + 1])
            if k == i:
                found[rows, columns] += chance / manner.regime
            elif others > 0.0:
                found[rows, columns] += chance * to.lasts / others / manner.lasts
    return found - np.diag(found.sum(axis=1))


def regimes(
    family: Family,
    manners: tuple[MannerOfFlight, ...],
    rows: Rows,
    prior: Array,
    *,
    variance: Array,
    thin: Thinning,
) -> Regimes:
    """Filter with all regimes side by side.

    Args:
        family: How the airplane may move.
        manners: Whose regimes they are.
        rows: Observations at the kept nodes.
        prior: As in `Process.first`.
        variance: Of each row, shape (n,).
        thin: Which nodes of the grid are kept.

    Returns:
        Probabilities of the regimes at the times with readings.

    Source: interacting multiple models, H. A. P. Blom and Y. Bar-Shalom, IEEE Trans. Automatic
    Control 33 (1988) 780-783; histories drawn backward after C.-J. Kim, J. Econometrics 60 (1994)
    1-22.
    """
    size, count, tried = len(prior), family.count, NOISE.size
    order = np.argsort(rows.node, kind="stable")
    node, first = np.unique(rows.node[order], return_index=True)
    last = np.r_[first[1:], order.size]
    state = np.zeros((tried, count, size))
    cover = np.broadcast_to(family.first(prior), (tried, count, size, size)).copy()
    chance = np.broadcast_to(chances(manners), (tried, count)).copy()
    kept, share = np.empty((tried, node.size, count)), np.empty((node.size, count, count))
    change: dict[int, Array] = {}
    share[0] = np.eye(count)
    evidence = -0.5 * (np.log(NOISE) / NOISE_SPREAD) ** 2
    for t in range(node.size):
        if t:
            steps = int(thin.kept[node[t]] - thin.kept[node[t - 1]])
            if steps not in change:
                change[steps] = expm(steps * thin.step * rates(manners))
            share[t] = change[steps]
            state, cover, chance = _mixed(state, cover, chance, share[t])
            move, noise = family.over(steps)
            state = state @ move.T
            cover = move @ cover @ move.T + noise
        fit = np.zeros((tried, count))
        for i in order[first[t] : last[t]]:
            state, cover, gained = _updated(
                state, cover, rows.design[i], float(rows.value[i]), variance[i] * NOISE
            )
            fit += gained
        best = fit.max(axis=1, keepdims=True)
        chance = chance * np.exp(fit - best)
        total = chance.sum(axis=1, keepdims=True)
        chance = chance / total
        evidence = evidence + best[:, 0] + np.log(total[:, 0])
        kept[:, t] = chance
    likely = np.exp(evidence - evidence.max())
    return Regimes(node, kept, likely / likely.sum(), share)


def _mixed(state: Array, cover: Array, chance: Array, share: Array) -> tuple[Array, Array, Array]:
    """What each regime starts from: mostly itself, else any of them."""
    after = chance @ share
    weight = chance[:, :, None] * share / after[:, None, :]  # from, to
    middle = np.einsum("ki,kid->kd", chance, state)[:, None, :]
    off, back = state - middle, np.swapaxes(weight, 1, 2)
    moved = back @ off
    second = cover + off[..., :, None] * off[..., None, :]
    second = (back @ second.reshape(*second.shape[:2], -1)).reshape(second.shape)
    return middle + moved, second - moved[..., :, None] * moved[..., None, :], after


def _updated(
    state: Array, cover: Array, design: Array, value: float, variance: Array
) -> tuple[Array, Array, Array]:
    """State and covariance after one reading, and the logarithm of its likelihood."""
    gain = cover @ design
    total = gain @ design + variance[:, None]
    off = value - state @ design
    state = state + gain * (off / total)[..., None]
    cover = cover - gain[..., :, None] * (gain / total[..., None])[..., None, :]
    return state, cover, -0.5 * (off**2 / total + np.log(total))


def paths_by_regime(
    family: Family,
    rows: Rows,
    prior: Array,
    levels: Levels,
    *,
    between: Index,
    factor: float,
    variance: Array,
    thin: Thinning,
    rng: np.random.Generator,
    count: int,
) -> Array:
    """Joint sample paths at one draw of the regimes.

    Args:
        family: How the airplane may move.
        rows: Observations at the kept nodes.
        prior: As in `Process.first`.
        levels: Of the fitted chain.
        between: Regime of each step between kept nodes, shape (k - 1,).
        factor: On the variance of each row.
        variance: Of each row, shape (n,).
        thin: Which nodes of the grid are kept, k of m.
        rng: Source of random numbers.
        count: Number of paths.

    Returns:
        Paths, shape (count, k, d).
    """
    process = family.process(thin.spacing, between)
    level = np.ones(thin.kept.size - 1)
    weights = np.where(levels.weights > LOST, 1.0, levels.weights)
    for _ in range(REWEIGHTED):
        _, mean = posterior(process, rows, prior, level, factor * variance / weights)
        square = (rows.value - rows.predict(mean)) ** 2 / (factor * variance)
        weights = (FREEDOM + 1.0) / (FREEDOM + square)
    band, mean = posterior(process, rows, prior, level, factor * variance / weights)
    return mean + band.deviations(rng, count)
