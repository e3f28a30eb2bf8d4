"""The signature matrix on seeds that nothing was looked at with, with intervals, and its misses.

    python benchmarks/world_fresh.py OUT [--seeds 51,52] [--draws 64] [--charts FOLDER]

Rules stand in signatures.py, flights are those of world_judged.py. Notes of what was seen are in
world_fresh_notes.md and stand below the tables.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy.stats import binomtest
from signatures import MATRIX, Pair
from world_judged import AIRPLANES, draw_sheet, fly_world

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.flights import Flown

NOTES = Path(__file__).parent / "world_fresh_notes.md"
# Rows that were below 95% once, or that nobody had looked at as charts.
LOOKED_AT = (
    "somatogravic-input",
    "spiral-dive",
    "tailplane-stall",
    "takeoff-mistrim",
    "intermittent-runaway",
    "load-shift-forward",
    "structural-failure",
)
CHARTED = ("intermittent-runaway", "load-shift-forward", "structural-failure")
WANTED = 0.95


@dataclass
class Row:
    """A rule on the flights of one airplane.

    Args:
        says: In words.
        kept: Draws that keep it.
        of: Draws that it speaks of.
    """

    says: str
    kept: int = 0
    of: int = 0


@dataclass
class Tally:
    """What the flights of one airplane came to.

    Args:
        rows: By cause.
        whole: By cause: flights that keep every rule that speaks of them, and how many.
    """

    rows: dict[str, list[Row]] = field(default_factory=dict)
    whole: dict[str, Row] = field(default_factory=dict)

    def count(self, cause: str, pair: Pair) -> None:
        """Count the flights of one cause.

        Args:
            cause: Its name.
            pair: Flights beside their twins.
        """
        rules = MATRIX[cause]
        rows = self.rows.setdefault(cause, [Row(rule.says) for rule in rules])
        fine = np.ones(len(pair.flown.values), bool)
        spoken = np.zeros(len(pair.flown.values), bool)
        for rule, row in zip(rules, rows, strict=True):
            of, holds = rule.speaks(pair), rule.holds(pair)
            row.of, row.kept = row.of + int(of.sum()), row.kept + int((of & holds).sum())
            fine, spoken = fine & (holds | ~of), spoken | of
        whole = self.whole.setdefault(cause, Row("every rule that speaks of the flight"))
        whole.of += int(spoken.sum())
        whole.kept += int((spoken & fine).sum())


def said(row: Row) -> str:
    """Share with its 95% interval, and the counts.

    Source: Clopper and Pearson, Biometrika 26 (1934).
    """
    if not row.of:
        return "–"
    ends = binomtest(row.kept, row.of).proportion_ci(0.95, method="exact")
    share = f"{row.kept / row.of:.1%} ({ends.low:.1%} to {ends.high:.1%})"
    return f"{share}, {row.kept} of {row.of}"


def together(rows: list[Row], says: str) -> Row:
    """Counts added."""
    return Row(says, sum(r.kept for r in rows), sum(r.of for r in rows))


def page(found: dict[str, Tally], draws: int, seeds: list[int]) -> str:
    """The page."""
    names = dict.fromkeys(name for tally in found.values() for name in tally.rows)
    lines = [
        "# The world, judged: fresh seeds",
        "",
        f"Made by benchmarks/world_fresh.py: {draws} draws of each cause, airplane and seed, seeds "
        f"{', '.join(map(str, seeds))}. Nothing of the flown world or of the rules was set with "
        "these flights. Shares are of the draws that a rule speaks of; in brackets the exact 95% "
        "interval of Clopper and Pearson.",
        "",
        "| | " + " | ".join(found) + " | both |",
        "|---|" + "---|" * (len(found) + 1),
    ]

    def line(says: str, rows: list[Row]) -> str:
        cells = [said(row) for row in [*rows, together(rows, says)]]
        return f"| {says} | {' | '.join(cells)} |"

    def all_of(tally: Tally) -> Row:
        return together([row for rows in tally.rows.values() for row in rows], "")

    lines += [
        line("all rules, draw by draw", [all_of(t) for t in found.values()]),
        line(
            "flights that keep every rule that speaks of them",
            [together(list(t.whole.values()), "") for t in found.values()],
        ),
        "",
        "Several rules speak of one flight: the interval of the first line takes them as "
        "independent, that of the second counts each flight once.",
        "",
        "## Row by row",
        "",
        "| cause | rule | " + " | ".join(found) + " | both |",
        "|---|---|" + "---|" * (len(found) + 1),
    ]
    for name in names:
        title = CauseName(name).title + (" *" if name in LOOKED_AT else "")
        rules = next(t.rows[name] for t in found.values() if name in t.rows)
        for number, rule in enumerate(rules):
            rows = [t.rows[name][number] for t in found.values() if name in t.rows]
            cells = [said(t.rows[name][number]) if name in t.rows else "–" for t in found.values()]
            both = together(rows, rule.says)
            mark = " **below**" if both.of and both.kept < WANTED * both.of else ""
            lines.append(f"| {title} | {rule.says} | {' | '.join(cells)} | {said(both)}{mark} |")
    lines += ["", "\\* asked for by name. **below**: fewer than 95% of both airplanes' draws.", ""]
    notes = NOTES.read_text("utf-8") if NOTES.is_file() else ""
    return "\n".join(lines) + "\n" + notes


def fly_all(
    names: list[str], draws: int, seeds: list[int], charts: Path | None
) -> tuple[dict[str, Tally], dict[tuple[str, int], dict[str, Flown]]]:
    """Fly and count.

    Args:
        names: Of airplanes.
        draws: Of each cause, airplane and seed.
        seeds: Of chance.
        charts: Where sheets of the first seed go.

    Returns:
        Tallies by airplane, and the flights by airplane and seed.
    """
    found: dict[str, Tally] = {}
    flown = {}
    for name in names:
        airplane = load_airplane(name).airplane
        tally = found.setdefault(name, Tally())
        for seed in seeds:
            batches = flown[name, seed] = fly_world(name, draws, seed)
            for cause in [c for c in MATRIX if c in batches]:
                tally.count(cause, Pair(batches[cause], batches["no-failure"], airplane))
            if charts and seed == seeds[0]:
                charts.mkdir(parents=True, exist_ok=True)
                for cause in [c for c in CHARTED if c in batches]:
                    draw_sheet(batches[cause], charts / f"{name}-{cause}.png")
    return found, flown


def main() -> None:
    """Fly, count, write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--seeds", default="51,52")
    parser.add_argument("--draws", type=int, default=64)
    parser.add_argument("--charts", type=Path)
    parser.add_argument("--airplanes", default=",".join(AIRPLANES))
    asked = parser.parse_args()
    seeds = [int(seed) for seed in asked.seeds.split(",")]
    found, _ = fly_all(asked.airplanes.split(","), asked.draws, seeds, asked.charts)
    asked.out.write_text(page(found, asked.draws, seeds), "utf-8")


if __name__ == "__main__":
    main()
