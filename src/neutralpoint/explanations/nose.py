"""Which way a fault pitches the airplane: by its parameters, or by its nature."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.prior import Parameter
from neutralpoint.numerics.arrays import Floats
from neutralpoint.vocabulary import CauseName

# Parameters whose positive values lower the nose, and negative ones raise it, as their meanings
# say: a trim run, a jump of the trim surface, an elevator that sticks, a trim or loading that is
# off.
LOWERS = frozenset({"direction", "jump", "angle", "mistrim", "misload"})
# Causes that pitch one way whatever their parameters: 1 lowers the nose, -1 raises it. An autopilot
# trims against a pull; a stalled tailplane loses its download; a false climb is pushed against.
# Source: the mechanism of each cause, which `Cause.mechanism` says.
BY_NATURE = {
    CauseName.AUTOPILOT_MISTRIM: 1,
    CauseName.LOAD_SHIFT_AFT: -1,
    CauseName.LOAD_SHIFT_FORWARD: 1,
    CauseName.TAILPLANE_STALL: 1,
    CauseName.SOMATOGRAVIC_INPUT: 1,
}


def turned_by(cause: Cause) -> tuple[Parameter, ...]:
    """The parameters whose sign says which way the nose goes.

    Args:
        cause: The cause.

    Returns:
        Its parameters among `LOWERS`; none where it pitches one way or no certain way.
    """
    return tuple(p for p in cause.parameters if p.name in LOWERS)


def nose_by_nature(cause: Cause) -> int:
    """Which way a cause pitches whatever its parameters.

    Args:
        cause: The cause.

    Returns:
        1 lowers the nose, -1 raises it, 0 either way or none.
    """
    return BY_NATURE.get(cause.name, 0)


def nose_of(cause: Cause, values: Mapping[str, Floats]) -> Floats | None:
    """Which way each of many faults of a cause pitches.

    Where two parameters turn it, each counts in standard deviations of its prior, which is an
    analyst's choice.

    Args:
        cause: The cause.
        values: Of its parameters, each (n,).

    Returns:
        1 lowers the nose, -1 raises it, (n,); None where no parameter says.

    Checked against: tests/unit/test_response.py, flights with controls free.
    """
    parts = [np.asarray(values[p.name], float) / abs(p.prior.high) for p in turned_by(cause)]
    return np.sign(np.sum(parts, axis=0)) if parts else None
