"""What was needed at most, beside what there is: for the reader and for later judgement."""

from __future__ import annotations

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.judgement import ComparedQuantity, Comparison, ValueBand
from neutralpoint.moments.needed import Judged
from neutralpoint.moments.trim_rate import trim_rate
from neutralpoint.numerics.arrays import Array
from neutralpoint.numerics.extremes import furthest
from neutralpoint.vocabulary.strength import LARGEST


def largest_need(judged: Judged, paths: Array) -> ValueBand | None:
    """Band of the furthest value of each path over the judged time.

    Args:
        judged: The flight.
        paths: Shape (S, m).

    Returns:
        The band, None where the value is known at no time.
    """
    inside = judged.inside & ~judged.required.stalled & np.isfinite(paths).all(axis=0)
    if not inside.any():
        return None
    return ValueBand(*furthest(paths[:, inside]).band())


def comparison(
    judged: Judged, quantity: ComparedQuantity, paths: Array, available: tuple[float, float]
) -> tuple[Comparison, ...]:
    """One comparison, or none where nothing is known.

    Args:
        judged: The flight.
        quantity: What is compared.
        paths: What was needed, shape (S, m).
        available: Least and most.

    Returns:
        A tuple of one or of none.
    """
    band = largest_need(judged, paths)
    return () if band is None else (Comparison(quantity, band, *available),)


def trim_needs(
    airplane: Airplane, judged: Judged, travel: tuple[float, float]
) -> tuple[Comparison, ...]:
    """Trim angle against travel, trim rate against the drive.

    Args:
        airplane: As documented.
        judged: The flight.
        travel: What is left of the travel to either side, rad.

    Returns:
        Both, as far as they are known.
    """
    required, drive = judged.required, airplane.trim_drive
    paths = required.stabilizer if drive.kind == "stabilizer" else required.tab
    found = comparison(judged, ComparedQuantity.TRIM_ANGLE, paths, travel)
    fast = max(float(drive.rate), float(drive.loaded_rate))
    rate = trim_rate(required, paths, (fast,), judged.inside)
    if rate is None:
        return found
    band = ValueBand(rate.low, rate.median, rate.high)
    return (*found, Comparison(ComparedQuantity.TRIM_RATE, band, -fast, fast))


def elevator_need(airplane: Airplane, judged: Judged) -> tuple[Comparison, ...]:
    """Change of elevator angle against its stops.

    Args:
        airplane: As documented.
        judged: The flight.

    Returns:
        One comparison, or none.
    """
    control = airplane.pitch_control
    stops = (float(control.elevator_min), float(control.elevator_max))
    return comparison(judged, ComparedQuantity.ELEVATOR, judged.required.elevator, stops)


def force_need(judged: Judged) -> tuple[Comparison, ...]:
    """Column pull that alone supplies the need, against the largest measured.

    Args:
        judged: The flight.

    Returns:
        One comparison, or none.
    """
    most = LARGEST.force
    return comparison(judged, ComparedQuantity.FORCE, judged.required.column_force, (-most, most))


def shift_need(judged: Judged, reach: tuple[float, float]) -> tuple[Comparison, ...]:
    """The one shift of the CG that comes nearest over the judged time, against the load's reach.

    A load that moved stays where it is, so the furthest value of a need that passes through n = 0
    says nothing of it. Least squares in moment: times near zero load factor count by what a metre
    does there.

    Args:
        judged: The flight.
        reach: Least and most, m aft.

    Returns:
        One comparison, or none where n is near zero throughout.
    """
    shift, worth = judged.required.cg_shift, judged.required.shift_effect
    known = judged.inside & ~judged.required.stalled & np.isfinite(shift).all(axis=0)
    if not known.any():
        return ()
    weight = np.broadcast_to(worth, shift.shape)[:, known] ** 2
    nearest = (shift[:, known] * weight).sum(axis=1) / weight.sum(axis=1)
    low, median, high = (float(q) for q in np.quantile(nearest, (0.05, 0.5, 0.95)))
    return (Comparison(ComparedQuantity.CG_SHIFT, ValueBand(low, median, high), *reach),)
