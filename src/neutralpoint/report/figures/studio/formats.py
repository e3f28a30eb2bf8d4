"""Shapes of pictures, their grounds, and the rule that their type is legible on a phone.

The rule: on a phone 68 mm across, held 300 mm from the eye, the smallest capital letter of a
picture that fills the screen subtends at least 16 minutes of arc.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from neutralpoint.report.figures.look import DARK, LIGHT, Look

# Source: 16 minutes of arc as the least height of characters: ISO 9241-303:2011, 5.5.4, from
# memory; the distance is the 0.3 m of everyday use and the width that of a common phone,
# analyst's estimates.
LEAST_ANGLE = math.radians(16.0 / 60.0)
DISTANCE, PHONE = 0.300, 0.068  # m
CAPITAL = 0.729  # height of a capital in parts of the size of the type; DejaVu Sans
LEAST_IN_PRINT = 7.0  # points; common practice of journals, no source
POINT = 72.0  # points in an inch


@dataclass(frozen=True)
class Format:
    """A shape.

    Attributes:
        key: As typed.
        title: As people read it.
        width: Pixels.
        height: Pixels.
        dots: Pixels in an inch.
        least: Smallest type, points.
        head: Type of the title, points.
        panels: Charts over one another that fit.
        rows: Lines of a table or bars that fit.
    """

    key: str
    title: str
    width: int
    height: int
    dots: int
    least: float
    head: float
    panels: int
    rows: int

    @property
    def tall(self) -> bool:
        """Whether there is room for labels of several lines over one another."""
        return self.height > 1.5 * self.width

    @property
    def scale(self) -> float:
        """Of lines and type against the printed report."""
        return self.least / 7.5

    def pixels(self, points: float) -> float:
        """Points as pixels."""
        return points * self.dots / POINT


def least_on_phone(shorter: int, dots: int) -> float:
    """Smallest type of a picture that a phone shows whole.

    Args:
        shorter: Shorter side of the picture, pixels; it fills the shorter side of the phone.
        dots: Pixels in an inch.

    Returns:
        Points.
    """
    capital = DISTANCE * math.tan(LEAST_ANGLE) / PHONE * shorter
    return capital / CAPITAL * POINT / dots


def _screen(key: str, title: str, width: int, height: int, panels: int, rows: int) -> Format:
    least = least_on_phone(min(width, height), 100)
    return Format(key, title, width, height, 100, least, 1.45 * least, panels, rows)


FORMATS = {
    form.key: form
    for form in (
        _screen("wide", "1920 by 1080, for video and slides", 1920, 1080, 3, 7),
        _screen("tall", "1080 by 1920, for a phone held upright", 1080, 1920, 5, 9),
        _screen("square", "1080 by 1080", 1080, 1080, 2, 6),
        # 86 mm: a column of a journal in two columns; common practice, no source.
        Format("column", "a print column of 86 mm", 1016, 1240, 300, LEAST_IN_PRINT, 9.0, 3, 8),
    )
}
# Grounds: on a transparent one the type is dark (`clear`) or light (`clear-dark`).
GROUNDS: dict[str, Look] = {
    "light": LIGHT,
    "dark": DARK,
    "clear": replace(LIGHT, paper="none"),
    "clear-dark": replace(DARK, paper="none"),
}


def look_of(form: Format, ground: str) -> Look:
    """Colors and sizes of a picture.

    Args:
        form: Its shape.
        ground: One of `GROUNDS`.

    Returns:
        The look.
    """
    return GROUNDS[ground].sized(form.scale, form.least)
