"""Figures of the answer sheet on the dark sheet of the workbench.

They are drawings whose colors are those of the palette and no others, so that each is exchanged
for the color that plays its part in the dark: nothing is drawn again.
"""

from __future__ import annotations

import base64
import re

from neutralpoint.report.figures import palette

DRAWING = re.compile(r"data:image/svg\+xml;base64,([A-Za-z0-9+/=]+)")
COLOR = re.compile(r"#[0-9a-f]{6}\b")
WHITE = "#ffffff"  # ground of a chart in print
IN_DARK = {
    WHITE: palette.DARK_ROLES["paper"],
    **{palette.ROLES[role]: color for role, color in palette.DARK_ROLES.items()},
    **dict(zip(palette.INKS, palette.DARK_INKS, strict=True)),
}


def in_dark(sheet: str) -> str:
    """The answer sheet with its figures in the colors of the dark sheet.

    Args:
        sheet: HTML with drawings as data addresses.

    Returns:
        The same with other colors.
    """

    def exchange(found: re.Match[str]) -> str:
        drawn = base64.b64decode(found[1]).decode()
        dark = COLOR.sub(lambda color: IN_DARK.get(color[0], color[0]), drawn)
        return f"data:image/svg+xml;base64,{base64.b64encode(dark.encode()).decode('ascii')}"

    return DRAWING.sub(exchange, sheet)
