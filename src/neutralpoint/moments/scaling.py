"""With what the needed moment grew: dynamic pressure, load factor or neither; step or ramp.

A surface that has moved adds a moment proportional to dynamic pressure; a load that has moved adds
one proportional to lift; a motor moves at a rate, a broken part at once. Before the data are asked
which it was, they are asked whether they could tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from neutralpoint.moments.needed import Needed
from neutralpoint.numerics.arrays import Array

LAWS = ("surface, step", "surface, ramp", "center of gravity, step", "center of gravity, slide")
STEP_TIME = 0.5  # s: quicker than the data can follow
RAMP_TIMES = np.array([2.0, 4.0, 8.0, 15.0, 30.0, 60.0])  # s, of a motor
SLIDE_TIMES = np.array([1.5, 3.0])  # s, of a load that slides (trade notes: 1 to 3 s)
STARTS = 40  # start times tried over the first 60% of the window
SHARES = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])  # of the smoothing window, for its mean
TRIALS = 400  # of each law; the mean probabilities then have an error of about 0.02


@dataclass(frozen=True)
class Scaling:
    """Posterior over the laws of growth, and what these data could have told.

    Attributes:
        laws: Names.
        posterior: Probability of each law, equal before the data, shape (4,).
        power: Mean probability given to law j when law i made the data, shape (4, 4).
    """

    laws: tuple[str, ...]
    posterior: Array
    power: Array

    @property
    def separable(self) -> bool:
        """Whether data of this kind would on average find the true law with more than even odds."""
        return bool(np.all(np.diag(self.power) > 0.5))

    def surface(self) -> float:
        """Probability that the moment grew with dynamic pressure.

        Returns:
            0 to 1.
        """
        return float(self.posterior[0] + self.posterior[1])

    def surface_power(self) -> float:
        """Mean probability given to the true kind of growth, surface or centre of gravity.

        Returns:
            0 to 1; 0.5 where the data say nothing.
        """
        groups = self.power[:, :2].sum(axis=1)
        return float(0.25 * (groups[0] + groups[1] + 2.0 - groups[2] - groups[3]))


def _members(needed: Needed, lift: Array, window: float) -> list[Array]:
    """Unit histories of each law over start times and durations, each shape (c, k)."""
    time = needed.time
    starts = np.linspace(time[0] - 1.0, time[0] + 0.6 * (time[-1] - time[0]), STARTS)

    fine = time[:, None] + window * SHARES

    def ramps(durations: Array) -> Array:
        share = (fine - starts[:, None, None, None]) / durations[None, :, None, None]
        return np.clip(share, 0.0, 1.0).mean(axis=3).reshape(-1, time.size)

    step, ramp, slide = (ramps(np.atleast_1d(d)) for d in (STEP_TIME, RAMP_TIMES, SLIDE_TIMES))
    return [step, ramp, step * lift, slide * lift]


def _log_evidence(data: Array, members: Array, inverse: Array, size: float) -> Array:
    """ln p(data | law) up to a constant, the size of the change integrated out, shape (n,)."""
    norm = np.einsum("ci,ij,cj->c", members, inverse, members)
    projection = data @ inverse @ members.T
    variance = size**2 / np.maximum(np.mean(members**2, axis=1), 1e-9)
    gain = variance / (1.0 + variance * norm)
    score = 0.5 * projection**2 * gain - 0.5 * np.log1p(variance * norm)
    return logsumexp(score, axis=1) - np.log(members.shape[0])


def scaling_test(
    needed: Needed, lift: Array, rng: np.random.Generator, *, window: float
) -> Scaling:
    """Weigh the laws of growth against each other.

    Args:
        needed: Change of moment coefficient (a surface's is constant in it), shape (k,).
        lift: Lift coefficient over its trimmed value at the same knots, shape (k,): a shift of the
            centre of gravity changes the moment coefficient in proportion to it.
        rng: Source of random numbers for the trials of what could be told.
        window: Smoothing window of the data, s; the laws are averaged over it too.

    Returns:
        Posterior and power.

    Source: Bayesian linear regression with the size integrated out (normal prior of the size of
    the largest change seen); O'Hagan and Forster, Bayesian Inference (2004), ch. 11.
    """
    inverse = np.linalg.inv(needed.total)
    # The prior of the size is that of the change seen: no law is favored for being large or small.
    size = max(float(np.abs(needed.mean).max()), 1e-6)
    laws = _members(needed, lift, window)
    evidence = np.array([_log_evidence(needed.mean[None], m, inverse, size)[0] for m in laws])
    root = np.linalg.cholesky(needed.total)
    power = np.empty((len(laws), len(laws)))
    for i, members in enumerate(laws):
        chosen = members[rng.integers(members.shape[0], size=TRIALS)]
        # Every law is tried at the size that was seen, of either sign; else the steep ones win.
        largest = np.maximum(np.abs(chosen).max(axis=1, keepdims=True), 1e-9)
        data = size * rng.choice([-1.0, 1.0], (TRIALS, 1)) * chosen / largest
        data = data + rng.standard_normal(data.shape) @ root.T
        scores = np.stack([_log_evidence(data, m, inverse, size) for m in laws], axis=1)
        total = np.asarray(logsumexp(scores, axis=1, keepdims=True))
        power[i] = np.exp(scores - total).mean(axis=0)
    return Scaling(LAWS, np.exp(evidence - logsumexp(evidence)), power)
