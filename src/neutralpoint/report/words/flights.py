"""What is said of simulated flights beside the data: where they start, what the nearest one is."""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.report.figures.display import SHOWN, clock
from neutralpoint.report.results import Results

NEAREST = (
    "Nearest: of the flights of a cause the one of least misfit; the probability rests on all of "
    "them."
)
ONSET = "The onset is read from the motion alone; its 90% may begin before that."
THIN = 0.04  # of a chart, below which a band hardly shows; analyst's


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
