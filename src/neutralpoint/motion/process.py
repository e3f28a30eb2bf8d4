"""How an airplane may move between fixes: position, velocity and a correlated acceleration."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

Array = NDArray[np.float64]

# Singer reports manoeuvre time constants of about 20 s for evasive and 60 s for lazy turns
# (IEEE Trans. AES-6, 1970). The local jerk level below does the rest, so the value matters little.
ACCELERATION_TIME = 20.0
# Drive of the lagged vertical-rate output, m/s per root second: keeps the transition regular and
# stands for what an avionics filter does beyond a first-order lag. Analyst's choice.
LAG_DRIVE = 0.05


@dataclass(frozen=True)
class Process:
    """Linear process `x[k+1] = F x[k] + w`, `w ~ N(0, s[k] Q)`, on a uniform grid.

    Attributes:
        transition: F, shape (d, d).
        inverse_noise: inverse of Q at unit jerk level, shape (d, d).
        log_determinant_noise: ln det Q.
    """

    transition: Array
    inverse_noise: Array
    log_determinant_noise: float

    @property
    def size(self) -> int:
        """Number of states."""
        return self.transition.shape[0]

    def increments(self, states: Array) -> Array:
        """What the process noise did: `w[k] = x[k+1] - F x[k]`.

        Args:
            states: States, shape (..., m, d).

        Returns:
            Increments, shape (..., m - 1, d).
        """
        return states[..., 1:, :] - states[..., :-1, :] @ self.transition.T

    def energy(self, states: Array) -> Array:
        """Squared increments in units of the unit jerk level, `w' Q^-1 w`.

        Args:
            states: States, shape (..., m, d).

        Returns:
            Shape (..., m - 1); expected value d at unit level.
        """
        increments = self.increments(states)
        return np.einsum("...i,ij,...j->...", increments, self.inverse_noise, increments)


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


def _process(drift: Array, drive: Array, step: float, copies: int) -> Process:
    transition, noise = _discretise(drift, drive, step)
    identity = np.eye(copies)
    return Process(
        transition=np.kron(identity, transition),
        inverse_noise=np.kron(identity, np.linalg.inv(noise)),
        log_determinant_noise=copies * float(np.linalg.slogdet(noise)[1]),
    )


def horizontal_process(step: float) -> Process:
    """Two axes of (position, velocity, acceleration) with unit jerk level, (m/s^3)^2/Hz.

    Args:
        step: Grid step, s.

    Returns:
        Process with d = 6.

    Source: R. A. Singer, IEEE Trans. Aerospace and Electronic Systems AES-6 (1970) 473-483.
    """
    drift = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0 / ACCELERATION_TIME]])
    return _process(drift, np.diag([0.0, 0.0, 1.0]), step, copies=2)


def vertical_process(step: float, lag: float) -> Process:
    """Pressure altitude, its rate, acceleration, and the rate as an avionics filter shows it.

    Args:
        step: Grid step, s.
        lag: Time constant of the first-order lag of the transmitted vertical rate, s.

    Returns:
        Process with d = 4.

    Source: as `horizontal_process`, with the lag `r' = (v - r)/lag` appended.
    """
    drift = np.zeros((4, 4))
    drift[0, 1] = drift[1, 2] = 1.0
    drift[2, 2] = -1.0 / ACCELERATION_TIME
    drift[3, 1], drift[3, 3] = 1.0 / lag, -1.0 / lag
    return _process(drift, np.diag([0.0, 0.0, 1.0, LAG_DRIVE**2]), step, copies=1)
