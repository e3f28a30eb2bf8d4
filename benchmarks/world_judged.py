"""The world, judged: flights of every cause against the trade's signature matrix, and as charts.

    python benchmarks/world_judged.py OUT [--charts FOLDER] [--draws 64] [--seed 11]

OUT is the page of shares, FOLDER takes one sheet of 12 strip charts a cause, to be looked at with
the question of a test pilot: would an airplane and a person do this?
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from signatures import judged

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.quantities import DEGREE, KNOT, POUND_FORCE
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.flights import Flown, Start
from neutralpoint.weighing.ordinary import ORDINARY
from neutralpoint.weighing.simulate import flyable, simulate

AIRPLANES = {"velmar-c7": (85.0, 0.02, 1500.0), "tarnley-180": (55.0, 0.0, 900.0)}
DURATION, BEGIN = 45.0, (8.0, 12.0)
CHARTS = 12
NOTES = Path(__file__).parent / "world_judged_notes.md"
# Strips of a chart: label, curve, lowest and highest shown.
STRIPS = (
    ("n", lambda f: f.course.normal_load_factor, (-1.0, 3.0)),
    ("n_x", lambda f: f.course.longitudinal_load_factor, (-0.6, 0.6)),
    ("bank, deg", lambda f: f.course.bank_angle / DEGREE, (-90.0, 90.0)),
    ("TAS, kt", lambda f: f.course.true_airspeed / KNOT, None),
    ("pitch, deg", lambda f: f.pitch / DEGREE, (-60.0, 40.0)),
    ("pull, lbf", lambda f: f.column_force / POUND_FORCE, (-120.0, 120.0)),
    ("trim, deg", lambda f: f.trim / DEGREE, None),
)


def fly_world(name: str, draws: int, seed: int) -> dict[str, Flown]:
    """Flights of every cause that can act on an airplane.

    Args:
        name: Of the catalogue.
        draws: Of each cause.
        seed: Of chance.

    Returns:
        By cause.
    """
    described = load_airplane(name)
    speed, path, height = AIRPLANES[name]
    causes = flyable(described.airplane)
    rng = np.random.default_rng(seed)
    start = Start(np.full(8, speed), np.full(8, path), height)
    drawn = described.uncertainty.flown().draw(rng, draws * len(causes))
    found = simulate(
        described.airplane,
        drawn,
        start,
        causes,
        rng=rng,
        duration=DURATION,
        begin_within=BEGIN,
        ordinary=ORDINARY,
    )
    return {batch.cause: batch for batch in found}


def draw_sheet(batch: Flown, path: Path) -> None:
    """Twelve flights of a cause as strip charts.

    Args:
        batch: Its flights.
        path: Of the picture.
    """
    figure = Figure(figsize=(22.0, 11.0), layout="constrained")
    FigureCanvasAgg(figure)
    figure.suptitle(f"{CauseName(batch.cause).title}: {CHARTS} draws")
    axes = figure.subplots(len(STRIPS), CHARTS, sharex=True)
    for row, (label, curve, limits) in enumerate(STRIPS):
        values = curve(batch)
        for column in range(CHARTS):
            axis = axes[row, column]
            axis.plot(batch.course.time, values[column], color="black", linewidth=0.8)
            if "start" in batch.parameters:
                start = batch.values[column, batch.parameters.index("start")]
                axis.axvline(start, color="tab:red", linewidth=0.6)
            axis.grid(linewidth=0.3)
            axis.tick_params(labelsize=6)
            if limits:
                low, high = values[column].min(), values[column].max()
                axis.set_ylim(min(low, limits[0]), max(high, limits[1]))
            if column == 0:
                axis.set_ylabel(label, fontsize=8)
            if row == 0:
                axis.set_title(_told(batch, column), fontsize=5)
    figure.savefig(path, dpi=70)


def _told(batch: Flown, number: int) -> str:
    pairs = zip(batch.parameters, batch.values[number], strict=True)
    return "\n".join(f"{name} {value:.3g}" for name, value in pairs if name != "start")


def page(found: dict[str, dict], draws: int, seed: int) -> str:
    """The page of shares."""
    lines = [
        "# The world, judged: causes",
        "",
        f"Share of {draws} draws of each cause that keep the trade's signature (first sign, bank, "
        "load factor, energy, growth), each flight checked against its twin without the fault. "
        f"Made by benchmarks/world_judged.py, seed {seed}; the airplane, its pilot, the gusts and "
        "what is meant are drawn with each flight. *of* counts the draws that a rule speaks of.",
        "",
        "| cause | rule | " + " | ".join(f"{name} | of" for name in found) + " |",
        "|---|---|" + "---|---|" * len(found),
    ]
    names = dict.fromkeys(name for rows in found.values() for name in rows)
    for name in names:
        rules = next(rows[name] for rows in found.values() if name in rows)
        for number, (rule, *_) in enumerate(rules):
            cells = []
            for rows in found.values():
                if name in rows:
                    _, share, of = rows[name][number]
                    cells += [f"{share:.1%}", str(of)]
                else:
                    cells += ["–", "–"]
            lines.append(f"| {CauseName(name).title} | {rule.says} | {' | '.join(cells)} |")
    notes = NOTES.read_text("utf-8") if NOTES.is_file() else ""
    return "\n".join(lines) + "\n\n" + notes


def main() -> None:
    """Fly, judge, write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--charts", type=Path)
    parser.add_argument("--draws", type=int, default=64)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--airplanes", default=",".join(AIRPLANES))
    asked = parser.parse_args()
    found = {}
    for name in asked.airplanes.split(","):
        batches = fly_world(name, asked.draws, asked.seed)
        found[name] = judged(batches, load_airplane(name).airplane)
        asked.out.write_text(page(found, asked.draws, asked.seed), "utf-8")
        if asked.charts:
            asked.charts.mkdir(parents=True, exist_ok=True)
            for cause, batch in batches.items():
                draw_sheet(batch, asked.charts / f"{name}-{cause}.png")


if __name__ == "__main__":
    main()
