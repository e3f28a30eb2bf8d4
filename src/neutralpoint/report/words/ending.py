"""Where pictures and films that are published end, and what they say of it: one rule for both."""

from __future__ import annotations

from neutralpoint.quantities import FOOT
from neutralpoint.report.figures.display import clock
from neutralpoint.report.results import Results

STOP_SHORT = 10.0  # s before the last moment; common practice, no source


def shown_until(results: Results, stop_short: float) -> float | None:
    """Last moment that is shown, s after the first of the record; None where all of it is.

    Args:
        results: A results folder, read.
        stop_short: Seconds at the end of the record that are not shown; a record that is not twice
            as long is shown whole, for little would be left of it.
    """
    span = float(results.time[-1] - results.time[0])
    return span - stop_short if 0.0 < 2.0 * stop_short < span else None


def left_out(results: Results, seconds: float, worst: str = "") -> str:
    """Where it ends.

    Args:
        results: A results folder, read.
        seconds: That are left out.
        worst: The leading cause, where its best flight fits worst there.

    Returns:
        A sentence or two.
    """
    if not seconds:
        return "Shown to the last moment of the record."
    told = (
        f"The last {seconds:.0f} s of the record are not drawn; the report has them to the last "
        f"fix, {_last_fix(results)}."
    )
    return f"{told} If it was {worst}: its best flight fits worst there." if worst else told


def _last_fix(results: Results) -> str:
    """Clock and pressure altitude of the end of the record."""
    epoch, last = results.findings.epoch, float(results.time[-1])
    at = clock(last + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)
    height = results.bands.get("pressure_altitude")
    where = "" if height is None else f" at {height[2, -1] / FOOT:,.0f} ft pressure altitude"
    return f"{at} UTC{where}"


def fits_worst_beyond(results: Results, until: float | None) -> str:
    """The leading cause where its best flight fits worst in what is left out; else empty.

    Args:
        results: A results folder, read.
        until: Last moment that is shown, s after the first of the record; None for all.
    """
    weighing = results.findings.weighing
    row = None if weighing is None else next(iter(weighing.rows), None)
    near = None if row is None else row.nearest
    if row is None or near is None or until is None:
        return ""
    at = near.fails_at - float(results.time[0])
    return row.cause.spoken.split(" (")[0] if at > until else ""
