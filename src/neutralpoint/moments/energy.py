"""Power: what the path needed, what the engines could give, and whether it changed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.flight import MotionFlight
from neutralpoint.moments.required import Required, make_flow, thrust_bounds
from neutralpoint.numerics.arrays import Array, Flags

SETTLING = 3.0  # s after an onset before the thrust is compared
# Thrust that small changes of drag may hide (gear, flap, sideslip, ice), of the weight. Analyst's
# estimate.
HIDDEN_DRAG = 0.02


@dataclass(frozen=True)
class Energy:
    """Thrust and power along the path, shape (S, m).

    Attributes:
        thrust: Needed along the path, N.
        power: Needed thrust times true airspeed, W.
        full: Thrust at full lever, N.
        idle: Thrust at idle, propellers turning, N.
    """

    thrust: Array
    power: Array
    full: Array
    idle: Array


@dataclass(frozen=True)
class PowerChange:
    """Whether the power changed at a time.

    Attributes:
        before: Median thrust before, N.
        change: Median change, N, with its 90% band.
        low: N.
        high: N.
        fell: Probability that it fell by more than hidden drag could feign.
        rose: Probability that it rose by more than that.
        idle_after: Probability that what is left is idle or less.
    """

    before: float
    change: float
    low: float
    high: float
    fell: float
    rose: float
    idle_after: float


def energy(airplane: Airplane, flight: MotionFlight, required: Required) -> Energy:
    """Thrust that the path needed, and the bounds of the engines at each moment.

    Args:
        airplane: With drawn multipliers, leaves scalar or (S, 1).
        flight: Sample paths.
        required: From the same airplane and flight.

    Returns:
        Thrust, power and bounds.

    Source: (T - D)/W = n_x along the path; engine laws as in `dynamics.propulsion`.
    """
    flow = make_flow(flight, required.angle_of_attack, required.pitch_rate)
    idle, full = thrust_bounds(airplane, flow)
    return Energy(
        thrust=required.thrust,
        power=required.thrust * flight.true_airspeed,
        full=full,
        idle=idle,
    )


def power_change(
    found: Energy, time: Array, trimmed: Flags, onset: float, weight: float
) -> PowerChange:
    """Compare the thrust before an onset with that after it.

    Args:
        found: Thrust and bounds.
        time: s, shape (m,).
        trimmed: The reference before, shape (m,).
        onset: s.
        weight: N.

    Returns:
        The change with its band.
    """
    after = time > min(onset + SETTLING, time[-2])
    before = found.thrust[:, trimmed].mean(axis=1)
    later = found.thrust[:, after].mean(axis=1)
    change = later - before
    low, middle, high = np.quantile(change, (0.05, 0.5, 0.95))
    hidden = HIDDEN_DRAG * weight
    at_idle = later <= found.idle[:, after].mean(axis=1) + hidden
    return PowerChange(
        before=float(np.median(before)),
        change=float(middle),
        low=float(low),
        high=float(high),
        fell=float((change < -hidden).mean()),
        rose=float((change > hidden).mean()),
        idle_after=float(at_idle.mean()),
    )
