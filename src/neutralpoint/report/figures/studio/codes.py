"""One color, dash and sign for a cause, the same in every picture and in the film."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from matplotlib.lines import Line2D

from neutralpoint.findings import Findings
from neutralpoint.report.figures.look import Look
from neutralpoint.report.figures.palette import DASHES
from neutralpoint.report.sheet.sheet import Sheet as AnswerSheet
from neutralpoint.report.words.sheet import sheet_of

OTHER = 3  # code of a cause whose flight is not among those drawn together
SIGNS = ("", "", "s", "D")  # at some moments on the curve of a flight
EVERY = 0.11  # of a curve, between two signs


@lru_cache(maxsize=4)
def _answer(text: str) -> AnswerSheet:
    return sheet_of(Findings.model_validate_json(text))


def answer_of(findings: Findings) -> AnswerSheet:
    """The answer sheet, from which pictures take their words."""
    return _answer(findings.model_dump_json())


def code_of(findings: Findings, cause: str) -> int:
    """Place of a cause among inks, dashes and signs; 0 is the data."""
    drawn = [name for name, _ in answer_of(findings).flights]
    return drawn.index(cause) + 1 if cause in drawn[:OTHER] else OTHER


def curve_style(look: Look, code: int, *, hands_off: bool = False) -> dict[str, Any]:
    """How a flight of a cause is drawn: with a pilot a thick line, hands off a thin one with rings.

    Args:
        look: Colors and sizes.
        code: Of `code_of`.
        hands_off: Whether nobody holds the controls.

    Returns:
        Style of a line.
    """
    style = {
        "color": look.inks[code],
        "dashes": DASHES[code] or (None, None),
        "linewidth": look.line(0.8 if hands_off else 1.5),
        "marker": "o" if hands_off else SIGNS[code],
        "markersize": look.line(2.4),
        "markevery": EVERY,
    }
    if hands_off:
        style |= {"markerfacecolor": look.ground, "markeredgewidth": look.line(0.7)}
    return style


def curve_handle(look: Look, code: int, *, hands_off: bool = False) -> Line2D:
    """A line of a legend in the code of a cause, with one sign."""
    style: dict[str, Any] = curve_style(look, code, hands_off=hands_off)
    style["markevery"] = None
    return Line2D([], [], **style)
