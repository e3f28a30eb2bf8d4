"""How an airplane may move between fixes: position, velocity and a correlated acceleration."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import expm

from neutralpoint.numerics.arrays import Array, Index

# Singer reports manoeuvre time constants of about 20 s for evasive and 60 s for lazy turns
# (IEEE Trans. AES-6, 1970). The local jerk level below does the rest, so the value matters little.
ACCELERATION_TIME = 20.0
# An airplane is also moved quicker than that: by hands, gusts and its own short period. This part
# of the acceleration dies away within a second or two, and rises and falls with the jerk level.
# Without it, what the fixes are too slow to show is taken from the slow part alone, and bands are
# too narrow (decisions/0012). How much of it there is, the flight tells. Analyst's choice of the
# time.
QUICK_TIME = 1.2  # s
# Jerk level of the quick part over that of the slow one: over the ground, and upward until the
# flight has told it. Over the ground it is not looked for: rounding of speeds and tracks passes for
# quick movement there, and bank with it (decisions/0012).
QUICK_HORIZONTAL, QUICK_VERTICAL = 0.1, 10.0
# Over the ground where positions are all there is: none is rounded for it, and what happens between
# fixes is not seen at all. More than this hides the load along the path without need.
QUICK_PLACES = 3.0
# The same where readings are seconds apart: a bank that hands hold or change, a load that hands and
# gusts make (decisions/0012). Analyst's choices.
HANDS_TIME, LOAD_TIME, GUST_TIME = 4.0, 2.0, 1.4  # s
SETTLING = 1e-6  # (m/s)^2/s, drive of the speed by gusts: keeps the transition regular
# Drive of the lagged vertical-rate output, m/s per root second: keeps the transition regular and
# stands for what an avionics filter does beyond a first-order lag. Analyst's choice.
LAG_DRIVE = 0.05


@dataclass(frozen=True)
class Process:
    """Linear process `x[k+1] = F x[k] + w`, `w ~ N(0, s[k] Q)`, on a grid.

    Attributes:
        transition: F, shape (d, d), or (m - 1, d, d) where the steps differ.
        inverse_noise: inverse of Q at unit jerk level, of the same shape.
        log_determinant_noise: ln det Q, a number or shape (m - 1,).
        settled: Covariance of what is forgotten within seconds, and so as likely at the first node
            as at any other, at unit jerk level, shape (d, d); None: nothing is.
    """

    transition: Array
    inverse_noise: Array
    log_determinant_noise: float | Array
    settled: Array | None = None

    @property
    def size(self) -> int:
        """Number of states."""
        return self.transition.shape[-1]

    def first(self, prior: Array, level: float) -> Array:
        """Covariance of the first node's states.

        Args:
            prior: Of what the process does not say: standard deviations, shape (d,), or a
                covariance, shape (d, d).
            level: Jerk level of the first step.

        Returns:
            Shape (d, d).
        """
        known = np.diag(prior**2) if prior.ndim == 1 else prior
        return known if self.settled is None else known + level * self.settled

    def increments(self, states: Array) -> Array:
        """What the process noise did: `w[k] = x[k+1] - F x[k]`.

        Args:
            states: States, shape (..., m, d).

        Returns:
            Increments, shape (..., m - 1, d).
        """
        return states[..., 1:, :] - (self.transition @ states[..., :-1, :, None])[..., 0]

    def energy(self, states: Array) -> Array:
        """Squared increments in units of the unit jerk level, `w' Q^-1 w`.

        Args:
            states: States, shape (..., m, d).

        Returns:
            Shape (..., m - 1); expected value d at unit level.
        """
        increments = self.increments(states)
        return (increments * (self.inverse_noise @ increments[..., None])[..., 0]).sum(axis=-1)


def _discretise(drift: Array, drive: Array, step: float) -> tuple[Array, Array]:
    """Exact transition and noise of `dx = A x dt + dB`, `cov(dB) = D dt`.

    Source: C. F. Van Loan, IEEE Trans. Automatic Control 23 (1978) 395-404.
    """
    size = drift.shape[0]
    block = np.zeros((2 * size, 2 * size))
    block[:size, :size] = -drift
    block[:size, size:] = drive
    block[size:, size:] = drift.T
    exponential = expm(block * step)
    transition = exponential[size:, size:].T
    noise = transition @ exponential[:size, size:]
    return transition, 0.5 * (noise + noise.T)


def _doubled(transition: Array, noise: Array) -> tuple[Array, Array]:
    """Transition and noise of twice the step; the matrix exponential of a long one overflows."""
    return transition @ transition, transition @ noise @ transition.T + noise


def _process(drift: Array, drive: Array, step: float, spacing: Index | None) -> Process:
    transition, noise = _discretise(drift, drive, step)

    def laid_out(transition: Array, noise: Array) -> tuple[Array, Array, float]:
        return transition, np.linalg.inv(noise), float(np.linalg.slogdet(noise)[1])

    if spacing is None or (spacing == 1).all():
        return Process(*laid_out(transition, noise))
    parts, count = {}, 1
    while count <= spacing.max():
        parts[count] = laid_out(transition, noise)
        (transition, noise), count = _doubled(transition, noise), 2 * count
    each = [parts[count] for count in spacing.tolist()]
    return Process(*(np.array(field) for field in zip(*each, strict=True)))


def horizontal_process(
    step: float, spacing: Index | None = None, quick: float = QUICK_HORIZONTAL
) -> Process:
    """Two axes of position, velocity and acceleration with unit jerk level, (m/s^3)^2/Hz.

    The states are (pn, vn, an, pe, ve, ae, sn, se), with s the slow part of the acceleration.

    Args:
        step: Grid step, s.
        spacing: Grid steps from each node to the next, powers of two, shape (m - 1,); None = 1.
        quick: Jerk level of the quick part over that of the slow one.

    Returns:
        Process with d = 8.

    Source: R. A. Singer, IEEE Trans. Aerospace and Electronic Systems AES-6 (1970) 473-483, twice:
    for a slow and for a quick part.
    """
    drift, drive, settled = np.zeros((3, 8, 8))
    for first, slow in ((0, 6), (3, 7)):
        axis = slice(first, first + 3)
        _accelerate(drift, drive, axis, slow, quick)
        settled[first + 2, first + 2] = 0.5 * quick * QUICK_TIME
    return replace(_process(drift, drive, step, spacing), settled=settled)


def unknown(sigma: Sequence[float], parts: Mapping[int, int]) -> Array:
    """Covariance of a first node of which little is known.

    Args:
        sigma: Standard deviation of each state, beside the part of it that is another state.
        parts: The states that hold another one, and which.

    Returns:
        Shape (d, d).
    """
    made = np.eye(len(sigma))
    for whole, part in parts.items():
        made[whole, part] = 1.0
    return (made * np.square(sigma)) @ made.T


def _accelerate(
    drift: Array,
    drive: Array,
    axis: slice,
    slow: int,
    quick: float,
    *,
    level: float = 1.0,
    time: float = QUICK_TIME,
) -> None:
    """Fill in an axis of (value, rate, acceleration) and the slow part of the acceleration."""
    value, rate, whole = range(axis.start, axis.stop)
    drift[value, rate] = drift[rate, whole] = 1.0
    drift[slow, slow] = -1.0 / ACCELERATION_TIME
    drift[whole, whole] = -1.0 / time
    drift[whole, slow] = 1.0 / time - 1.0 / ACCELERATION_TIME
    drive[slow, slow] = drive[whole, slow] = drive[slow, whole] = level
    drive[whole, whole] = level + quick


def vertical_process(
    step: float, lag: float, spacing: Index | None = None, quick: float = QUICK_VERTICAL
) -> Process:
    """Pressure altitude, its rate, acceleration, and the rate as an avionics filter shows it.

    Args:
        step: Grid step, s.
        lag: Time constant of the first-order lag of the transmitted vertical rate, s.
        spacing: As in `horizontal_process`.
        quick: As in `horizontal_process`.

    Returns:
        Process with d = 5: (H, H', H'', lagged rate, slow part of H'').

    Source: as `horizontal_process`, with the lag `r' = (v - r)/lag` appended.
    """
    drift, drive, settled = np.zeros((3, 5, 5))
    _accelerate(drift, drive, slice(0, 3), 4, quick)
    drift[3, 1], drift[3, 3] = 1.0 / lag, -1.0 / lag
    drive[3, 3] = LAG_DRIVE**2
    settled[2, 2] = 0.5 * quick * QUICK_TIME
    return replace(_process(drift, drive, step, spacing), settled=settled)


class Family:
    """One chain's process in each of several regimes: its movement is theirs, its noise each's own.

    Args:
        drift: A of `dx = A x dt + dB`, shape (d, d).
        drives: `cov(dB)/dt` in each regime, shape (r, d, d).
        settled: As `Process.settled`, in each regime, shape (r, d, d).
        step: Grid step, s.
    """

    def __init__(self, drift: Array, drives: Array, settled: Array, step: float) -> None:
        self.count, self.size = drives.shape[:2]
        self.settled = settled
        each = [_discretise(drift, drive, step) for drive in drives]
        self._powers = [(each[0][0], np.array([noise for _, noise in each]))]
        self._over: dict[int, tuple[Array, Array]] = {}

    def _power(self, exponent: int) -> tuple[Array, Array]:
        """Transition, and noise of each regime, over a power of two of the step."""
        while len(self._powers) <= exponent:
            self._powers.append(_doubled(*self._powers[-1]))
        return self._powers[exponent]

    def first(self, prior: Array) -> Array:
        """Covariance of the first node's states in each regime.

        Args:
            prior: As in `Process.first`.

        Returns:
            Shape (r, d, d).
        """
        return (np.diag(prior**2) if prior.ndim == 1 else prior) + self.settled

    def over(self, steps: int) -> tuple[Array, Array]:
        """Transition, shape (d, d), and noise of each regime, shape (r, d, d), over so many steps.

        Args:
            steps: Grid steps, at least 1.

        Returns:
            Both.
        """
        if steps not in self._over:
            parts = [self._power(i) for i in range(steps.bit_length()) if steps >> i & 1]
            whole, added = parts[0]
            for move, noise in parts[1:]:
                whole, added = move @ whole, move @ added @ move.T + noise
            self._over[steps] = (whole, added)
        return self._over[steps]

    def process(self, spacing: Index, regime: Index) -> Process:
        """The process with a regime for each step.

        Args:
            spacing: Grid steps from each node to the next, shape (m - 1,).
            regime: Shape (m - 1,).

        Returns:
            Its parts of shape (m - 1, d, d).
        """
        moves, inverses = [], []
        table: dict[tuple[int, int], Array] = {}
        for steps, which in zip(spacing.tolist(), regime.tolist(), strict=True):
            move, noise = self.over(steps)
            if (steps, which) not in table:
                table[steps, which] = np.linalg.inv(noise[which])
            moves.append(move)
            inverses.append(table[steps, which])
        settled = self.settled[regime[0]]
        return Process(np.array(moves), np.array(inverses), 0.0, settled)


def horizontal_family(step: float, sizes: Array) -> Family:
    """Two axes of position, velocity and acceleration in each regime.

    Args:
        step: Grid step, s.
        sizes: Variance of the slow and of the quick part of the acceleration, shape (r, 2).

    Returns:
        Regimes over the states of `horizontal_process`.
    """
    drift, (drives, settled) = np.zeros((8, 8)), np.zeros((2, len(sizes), 8, 8))
    settled[:, 2, 2] = settled[:, 5, 5] = sizes[:, 1]
    for (slow, quick), drive in zip(sizes, drives, strict=True):
        for first, lasting in ((0, 6), (3, 7)):
            _accelerate(
                drift,
                drive,
                slice(first, first + 3),
                lasting,
                2.0 * quick / HANDS_TIME,
                level=2.0 * slow / ACCELERATION_TIME,
                time=HANDS_TIME,
            )
    return Family(drift, drives, settled, step)


def vertical_family(step: float, lag: float, sizes: Array) -> Family:
    """Altitude, its rate and acceleration in each regime.

    Gusts move an airplane up and down without taking it anywhere: the vertical speed that they make
    comes back to nought, where hands and trim leave one behind. So they have states of their own.

    Args:
        step: Grid step, s.
        lag: As in `vertical_process`.
        sizes: Variance of the slow and of the quick part of the acceleration, (m/s^2)^2, and of the
            vertical speed that gusts make, (m/s)^2, shape (r, 3).

    Returns:
        Regimes over the states of `vertical_process`, and the speed that gusts make and its rate.

    Source: critically damped second order for gusts, order of 14 CFR 25 appendix G's vertical
    gust with an airplane that follows it (from memory).
    """
    drift, (drives, settled) = np.zeros((7, 7)), np.zeros((2, len(sizes), 7, 7))
    quick, gust = sizes[:, 1], sizes[:, 2]
    settled[:, 2, 2], settled[:, 5, 5] = quick + gust / GUST_TIME**2, gust
    settled[:, 2, 6] = settled[:, 6, 2] = settled[:, 6, 6] = gust / GUST_TIME**2
    for (slow, quick, gust), drive in zip(sizes, drives, strict=True):
        _accelerate(
            drift,
            drive,
            slice(0, 3),
            4,
            2.0 * quick / LOAD_TIME,
            level=2.0 * slow / ACCELERATION_TIME,
            time=LOAD_TIME,
        )
        push = 4.0 * gust / GUST_TIME**3
        drive[2, 2] += push
        drive[2, 6] = drive[6, 2] = drive[6, 6] = push
        drive[3, 3] = LAG_DRIVE**2
        drive[5, 5] = SETTLING
    drift[3, 1], drift[3, 3] = 1.0 / lag, -1.0 / lag
    drift[5, 6] = 1.0
    drift[6, 5], drift[6, 6] = -1.0 / GUST_TIME**2, -2.0 / GUST_TIME
    drift[2, 6] = 1.0 / LOAD_TIME + drift[6, 6]
    drift[2, 5] = drift[6, 5]
    return Family(drift, drives, settled, step)
