"""Thinning, numbers as people read them, and printed figures."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from pathlib import Path
from shutil import which

import numpy as np
import pytest

from neutralpoint.report.figures.display import SHOWN, clock, printed
from neutralpoint.report.figures.draw_matplotlib import save_sheets, strip_sheets, svg
from neutralpoint.report.figures.figure import (
    Axis,
    Band,
    Level,
    Mark,
    Panel,
    PlottedReadings,
    Shade,
    Strips,
)
from neutralpoint.report.figures.thinning import kept_times
from neutralpoint.report.page.payload import payload

FRONTEND = Path(__file__).parents[2] / "frontend"
PACKAGE = Path(__file__).parents[2] / "src/neutralpoint"
BUNDLED = {
    "report.js": PACKAGE / "report/static",
    "uplot.css": PACKAGE / "report/static",
    "workbench.js": PACKAGE / "app/static",
    "workbench.css": PACKAGE / "app/static",
    "cases.js": PACKAGE / "app/static",
}
LARGEST_SVG = 2_000_000  # bytes


def strips(times: int) -> Strips:
    time = np.linspace(0.0, 600.0, times)
    curve = np.sin(time / 20.0)
    quantiles = np.stack([curve + shift for shift in (-0.2, -0.1, 0.0, 0.1, 0.2)])
    quantiles[:, times // 3 : times // 2] = np.nan
    panel = Panel(
        key="wave",
        title="Wave",
        axis=Axis("ft", -1.5, 1.5, 1, "m", 0.3048),
        bands=(Band("wave", "derived", quantiles),),
        readings=PlottedReadings("wave", time[::5], curve[::5], (time[::5] > 500.0) + 0.0, 0.05),
        levels=(Level(1.0, "limit"),),
        shades=(Shade(200.0, 300.0),),
    )
    marks = (Mark(1, 100.0, 2.0, "voice", "call"),)
    return Strips("2031-04-14", 43_000.0, time, (panel,) * 9, marks)


def test_thinning_keeps_the_peak_and_the_ends() -> None:
    time = np.arange(0.0, 3600.0, 0.25)
    curve = np.exp(-(((time - 3000.3) / 2.0) ** 2))
    kept = kept_times(time, [curve], 1500)
    assert len(kept) <= 1500
    assert kept[0] == 0
    assert kept[-1] == len(time) - 1
    back = np.interp(time, time[kept], curve[kept])
    assert np.abs(back - curve).max() < 0.02  # of a peak of 1 that lasts 4 s in an hour


def test_thinning_leaves_short_records_whole_and_copes_with_gaps() -> None:
    time = np.arange(10.0)
    assert kept_times(time, [time], 10).tolist() == list(range(10))
    holes = np.where(np.arange(400) % 7 == 0, np.nan, 1.0)
    assert len(kept_times(np.arange(400.0), [holes, np.full(400, np.nan)], 50)) <= 50


@pytest.mark.parametrize(
    ("value", "decimals", "said"),
    [
        (-1234.56, 0, "\u22121,235"),
        (-0.004, 2, "0.00"),
        (12345.6, 1, "12,345.6"),
    ],
)
def test_numbers_are_printed_for_people(value: float, decimals: int, said: str) -> None:
    assert printed(value, decimals) == said


def test_course_is_printed_within_a_turn() -> None:
    assert SHOWN["track_angle"].number(-np.pi / 2) == "270"
    assert SHOWN["pressure_altitude"].with_unit(SHOWN["pressure_altitude"].number(304.8)) == (
        "1,000\u202fft"
    )
    assert clock(86_399.6) == "00:00:00"


def test_payload_refers_into_one_block() -> None:
    plain, block = payload({"a": np.arange(3.0), "b": [np.ones((2, 2)), "text", None]})
    assert plain == {"a": {"at": 0, "shape": [3]}, "b": [{"at": 3, "shape": [2, 2]}, "text", None]}
    assert np.frombuffer(block, "<f4").tolist() == [0, 1, 2, 1, 1, 1, 1]
    with pytest.raises(TypeError):
        payload(object())


def test_printed_sheets_are_small_and_repeatable(tmp_path: Path) -> None:
    sheets = strip_sheets(strips(800))
    assert len(sheets) == 2
    drawn = svg(sheets[0])
    assert len(drawn) < LARGEST_SVG
    assert drawn == svg(strip_sheets(strips(800))[0])
    assert b"12:00:00" in drawn  # 43,200 s after midnight, 200 s after the start
    written = save_sheets({"strips": sheets[1]}, tmp_path)
    assert [path.suffix for path in written] == [".svg", ".png"]
    assert written[1].read_bytes().startswith(b"\x89PNG")


def test_two_hours_of_readings_stay_small() -> None:
    many = strips(36_000)  # 7,200 readings in each of seven panels
    kept = kept_times(many.time, [many.panels[0].bands[0].quantiles[2]], 500)
    thin = [
        replace(
            panel, bands=(replace(panel.bands[0], quantiles=panel.bands[0].quantiles[:, kept]),)
        )
        for panel in many.panels
    ]
    sheet = strip_sheets(replace(many, time=many.time[kept], panels=tuple(thin)))[0]
    assert len(svg(sheet)) < LARGEST_SVG


def test_committed_bundle_is_what_the_source_builds(tmp_path: Path) -> None:
    if which("node") is None or not (FRONTEND / "node_modules/esbuild").is_dir():
        pytest.skip("the front end's tools are not installed: npm ci in frontend/")
    subprocess.run(["node", "build.mjs", str(tmp_path)], cwd=FRONTEND, check=True, timeout=60)
    for name, folder in BUNDLED.items():
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes(), (
            "stale: run `npm run build` in frontend/ and commit the bundle"
        )
