"""The chance that one more value of a family lies as far out, whatever the family's shape.

Families of measures are skew and their tails are heavier than a normal distribution's. Many shapes
are tried at once, each weighed by how well the family itself supports it, and in each the mean and
the spread are as unknown as so few flights leave them.
"""

from __future__ import annotations

import numpy as np
from scipy.special import betainc, chdtri, logsumexp, stdtr
from scipy.stats import t as student

from neutralpoint.numerics.arrays import Array, Flags, Index

# Skewness and weight of tails that are tried, and what is held of them before the family is seen:
# symmetric within 0.3, tails heavier than normal by 0.9 with a factor of e^0.3 either way.
# Analyst's: by other priors (0.2 to 0.5, 0.8 to 0.9) false alarms differ by 0.2% at most
# (benchmarks/results/history.md).
SKEWS = np.linspace(-0.6, 0.6, 7)
TAILS = np.array([0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.15])
SKEW_PRIOR, TAIL_MIDDLE, TAIL_PRIOR = 0.3, 0.9, 0.3
MAD = 1.4826  # standard deviations in a median absolute deviation of a normal distribution
# Share of a family at one value from which it has no shape: ranks alone serve then. Analyst's
# choice.
LUMP = 1.0 / 3.0
# A family is taken to be as wide as the errors of its values, unless it is so much narrower that as
# narrow a one would come by chance once in 20 times: then they are overstated. Common practice.
CONTRADICTED = 0.05
SKEW, TAIL = (each.ravel()[:, None] for each in np.meshgrid(SKEWS, TAILS, indexing="ij"))
PRIOR = (-0.5 * (SKEW / SKEW_PRIOR) ** 2 - 0.5 * (np.log(TAIL / TAIL_MIDDLE) / TAIL_PRIOR) ** 2)[
    :, 0
]


def _straightened(z: Array, skew: Array = SKEW, tail: Array = TAIL) -> tuple[Array, Array]:
    """Values on the scale on which each shape is normal, and the slope of it, (shapes, n)."""
    inner = tail * np.arcsinh(z) - skew
    return np.sinh(inner), tail * np.cosh(inner) / np.sqrt(1.0 + z**2)


def _widest(free: Array | float) -> Array:
    """How much wider than it looks a normal family may be, of its variance."""
    return free / chdtri(free, 1.0 - CONTRADICTED)


def by_rank(below: Array, count: Array, side: int = 0) -> Array:
    """Chance of a rank, which needs no shape and finds nothing in a small family.

    Args:
        below: How many of the others lie below, half of those that are equal.
        count: How many others there are.
        side: 1 where high values are unusual, -1 where low ones are, 0 where both.

    Returns:
        The chance.

    Source: Davison and Hinkley, Bootstrap Methods (1997), 4.2, (k + 1) / (n + 1).
    """
    return _sided((count - below + 1.0) / (count + 1.0), (below + 1.0) / (count + 1.0), side)


def _sided(above: Array, below: Array, side: int) -> Array:
    """The chance of one side, or twice the smaller of both."""
    if side:
        return np.minimum(above if side > 0 else below, 1.0)
    return np.minimum(2.0 * np.minimum(above, below), 1.0)


