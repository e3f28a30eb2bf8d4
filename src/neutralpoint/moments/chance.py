"""How often a flight really made by a cause would fit as poorly as this one, by simulation.

A sum of squares over twenty times has no power against a need that is off in one direction: its
null distribution is that of twenty. What is left over is asked instead whether one more lasting
change, a step or a ramp somewhere, explains it, and how often noise alone would be explained as
well.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags

TRIALS = 1000  # of noise alone; the tail beyond them is fitted
TAIL = 0.9  # quantile of the trials from which on their tail is taken as exponential
RAMPS = (0.5, 4.0, 12.0)  # s: at once, as hands and as a motor
BEGINS = 12  # of changes tried; neighbours are nearly the same at the data's knots


def changes(time: Array, patterns: Array) -> Array:
    """Lasting changes that the leftover is held against.

    Args:
        time: Knots, s, shape (k,).
        patterns: How a constant cause shows at the knots (a surface, a load, a pull), (p, k).

    Returns:
        Unit changes by start and duration, shape (d, k).
    """
    begins = np.linspace(time[0] - 12.0, time[-1] - 1.0, BEGINS)
    shares = [np.clip((time - b) / r, 0.0, 1.0) for b in begins for r in RAMPS]
    return (np.array(shares)[:, None, :] * patterns).reshape(-1, time.size)


def likelihood_ratio(off: Array, weight: Array, directions: Array) -> Array:
    """Twice the gain in log likelihood by the one change that explains a leftover best.

    Args:
        off: Leftovers, shape (n, k).
        weight: Inverse covariance, shape (k, k).
        directions: Unit changes, shape (d, k).

    Returns:
        Shape (n,).

    Source: generalized likelihood ratio of a Gaussian shift of known shape, Kay, Fundamentals of
    Statistical Signal Processing II (1998), 6.4.
    """
    weighted = weight @ directions.T
    length = np.einsum("dk,kd->d", directions, weighted)
    able = length > 1e-9 * length.max(initial=1e-300)
    return ((off @ weighted[:, able]) ** 2 / length[able]).max(axis=1, initial=0.0)


def tail(trials: Array, found: Array) -> Array:
    """Upper tail of a simulated law at values, exponential beyond its last tenth.

    Args:
        trials: Values under the null, shape (n,).
        found: Values, shape (m,).

    Returns:
        Probabilities, shape (m,).

    Source: mean excess over a threshold, Pickands, Annals of Statistics 3 (1975) 119-131.
    """
    edge = float(np.quantile(trials, TAIL))
    excess = max(float((trials[trials > edge] - edge).mean()), 1e-12)
    inside = 1.0 - np.searchsorted(np.sort(trials), found) / trials.size
    return np.where(found <= edge, inside, (1.0 - TAIL) * np.exp((edge - found) / excess))


def chance(
    off: Array,
    covariance: Array,
    bound: Flags,
    directions: Array,
    *,
    samples: int,
    rng: np.random.Generator,
) -> Array:
    """Probability of leftovers that ask at least as much for one more change.

    Args:
        off: Left over, shape (n, k).
        covariance: Of the need, shape (k, k).
        bound: Where the hands are at a limit, shape (k,); elsewhere they meet any need, and such
            times can show no misfit.
        directions: Unit changes, shape (d, k).
        samples: Number of sample paths behind the covariance.
        rng: Source of random numbers.

    Returns:
        Shape (n,); 1 where no time can show a misfit.

    Source: the free times dropped, the rest has the marginal covariance; trials are drawn with
    the spread of an estimated covariance, Anderson, An Introduction to Multivariate Statistical
    Analysis, 3rd ed. (2003), 5.2.
    """
    size = int(bound.sum())
    if size == 0:
        return np.ones(len(off))
    own = covariance[np.ix_(bound, bound)]
    weight, root = np.linalg.inv(own), np.linalg.cholesky(own)
    freedom = samples - size
    wider = np.sqrt((samples - 1.0) / rng.chisquare(freedom, (TRIALS, 1)))
    noise = rng.standard_normal((TRIALS, size)) @ root.T * wider
    shown = directions[:, bound]
    trials = likelihood_ratio(noise, weight, shown)
    return tail(trials, likelihood_ratio(off[:, bound], weight, shown))
