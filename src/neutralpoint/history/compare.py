"""How unusual a flight is among others: percentiles with their sampling error, and false alarms.

Everything is computed for all measures or all flights at once. A percentile needs no distribution;
the chance that an ordinary flight lies as far out is, for small families, that of an average over
shapes (`shapes`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import beta

from neutralpoint.history.shapes import by_rank, chance_as_far
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.vocabulary.measure import MEASURES

FEWEST = 5  # flights below which nothing is said of a family; analyst's
MANY = 400  # flights from which ranks alone serve for the chance
RATE = 0.1  # of what is named unusual, the share that may be false; analyst's
SMALL = 1e-3  # added to a positive measure before its logarithm, share of the family's median


@dataclass(frozen=True)
class PlaceAmong:
    """Where a flight lies in a family, in one measure.

    Attributes:
        count: Flights of the family in which it could be measured.
        percentile: Share of them below it, 0 to 1.
        low: 2.5% of the sampling error of the percentile.
        high: 97.5%.
        chance: That an ordinary flight of the family lies as far out, on the side that is unusual
            or on either.
        middle: Median of the family, SI.
        low90: 5% of the family.
        high90: 95% of the family.
    """

    count: int
    percentile: float
    low: float
    high: float
    chance: float
    middle: float
    low90: float
    high90: float


def scaled(name: str, values: Array, family: Array) -> Array:
    """A measure on the scale on which families are nearly normal.

    Args:
        name: Of the measure.
        values: SI, any shape.
        family: Values whose median sets what is small.

    Returns:
        Logarithm of a positive measure, else the values.
    """
    if not MEASURES[name].positive:
        return values
    known = np.abs(family[np.isfinite(family)])
    little = SMALL * float(np.median(known)) + 1e-12 if known.size else 1e-12
    return np.log(np.maximum(values, 0.0) + little)


def place_in(
    name: str, family: Array, value: float, sigma: float, usual: float
) -> PlaceAmong | None:
    """Where a value lies in a family.

    Args:
        name: Of the measure.
        family: Values of the other flights, NaN where not measured, shape (n,).
        value: Of the flight.
        sigma: Its standard deviation.
        usual: Median standard deviation of the family's values.

    Returns:
        The place; None where too few flights or nothing was measured.

    Source: Jeffreys interval of a share, Beta(k + 1/2, n - k + 1/2) (Brown, Cai and DasGupta,
        Stat. Sci. 16 (2001) 101-133); chance of fewer than `MANY` by `shapes.chance_as_far`, of
        more by ranks.
    """
    known = family[np.isfinite(family)]
    count = known.size
    if count < FEWEST or not np.isfinite(value):
        return None
    below = float((known < value).sum() + 0.5 * (known == value).sum())
    low, high = beta.ppf((0.025, 0.975), below + 0.5, count - below + 0.5)
    side = MEASURES[name].side
    x = float(scaled(name, np.array([value]), known)[0])
    slope = 1.0 / max(abs(value), 1e-9) if MEASURES[name].positive else 1.0
    errors = (np.nan_to_num(usual) * slope) ** 2  # no family is narrower than its errors
    excess = (np.nan_to_num(sigma) * slope) ** 2 - errors
    if count >= MANY:
        chance = float(by_rank(np.array(below), np.array(float(count)), side))
    else:
        chance = chance_as_far(scaled(name, known, known), x, errors, excess, side=side)
    quantiles = np.quantile(known, (0.05, 0.5, 0.95))
    return PlaceAmong(
        count, below / count, float(low), float(high), float(chance),
        float(quantiles[1]), float(quantiles[0]), float(quantiles[2]),
    )  # fmt: skip


def kept_by_rate(chances: Array, rate: float = RATE) -> Flags:
    """Which of many results to name so that few of those named are false.

    Args:
        chances: p-values, NaN where there is none, any shape.
        rate: Expected share of false ones among those named.

    Returns:
        Same shape.

    Source: Benjamini and Hochberg, J. R. Stat. Soc. B 57 (1995) 289-300.
    """
    flat = np.asarray(chances, float).ravel()
    order = np.argsort(np.where(np.isfinite(flat), flat, np.inf), kind="stable")
    count = int(np.isfinite(flat).sum())
    ranked = flat[order][:count]
    passes = np.flatnonzero(ranked <= rate * np.arange(1, count + 1) / max(count, 1))
    kept = np.zeros(flat.size, bool)
    if passes.size:
        kept[order[: passes[-1] + 1]] = True
    return kept.reshape(np.shape(chances))


def among_own(values: Array, errors: Array, group: Index, groups: int) -> Array:
    """How far each value lies out of the others of its group; `chances_among` says how seldom.

    Args:
        values: NaN where not measured, shape (n,).
        errors: Standard deviations of them on the same scale; no group is narrower, shape (n,).
        group: Of each, shape (n,).
        groups: How many there are.

    Returns:
        Student's t of each value against the other ones, NaN where there are fewer than `FEWEST`,
        shape (n,).

    Source: prediction of one more value from a normal family, t = (x - mean) / (s sqrt(1 + 1/n))
        (Hahn, J. Am. Stat. Assoc. 64 (1969) 878-888), each value left out of its own family (closed
        form by sums).
    """
    good = np.isfinite(values)
    x = np.where(good, values, 0.0)
    number = np.bincount(group, good, groups)
    with np.errstate(invalid="ignore", divide="ignore"):
        center = (np.bincount(group, x, groups) / number)[group]
        x = np.where(good, values - center, 0.0)  # for the sums not to lose figures
        n = number[group] - good
        total, square = (
            np.bincount(group, x, groups)[group],
            np.bincount(group, x**2, groups)[group],
        )
        mean = (total - x) / n
        variance = (square - x**2 - n * mean**2) / (n - 1.0)
        own = np.where(good, np.nan_to_num(errors), 0.0) ** 2
        variance = np.maximum(variance, np.maximum(np.bincount(group, own, groups)[group] / n, own))
        out = (x - mean) / np.sqrt(np.maximum(variance, 1e-300) * (1.0 + 1.0 / n))
    enough = good & (n >= FEWEST) & (variance > 0.0)
    return np.where(enough, out, np.nan)
