"""Bands from sample paths: the median with the central 50 % and 90 %."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neutralpoint.findings.document import Banded

Array = NDArray[np.float64]

LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
# Angles that run through a full turn; all others stay within half a turn.
CIRCULAR = frozenset({"track_angle", "bank_angle", "longitude"})


def bands(samples: Array, *, circular: bool = False) -> Array:
    """Quantiles of sample paths at each time.

    Args:
        samples: Sample paths, shape (S, m).
        circular: True for an angle in rad: the paths are first made continuous in time and laid
            beside the first one, so that no band crosses the jump at a full turn.

    Returns:
        5 %, 25 %, 50 %, 75 % and 95 % quantiles, shape (5, m).
    """
    values = _unrolled(samples) if circular else samples
    return np.quantile(values, LEVELS, axis=0)


def banded(samples: Array, unit: str, *, observable: bool = True, circular: bool = False) -> Banded:
    """One value with its bands.

    Args:
        samples: Samples at one time, shape (S,).
        unit: SI unit or rad.
        observable: False where the data do not bear the value.
        circular: True for an angle that runs through a full turn.

    Returns:
        The value for the findings document.
    """
    low90, low50, median, high50, high90 = bands(samples[:, None], circular=circular)[:, 0]
    return Banded(
        median=float(median),
        low50=float(low50),
        high50=float(high50),
        low90=float(low90),
        high90=float(high90),
        unit=unit,
        observable=observable,
    )


def _unrolled(samples: Array) -> Array:
    turn = 2.0 * np.pi
    continuous = np.unwrap(samples, axis=1)
    middle = np.angle(np.mean(np.exp(1j * samples), axis=0))
    middle = np.unwrap(middle)
    away = np.median(continuous - middle, axis=1, keepdims=True)
    return continuous - turn * np.round(away / turn)
