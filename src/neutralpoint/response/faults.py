"""What a cause may have done, turned to the side that lowers the nose."""

from __future__ import annotations

import numpy as np

from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.prior import Parameter
from neutralpoint.numerics.arrays import Floats

# Every fault begins after so much trimmed flight, s.
START = 1.0
# A run that does not end by itself, s.
ENDLESS = 1e4


def _two_sided(parameter: Parameter) -> bool:
    """Whether a prior is the same to both sides of zero; then positive lowers the nose."""
    prior = parameter.prior
    return (prior.shape == "normal" and prior.low == 0.0) or (
        prior.shape == "either" and prior.low == -prior.high
    )


def _fixed(cause: Cause) -> dict[str, float]:
    names = {p.name for p in cause.parameters}
    return {name: value for name, value in (("start", START), ("run", ENDLESS)) if name in names}


def draw_faults(cause: Cause, rng: np.random.Generator, count: int) -> dict[str, Floats]:
    """Faults drawn from the priors, stratified, each turned to the side that lowers the nose.

    They begin at `START`, and a motor that runs does not stop by itself.

    Args:
        cause: The cause.
        rng: Random numbers.
        count: How many.

    Returns:
        (count,) by name of the parameter.
    """
    drawn = {}
    for parameter in cause.parameters:
        share = (rng.permutation(count) + rng.uniform(size=count)) / count
        values = np.asarray(parameter.prior.quantile(share))
        drawn[parameter.name] = np.abs(values) if _two_sided(parameter) else values
    return drawn | {name: np.full(count, value) for name, value in _fixed(cause).items()}


def typical_fault(cause: Cause) -> dict[str, float]:
    """A middling fault: the median, or one standard deviation where that would be no fault.

    Args:
        cause: The cause.

    Returns:
        Values by name of the parameter.
    """
    middle = cause.middle()
    for parameter in cause.parameters:
        if _two_sided(parameter):
            middle[parameter.name] = abs(parameter.prior.high)
    return middle | _fixed(cause)
