"""What could be seen and felt, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.case import Case
from neutralpoint.findings import Banded90
from neutralpoint.findings.felt import (
    FeltFindings,
    FeltMoment,
    FeltPerception,
    FeltSeat,
    Misperceived,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, GRAVITY
from neutralpoint.senses import Perceived, Ride
from neutralpoint.study.felt.light import light_findings
from neutralpoint.study.felt.work_out import FeltRide
from neutralpoint.study.limits.findings import band90
from neutralpoint.study.motion.file import KeptMotion

FELT_FILE = "felt.nc"
SETTLE = 20.0  # s at the begin in which organs that were not at rest still tell of it; analyst's
AFTER_ONSET = (0.0, 5.0, 10.0, 20.0, 40.0)  # s at which moments are listed
# Load factor below which the direction of the force means nothing to the organs; reports of people
# near weightlessness scatter from no tilt to upside down. Analyst's choice.
LEAST_LOAD = 0.3
MARKED = 10.0 * DEGREE  # off the flown angle, from which it is counted; analyst's


def felt_findings(found: FeltRide, case: Case, motion: KeptMotion) -> FeltFindings:
    """What the stage hands on.

    Args:
        found: Of the stage.
        case: The case.
        motion: Its motion.

    Returns:
        Its findings.
    """
    time = found.time if found.time.size else motion.time
    middle = found.onset if found.onset is not None else float(time[-1])
    return FeltFindings(
        file=FELT_FILE,
        begin=float(time[0]),
        end=float(time[-1]),
        onset=found.onset,
        silent=found.silent,
        perception=_perception(found),
        light=light_findings(case, motion, middle),
    )


def _perception(found: FeltRide) -> FeltPerception | None:
    ride, perceived = found.ride, found.perceived
    if ride is None or perceived is None:
        return None
    settled = found.time >= found.time[0] + SETTLE
    load = ride.load[:, settled]
    pressed = settled & (np.median(ride.felt[..., 2], axis=0) > LEAST_LOAD * GRAVITY)
    if not pressed.any():
        pressed = settled
    return FeltPerception(
        seat=FeltSeat(
            ahead=found.seat.ahead, half_width=2.0 * found.seat.sigma, source=found.seat.source
        ),
        window=found.window,
        lowest=band90(load.min(axis=1)),
        highest=band90(load.max(axis=1)),
        moments=[_moment(found.time, at, ride, perceived) for at in _listed(found, settled)],
        pitch=_furthest(found.time, pressed, ride.pitch, perceived.pitch),
        bank=_furthest(found.time, pressed, ride.bank, perceived.bank),
    )


def _listed(found: FeltRide, settled: Array) -> list[int]:
    """Records about the onset, or spread over the stretch, with the last one."""
    time, last = found.time, found.time.size - 1
    first = int(np.argmax(settled))
    if found.onset is None:
        return [int(at) for at in np.linspace(first, last, len(AFTER_ONSET) + 1)]
    wanted = [found.onset + after for after in AFTER_ONSET]
    inside = [t for t in wanted if time[first] <= t < time[last]]
    return [*(int(np.searchsorted(time, t - 1e-6)) for t in inside), last]


def _both(values: Array, at: int) -> Banded90:
    """Band over both models together; the two count the same."""
    return band90(values[:, :, at].ravel())


def _about(angles: Array) -> Array:
    """Angles laid beside their mean direction, so that no band crosses a full turn."""
    middle = np.arctan2(np.sin(angles).mean(), np.cos(angles).mean())
    return middle + _turned(angles - middle)


def _moment(time: Array, at: int, ride: Ride, perceived: Perceived) -> FeltMoment:
    return FeltMoment(
        time=float(time[at]),
        pitch=band90(ride.pitch[:, at]),
        perceived_pitch=_both(perceived.pitch, at),
        bank=band90(_about(ride.bank[:, at])),
        perceived_bank=band90(_about(perceived.bank[:, :, at].ravel())),
        turn=band90(ride.turn[:, at]),
        perceived_turn=_both(perceived.turn, at),
        load=band90(ride.load[:, at]),
        tilt=band90(ride.tilt[:, at]),
    )


def _turned(angle: Array) -> Array:
    return np.mod(angle + np.pi, 2.0 * np.pi) - np.pi


def _furthest(time: Array, usable: Array, flown: Array, perceived: Array) -> Misperceived:
    apart = _turned(perceived - flown)
    middle = np.where(usable, np.abs(np.median(apart.reshape(-1, time.size), axis=0)), -1.0)
    at = int(np.argmax(middle))
    there = apart[:, :, at]
    models = np.median(there, axis=1)
    return Misperceived(
        time=float(time[at]),
        apart=band90(there.ravel()),
        probability=float((np.abs(there) > MARKED).mean()),
        models=float(abs(models[0] - models[1])),
    )
