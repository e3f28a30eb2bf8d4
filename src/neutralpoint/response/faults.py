"""What a cause may have done, turned to the side that is asked for."""

from __future__ import annotations

import numpy as np

from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.nose import LOWERS
from neutralpoint.explanations.prior import Parameter
from neutralpoint.numerics.arrays import Floats

# Every fault begins after so much trimmed flight, s.
START = 1.0
# A run that does not end by itself, s.
ENDLESS = 1e4


def _two_sided(parameter: Parameter) -> bool:
    """Whether a prior is the same to both sides of zero."""
    prior = parameter.prior
    return (prior.shape == "normal" and prior.low == 0.0) or (
        prior.shape == "either" and prior.low == -prior.high
    )


def _fixed(cause: Cause) -> dict[str, float]:
    names = {p.name for p in cause.parameters}
    return {name: value for name, value in (("start", START), ("run", ENDLESS)) if name in names}


def _turned(parameter: Parameter, nose: int) -> float:
    """The sign that a two-sided parameter is given; what does not pitch keeps its positive side."""
    return float(nose) if parameter.name in LOWERS else 1.0


def draw_faults(
    cause: Cause, rng: np.random.Generator, count: int, *, nose: int = 1
) -> dict[str, Floats]:
    """Faults drawn from the priors, stratified, each turned to one side.

    Both sides are the same draws with the sign changed. They begin at `START`, and a motor that
    runs does not stop by itself.

    Args:
        cause: The cause.
        rng: Random numbers.
        count: How many.
        nose: 1 lowers it, -1 raises it.

    Returns:
        (count,) by name of the parameter.
    """
    drawn = {}
    for parameter in cause.parameters:
        share = (rng.permutation(count) + rng.uniform(size=count)) / count
        values = np.asarray(parameter.prior.quantile(share))
        if _two_sided(parameter):
            values = _turned(parameter, nose) * np.abs(values)
        drawn[parameter.name] = values
    return drawn | {name: np.full(count, value) for name, value in _fixed(cause).items()}


def typical_fault(cause: Cause, *, nose: int = 1) -> dict[str, float]:
    """A typical fault: the median, or one standard deviation where that would be no fault.

    Args:
        cause: The cause.
        nose: 1 lowers it, -1 raises it.

    Returns:
        Values by name of the parameter.
    """
    middle = cause.middle()
    for parameter in cause.parameters:
        if _two_sided(parameter):
            middle[parameter.name] = _turned(parameter, nose) * abs(parameter.prior.high)
    return middle | _fixed(cause)
