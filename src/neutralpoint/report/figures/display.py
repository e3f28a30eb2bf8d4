"""How quantities are shown: title, the analyst's unit, the SI unit beside it, decimals."""

from __future__ import annotations

import math
from dataclasses import dataclass

from neutralpoint.vocabulary.quantity import DEGREE_SIGN, QUANTITIES, SCALES, ReaderUnit

NARROW = "\u202f"  # thin space that does not break


@dataclass(frozen=True)
class Shown:
    """How one quantity is shown.

    Attributes:
        title: What it is, in words.
        unit: Unit shown.
        factor: SI value of one unit shown.
        decimals: Digits after the point.
        second_unit: Unit of the right-hand scale; empty where it would say nothing more.
        second_factor: Units of the right-hand scale in one unit shown.
        wrap: Full turn in the unit shown for a direction; 0 for all others.
    """

    title: str
    unit: str
    factor: float
    decimals: int
    second_unit: str = ""
    second_factor: float = 1.0
    wrap: float = 0.0

    def number(self, value: float) -> str:
        """A value in SI, printed in the unit shown, without the unit.

        Args:
            value: SI.

        Returns:
            The number with a true minus sign and commas between thousands.
        """
        scaled = value / self.factor
        if self.wrap:
            scaled = math.fmod(math.fmod(scaled, self.wrap) + self.wrap, self.wrap)
        return printed(scaled, self.decimals)

    def with_unit(self, number: str) -> str:
        """A printed number with the unit behind it: a thin space, none before a degree sign."""
        if not self.unit:
            return number
        return f"{number}{'' if self.unit.startswith(DEGREE_SIGN) else NARROW}{self.unit}"


def printed(value: float, decimals: int) -> str:
    """A number with a true minus sign and commas between thousands, as US reports print it."""
    rounded = round(value, decimals) + 0.0  # + 0.0 turns -0.0 into 0.0
    return f"{rounded:,.{decimals}f}".replace("-", "\u2212")


def _shown(title: str, scale: ReaderUnit) -> Shown:
    return Shown(
        title,
        scale.symbol,
        scale.factor,
        scale.decimals,
        scale.second,
        scale.second_factor,
        scale.turn,
    )


SHOWN: dict[str, Shown] = {name: _shown(q.title, q.shown) for name, q in QUANTITIES.items()}


def shown_unit(unit: str, name: str = "") -> Shown:
    """How a quantity of a stage is shown, from its name or SI unit; unknown units stay as they are.

    Args:
        unit: SI unit in which it is saved.
        name: Of the variable.

    Returns:
        How it is shown.
    """
    if name in QUANTITIES:
        return SHOWN[name]
    return _shown("", SCALES.get(unit, ReaderUnit(unit)))


def clock(seconds: float) -> str:
    """UTC clock of a time in seconds after midnight."""
    whole = round(seconds) % 86400
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"
