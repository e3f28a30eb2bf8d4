"""Pictures to be published: type that a phone shows, the same bytes, notes bound to values."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from made_results import make_results
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from neutralpoint.errors import NeutralPointError
from neutralpoint.report import load_results
from neutralpoint.report.figures import draw_figure, figure_bytes, list_figures, palette
from neutralpoint.report.figures.look import DARK, LIGHT
from neutralpoint.report.figures.studio.codes import OTHER, curve_style
from neutralpoint.report.figures.studio.formats import FORMATS, GROUNDS
from neutralpoint.report.figures.studio.lettering import width_of, wrapped
from neutralpoint.report.figures.studio.notes import read_notes
from neutralpoint.vocabulary.cautions import IN_BRIEF

APART = 20.0  # as in test_report_palette: about nine just-noticeable differences
GRAPHIC = 3.0  # WCAG 2.2, 1.4.11


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    return load_results(make_results(tmp_path_factory.mktemp("studio")))


def texts_of(sheet) -> list[Text]:
    """Every text that is drawn."""
    FigureCanvasAgg(sheet)
    sheet.draw_without_rendering()
    return [t for t in sheet.findobj(Text) if t.get_visible() and t.get_text().strip()]


def test_the_rule_of_type_is_sixteen_minutes_of_arc_on_a_phone() -> None:
    """Worked backwards from the pixels: a capital of DejaVu Sans is 0.729 of its size high."""
    for key in ("wide", "tall", "square"):
        form = FORMATS[key]
        on_phone = 0.729 * form.pixels(form.least) / min(form.width, form.height) * 68.0  # mm
        assert math.degrees(math.atan(on_phone / 300.0)) * 60.0 == pytest.approx(16.0, abs=0.01)
    assert FORMATS["column"].least >= 7.0


@pytest.mark.parametrize("form", FORMATS)
def test_nothing_is_smaller_than_the_rule_and_all_stands_on_the_picture(results, form) -> None:
    sheet = draw_figure(results, "flight", form=form)
    shape = FORMATS[form]
    texts = texts_of(sheet)
    assert min(text.get_fontsize() for text in texts) >= shape.least - 1e-6
    for text in sheet.texts:
        box = text.get_window_extent()
        assert box.x0 >= 0 and box.x1 <= shape.width and box.y0 >= 0 and box.y1 <= shape.height
    burnt = " ".join(text.get_text() for text in sheet.texts[::1])
    foot = " ".join(t.get_text() for t in sorted(sheet.texts, key=lambda t: -t.get_position()[1]))
    assert IN_BRIEF in foot
    assert "2031-05-01" in foot and "Invented case" in burnt


def test_the_same_case_gives_the_same_bytes(results, tmp_path) -> None:
    again = load_results(make_results(tmp_path))
    first, second = (
        draw_figure(r, "motion-calibrated-airspeed", form="column") for r in (results, again)
    )
    for kind in ("svg", "png", "pdf"):
        made = figure_bytes(first, kind)
        assert made == figure_bytes(second, kind), kind
    assert b"2026" not in made  # no clock in the file


def test_a_clear_ground_is_transparent(results) -> None:
    sheet = draw_figure(results, "motion-calibrated-airspeed", form="square", ground="clear")
    canvas = FigureCanvasAgg(sheet)
    canvas.draw()
    assert np.asarray(canvas.buffer_rgba())[5, 5, 3] == 0


def test_what_is_not_there_is_refused_with_what_is(results) -> None:
    for wrong in ({"key": "odds"}, {"form": "round"}, {"ground": "red"}):
        with pytest.raises(NeutralPointError) as refused:
            draw_figure(results, **{"key": "flight", **wrong})
        assert refused.value.code == "figure-unknown"
        assert ("flight" in refused.value.hint) == ("key" in wrong)
    assert "odds" not in {entry.key for entry in list_figures(results)}
    assert {"flight", "plan", "profile", "timeline"} <= {e.key for e in list_figures(results)}


NOTES = """
schema = 1
[[notes]]
figure = "flight"
chart = "calibrated_airspeed"
at = "highest"
text = "fastest: {value} at {time}"
[[notes]]
figure = "flight"
kind = "bracket"
at = 18:00:10
until = 18:00:20
text = "seed {seed}"
"""


def test_a_note_moves_with_its_value(tmp_path) -> None:
    (tmp_path / "figures.toml").write_text(NOTES, "utf-8")
    notes = read_notes(tmp_path)
    said, heights = [], []
    for peak in (40.0, 60.0):
        made = load_results(make_results(tmp_path / f"{peak}", peak=peak))
        sheet = draw_figure(made, "flight", notes=notes)
        drawn = {t.get_text().split(":")[0]: t for t in sheet.findobj(Text)}
        note = drawn["fastest"]
        said.append(note.get_text().replace("\n", " "))
        heights.append(note.xy[1])
        assert note.xy[0] == pytest.approx(40.0, abs=0.5)  # s: where the hump was put
        assert "seed 1" in drawn
    # 80 + peak m/s in knots, for one knot is 0.514444 m/s (exactly 1852 m in an hour).
    assert heights == pytest.approx([120.0 / (1852 / 3600), 140.0 / (1852 / 3600)], rel=0.02)
    assert said[0] != said[1] and "90%" in said[0] and "18:00:40" in said[0]


@pytest.mark.parametrize(
    "wrong",
    [
        'schema = 1\n[[notes]]\nfigure = "flight"\ntext = "x"\n',
        'schema = 1\n[[notes]]\nfigure = "flight"\nat = "onset"\ntext = "x"\ncolour = "red"\n',
        "schema = 1\n[[notes\n",
    ],
)
def test_notes_that_are_wrong_are_refused(tmp_path, wrong) -> None:
    (tmp_path / "figures.toml").write_text(wrong, "utf-8")
    with pytest.raises(NeutralPointError) as refused:
        read_notes(tmp_path)
    assert refused.value.code == "figures-invalid"


@pytest.mark.parametrize("text", ["{nothing.here}", "{sources}"])
def test_a_note_bound_to_nothing_is_refused(results, tmp_path, text) -> None:
    note = f'schema = 1\n[[notes]]\nfigure = "flight"\nat = 18:00:10\ntext = "{text}"\n'
    (tmp_path / "figures.toml").write_text(note, "utf-8")
    with pytest.raises(NeutralPointError, match=r"finding|number"):
        draw_figure(results, "flight", notes=read_notes(tmp_path))


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("eye", [None, *palette.DEFICIENCIES])
def test_curves_are_apart_and_ramps_in_order_for_every_eye(look, eye) -> None:
    """By the simulation of Machado et al. (2009): see `palette.DEFICIENCIES`."""
    lines = (*look.inks, look.limit)
    for first, second in itertools.combinations(lines, 2):
        assert palette.difference(first, second, eye) >= APART, (first, second)
    for color in (*lines, look.event, look.caution, look.quiet):
        assert palette.contrast(color, look.paper) >= GRAPHIC
    steps = [palette.difference(a, b, eye) for a, b in itertools.pairwise(look.ramp)]
    assert min(steps) >= APART / 2
    light = [palette.contrast(color, "#000000") for color in look.ramp]
    assert light == sorted(light) or light == sorted(light, reverse=True)


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_a_cause_keeps_its_color_and_dash_hands_off_and_no_two_share_them(look) -> None:
    codes = range(1, OTHER + 1)
    with_pilot = [curve_style(look, code) for code in codes]
    hands_off = [curve_style(look, code, hands_off=True) for code in codes]
    for one, other in zip(with_pilot, hands_off, strict=True):
        assert (one["color"], one["dashes"]) == (other["color"], other["dashes"])
        assert one["linewidth"] > other["linewidth"] and one["marker"] != other["marker"]
    assert len({one["color"] for one in with_pilot} | {look.inks[0]}) == OTHER + 1
    assert len({one["dashes"] for one in with_pilot}) == OTHER


def test_a_tint_keeps_to_its_ground() -> None:
    """On a transparent ground for light type bands are dark, for dark type light."""
    for ground, darker in (
        ("light", False),
        ("dark", True),
        ("clear", False),
        ("clear-dark", True),
    ):
        look = GROUNDS[ground]
        tint = look.tint(look.inks[0], 0.38)
        assert (palette.contrast(tint, "#000000") < palette.contrast(tint, "#ffffff")) == darker
        assert palette.contrast(look.ink, tint) >= GRAPHIC, ground
    assert LIGHT.tint("#000000", 1.0) == "#000000" and LIGHT.tint("#000000", 0.0) == LIGHT.paper


def test_lines_break_at_blanks_and_fit() -> None:
    lines = wrapped("one two three four", 40.0, 10.0)
    assert " ".join(lines) == "one two three four" and len(lines) > 1
    assert all(width_of(line, 10.0) <= 40.0 for line in lines)
    assert set(GROUNDS) == {"light", "dark", "clear", "clear-dark"}
