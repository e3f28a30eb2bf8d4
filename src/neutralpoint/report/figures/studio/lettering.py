"""Lines of text that fit a width, by the advances of the font that is drawn with."""

from __future__ import annotations

from functools import lru_cache

from matplotlib.font_manager import FontProperties, findfont
from PIL import ImageFont

FAMILY = "DejaVu Sans"  # comes with matplotlib, so a picture is the same everywhere
ELLIPSIS = "\u2026"
MEASURED = 100  # pixels at which advances are taken


@lru_cache
def font(size: int, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    """The font at a size in pixels."""
    weight = "bold" if bold else "normal"
    return ImageFont.truetype(findfont(FontProperties(family=FAMILY, weight=weight)), size)


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a line.

    Args:
        text: The line.
        size: Of the type, any unit.
        bold: Its weight.

    Returns:
        In the unit of the size.
    """
    return font(MEASURED, bold=bold).getlength(text) * size / MEASURED


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Break text into lines at its blanks.

    Args:
        text: Any text; line ends in it are kept.
        width: Of a line, in the unit of the size.
        size: Of the type.
        bold: Its weight.

    Returns:
        Lines; a word that is longer than a line stands alone.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if line and width_of(longer, size, bold=bold) > width:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return lines


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Cut a line that is too long, with an ellipsis."""
    if width_of(text, size, bold=bold) <= width:
        return text
    while text and width_of(text + ELLIPSIS, size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS
