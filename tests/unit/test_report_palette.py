"""The palette: readable, apart for colour-blind eyes and in grey print; docs say the figures."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import pytest

from neutralpoint.report.figures import palette
from neutralpoint.report.figures.palette import contrast, difference

DOCS = Path(__file__).parents[2] / "docs/explanation/colors.md"
# WCAG 2.2: 4.5 for text (1.4.3, AA), 3 for parts of graphics (1.4.11, AA).
TEXT, GRAPHIC = 4.5, 3.0
APART = 20.0  # our own floor: about nine just-noticeable differences
SEEN = (None, *palette.DEFICIENCIES)
LINES = (*palette.INKS, palette.LIMIT)


def test_arithmetic_on_known_colours() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    # L*a*b* of sRGB white is (100, 0, 0), of black (0, 0, 0): CIE 15.
    assert difference("#000000", "#ffffff") == pytest.approx(100.0, abs=0.1)
    for matrix in palette.DEFICIENCIES.values():
        np.testing.assert_allclose(matrix.sum(axis=1), 1.0, atol=5e-6)  # grey stays grey


@pytest.mark.parametrize("name", ["INK", "QUIET", "LIMIT", "EVENT", "CAUTION"])
def test_text_is_readable(name: str) -> None:
    assert contrast(getattr(palette, name), palette.PAPER) >= TEXT


@pytest.mark.parametrize("colour", [*LINES, palette.EDGE, palette.HATCH])
def test_lines_stand_out_from_the_paper(colour: str) -> None:
    assert contrast(colour, palette.PAPER) >= GRAPHIC


@pytest.mark.parametrize("deficiency", SEEN)
def test_lines_are_apart_for_every_eye(deficiency: str | None) -> None:
    for first, second in itertools.combinations(LINES, 2):
        assert difference(first, second, deficiency) >= APART, (first, second)


def test_bands_are_apart_in_grey() -> None:
    # Steps of lightness alone, as a grey printer leaves them; the edge is a drawn line besides.
    steps = [palette.PAPER, palette.BAND_90, palette.BAND_50, palette.INKS[0]]
    for lighter, darker in itertools.pairwise(steps):
        assert contrast(lighter, darker) >= 1.25


def test_each_curve_has_a_dash_of_its_own() -> None:
    assert len(set(palette.DASHES)) == len(palette.INKS) == len(palette.DASHES)


def test_docs_state_the_computed_figures() -> None:
    said = DOCS.read_text(encoding="utf-8")
    for colour in (*LINES, palette.INK, palette.EDGE, palette.BAND_50, palette.BAND_90):
        row = re.search(rf"`{colour}` \| ([\d.]+) ", said)
        assert row is not None, colour
        assert float(row[1]) == pytest.approx(contrast(colour, palette.PAPER), abs=0.05)
    worst = min(difference(a, b, eye) for eye in SEEN for a, b in itertools.combinations(LINES, 2))
    assert f"at least {worst:.0f}" in said
