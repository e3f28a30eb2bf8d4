"""How fast a film is drawn and encoded, beside plain redrawing by matplotlib.

    python benchmarks/film_speed.py

Ratios of processor time in one run on a made-up motion: this machine's seconds say little.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import matplotlib as mpl
import numpy as np
from made_results import make_results
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Sheet

from neutralpoint.report import load_results
from neutralpoint.report.figures.compose import compose_figure
from neutralpoint.report.figures.draw_matplotlib import draw_panel
from neutralpoint.report.figures.look import DARK, style_of
from neutralpoint.report.film.chapters import TIMES
from neutralpoint.report.film.encoder import encode
from neutralpoint.report.film.segments import page_of
from neutralpoint.report.film.storyboard import parse_storyboard

FRAMES, REDRAWN, ROUNDS = 75, 6, 3
RATE = 25.0  # frames in a second, as the film plays
RESULT = Path(__file__).parent / "results" / "film_speed.md"
STORY = """
schema = 1
[[chapters]]
kind = "flight"
title = "The flight"
seconds = 3
panels = ["pressure_altitude", "calibrated_airspeed", "normal_load_factor"]
camera = "{camera}"
"""


def spent(work: Callable[[], None], count: int) -> float:
    """Processor time of one frame, s: the least of some rounds."""
    times = []
    for _ in range(ROUNDS):
        began = time.process_time()
        work()
        times.append((time.process_time() - began) / count)
    return min(times)


def redrawn(results) -> Callable[[], None]:
    """Three charts of 1920 by 1080 drawn whole for each frame, curves up to the moment."""
    strips = compose_figure(results, limit=TIMES).strips
    look = DARK.sized(3.0, 22.0)

    def work() -> None:
        for share in np.linspace(0.3, 0.9, REDRAWN):
            with mpl.rc_context(style_of(look)):
                sheet = Sheet(figsize=(19.2, 10.8), dpi=100, layout="constrained")
                for axes, panel in zip(sheet.subplots(3, 1), strips.panels[:3], strict=True):
                    draw_panel(axes, panel, strips, look)
                    axes.set_xlim(strips.time[0], strips.time[0] + share * strips.time[-1])
                FigureCanvasAgg(sheet).draw()

    return work


def main() -> None:
    """Measure and write the page."""
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held)
        results = load_results(make_results(folder / "case"))
        plain = spent(redrawn(results), REDRAWN)
        rows = [("matplotlib, all of it for each frame (charts alone)", 1.0)]
        played = []
        for camera in ("still", "orbit"):
            page = page_of(results, parse_storyboard(STORY.format(camera=camera)), 0, "wide")

            def draw(page=page) -> None:
                for k in range(FRAMES):
                    page.picture(k / FRAMES)

            def make(page=page) -> None:
                pictures = (page.picture(k / FRAMES) for k in range(FRAMES))
                encode(pictures, folder / "film.mp4", (1920, 1080), RATE, "vp9")

            drawn, made = spent(draw, FRAMES), spent(make, FRAMES)
            name = f"this film, camera `{camera}`"
            rows.append((f"{name}: drawn", plain / drawn))
            rows.append((f"{name}: drawn and encoded (VP9)", plain / made))
            played.append(f"camera `{camera}` {1.0 / made / RATE:.1f}")
            print(camera, "frames in a second of processor time", round(1 / drawn), round(1 / made))
    lines = [
        "# Speed of films",
        "",
        "Made by `benchmarks/film_speed.py`: frames of 1920 by 1080 in the same processor time,",
        "one run. The film draws charts, path in space with airplane and ghosts, attitude scales,",
        "values and captions; the redrawing has the three charts alone.",
        "",
        "| how | frames, ratio |",
        "|---|---|",
        *(f"| {name} | {ratio:.1f} |" for name, ratio in rows),
        "",
        f"Against its own playing speed of {RATE:.0f} frames a second, drawn and encoded (VP9), in",
        f"one second of processor time of one process: {', '.join(played)} times.",
        "By the clock, on two processors with little beside (2026-11-29), `neutralpoint film`",
        "made the 2,700 frames of the demo's film at 2.3 times its playing speed.",
    ]
    RESULT.write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
