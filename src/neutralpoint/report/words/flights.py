"""What is said of simulated flights beside the data: where they start, what the nearest one is."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import Findings, WeighingFindings
from neutralpoint.numerics.arrays import Array
from neutralpoint.report.figures.display import SHOWN, clock
from neutralpoint.report.results import Results

# Source: docs/explanation/odds-networks.md, what the shipped networks were learned on.
LEARNED = "some 500 million"
ONSET = "The onset is read from the motion alone; its 90% may begin before that."
THIN = 0.04  # of a chart, below which a band hardly shows; analyst's


def nearest_said(findings: Findings, causes: list[str]) -> list[str]:
    """How far the nearest flights are from the data, and why a probability does not rest on them.

    Args:
        findings: The document.
        causes: Whose nearest flights are drawn.

    Returns:
        Sentences; none without odds.
    """
    found = findings.weighing
    if found is None:
        return []
    near = [(row.cause.spoken.split(" (")[0], row.nearest.distance) for row in found.rows
            if row.cause.value in causes and row.nearest is not None]  # fmt: skip
    if not near:
        return []
    listed = ", ".join(f"{name} {misfit:.1f}" for name, misfit in near)
    return [
        "Nearest: best of a few flights of a cause, not the typical one; misfit in standard "
        f"deviations: {listed}.",
        rests_said(found),
    ]


def rests_said(found: WeighingFindings) -> str:
    """What the probabilities rest on, in one sentence: never on the flights that are drawn."""
    learned = "flights of this case" if found.place == "outside" else f"{LEARNED} simulated flights"
    return (
        f"Probabilities rest on {found.networks} estimates trained on {learned}, not on the "
        "nearest flight."
    )


def start_said(seconds: float) -> str:
    """Where simulated flights start, on the clock.

    Args:
        seconds: After midnight.
    """
    return f"Simulated flights start at {clock(seconds)} UTC, the end of the last trimmed flight."


def width_said(name: str, quantiles: Array) -> str:
    """The width of a band that is too thin to be seen; empty where it shows.

    Args:
        name: Of the quantity.
        quantiles: In the unit shown, shape (5, m).
    """
    if not np.isfinite(quantiles).any():
        return ""
    half = float(np.nanmedian(quantiles[4] - quantiles[0])) / 2.0
    if half > THIN * float(np.nanmax(quantiles[4]) - np.nanmin(quantiles[0])):
        return ""
    shown = SHOWN[name]
    decimals = max(shown.decimals, 0)
    return f"90% mostly within \u00b1{shown.with_unit(f'{half:,.{decimals}f}')}"


def heights_said(results: Results) -> list[str]:
    """How height above the sea and pressure altitude differ here; nothing where one is unknown."""
    if not {"altitude", "pressure_altitude"} <= set(results.bands):
        return []
    gap = np.nanmedian(results.bands["altitude"][2] - results.bands["pressure_altitude"][2])
    shown = SHOWN["altitude"]
    if not np.isfinite(gap) or round(abs(gap) / shown.factor) < 1:
        return []
    side = "above" if gap > 0.0 else "below"
    return [
        f"Altitude is above mean sea level, here about {shown.with_unit(shown.number(abs(gap)))} "
        f"{side} the pressure altitude."
    ]
