"""Pictures to be published: type that a phone shows, the same bytes, notes bound to values."""

from __future__ import annotations

import itertools
import math
from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest
from made_results import make_results
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Sheet
from matplotlib.text import Text

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Findings, LimitRow, LimitsFindings
from neutralpoint.report import load_results
from neutralpoint.report.figures import draw_figure, figure_bytes, list_figures, palette
from neutralpoint.report.figures.figure import Axis
from neutralpoint.report.figures.look import DARK, LIGHT
from neutralpoint.report.figures.studio.codes import OTHER, curve_style
from neutralpoint.report.figures.studio.flights import _go_on
from neutralpoint.report.figures.studio.formats import FORMATS, GROUNDS
from neutralpoint.report.figures.studio.lettering import width_of, wrapped
from neutralpoint.report.figures.studio.needs import roomy
from neutralpoint.report.figures.studio.notes import read_notes
from neutralpoint.report.words.ending import STOP_SHORT, shown_until
from neutralpoint.report.words.limits import chances_said, loads_title
from neutralpoint.report.words.titles import (
    extremes_title,
    pitch_title,
    plan_title,
    profile_title,
)
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.vocabulary.limit import LimitName

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


def test_a_figure_ends_where_a_film_does_and_says_so(results) -> None:
    """The record of 59.5 s: without its last 10 s, as film.storyboard leaves them out."""
    from neutralpoint.report.film.story import story_of
    from neutralpoint.report.film.storyboard import span_of

    until = shown_until(results, STOP_SHORT)
    assert until == span_of(results, story_of(results))[1]
    assert shown_until(results, 40.0) is None and shown_until(results, 0.0) is None
    key = "motion-calibrated-airspeed"
    cut, whole = (draw_figure(results, key, stop_short=s) for s in (STOP_SHORT, 0.0))
    ends = [sheet.axes[0].get_xlim()[1] for sheet in (cut, whole)]
    assert ends == pytest.approx([until, 59.5])
    told = [" ".join(text.get_text() for text in reversed(sheet.texts)) for sheet in (cut, whole)]
    assert "last 10 s of the record are not drawn" in told[0] and "not drawn" not in told[1]
    height = results.bands["pressure_altitude"][2, -1] / 0.3048  # the foot of 1959
    assert (
        f" at {height:,.0f} ft pressure altitude." in told[0].replace("\n", " ")
        and "respect" not in told[0]
    )


def test_an_arrow_stands_where_a_curve_or_a_band_leaves_the_chart() -> None:
    """Above twice and below once; one arrow where two of them leave it together."""
    time, axes = np.arange(100.0), Sheet().subplots()
    axes.set_xlim(0.0, 99.0)
    axes.set_ylim(-1.0, 1.0)
    curve = np.where((time > 10) & (time < 20) | (time > 60) & (time < 70), 2.0, 0.0)
    band = np.where((time > 11) & (time < 21), 2.0, np.where(time > 90, -2.0, 0.0))
    body = SimpleNamespace(look=LIGHT)
    assert _go_on(axes, body, time, (curve, band), 1)
    signs = [(line.get_xdata()[0], line.get_marker()) for line in axes.lines]
    assert signs == [(15.0, "^"), (65.0, "^"), (95.0, "v")]
    assert not _go_on(axes, body, time, (0.0 * curve,), 1)


def test_numbers_of_a_scale_have_room_and_the_first_are_kept() -> None:
    """By hand: 10 pixels a unit and letters of 20 leave no room for 11 beside 10."""
    assert roomy([10.0, 50.0, 11.0, -10.0], 10.0, 20.0) == [-10.0, 10.0, 50.0]


def test_titles_say_what_is_seen() -> None:
    axis = Axis("kt", 0.0, 100.0, 0)
    told = extremes_title("Airspeed", axis, np.array([0.0, 60.0, 120.0]), np.array([9.0, 3.0, 5.0]))
    assert told == "Airspeed: highest 9 kt at 00:00:00, lowest 3 kt at 00:01:00"
    assert extremes_title("x", axis, np.zeros(1), np.array([np.nan])) == "x: not observable"
    height = np.array([1000.0, 400.0, 900.0])
    assert profile_title(np.array([0.0, 60.0, 90.0]), height) == (
        "Pressure altitude: 1,000 ft at first, 400 at 00:01:00, 900 ft at the end"
    )
    assert plan_title(np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([0.1, 0.2])) == (
        "5.0 NM flown over the ground, toward 006\u00b0 (true) at first and 011\u00b0 at the end"
    )
    straight = plan_title(np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([0.1, 0.12]))
    assert straight == "No turn: 5.0 NM flown over the ground, track 006\u00b0 (true) throughout"
    pitch = np.radians([[0.0, 20.0], [1.0, 26.0], [2.0, 29.0]])
    assert pitch_title(np.array([0.0, 5.0]), pitch).startswith("Pitch reaches 26\u00b0 (90%: 20")


def test_limits_that_were_not_passed_are_named() -> None:
    rows = [LimitRow.model_construct(limit=LimitName(name), probability=share)
            for name, share in (("mach", 0.0), ("dive-speed", 0.002), ("stall", 0.02))]  # fmt: skip
    found = LimitsFindings.model_construct(rows=rows, begin=0.0, end=60.0)
    findings = Findings.model_construct(epoch=datetime(2031, 5, 1, tzinfo=UTC))
    # None of 200: up to 1 - 0.05 ** (1 / 200) = 1.49% at 95% (three in 200, the rule of three).
    assert chances_said(found, findings, 200) == (
        "Passed by no sample path: maximum Mach number; design dive speed 0.2%, stalling angle of "
        "attack 2.0% (from 00:00:00 to 00:01:00 UTC, all of the record). None of 200 paths leaves "
        "up to 1.5% open (95%)."
    )
    told = loads_title(found)
    assert told == (
        "Stalling angle of attack passed in 2.0%, design dive speed passed in 0.2% of the sample "
        "paths"
    )
    stalled = LimitsFindings.model_construct(rows=[rows[0], rows[2]])
    assert loads_title(stalled).startswith("No limit of structure or speed is passed; stalling")


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
