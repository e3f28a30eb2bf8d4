"""Our colours, and the arithmetic that says whether they can be told apart.

Standing never hangs on colour alone: facts are rings, derived curves are full lines inside bands
with drawn edges, inferences are dashed, limits are dash-dotted, what is not observable is
hatched. docs/explanation/colors.md states the figures that tests/unit/test_report_palette.py
computes.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array

PAPER = "#fcfbf7"
INK = "#1b2530"
QUIET = "#56616d"
GRID = "#dfe3dc"
HATCH = "#80878f"
BAND_90 = "#cfe0ee"
BAND_50 = "#86b0d6"
EDGE = "#5486b5"
LIMIT = "#b3202f"
EVENT = "#5a2a82"
CAUTION = "#7a4b00"
# Curves that share a panel, in order; each has a dash of its own.
INKS = ("#0a4a82", "#d07010", "#2a8f7f", "#461a3c")
# What the style sheets of report and notebook call them.
ROLES = {
    "paper": PAPER,
    "ink": INK,
    "quiet": QUIET,
    "rule": GRID,
    "derived": INKS[0],
    "band-50": BAND_50,
    "band-90": BAND_90,
    "edge": EDGE,
    "hatch": HATCH,
    "limit": LIMIT,
    "event": EVENT,
    "caution": CAUTION,
}
# The same roles on the dark sheet of the workbench; a report is printed on paper.
DARK_ROLES = {
    "paper": "#12181f",
    "ink": "#e7ebee",
    "quiet": "#a4afba",
    "rule": "#2b343e",
    "derived": "#86c1f4",
    "band-50": "#2f618f",
    "band-90": "#1b3850",
    "edge": "#6ea6d8",
    "hatch": "#75808b",
    "limit": "#ff8d92",
    "event": "#c9a5f0",
    "caution": "#e9b872",
}
DARK_INKS = ("#86c1f4", "#f2a65e", "#62cdbb", "#dfadd5")
# Curves of a dark figure, in order, of the hue that they have on paper, and its limit: apart for
# every eye, as a test holds. Where a page has a dark ground, DARK_INKS lean on dashes more.
STAGE_INKS = ("#c4e8fa", "#ffac26", "#30bfac", "#eb95f6")
STAGE_BANDS = ("#2e5d80", "#4d90c8")  # 90% and 50%: lighter than those of a page, which look muddy
STAGE_LIMIT = "#f07858"
STAGE_QUIET = (
    "#bcc6d0"  # brighter than on a page, where it stands in small type on a screen far off
)
# Trail of a path in space by load factor, from less than 1 g to far more: blue to orange on every
# ground; lightness falls (or, on a dark ground, rises) all the way, so that it reads in gray and
# for every eye. Source: own choice; the order of lightness is what tests hold.
LOAD_RAMP = ("#a3cdf0", "#6fa3d6", "#8a7f9e", "#a85f2a", "#7d3606", "#3d1700")
STAGE_RAMP = ("#33588c", "#5a7fb8", "#8b98b0", "#c99b5f", "#f0b95a", "#fff0c8")
DASHES: tuple[tuple[float, ...], ...] = ((), (7.0, 3.0), (2.0, 2.0), (9.0, 3.0, 2.0, 3.0))


# Simulation of full protanopia, deuteranopia and tritanopia in linear RGB.
# Source: Machado, Oliveira and Fernandes, IEEE TVCG 15(6), 2009, table 1, severity 1.0
# (from memory of the table; each row sums to 1, which the test checks).
DEFICIENCIES: dict[str, Array] = {
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# sRGB to XYZ (D65). Source: IEC 61966-2-1:1999, from memory of the rounded matrix.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def described() -> dict[str, object]:
    """Colours and dashes as pages are given them."""
    return {
        "paper": PAPER,
        "ink": INK,
        "quiet": QUIET,
        "grid": GRID,
        "hatch": HATCH,
        "band90": BAND_90,
        "band50": BAND_50,
        "edge": EDGE,
        "limit": LIMIT,
        "event": EVENT,
        "inks": list(INKS),
        "dashes": [list(dash) for dash in DASHES],
    }


def linear(colour: str) -> Array:
    """Linear RGB of a `#rrggbb` colour.

    Source: WCAG 2.2, definition of relative luminance.
    """
    values = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours, 1 to 21.

    Source: WCAG 2.2, definition of contrast ratio: (L1 + 0.05) / (L2 + 0.05).
    """
    light, dark = sorted((float(TO_XYZ[1] @ linear(c)) for c in (first, second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def difference(first: str, second: str, deficiency: str | None = None) -> float:
    """How far apart two colours look, CIE 1976; 2.3 is just noticeable side by side.

    Source: CIE 15:2004, L*a*b* colour difference; 2.3: Mahy et al. 1994 (from memory).
    """
    seen = [_lab(linear(colour), deficiency) for colour in (first, second)]
    return float(np.linalg.norm(seen[0] - seen[1]))


def _lab(rgb: Array, deficiency: str | None) -> Array:
    if deficiency is not None:
        rgb = np.clip(DEFICIENCIES[deficiency] @ rgb, 0.0, 1.0)
    ratio = (TO_XYZ @ rgb) / (TO_XYZ @ np.ones(3))
    root = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])
