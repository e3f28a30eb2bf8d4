"""The chance that one more value of a family lies as far out, whatever the family's shape.

Families of measures are skew and their tails are heavier than a normal distribution's. Many shapes
are tried at once, each weighed by how well the family itself supports it, and in each the mean and
the spread are as unknown as so few flights leave them.
"""

from __future__ import annotations

import numpy as np
from scipy.special import logsumexp
from scipy.stats import t as student

from neutralpoint.numerics.arrays import Array

# Skewness and weight of tails that are tried, and what is held of them before the family is seen:
# symmetric within 0.3, tails heavier than normal by 0.9 with a factor of e^0.3 either way.
# Analyst's: by other priors (0.2 to 0.5, 0.8 to 0.9) false alarms differ by 0.2% at most
# (benchmarks/results/history.md).
SKEWS = np.linspace(-0.6, 0.6, 7)
TAILS = np.array([0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.15])
SKEW_PRIOR, TAIL_MIDDLE, TAIL_PRIOR = 0.3, 0.9, 0.3
MAD = 1.4826  # standard deviations in a median absolute deviation of a normal distribution
SKEW, TAIL = (each.ravel()[:, None] for each in np.meshgrid(SKEWS, TAILS, indexing="ij"))
PRIOR = (-0.5 * (SKEW / SKEW_PRIOR) ** 2 - 0.5 * (np.log(TAIL / TAIL_MIDDLE) / TAIL_PRIOR) ** 2)[
    :, 0
]


def _straightened(z: Array) -> tuple[Array, Array]:
    """Values on the scale on which each shape is normal, and the slope of it, (shapes, n)."""
    inner = TAIL * np.arcsinh(z) - SKEW
    return np.sinh(inner), TAIL * np.cosh(inner) / np.sqrt(1.0 + z**2)


def chance_as_far(family: Array, value: float, least: float, excess: float) -> float:
    """Two-sided chance that one more value of a family lies as far out as this one.

    Args:
        family: Finite values, shape (n,), n >= 2.
        value: The one that is asked about.
        least: Variance that no family is narrower than: that of its errors.
        excess: Variance by which the value is less sure than those of the family.

    Returns:
        The chance; 1 where family and value are one number.

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
    if scale <= 0.0:
        return 1.0 if value == middle else 2.0 / (count + 1.0)
    each, slope = _straightened((family - middle)[None] / scale)
    own, own_slope = _straightened(np.array([[(value - middle) / scale]]))
    mean = each.mean(axis=1)
    # A family of one repeated number shows no shape and no spread but that of its errors.
    squares = np.maximum(((each - mean[:, None]) ** 2).sum(axis=1), 1e-12)
    evidence = PRIOR + np.log(slope).sum(axis=1) - 0.5 * (count - 1) * np.log(squares)
    weight = np.exp(evidence - logsumexp(evidence))
    stretch = (own_slope[:, 0] / scale) ** 2
    variance = np.maximum(squares / (count - 1), least * stretch)
    variance = variance * (1.0 + 1.0 / count) + max(excess, 0.0) * stretch
    out = (own[:, 0] - mean) / np.sqrt(variance)
    above, below = (float(np.sum(weight * student.sf(k * out, count - 1))) for k in (1.0, -1.0))
    return min(2.0 * above, 2.0 * below, 1.0)
