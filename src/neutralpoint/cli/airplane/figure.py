"""The picture of an airplane: envelope, trim, forces and modes on one sheet."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.files import written
from neutralpoint.quantities import DEGREE, KNOT, POUND_FORCE
from neutralpoint.report.figures.palette import BAND_90, DASHES, GRID, INK, INKS, LIMIT, PAPER
from neutralpoint.report.words import airplane as words
from neutralpoint.study.airplane.curves import STRENGTHS, AirplaneCurves, band


def draw_airplane(found: DescribedAirplane, curves: AirplaneCurves, path: Path) -> None:
    """Draw an airplane to a file.

    Args:
        found: What its file says.
        curves: What follows.
        path: Where to; the suffix says the kind.
    """
    figure = Figure(figsize=(11.0, 12.0), layout="constrained", facecolor=PAPER)
    FigureCanvasAgg(figure)
    figure.suptitle(words.picture_title(found.document.name))
    axes = figure.subplots(3, 2)
    for axis in axes.flat:
        axis.set_facecolor(PAPER)
        axis.grid(color=GRID)
        axis.set_axisbelow(True)
        axis.tick_params(colors=INK)
    _draw_envelope(axes[0, 0], found)
    _draw_trim(axes[0, 1], found, curves)
    _draw_forces(axes[1, 0], curves)
    _draw_authority(axes[1, 1], curves)
    _draw_per_g(axes[2, 0], curves)
    _draw_modes(axes[2, 1], curves)
    with written(path, ending=path.suffix) as fresh:
        figure.savefig(fresh, dpi=150)


def _curve(axis: Axes, curves: AirplaneCurves, rows: np.ndarray, ink: int, label: str) -> None:
    """Median line inside its band, over calibrated airspeed in knots."""
    speed = curves.calibrated_airspeed / KNOT
    low, middle, high = band(rows)
    color = BAND_90 if ink == 0 else INKS[ink]
    axis.fill_between(speed, low, high, color=color, alpha=1.0 if ink == 0 else 0.2, linewidth=0)
    line = axis.plot(speed, middle, color=INKS[ink], label=label)[0]
    if DASHES[ink]:
        line.set_dashes(DASHES[ink])
    axis.set_xlabel(words.SPEED_AXIS)


def _draw_envelope(axis: Axes, found: DescribedAirplane) -> None:
    axis.set_title(words.ENVELOPE)
    for number, envelope in enumerate(found.envelopes):
        stations, masses = zip(*envelope.vertices, envelope.vertices[0], strict=True)
        axis.plot(stations, masses, color=INKS[number % len(INKS)], label=envelope.name)
    mass = found.airplane.mass
    axis.plot(mass.cg_station, mass.mass, "o", color=LIMIT, label=words.AS_LOADED)
    empty = found.loading
    axis.plot(empty.empty.cg_station, empty.empty.mass, "s", color=INK, label=words.EMPTY)
    axis.set_xlabel(words.STATION_AXIS)
    axis.set_ylabel(words.MASS_AXIS)
    axis.legend()


def _draw_trim(axis: Axes, found: DescribedAirplane, curves: AirplaneCurves) -> None:
    drive = found.airplane.trim_drive
    axis.set_title(f"Trim for no force ({drive.kind})")
    _curve(axis, curves, curves.trim / DEGREE, 0, words.LEVEL)
    for end in (drive.travel_min, drive.travel_max):
        axis.axhline(float(end) / DEGREE, color=LIMIT, dashes=(8, 3, 2, 3))
    axis.set_ylabel(words.STOPS_AXIS)


def _draw_forces(axis: Axes, curves: AirplaneCurves) -> None:
    axis.set_title(words.trimmed_at("Column force, trimmed at", curves.trim_speed))
    _curve(axis, curves, curves.pull / POUND_FORCE, 0, words.TRIMMED)
    label = f"mistrim {curves.mistrim / DEGREE:.1f} deg nose-down"
    _curve(axis, curves, curves.pull_mistrimmed / POUND_FORCE, 1, label)
    axis.axhline(0.0, color=INK, linewidth=0.6)
    axis.set_ylabel(words.PULL_AXIS)
    _newtons(axis)
    axis.legend()


def _newtons(axis: Axes) -> None:
    second = axis.secondary_yaxis(
        "right",
        functions=(lambda lbf: np.multiply(lbf, POUND_FORCE), lambda n: np.divide(n, POUND_FORCE)),
    )
    second.set_ylabel("N")


def _draw_authority(axis: Axes, curves: AirplaneCurves) -> None:
    axis.set_title(words.CROSSOVER)
    _curve(axis, curves, curves.pull_at_stop / POUND_FORCE, 0, words.PULL)
    for name, pull in STRENGTHS.items():
        level = pull / POUND_FORCE
        axis.axhline(level, color=LIMIT, dashes=(8, 3, 2, 3))
        place = curves.calibrated_airspeed[0] / KNOT
        axis.annotate(name, (place, level), xytext=(2, 2), textcoords="offset points", fontsize=8)
    axis.set_ylim(bottom=0.0)
    axis.set_ylabel(words.PULL_AXIS)
    _newtons(axis)


def _draw_per_g(axis: Axes, curves: AirplaneCurves) -> None:
    axis.set_title(words.trimmed_at("Column force per g at", curves.trim_speed))
    axis.hist(curves.force_per_g[1:] / POUND_FORCE, bins=15, color=BAND_90, edgecolor=INKS[0])
    axis.axvline(curves.force_per_g[0] / POUND_FORCE, color=INKS[0], label=words.AS_GIVEN)
    axis.set_xlabel(words.PER_G_AXIS)
    axis.set_ylabel("draws")
    axis.legend()


def _draw_modes(axis: Axes, curves: AirplaneCurves) -> None:
    axis.set_title(words.MODES)
    for ink, name in enumerate(("short period", "phugoid", "dutch roll")):
        frequency, damping = curves.modes[f"{name} frequency"], curves.modes[f"{name} damping"]
        axis.plot(damping[1:], frequency[1:], ".", color=INKS[ink], alpha=0.5)
        axis.plot(damping[0], frequency[0], "o", color=INKS[ink], label=name)
    axis.axvline(0.0, color=LIMIT, dashes=(8, 3, 2, 3))
    axis.set_xlabel(words.DAMPING_AXIS)
    axis.set_ylabel("rad/s")
    axis.legend()
