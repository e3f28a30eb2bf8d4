"""The flown path in the diagram of speed and load factor, at its weight."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet

from neutralpoint.findings import LimitsFindings, LoadDiagram
from neutralpoint.numerics.arrays import Array
from neutralpoint.numerics.quantiles import bands
from neutralpoint.quantities import KNOT, POUND
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.figures.look import PRINT, Look
from neutralpoint.report.results import Results, open_result

HEIGHT = 4.2  # inch
CLOUD = 40  # sample paths drawn as points
MARGIN = 0.4  # of load factor above and below what is drawn
ULTIMATE = 1.5  # of the limit; Source: 14 CFR 23.303 before amendment 64 (2017), from memory
# Source: the amendment that replaced part 23 took effect on 2017-08-30; from memory.
MANEUVER = "maneuver envelope, 14 CFR 23.333(b) before 2017"
GUSTS = "gusts, 23.333(c) before 2017"
SHARES = (0.3, 0.55, 0.8)  # of the way flown in the diagram, where arrows stand


def load_sheets(results: Results) -> list[Sheet]:
    """The diagram; none where the stage has no results.

    Args:
        results: A results folder, read.

    Returns:
        At most one sheet.
    """
    found = results.findings.limits
    if found is None or not (results.folder / found.file).is_file():
        return []
    with print_style():
        sheet = Sheet(figsize=(WIDTH, HEIGHT), layout="constrained")
        axes = sheet.subplots()
        draw_loads(axes, results, found)
        axes.set_title(
            f"at {found.diagram.mass / POUND:,.0f} lb; cross: median of the last moment, with "
            "its 90% bands",
            fontsize=7.5,
            loc="left",
        )
        axes.legend(loc="upper left", fontsize=7, frameon=False)
    return [sheet]


def draw_loads(
    axes: Axes, results: Results, found: LimitsFindings, look: Look = PRINT, *,
    until: float | None = None,
) -> int:  # fmt: skip
    """Draw the diagram.

    Args:
        axes: Where to.
        results: A results folder, read.
        found: Of the stage.
        look: Colors and sizes.
        until: Last moment that is drawn, s after the epoch; None for all.

    Returns:
        How many sample paths there are.
    """
    data = open_result(results.folder, found.file)
    time = data["time"].values
    kept = slice(None) if until is None or until <= time[0] else time <= until
    speed = data["equivalent_airspeed"].values.astype(float)[:, kept] / KNOT
    load = data["normal_load_factor"].values.astype(float)[:, kept]
    _lines(axes, found.diagram, look)
    _path(axes, speed, load, look)
    low, high = _reach(found.diagram, load)
    axes.set_xlim(0.0, max(found.diagram.dive_speed / KNOT, float(speed.max())) * 1.04)
    axes.set_ylim(low, high)
    axes.set_xlabel("equivalent airspeed, kt")
    axes.set_ylabel("load factor, g")
    return len(speed)


def _reach(diagram: LoadDiagram, load: Array) -> tuple[float, float]:
    drawn = [*diagram.upper, *diagram.lower, *diagram.gust_upper, *diagram.gust_lower]
    drawn += [ULTIMATE * max(diagram.upper), ULTIMATE * min(diagram.lower)]
    low, high = np.quantile(load, (0.001, 0.999))
    return min(min(drawn), float(low)) - MARGIN, max(max(drawn), float(high)) + MARGIN


def _lines(axes: Axes, diagram: LoadDiagram, look: Look) -> None:
    speed = np.array(diagram.speed) / KNOT
    upper, lower = np.array(diagram.upper), np.array(diagram.lower)
    edge = [speed[-1], speed[-1]]
    axes.plot(speed, upper, color=look.ink, lw=look.line(1.2), label=MANEUVER)
    axes.plot(speed, lower, color=look.ink, lw=look.line(1.2))
    axes.plot(edge, [lower[-1], upper[-1]], color=look.ink, lw=look.line(1.2))
    axes.plot(
        speed,
        diagram.gust_upper,
        color=look.caution,
        lw=look.line(1.0),
        ls="--",
        label=GUSTS,
    )
    axes.plot(speed, diagram.gust_lower, color=look.caution, lw=look.line(1.0), ls="--")
    inverted = np.where(np.array(diagram.stall_inverted) < lower, diagram.stall_inverted, np.nan)
    axes.plot(speed, inverted, color=look.quiet, lw=look.line(0.8), ls=":")
    beyond = np.array(diagram.stall) > upper
    stall = np.where(beyond, diagram.stall, np.nan)
    axes.plot(
        speed, stall, color=look.quiet, lw=look.line(0.8), ls=":", label="stall at this weight"
    )
    axes.axhline(
        ULTIMATE * upper.max(),
        color=look.quiet,
        lw=look.line(0.8),
        ls="-.",
        label="ultimate load factor",
    )
    axes.axhline(ULTIMATE * lower.min(), color=look.quiet, lw=look.line(0.8), ls="-.")


def _path(axes: Axes, speed: Array, load: Array, look: Look) -> None:
    rows = slice(None, None, max(1, len(speed) // CLOUD))
    axes.plot(
        speed[rows].ravel(), load[rows].ravel(), ".", ms=look.line(1.2), alpha=0.35, mew=0,
        color=look.quiet, rasterized=True,
    )  # fmt: skip
    axes.plot([], [], ".", ms=look.line(4.0), mew=0, color=look.quiet, label="sample paths")
    across, up = bands(speed), bands(load)
    axes.plot(across[2], up[2], color=look.inks[0], lw=look.line(1.4), label="median of the path")
    _way(axes, across[2], up[2], look)
    last = (across[:, -1], up[:, -1])
    axes.plot([last[0][0], last[0][4]], [last[1][2]] * 2, color=look.ink, lw=look.line(1.2))
    axes.plot([last[0][2]] * 2, [last[1][0], last[1][4]], color=look.ink, lw=look.line(1.2))


def _way(axes: Axes, speed: Array, load: Array, look: Look) -> None:
    """A ring where the path begins, and arrows along it."""
    axes.plot(speed[0], load[0], "o", ms=look.line(3.6), mfc=look.ground, mec=look.inks[0],
              mew=look.line(1.2), label="begin")  # fmt: skip
    steps = np.hypot(np.diff(speed) / np.ptp(speed), np.diff(load) / np.ptp(load))
    gone = np.cumsum(steps) / max(float(steps.sum()), 1e-9)
    for share in SHARES:
        k = min(int(np.searchsorted(gone, share)), len(speed) - 2)
        axes.annotate(
            "", (speed[k + 1], load[k + 1]), (speed[k], load[k]),
            arrowprops={"arrowstyle": "-|>", "color": look.inks[0], "lw": look.line(0.6),
                        "mutation_scale": look.points(9.0), "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
