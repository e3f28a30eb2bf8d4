"""What is said of the flight path."""

from __future__ import annotations

from neutralpoint.findings import (
    EstimatedValue,
    FlaggedRow,
    LostQuantity,
    MotionFindings,
    OpenFlaps,
    ResolutionRow,
    Statement,
)
from neutralpoint.report.words.phrases import derived, inferred, percent, spans
from neutralpoint.vocabulary import QUANTITIES

FILE = "motion.nc"
# s between fixes beyond which a full roll may lie between two: 3 s for a brisk one. Analyst's
# estimate.
ROLL_BETWEEN = 3.0
ORIGINS = {
    "altitudes": "altitudes",
    "vertical-rates": "vertical rates",
    "positions": "positions",
}
ESTIMATES = {
    "altitude-age": (
        "Age of altitudes at their time stamps",
        "From the energy of the flight and the age of positions that was taken.",
    ),
    "velocity-latency": ("Age of the velocity against the position", ""),
    "vertical-rate-lag": ("Lag of the vertical rate", "Time constant of a first-order lag."),
}
READINGS = {
    "position_along": "position along the path",
    "position_cross": "position across the path",
    "position_rounded": "rounded position",
    "altitude_crossing": "altitude, step between two readings",
}


def motion_statements(found: MotionFindings) -> list[Statement]:
    """What the flight path shows, beside its extremes.

    Args:
        found: Of the stage.

    Returns:
        Statements.
    """
    said = [
        Statement(
            kind="fact",
            text=f"The track holds {found.fixes:,} fixes in {found.span:,.0f} s.",
            basis=[f"{FILE}: is_fix"],
        )
    ]
    if found.on_ground:
        said.append(
            derived(
                "Too slow to fly and level, or just leaving or meeting the ground, at "
                f"{spans(found.on_ground, found.first)} after the first fix: counted as on the "
                "ground, where angle of attack, pitch and bank are not shown and no cause is "
                "looked for.",
                f"{FILE}: on_ground",
                caution="By speed and height alone; a track does not show wheels.",
            )
        )
    if not found.settled:
        said.append(
            derived(
                "The estimate of the noise levels did not converge.",
                caution="Bands may be too narrow or too wide.",
            )
        )
    return said


def motion_undetermined(found: MotionFindings) -> list[Statement]:
    """Where the data bear no value.

    Args:
        found: Of the stage.

    Returns:
        Statements.
    """
    said = [] if found.flaps is None else [_flaps(found.flaps)]
    said += [_lost(one, found.first) for one in found.lost]
    if found.step > 1.5 * found.usual_step:
        said.append(
            derived(
                f"Movements quicker than about {4.0 * found.step:.0f} s are not resolved: the "
                f"record is so long that it is computed every {found.step:g} s instead of every "
                f"{found.usual_step:g} s.",
                f"{FILE}: time",
                caution="For a finer look at a part of it give `analysis.start` and "
                "`analysis.end` in the case file.",
            )
        )
    between = found.span / max(found.fixes, 1)
    if between > ROLL_BETWEEN and found.step <= found.usual_step:
        said.append(
            inferred(
                f"A full roll that is over within the {between:.0f} s from one fix to the next "
                "leaves no trace in a track; the band of the bank does not allow for one."
            )
        )
    said.append(
        inferred(
            "Sideslip, control positions and column force by a pilot are not observable in a track."
        )
    )
    return said


def _flaps(found: OpenFlaps) -> Statement:
    return derived(
        f"Flap and slat position is not observable: for {found.duration:.0f} s the lift "
        f"coefficient exceeds {found.lift_share:g} of its largest without them. With flaps out, "
        "angle of attack and pitch are lower; a quarter of the paths have some out in slow flight.",
        f"{FILE}: lift_coefficient",
        caution="State `analysis.flap` where it is known. Airspeed, bank and load factor do not "
        "depend on it.",
    )


def _lost(found: LostQuantity, first: float) -> Statement:
    return derived(
        f"{QUANTITIES[found.quantity].title} is not observable at "
        f"{spans(found.stretches, first)} after the first fix ({percent(found.share)} of the "
        "time).",
        f"{FILE}: observable_{found.quantity}",
    )


def resolution_title(row: ResolutionRow) -> str:
    """What is resolved, and from what."""
    return f"load factor from {ORIGINS[row.origin]} alone"


def resolution_sentence(row: ResolutionRow) -> str:
    """What one window can resolve.

    Args:
        row: Of the resolution table.

    Returns:
        A sentence.
    """
    verdict = "usable" if row.usable else "too coarse to state"
    return (
        f"Over {row.window:g} s, {ORIGINS[row.origin]} alone resolve load factor to ± "
        f"{2.0 * row.sigma:.2g} g (95%): {verdict}."
    )


def estimate_words(found: EstimatedValue) -> tuple[str, str]:
    """Name of an estimate and what is to be known of it.

    Args:
        found: The estimate.

    Returns:
        Name and sentence; the sentence may be empty.
    """
    if found.name != "noise":
        return ESTIMATES[found.name]
    across = " Across the path." if found.readings == "track_angle" else ""
    return f"Noise of {readings(found.readings)}", f"Standard deviation of one reading.{across}"


def readings(kind: str) -> str:
    """A kind of readings as people say it."""
    return READINGS.get(kind, kind.replace("_", " "))


def flagged_reason(row: FlaggedRow) -> str:
    """Why a reading is doubted.

    Args:
        row: The row.

    Returns:
        The reason.
    """
    if row.deviations is None:
        return row.reason
    weight = 0.0 if row.weight is None else row.weight
    return f"{abs(row.deviations):.1f} standard deviations off the motion; weight {percent(weight)}"
