"""The figures of the paper, drawn from the results and by the program when the site is built."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sitemaker.quoted import RESULTS, ROOT, section, tables

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from neutralpoint.report.figures.look import Look

FEET, KNOTS, POUNDS, GRAVITY = 0.3048, 1852 / 3600, 4.4482216, 9.80665
AIRPLANE = "velmar-c7"
LEVELS = (25.0, 100.0)  # ft, steps of altitude that transponders send
STRONG = {"50 lb, one hand": 50.0, "75 lb, two hands": 75.0}  # Source: 14 CFR 23.143(c), 25.143(d)
SIZE = (7.6, 4.0)  # inches


@dataclass(frozen=True)
class Figure:
    """A figure of the paper.

    Attributes:
        alt: What it shows, for those who do not see it.
        draw: Draws it on axes.
    """

    alt: str
    draw: Callable[[Axes, Look], None]


def _rows(page: str, heading: str, column: str) -> list[list[str]]:
    """Rows of the table under a heading that has the column, its head first."""
    text = section((ROOT / page).read_text("utf-8"), heading, page)
    return next(table for table in tables(text) if column in table[0])


def _resolution(axes: Axes, look: Look) -> None:
    from neutralpoint.motion.observability import acceleration_sigma

    window = np.linspace(2.0, 20.0, 100)
    for step, ink, dash in zip(LEVELS, look.inks, ("-", "--"), strict=False):
        for rate, width in ((1.0, 1.8), (1 / 4.8, 0.9)):
            fixes = window * rate
            sigma = [
                acceleration_sigma(step * FEET / np.sqrt(12.0), n, t) / GRAVITY
                for n, t in zip(fixes, window, strict=True)
            ]
            seen = fixes >= 3.0  # a parabola asks for three readings
            label = (
                f"steps of {step:g} ft, {'a reading a second' if rate == 1.0 else 'one in 4.8 s'}"
            )
            axes.plot(window[seen], np.array(sigma)[seen], dash, color=ink, lw=width, label=label)
    axes.set(yscale="log", xlabel="window, s", ylabel="vertical acceleration, one sigma, g")
    axes.legend(frameon=False)


def _forces(axes: Axes, look: Look) -> None:
    said = subprocess.run(
        [sys.executable, "-m", "neutralpoint", "airplane", AIRPLANE, "--json"],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    found = json.loads(said)
    speed = np.array(found["calibrated_airspeed"]) / KNOTS
    for place, (key, label, dash) in enumerate(
        (
            ("pull_at_stop", "trim at its nose-down stop", "-"),
            ("pull_mistrimmed", "mistrimmed nose-down", "--"),
            ("pull", "trimmed", ":"),
        )
    ):
        rows = {name: np.array(found[key][name]) / POUNDS for name in ("low", "median", "high")}
        axes.fill_between(speed, rows["low"], rows["high"], color=look.inks[place], alpha=0.2, lw=0)
        axes.plot(speed, rows["median"], dash, color=look.inks[place], lw=1.8, label=label)
    for label, force in STRONG.items():
        axes.axhline(force, color=look.limit, lw=1.0, ls="-.")
        axes.text(speed[-1], force + 2, label, color=look.limit, ha="right", va="bottom")
    axes.set(xlabel="calibrated airspeed, kt", ylabel="column pull in level flight, lb")
    axes.legend(frameon=False, loc="upper left")


def _reliability(axes: Axes, look: Look) -> None:
    head, *body = _rows(f"{RESULTS}/calibration.md", "Reliability", "came true")
    places = [head.index(name) for name in ("mean stated", "came true", "statements")]
    points = np.array([[float(row[p]) for p in places] for row in body if row[places[0]]])
    spread = np.sqrt(points[:, 0] * (1.0 - points[:, 0]) / points[:, 2])
    axes.plot([0, 1], [0, 1], color=look.quiet, lw=0.8, ls="--", label="as often as stated")
    axes.errorbar(
        points[:, 0], points[:, 1], yerr=1.96 * spread, fmt="o", color=look.inks[0],
        ecolor=look.edge, label="blind flights; bars: 95% of chance",
    )  # fmt: skip
    axes.set(
        xlabel="probability stated", ylabel="share that came true", xlim=(0, 1), ylim=(0, 1.08)
    )
    axes.legend(frameon=False, loc="upper left")


def _strata(axes: Axes, look: Look) -> None:
    head, *body = _rows("docs/explanation/odds-networks.md", "", "stratum")
    names = [row[0] for row in body]
    score = [float(row[head.index("log score")]) for row in body]
    place = np.arange(len(names))
    axes.hlines(place, min(score) - 0.1, score, color=look.grid, lw=1.0)
    axes.plot(score, place, "o", color=look.inks[0])
    for y, value in zip(place, score, strict=True):
        axes.text(value + 0.015, y, f"{value:.2f}".replace("-", "\u2212"), va="center")
    axes.set_yticks(place, names)
    axes.invert_yaxis()
    axes.set(
        xlim=(min(score) - 0.1, max(score) + 0.12),
        xlabel="mean log score, nats: 0 is certain and right",
    )
    axes.grid(axis="y", visible=False)


def _judged(axes: Axes, look: Look) -> None:
    head, *body = _rows(f"{RESULTS}/other_networks.md", "", "90% set holds")
    upsets, rigid = "upsets of another simulator", "a rigid airplane of a third"
    wanted = {
        upsets: "upsets", f"{upsets}, autopilot on": "autopilot on",
        f"{upsets}, flown by hand": "flown by hand", f"{upsets}, 4.8 s radar": "4.8 s radar",
        f"{rigid}: unlisted": "on no list",
    }  # fmt: skip
    rows = {row[0]: row for row in body}
    holds = [float(rows[name][head.index("90% set holds")].rstrip("% ")) for name in wanted]
    leads = [float(rows[name][head.index("leads")].rstrip("% ")) for name in wanted]
    labels = [f"{label} ({rows[name][1]})" for name, label in wanted.items()]
    place = np.arange(len(wanted))
    axes.axvline(90, color=look.limit, lw=1.0, ls="-.", label="what a 90% set should hold")
    axes.plot(holds, place, "o", color=look.inks[0], label="90% set holds a cause that fits")
    axes.plot(leads, place, "D", mfc="none", color=look.inks[1], label="the cause that leads fits")
    axes.set_yticks(place, labels)
    axes.invert_yaxis()
    axes.set(xlim=(0, 102), xlabel="percent of flights")
    axes.legend(frameon=False, loc="upper center", bbox_to_anchor=(0.4, -0.16), ncols=3)


def _recorded(axes: Axes, look: Look) -> None:
    head, *body = _rows(f"{RESULTS}/motion_on_recorded_flights.md", "", "track")
    kinds = ("1 s, 25 ft", "1 s, 100 ft", "4.8 s radar, 100 ft")
    quantities = [name for name in head if name in ("CAS kt", "pitch deg", "bank deg", "n")]
    for place, (kind, mark) in enumerate(zip(kinds, "oDs", strict=True)):
        points = [
            (float(parts[1]), row + 0.2 * (place - 1))
            for cells in body
            if re.sub(r", \*now\*$", "", cells[1]) == kind
            for row, name in enumerate(quantities)
            if len(parts := cells[head.index(name)].split(" / ")) == 3
        ]
        x, y = np.array(points).T
        axes.plot(x, y, mark, mfc="none", color=look.inks[place], label=kind)
    axes.axvline(0.9, color=look.limit, lw=1.0, ls="-.", label="what it should hold")
    axes.set_yticks(range(len(quantities)), [name.split()[0] for name in quantities])
    axes.invert_yaxis()
    axes.set(xlim=(0.5, 1.01), xlabel="share of the time inside the 90% band")
    axes.legend(frameon=False, loc="lower left")


FIGURES = {
    "resolution": Figure(
        "Four falling curves: standard deviation of the vertical acceleration against the length "
        "of the window, for steps of 25 and 100 ft, at a reading a second and one in 4.8 s. Only "
        "long windows resolve a tenth of a g where steps are 100 ft.",
        _resolution,
    ),
    "forces": Figure(
        "Column pull in level flight against airspeed for an invented cargo twin, trimmed, "
        "mistrimmed and with the trim at its nose-down stop, each with its band. At the stop the "
        "pull passes the limits of one and of two hands and grows with speed.",
        _forces,
    ),
    "reliability": Figure(
        "Share that came true against the probability stated, points near the diagonal from 0 to "
        "1; above it in the upper half: what is stated there is rather too low.",
        _reliability,
    ),
    "strata": Figure(
        "Mean log score by stratum of the blind flights as dots: best with fine data and long "
        "windows, worst with coarse data, short windows and airplanes outside the kinds learned.",
        _strata,
    ),
    "judged": Figure(
        "By kind of flight of other simulators: how often the 90% set holds a cause that fits, "
        "near 90 percent, and how often the cause that leads fits, from a tenth to a third.",
        _judged,
    ),
    "recorded": Figure(
        "Share of the time inside the 90% band on recorded flights, for airspeed, pitch, bank and "
        "load factor by kind of track: nearly all dots between 0.85 and 1, to the right of 0.9.",
        _recorded,
    ),
}


def draw_all(folder: Path) -> None:
    """Draw every figure for both grounds.

    Args:
        folder: Where to: `NAME-light.svg`, `NAME-dark.svg`.
    """
    import matplotlib as mpl

    mpl.use("svg")
    from matplotlib.figure import Figure as Sheet

    from neutralpoint.report.figures.look import DARK, LIGHT, styled

    for name, figure in FIGURES.items():
        for ground, base in (("light", LIGHT), ("dark", DARK)):
            look = base.sized(1.3, 0.0)
            with styled(look), mpl.rc_context({"svg.fonttype": "path"}):
                tall = SIZE[1] * (1.35 if name == "strata" else 1.0)
                sheet = Sheet(figsize=(SIZE[0], tall), layout="constrained")
                axes = sheet.subplots()
                axes.spines[["top", "right"]].set_visible(False)
                figure.draw(axes, look)
                sheet.savefig(
                    folder / f"{name}-{ground}.svg", transparent=True, metadata={"Date": None}
                )
