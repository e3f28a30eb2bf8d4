"""What the motion establishes, as the findings document says it."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import EstimatedValue, ResolutionRow, Statement
from neutralpoint.motion import LIMITS, STEP, LiftData, Motion, stretches

# A standard deviation of load factor that still lets one tell an ordinary turn from a dive.
# Analyst's choice.
USABLE_LOAD_FACTOR = 0.1
# Share of the largest lift coefficient that an approach with flaps comes to, and how long, s, it
# lasts before it is worth a word. Analyst's: 1.6 times the stall speed without flaps.
FLAPS_LIKELY = 0.4
LASTING_SLOW = 10.0
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
    rows = []
    for entry in motion.resolution:
        for origin, sigma in (
            ("altitudes", entry.vertical_acceleration_altitude),
            ("vertical rates", entry.vertical_acceleration_rate),
            ("positions", entry.horizontal_acceleration),
        ):
            if sigma is None or not np.isfinite(sigma):
                continue
            usable = sigma <= USABLE_LOAD_FACTOR
            rows.append(
                ResolutionRow(
                    quantity=f"load factor from {origin} alone",
                    window=entry.window,
                    sigma=sigma,
                    unit="1",
                    usable=bool(usable),
                    sentence=f"In {entry.window:g} s, {origin} alone fix the load factor to "
                    f"+- {2.0 * sigma:.2g} (95 %): "
                    + ("usable." if usable else "too coarse for a statement."),
                )
            )
    return rows


def estimates(motion: Motion) -> list[EstimatedValue]:
    """Noise levels, latency and lag that the data themselves show."""
    found = [
        EstimatedValue(
            name="age of altitudes at their time stamps",
            value=motion.altitude_age.value,
            sigma=motion.altitude_age.sigma,
            unit="s",
            sentence="From the energy of the flight and the age of positions that was taken.",
        )
    ]
    if motion.latency is not None:
        found.append(
            EstimatedValue(
                name="age of the velocity against the position",
                value=motion.latency.value,
                sigma=motion.latency.sigma,
                unit="s",
            )
        )
    if motion.vertical_rate_lag is not None:
        found.append(
            EstimatedValue(
                name="lag of the vertical rate",
                value=motion.vertical_rate_lag.value,
                sigma=motion.vertical_rate_lag.sigma,
                unit="s",
                sentence="Time constant of a first-order lag.",
            )
        )
    found += [
        EstimatedValue(
            name=f"noise of {kind.replace('_', ' ')}",
            value=sigma,
            unit="m/s" if kind in ("ground_speed", "track_angle", "vertical_rate") else "m",
            sentence="Standard deviation of one reading."
            + (" Across the path." if kind == "track_angle" else ""),
        )
        for kind, sigma in motion.noise.items()
    ]
    return found


def _flaps(motion: Motion, ground: np.ndarray, lift_data: LiftData) -> list[Statement]:
    """Flight so slow that flaps may be out, where nobody says that they were not."""
    if not lift_data.flaps_open:
        return []
    lift = np.abs(np.median(motion.paths["lift_coefficient"], axis=0))
    slow = (lift > FLAPS_LIKELY * lift_data.maximum_lift) & ~ground & ~motion.is_fix
    span = float(slow.sum()) * float(np.median(np.diff(motion.time[~motion.is_fix])))
    if span < LASTING_SLOW:
        return []
    return [
        Statement(
            kind="derived",
            text=f"Whether flaps or slats were out: for {span:.0f} s the lift coefficient is above "
            f"{FLAPS_LIKELY:g} of its largest without them. With flaps out angle of attack and "
            "pitch are lower; a quarter of the paths have some out in slow flight.",
            basis=["motion.nc: lift_coefficient"],
            caution="State `analysis.flap` where it is known. Airspeed, bank and load factor do "
            "not hang on it.",
        )
    ]


def undetermined(motion: Motion, ground: np.ndarray, lift_data: LiftData) -> list[Statement]:
    """Where the data bear no value."""
    found = _flaps(motion, ground, lift_data)
    for name, flags in motion.observable.items():
        if name not in LIMITS or flags.all():
            continue
        lost = _stretches(motion.time, ~flags)
        listed = ", ".join(_span(a - motion.time[0], b - motion.time[0]) for a, b in lost)
        found.append(
            Statement(
                kind="derived",
                text=f"{name.replace('_', ' ').capitalize()} is not observable at {listed} "
                f"after the first fix ({100.0 * float((~flags).mean()):.0f} % of the time).",
                basis=[f"motion.nc: observable_{name}"],
            )
        )
    step = float(np.median(np.diff(motion.time[~motion.is_fix])))
    if step > 1.5 * STEP:
        found.append(
            Statement(
                kind="derived",
                text=f"Movements quicker than about {4.0 * step:.0f} s: the record is so long that "
                f"it is worked out every {step:g} s instead of every {STEP:g} s.",
                basis=["motion.nc: time"],
                caution="For a finer look at a part of it give `analysis.start` and `analysis.end` "
                "in the case file.",
            )
        )
    found.append(
        Statement(
            kind="inferred",
            text="Sideslip, control positions and the hands on them leave no mark of their own in "
            "a track.",
        )
    )
    return found


def _stretches(time: np.ndarray, flags: np.ndarray) -> list[tuple[float, float]]:
    """The longest stretches where a flag stands, at most eight, in order of time."""
    pairs = [(float(time[a]), float(time[b])) for a, b in stretches(flags)]
    return sorted(sorted(pairs, key=lambda p: p[0] - p[1])[:8])


def _span(first: float, last: float) -> str:
    """A stretch in words, to the tenth of a second where it is a short one."""
    digits = 0 if last - first >= 2.0 else 1
    return f"{first:.{digits}f} to {last:.{digits}f} s"


def _on_ground(motion: Motion, ground: np.ndarray) -> list[Statement]:
    """Where the wing did not carry the airplane."""
    if not ground.any():
        return []
    times = motion.time - motion.time[0]
    listed = ", ".join(_span(a, b) for a, b in _stretches(times, ground))
    return [
        Statement(
            kind="derived",
            text=f"Too slow to fly and level, or just leaving or meeting the ground, at {listed} "
            "after the first fix: counted as on the ground, where angles of attack, pitch and bank "
            "are not shown and no cause is looked for.",
            basis=["motion.nc: on_ground"],
            caution="By speed and height alone; a track does not show wheels.",
        )
    ]


def statements(motion: Motion, ground: np.ndarray) -> list[Statement]:
    """What the motion shows in sentences: extremes with their bands."""
    span = float(motion.time[-1] - motion.time[0])
    found = [
        Statement(
            kind="fact",
            text=f"The track holds {int(motion.is_fix.sum())} fixes inside {span:.0f} s.",
            basis=["motion.nc: is_fix"],
        )
    ]
    found += _on_ground(motion, ground)
    if not motion.settled:
        found.append(
            Statement(
                kind="derived",
                text="The noise levels had not settled when the estimate was stopped.",
                caution="Bands may be too narrow or too wide.",
            )
        )
    return found
