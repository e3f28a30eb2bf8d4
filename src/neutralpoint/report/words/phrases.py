"""How numbers are said: per cent, pounds with newtons, spans of time; sentences with a basis."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from neutralpoint.findings import Findings, SectionTable, Statement, Stretch
from neutralpoint.quantities import DEGREE, POUND_FORCE

Told = TypeVar("Told", Statement, SectionTable)

SHORT = 2.0  # s below which a stretch is printed to the tenth


def percent(value: float) -> str:
    """A share in whole per cent."""
    return f"{100.0 * value:.0f}%"


def small_percent(value: float) -> str:
    """A probability in per cent to two figures, small and large ones as a bound."""
    if value < 1e-3:
        return "under 0.1%"
    if value > 0.99:
        return "over 99%"
    return f"{100.0 * value:.{0 if value >= 0.1 else 1}f}%"


def misfit_words(distance: float) -> str:
    """Distance of a simulated flight from the recorded one."""
    return f"misfit {distance:.1f} standard deviations"


def band_words(low: str, high: str, unit: str = "") -> str:
    """The 90% band of a number that stands before it."""
    return f"(90%: {low} to {high}{f' {unit}' if unit else ''})"


def pounds(force: float) -> str:
    """A force in pounds with newtons beside it."""
    return f"{force / POUND_FORCE:,.0f} lb ({force:,.0f} N)"


def degrees(angle: float) -> str:
    """An angle or a rate in degrees, to the hundredth."""
    return f"{angle / DEGREE:.2f}"


def span(stretch: Stretch, first: float) -> str:
    """A stretch of time after a first moment, to the tenth of a second where it is short.

    Args:
        stretch: s after the epoch.
        first: s after the epoch.

    Returns:
        Such as `12 to 20 s`.
    """
    decimals = 0 if stretch.end - stretch.start >= SHORT else 1
    return f"{stretch.start - first:.{decimals}f} to {stretch.end - first:.{decimals}f} s"


def spans(stretches: Sequence[Stretch], first: float) -> str:
    """Several stretches in one phrase."""
    return ", ".join(span(one, first) for one in stretches)


def derived(text: str, *basis: str, caution: str = "") -> Statement:
    """A sentence that follows from the data.

    Args:
        text: The sentence.
        basis: What it rests on.
        caution: Said beside it.

    Returns:
        The statement.
    """
    return Statement(kind="derived", text=text, basis=list(basis), caution=caution)


def inferred(text: str, *basis: str, caution: str = "") -> Statement:
    """A sentence that rests on a model beside the data.

    Args:
        text: The sentence.
        basis: What it rests on.
        caution: Said beside it.

    Returns:
        The statement.
    """
    return Statement(kind="inferred", text=text, basis=list(basis), caution=caution)


def aside(said: Told) -> Told:
    """A sentence or a table that stands in an appendix of the report."""
    return said.model_copy(update={"detail": True})


def time_of_day(findings: Findings, seconds: float) -> str:
    """UTC clock of a time of the document, to a tenth of a second."""
    epoch = findings.epoch
    total = epoch.hour * 3600 + epoch.minute * 60 + epoch.second + seconds
    tenths = round(total * 10) % 864000
    whole = tenths // 10
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}.{tenths % 10}"
