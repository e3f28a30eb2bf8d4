"""Do items of evidence tell as much as was expected? On blind flights whose cause is known.

    PYTHONPATH=src:benchmarks python benchmarks/evidence_gain.py KEPT [--seed N] [--out FILE]

KEPT is a file that `through_smoother.py --kept` leaves: odds of flights after sensors and smoother.
Of every flight and every item of `weighing.items` the program says how many bits it expects. What
is found is then drawn from the item's table in the row of the true cause, and the gain is how much
more likely that cause has become. With odds that are right the means agree; that the tables are
right, which are the analyst's, is not judged here.
"""

from __future__ import annotations

import argparse
import pickle
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import matplotlib
import numpy as np
from through_smoother_report import Judged

from neutralpoint.weighing.items import ITEMS
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.value import Item, bits_of, rank

matplotlib.use("Agg")
from matplotlib import pyplot as plt

RESULTS = Path(__file__).parent / "results" / "evidence_gain.md"
LEAST = 1e-9  # probability below which a true cause is taken for as likely
EDGES = (0.0, 0.01, 0.03, 0.1, 0.2, 2.0)  # bits, of groups of expected gain


@dataclass(frozen=True)
class Gain:
    """What one item was expected to tell of one flight, and told on average over what it may find.

    Attributes:
        item: Name.
        system: That saw the flight.
        first: Whether it was ranked first.
        expected: Bits.
        weight: Of the flight: how likely its cause is beforehand, over how often it was flown.
        realized: Bits: log2 of the true cause's odds after over before, mean over what its row of
            the table may give.
    """

    item: str
    system: str
    first: bool
    weight: float
    expected: float
    realized: float


def realized(item: Item, names: tuple[str, ...], odds: np.ndarray, true: int) -> float:
    """Expected gain of the true cause's probability, bits, over what it may leave to be found.

    The mean is taken over the true cause's row of the table itself: a draw adds chance only.
    """
    table = item.table(names)
    chance = odds @ table
    gain = np.log2(np.maximum(table[true], LEAST) / np.maximum(chance, LEAST))
    return float(table[true] @ gain)


def gains(found: list[Judged]) -> list[Gain]:
    """Every item on every flight whose cause the airplane allows.

    Causes were flown as often as they leave a trace, and the odds hold mechanisms for equally
    likely: flights are weighted so that both are one.
    """
    told = []
    flown = Counter(str(one.cause) for one in found)
    for one in found:
        names = tuple(str(name) for name in one.names)
        if one.cause not in names or one.cause == UNLISTED:
            continue
        odds, true = np.asarray(one.probability), names.index(one.cause)
        weight = float(grouped_prior(names, None)[true]) / flown[names[true]]
        first = rank(list(ITEMS), names, odds)[0].item.name
        for item in ITEMS:
            expected = bits_of(odds, item.table(names))
            told.append(
                Gain(
                    item.name,
                    one.strata[0],
                    item.name == first,
                    weight,
                    expected,
                    realized(item, names, odds, true),
                )
            )
    return told


def _mean(some: list[Gain], values: list[float]) -> tuple[float, float]:
    """Weighted mean and its standard error. Source: Kish, Survey Sampling (1965), section 11.7."""
    weight = np.array([one.weight for one in some])
    weight /= weight.sum()
    mean = float(weight @ np.array(values))
    return mean, float(np.sqrt(weight**2 @ (np.array(values) - mean) ** 2))


def _gain(some: list[Gain]) -> tuple[float, float, float]:
    """Expected, realized less expected, and the error of that."""
    expected = _mean(some, [one.expected for one in some])[0]
    return expected, *_mean(some, [one.realized - one.expected for one in some])


def _row(label: str, some: list[Gain]) -> str:
    if not some:
        return f"| {label} | 0 | | | |"
    expected, apart, error = _gain(some)
    return (
        f"| {label} | {len(some)} | {expected:.3f} | {expected + apart:.3f} | "
        f"{apart:+.3f} ± {error:.3f} |"
    )


HEAD = "| {} | flights | expected, bits | realized, bits | difference |\n|---|---|---|---|---|"


def page(told: list[Gain], picture: str, seed: str) -> str:
    """The page."""
    systems = sorted({one.system for one in told})
    first = [one for one in told if one.first]
    lines = [
        "# Expected and realized gain of evidence",
        "",
        f"Made by benchmarks/evidence_gain.py from the flights of {seed}: odds of blind flights "
        "through sensors and smoother, by other pilots and another model of the airplane. What an "
        "item finds follows its own table, in the row of the true cause, so that the odds are "
        "judged and not the tables; flights are weighted so that every mechanism is as likely as "
        "the odds hold it for. ± is one standard error; flights count as apart.",
        "",
        f"![Expected against realized gain by item]({picture})",
        "",
        "## The item that is ranked first",
        "",
        HEAD.format("seen by"),
        _row("all", first),
        *(_row(each, [one for one in first if one.system == each]) for each in systems),
        "",
        "## By expected gain, all items",
        "",
        HEAD.format("group, by what was expected"),
    ]
    for low, high in pairwise(EDGES):
        for each in systems:
            some = [g for g in told if g.system == each and low <= g.expected < high]
            lines.append(_row(f"{low:g} to {high:g}, {each}", some))
    lines += ["", "## By item", "", HEAD.format("item")]
    lines += [_row(item.name, [g for g in told if g.item == item.name]) for item in ITEMS]
    return "\n".join(lines) + "\n"


def draw(told: list[Gain], path: Path) -> None:
    """One picture: each item a point with its error, all flights."""
    figure, axes = plt.subplots(figsize=(7.0, 5.2), layout="constrained")
    most = 0.0
    for number, item in enumerate(ITEMS):
        some = [g for g in told if g.item == item.name]
        x, apart, error = _gain(some)
        axes.errorbar(x, x + apart, 1.645 * error, fmt="o", color="black", capsize=3, lw=1)
        axes.annotate(str(number + 1), (x, x + apart), (5, 4), textcoords="offset points")
        most = max(most, x, x + apart)
    axes.plot([0, 1.1 * most], [0, 1.1 * most], color="0.6", lw=1)
    axes.axhline(0.0, color="0.85", lw=1)
    axes.set_xlabel("Expected gain, bits")
    axes.set_ylabel("Realized gain, bits (90 % interval of the mean)")
    words = "\n".join(f"{k + 1} {item.name}" for k, item in enumerate(ITEMS))
    axes.text(1.02, 1.0, words, transform=axes.transAxes, va="top", fontsize=7)
    figure.savefig(path, dpi=130, metadata={"Software": None})
    plt.close(figure)


def main() -> None:
    """Read, count, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("kept", type=Path)
    parser.add_argument("--seed", default="benchmarks/through_smoother.py, seed 8401")
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    found = [one for one in pickle.loads(options.kept.read_bytes()) if one.window == "stated"]
    told = gains(found)
    picture = options.out.with_suffix(".png")
    draw(told, picture)
    options.out.write_text(page(told, picture.name, options.seed), "utf-8")


if __name__ == "__main__":
    main()
