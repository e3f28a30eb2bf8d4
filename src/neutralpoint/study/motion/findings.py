"""What the motion establishes, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import (
    EstimatedValue,
    LostQuantity,
    MotionFindings,
    OpenFlaps,
    ResolutionRow,
    Stretch,
)
from neutralpoint.findings.motion import EstimateName, Origin
from neutralpoint.motion import LIMITS, STEP, LiftData, Motion, Onsets, stretches
from neutralpoint.motion.observability import Resolution
from neutralpoint.motion.parameter import ParameterEstimate
from neutralpoint.numerics.arrays import Flags
from neutralpoint.study.motion.onset_findings import onset_findings

# A standard deviation of load factor that still lets one tell an ordinary turn from a dive.
# Analyst's choice.
USABLE_LOAD_FACTOR = 0.1
# Share of the largest lift coefficient that an approach with flaps comes to, and how long, s, it
# lasts before it is worth a word. Analyst's: 1.6 times the stall speed without flaps.
FLAPS_LIKELY = 0.4
LASTING_SLOW = 10.0
LISTED = 8  # stretches kept, the longest
IN_SPEED = ("ground_speed", "track_angle", "vertical_rate")  # readings whose noise is m/s
KEY_QUANTITIES = (
    "altitude",
    "ground_speed",
    "calibrated_airspeed",
    "vertical_speed",
    "flight_path_angle",
    "pitch_angle",
    "bank_angle",
    "normal_load_factor",
    "longitudinal_load_factor",
)


def resolution(motion: Motion) -> list[ResolutionRow]:
    """What windows of these data can resolve; windows with too few fixes are left out."""
    return [
        ResolutionRow(
            origin=origin,
            window=entry.window,
            sigma=sigma,
            usable=bool(sigma <= USABLE_LOAD_FACTOR),
        )
        for entry in motion.resolution
        for origin, sigma in _sigmas(entry)
        if sigma is not None and np.isfinite(sigma)
    ]


def _sigmas(entry: Resolution) -> tuple[tuple[Origin, float | None], ...]:
    return (
        ("altitudes", entry.vertical_acceleration_altitude),
        ("vertical-rates", entry.vertical_acceleration_rate),
        ("positions", entry.horizontal_acceleration),
    )


def estimates(motion: Motion) -> list[EstimatedValue]:
    """Noise levels, latency and lag that the data themselves show."""
    times: tuple[tuple[EstimateName, ParameterEstimate | None], ...] = (
        ("altitude-age", motion.altitude_age),
        ("velocity-latency", motion.latency),
        ("vertical-rate-lag", motion.vertical_rate_lag),
    )
    found = [
        EstimatedValue(name=name, value=one.value, sigma=one.sigma, unit="s")
        for name, one in times
        if one is not None
    ]
    return found + [
        EstimatedValue(
            name="noise", readings=kind, value=sigma, unit="m/s" if kind in IN_SPEED else "m"
        )
        for kind, sigma in motion.noise.items()
    ]


def motion_findings(
    motion: Motion, ground: Flags, lift_data: LiftData, onsets: Onsets
) -> MotionFindings:
    """The flight path in the numbers that are said of it.

    Args:
        motion: As estimated.
        ground: True on the ground, shape (m,).
        lift_data: Of the airplane, for flaps.
        onsets: What the motion shows of an onset.

    Returns:
        The findings of the stage.
    """
    time = motion.time
    return MotionFindings(
        first=float(time[0]),
        span=float(time[-1] - time[0]),
        fixes=int(motion.is_fix.sum()),
        settled=motion.settled,
        step=_step(motion),
        usual_step=STEP,
        on_ground=_stretches(time, ground),
        lost=[
            LostQuantity(
                quantity=name,
                share=float((~flags).mean()),
                stretches=_stretches(time, ~flags),
            )
            for name, flags in motion.observable.items()
            if name in LIMITS and not flags.all()
        ],
        flaps=_flaps(motion, ground, lift_data),
        onset=onset_findings(onsets),
    )


def _step(motion: Motion) -> float:
    return float(np.median(np.diff(motion.time[~motion.is_fix])))


def _flaps(motion: Motion, ground: Flags, lift_data: LiftData) -> OpenFlaps | None:
    """Flight so slow that flaps may be out, where nobody says that they were not."""
    if not lift_data.flaps_open:
        return None
    lift = np.abs(np.median(motion.paths["lift_coefficient"], axis=0))
    slow = (lift > FLAPS_LIKELY * lift_data.maximum_lift) & ~ground & ~motion.is_fix
    duration = float(slow.sum()) * _step(motion)
    if duration < LASTING_SLOW:
        return None
    return OpenFlaps(duration=duration, lift_share=FLAPS_LIKELY)


def _stretches(time: np.ndarray, flags: np.ndarray) -> list[Stretch]:
    """The longest stretches where a flag stands, at most eight, in order of time."""
    pairs = [(float(time[a]), float(time[b])) for a, b in stretches(flags)]
    longest = sorted(sorted(pairs, key=lambda p: p[0] - p[1])[:LISTED])
    return [Stretch(start=a, end=b) for a, b in longest]
