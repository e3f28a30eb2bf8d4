"""A value with its bands, as the document holds it."""

from __future__ import annotations

from neutralpoint.findings.document import Banded
from neutralpoint.numerics.arrays import Array
from neutralpoint.numerics.quantiles import bands


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
