"""How numbers are printed on the answer sheet: short, with two figures in a band."""

from __future__ import annotations

import math
from collections.abc import Callable

from neutralpoint.findings import Findings, printed_probability
from neutralpoint.quantities import DEGREE, FOOT, INCH, KNOT, POUND_FORCE
from neutralpoint.report.words.phrases import small_percent, time_of_day

MINUS, POINT_MASS = "\u2212", 0.45359237  # kg; Source: international avoirdupois pound, 1959
# By SI unit: size of what is printed, and its unit.
PRINTED = {
    "rad": (DEGREE, "deg"),
    "rad/s": (DEGREE, "deg/s"),
    "N": (POUND_FORCE, "lb"),
    "m": (INCH, "in"),
    "m/s": (KNOT, "kt"),
    "kg": (POINT_MASS, "lb"),
    "s": (1.0, "s"),
    "1": (1.0, ""),
}
# Features that flights are compared in, as a reader knows them.
FEATURES = {
    "lift up": "load factor",
    "lift sideways": "side load",
    "along the path": "along-path load",
    "speed": "airspeed",
    "path angle": "path angle",
    "energy height": "energy height",
    "pull at the trim of the start": "column force",
}


def figures(value: float, count: int = 2) -> str:
    """A number in a few figures, thousands with commas, a true minus sign.

    Args:
        value: Any finite number.
        count: Figures that count.

    Returns:
        Such as `0.28`, `7.8`, `150`, `1,400`.
    """
    if value == 0.0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    decimals = max(count - 1 - size, 0)
    rounded = round(value, count - 1 - size)
    text = f"{rounded:,.{decimals}f}"
    return text.replace("-", MINUS)


def in_unit(unit: str, *, named: bool = True) -> Callable[[float], str]:
    """Prints a value of an SI unit in the unit people know.

    Args:
        unit: SI unit.
        named: Whether the unit stands behind the number.

    Returns:
        From the value to text.
    """
    factor, name = PRINTED.get(unit, (1.0, unit))
    return lambda value: f"{figures(value / factor)} {name if named else ''}".strip()


def feet(height: float) -> str:
    """A height or an altitude in feet, to the ten."""
    return f"{round(height / FOOT, -1):,.0f} ft".replace("-", MINUS)


def knots(speed: float) -> str:
    """An airspeed in whole knots."""
    return f"{speed / KNOT:.0f} kt"


def whole_degrees(angle: float) -> str:
    """An angle in whole degrees."""
    return f"{round(angle / DEGREE) + 0.0:.0f} deg".replace("-", MINUS)


def gees(load: float) -> str:
    """A load factor to the tenth."""
    return f"{load:.1f} g".replace("-", MINUS)


def tenth(value: float) -> str:
    """A number to the tenth."""
    return f"{value:.1f}".replace("-", MINUS)


def chance(probability: float) -> str:
    """A probability as a number that never reads as certainty."""
    return printed_probability(probability).replace("less than ", "<").replace("more than ", ">")


def share(value: float) -> str:
    """A tail probability or a share in per cent, small ones as a bound."""
    return small_percent(value).replace("under ", "<").replace("over ", ">")


def clock_of(findings: Findings) -> Callable[[float], str]:
    """Prints times of a document as UTC to the second."""
    return lambda time: time_of_day(findings, round(time))[:-2]


def ratio(log_factor: float) -> str:
    """A Bayes factor given as its logarithm, to one figure or as a bound."""
    value = math.exp(min(abs(log_factor), 12.0))
    return f"{value:.1f}" if value < 10.0 else figures(value, 1)