def chance_as_far(
    family: Array, value: float, least: float, excess: float, *, side: int = 0
) -> float:
    """Chance that one more value of a family lies as far out as this one.

    Args:
        family: Finite values, shape (n,), n >= 2.
        value: The one that is asked about.
        least: Variance of the errors of its values: no family is narrower, unless it says so.
        excess: Variance by which the value is less sure than those of the family.
        side: 1 where high values are unusual, -1 where low ones are, 0 where both.

    Returns:
        The chance; by ranks where a share of `LUMP` of the family is one number.

    Source: sinh-arcsinh distributions, Jones and Pewsey, Biometrika 96 (2009) 761-780, section 2;
        mean and variance integrated out under their reference prior, so that each shape predicts by
        Student's t (Gelman et al., Bayesian Data Analysis (2013), section 3.2); shapes averaged by
        their evidence (Hoeting et al., Stat. Sci. 14 (1999) 382-417).

    Checked against: tests/recovery/test_history.py, false alarms on flights without a fault.
    """
    count = family.size
    middle = float(np.median(family))
    scale = MAD * float(np.median(np.abs(family - middle))) or float(family.std(ddof=1))
    scale = max(scale, float(np.sqrt(max(least, 0.0))))
    if (family == middle).mean() > LUMP or scale <= 0.0:
        below = float((family < value).sum() + 0.5 * (family == value).sum())
        return float(by_rank(np.array(below), np.array(float(count)), side))
    each, slope = _straightened((family - middle)[None] / scale)
    own, own_slope = _straightened(np.array([[(value - middle) / scale]]))
    mean = each.mean(axis=1)
    # A family of one repeated number shows no shape and no spread but that of its errors.
    squares = np.maximum(((each - mean[:, None]) ** 2).sum(axis=1), 1e-12)
    evidence = PRIOR + np.log(slope).sum(axis=1) - 0.5 * (count - 1) * np.log(squares)
    weight = np.exp(evidence - logsumexp(evidence))
    stretch = (own_slope[:, 0] / scale) ** 2
    spread = squares / (count - 1)
    variance = np.maximum(spread, np.minimum(least * stretch, spread * _widest(count - 1)))
    variance = variance * (1.0 + 1.0 / count) + max(excess, 0.0) * stretch
    out = (own[:, 0] - mean) / np.sqrt(variance)
    above, below = (float(np.sum(weight * student.sf(k * out, count - 1))) for k in (1.0, -1.0))
    return float(_sided(np.array(above), np.array(below), side))


def chances_among(
    values: Array, errors: Array, group: Index, groups: int, fewest: int, *, side: int = 0
) -> Array:
    """Chance that a value lies as far out of the others of its group, of all at once.

    Args:
        values: NaN where not measured, shape (n,).
        errors: Standard deviations of them; no group is narrower unless it says so, shape (n,).
        group: Of each, shape (n,).
        groups: How many there are.
        fewest: Others below which nothing is said.
        side: 1 where high values are unusual, -1 where low ones are, 0 where both.

    Returns:
        As `chance_as_far` of each value against the others, NaN where there are too few, (n,). The
        scale on which shapes are tried is that of the whole group.

    Source: as `chance_as_far`; the value is left out of sums in closed form.
    Checked against: tests/unit/test_history_screen.py, `chance_as_far` one by one.
    """
    known = np.isfinite(values)
    chance = np.full(values.shape, np.nan)
    x, of = values[known], group[known]
    count = np.bincount(of, minlength=groups)[of]
    variance = np.nan_to_num(errors[known]) ** 2
    least = (np.bincount(of, variance, groups)[of] - variance) / np.maximum(count - 1, 1)
    z, scale = _on_group_scale(x, of, groups, np.sqrt(least))
    others = np.maximum(count - 1, 1)
    # The commonest value of a lump is the median, whichever is left out.
    same = np.bincount(of, z == 0.0, groups)[of] - (z == 0.0)
    lump = (same > LUMP * others) | (scale <= 0.0)
    found = np.where(lump, by_rank(_below(x, of), others, side), np.nan)
    shaped = ~lump & (count > fewest)
    z, scale, least, variance = (each[shaped] for each in (z, scale, least, variance))
    excess = np.maximum(variance - least, 0.0) / scale**2
    found[shaped] = _sided(*_averaged(z, of[shaped], groups, least / scale**2, excess), side)
    chance[known] = np.where(count > fewest, found, np.nan)
    return chance


def _below(x: Array, of: Index) -> Array:
    """How many of its group lie below each value, half of the others that are equal."""
    order = np.lexsort((x, of))
    rank = np.arange(x.size) - np.searchsorted(of[order], of[order], side="left")
    changes = (np.diff(x[order]) != 0.0) | (np.diff(of[order]) != 0)
    start = np.flatnonzero(np.r_[x.size > 0, changes])
    size = np.diff(np.r_[start, x.size])
    found = np.empty(x.size)
    found[order] = np.repeat(rank[start] + 0.5 * (size - 1), size)
    return found


def _on_group_scale(x: Array, of: Index, groups: int, least: Array) -> tuple[Array, Array]:
    """Values less the median of their group over its spread, and that spread."""
    middle, spread = _medians(x, of, groups), np.zeros(x.size)
    spread = MAD * _medians(np.abs(x - middle[of]), of, groups)[of]
    number = np.maximum(np.bincount(of, minlength=groups), 1)
    mean = np.bincount(of, x, groups) / number
    second = np.sqrt(np.bincount(of, (x - mean[of]) ** 2, groups) / number)[of]
    scale = np.maximum(np.where(spread > 0.0, spread, second), least)
    return (x - middle[of]) / np.where(scale > 0.0, scale, 1.0), scale


