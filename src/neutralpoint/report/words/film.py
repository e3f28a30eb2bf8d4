"""What is written on the frames of a film."""

from __future__ import annotations

from neutralpoint.report.figures.display import printed

INVENTED = "Invented case: nothing in it took place."
NOT_OBSERVABLE = "not observable"
LEGEND = "Line: median; bands: 50% and 90%; hatched: not observable."


def subject_line(airplane: str, *, invented: bool) -> str:
    """The airplane, after the word that a case is invented."""
    return f"{INVENTED}  {airplane}" if invented else airplane


def foot_line(left_out: float) -> str:
    """The legend, and where the film ends.

    Args:
        left_out: Seconds at the end that are not shown.

    Returns:
        One line.
    """
    end = (
        f"The film leaves out the last {left_out:.0f} s of the record."
        if left_out
        else "The film runs to the last moment of the record."
    )
    return f"{LEGEND}  {end}"


def band_line(low: float, high: float, decimals: int) -> str:
    """The 90% band of a read-out."""
    return f"90%: {printed(low, decimals)} to {printed(high, decimals)}"


def event_line(number: int, clock: str, half_width: float, kind: str, text: str) -> str:
    """The caption of an event."""
    return f"{number}   {clock} \u00b1 {half_width:.1f} s   {kind}: {text}"