def _medians(x: Array, of: Index, groups: int) -> Array:
    """Median of each group, 0 for an empty one."""
    order = np.lexsort((x, of))
    count = np.bincount(of, minlength=groups)
    first = np.cumsum(count) - count
    filled = np.append(x[order], 0.0)
    low, high = (np.minimum(first + (count - k) // 2, x.size) for k in (1, 0))
    return np.where(count > 0, 0.5 * (filled[low] + filled[high]), 0.0)


def _averaged(z: Array, of: Index, groups: int, least: Array, excess: Array) -> tuple[Array, Array]:
    """The chances above and below, averaged over shapes one by one to keep memory small."""
    n = np.bincount(of, minlength=groups)[of] - 1.0
    best, whole, above = np.full(z.size, -np.inf), np.zeros(z.size), np.zeros(z.size)
    below, widest = np.zeros(z.size), _widest(n - 1.0)
    for prior, skew, tail in zip(PRIOR, SKEW[:, 0], TAIL[:, 0], strict=True):
        each, slope = _straightened(z, skew, tail)
        total, square, log_slope = (
            np.bincount(of, what, groups)[of] - what for what in (each, each**2, np.log(slope))
        )
        mean = total / n
        squares = np.maximum(square - n * mean**2, 1e-12)
        evidence = prior + log_slope - 0.5 * (n - 1.0) * np.log(squares)
        spread = squares / (n - 1.0)
        variance = np.maximum(spread, np.minimum(least * slope**2, spread * widest))
        variance = variance * (1.0 + 1.0 / n) + excess * slope**2
        out = (each - mean) / np.sqrt(variance)
        tail_of = stdtr(n - 1.0, -np.abs(out))
        new = np.maximum(best, evidence)
        fade, weight = np.exp(best - new), np.exp(evidence - new)
        over = np.where(out > 0.0, tail_of, 1.0 - tail_of)
        whole, above = whole * fade + weight, above * fade + weight * over
        below, best = below * fade + weight * (1.0 - over), new
    return above / whole, below / whole


def chances_of_counts(
    values: Array, errors: Array, group: Index, groups: int, fewest: int
) -> Array:
    """Chance that as many events or more befall a flight, by how many befell others of its group.

    Args:
        values: Rates, 1/s: events over the time watched; NaN where not measured, shape (n,).
        errors: Root of the events, or 1 where there are none, over the time, shape (n,).
        group: Of each, shape (n,).
        groups: How many there are.
        fewest: Others below which nothing is said.

    Returns:
        Shape (n,), NaN where there are too few.

    Source: a Poisson process whose rate is not known; by Jeffreys' rule its count in a time T, with
        k in the time S of others, is negative binomial with k + 1/2 and S / (S + T) (Gelman et al.,
        Bayesian Data Analysis (2013), section 2.6).
    Checked against: tests/unit/test_history_screen.py, by hand.
    """
    number, time, known = events_in(values, errors)
    count, beside, whole = (
        np.bincount(group, what, groups)[group] for what in (known, number, time)
    )
    rate_of = (beside - number + 0.5, (whole - time) / np.maximum(whole, 1e-300))
    # P(K >= k) of the negative binomial, as an incomplete beta function.
    more = betainc(np.maximum(number, 1.0), rate_of[0], 1.0 - rate_of[1])
    more = np.where(number > 0.0, more, 1.0)
    return np.where(known & (count > fewest), more, np.nan)


def events_in(values: Array, errors: Array) -> tuple[Array, Array, Flags]:
    """Events and time behind rates: `k / T` and `sqrt(max(k, 1)) / T`.

    Args:
        values: 1/s, NaN where not measured.
        errors: 1/s.

    Returns:
        Events, s, and whether they are known; both 0 where they are not.
    """
    known = np.isfinite(values) & (errors > 0.0)
    number = np.where(known, np.rint((values / np.where(known, errors, 1.0)) ** 2), 0.0)
    time = np.where(known, np.sqrt(np.maximum(number, 1.0)) / np.where(known, errors, 1.0), 0.0)
    return number, time, known
