"""Judge networks on kept windows of flights, beside the shipped ones.

    PYTHONPATH=src:benchmarks:training python benchmarks/other_networks.py FOLDER NETWORKS...
        [--out FILE] [--scores FILE]

FOLDER is of `asked_windows.py`, NETWORKS are files of `training/learn.py` whose networks are taken
together; with none the shipped ones are judged alone, and the page is committed. Odds are those of
a case that states no prior. Mean log score (nats) of the causes that fit, how often these have less
than 1 %; alone also how often one of them leads, and how often a set of 90 % holds one. `--scores`
is `study/weighing/elsewhere.json`, what a report prints beside its own score.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from as_a_study import HEAD, Rated, row
from blind import AT_ONCE, Rater
from scipy.special import logsumexp

from neutralpoint.study.weighing.networks import DIGEST, load_shipped
from neutralpoint.weighing.amortised import Shipped
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.weigh import reweigh

STRATA = ("autopilot on", "flown by hand", "4.8 s radar")
LEAST = 1e-9  # probability that counts in a log score
STEPS = (0.0, 0.01, 0.03, 0.1, 0.3, 0.6, 0.85, 1.001)
AS_OFTEN = """## As often as stated

Every probability that was given to a cause on the upsets, and how often it fitted. What was done
fits one to three causes, so that small probabilities come true more often than stated."""
TITLE = """# The shipped odds on flights of other simulators

Made by benchmarks/other_networks.py on windows of benchmarks/asked_windows.py: flights of
simulators that share nothing with this project's, other pilots, other sensors, through the
smoother, the onset stated (left to the program where nothing failed), no case stated, every
mechanism equally likely beforehand. Upsets of another simulator: no learning has seen one. A rigid
airplane of a third: its flights of listed causes were learned from (other seeds; decisions/0024),
those of no list were not. Mean log score (nats) with its standard error of the causes that fit what
was done to the flight.

"""
COMPARED = (
    "| flights | how many | shipped | below 1% | others | below 1% | gain |",
    "|---|---|---|---|---|---|---|",
)
LEARNED = ("a rigid airplane of a third", UNLISTED)  # world that was learned from, but for these


def windows_of(folder: Path) -> dict[str, np.ndarray]:
    """All windows of a folder; `flight` numbered through."""
    held, flown = [], 0
    for path in sorted(folder.glob("*.npz")):
        with np.load(path, allow_pickle=False) as file:
            held.append({name: file[name] for name in file.files})
        held[-1]["flight"] = np.unique(held[-1]["flight"], return_inverse=True)[1] + flown
        flown = int(held[-1]["flight"].max()) + 1
    return {name: np.concatenate([each[name] for each in held]) for name in held[0]}


def learned(files: list[Path]) -> Shipped:
    """Networks of files of `learn.py` together, in the place of the shipped ones."""
    shipped = load_shipped()
    weights: list[dict[str, np.ndarray]] = []
    for path in files:
        with np.load(path, allow_pickle=False) as file:
            own = {n.removeprefix("weights."): file[n] for n in file.files if "weights." in n}
            shipped = replace(
                shipped, centre=file["centre"].astype(float), scale=file["scale"].astype(float)
            )
        members = len(next(iter(own.values())))
        weights += [{name: x[i].astype(float) for name, x in own.items()} for i in range(members)]
    return replace(shipped, weights=tuple(weights)) if weights else shipped


def evidence(networks: Shipped, windows: dict[str, np.ndarray]) -> np.ndarray:
    """Log evidence of each network, shape (R, n, causes)."""
    rater = Rater(networks)
    names = ("series", "told", "context", "allowed")
    given = [windows[name].astype(bool if name == "allowed" else np.float32) for name in names]
    cuts = [slice(i, i + AT_ONCE) for i in range(0, len(given[0]), AT_ONCE)]
    return np.concatenate([rater.rate(*(x[cut] for x in given)) for cut in cuts], axis=1)


@dataclass(frozen=True)
class Told(Rated):
    """Odds of one flight.

    Attributes:
        names: Of the causes that can act, shape (C,).
        probability: Shape (C,).
        fits: Which of them fit, shape (C,).
    """

    names: tuple[str, ...]
    probability: np.ndarray
    fits: np.ndarray

    @property
    def fitting(self) -> tuple[str, ...]:
        """Causes that fit."""
        return tuple(np.array(self.names)[self.fits])


def given(networks: Shipped, windows: dict[str, np.ndarray]) -> list[Told]:
    """What networks make of each flight."""
    rated = evidence(networks, windows)
    found = []
    for flight in range(int(windows["flight"].max()) + 1):
        rows = np.flatnonzero(windows["flight"] == flight)
        able = windows["allowed"][rows[0]]
        names = tuple(np.array(networks.causes)[able])
        each = rated[:, rows][:, :, able]
        runs = logsumexp(each, axis=1, b=windows["part"][rows][None, :, None])
        odds = reweigh(names, grouped_prior(names, None), runs)
        found.append(Told(names, odds.probability, windows["fits"][rows[0]][able]))
    return found


def scores(told: list[Told]) -> np.ndarray:
    """Log score of each flight, nats."""
    return np.log(np.maximum([one.given for one in told], LEAST))


def lost(told: list[Told]) -> float:
    """Share of the flights in which the causes that fit have less than 1 %."""
    return float(np.mean([one.given < 0.01 for one in told]))


def as_often(told: list[Told]) -> list[str]:
    """A table of how often causes fit that are given a probability."""
    stated = np.concatenate([one.probability for one in told])
    happened = np.concatenate([one.fits for one in told])
    lines = [
        "| probability | mean stated | share that fits | statements |",
        "|---|---|---|---|",
    ]
    for low, high in pairwise(STEPS):
        some = (stated >= low) & (stated < high)
        if some.any():
            told_as, came = stated[some].mean(), happened[some].mean()
            label = f"{low:g} to {min(high, 1.0):g}"
            lines.append(f"| {label} | {told_as:.3f} | {came:.3f} | {some.sum()} |")
    below = stated[stated < 0.01].sum() / len(told)
    return [*lines, "", f"By these odds the true cause would have less than 1% in {below:.1%}."]


def seen_by(strata: np.ndarray, label: str) -> np.ndarray:
    """Which flights are of a stratum, shape (n,)."""
    return np.array([label in each.split("|") for each in strata])


def compared(label: str, both: list[list[Told]]) -> str:
    """One row of the table: both sets of networks, and the gain with its standard error."""
    score = [scores(told) for told in both]
    gain = score[1] - score[0]
    cells = [f"{s.mean():.2f} | {lost(told):.1%}" for s, told in zip(score, both, strict=True)]
    error = gain.std() / np.sqrt(gain.size)
    return f"| {label} | {gain.size} | {' | '.join(cells)} | {gain.mean():+.2f} ± {error:.2f} |"


def report(windows: dict[str, np.ndarray], both: list[list[Told]]) -> str:
    """The page."""
    alone, head = len(both) == 1, HEAD if len(both) == 1 else COMPARED
    first = np.unique(windows["flight"], return_index=True)[1]
    kind, strata = windows["kind"][first], windows["strata"][first]
    world = np.array([name.split(":")[0] for name in kind])
    learned_from = np.char.startswith(kind, LEARNED[0]) & ~np.char.endswith(kind, LEARNED[1])

    def line(label: str, some: np.ndarray) -> str:
        chosen = [[told[i] for i in np.flatnonzero(some)] for told in both]
        return row(label, chosen[0], digits=1) if alone else compared(label, chosen)

    lines = list(head)
    for name in dict.fromkeys(world[~learned_from]):
        mine = (world == name) & ~learned_from
        lines.append(line(name, mine))
        for label in STRATA:
            some = mine & seen_by(strata, label)
            lines += [line(f"{name}, {label}", some)] if some.any() else []
    lines += [line(name, kind == name) for name in sorted(set(kind[~learned_from]))]
    lines += ["", "Of the world that was learned from:", "", *head]
    lines += [line(name, kind == name) for name in sorted(set(kind[learned_from]))]
    if alone:
        upsets = np.flatnonzero(np.char.startswith(kind, "upsets"))
        lines += ["", AS_OFTEN, "", *as_often([both[0][i] for i in upsets])]
    return "\n".join([*lines, ""])


def elsewhere(windows: dict[str, np.ndarray], told: list[Told]) -> dict:
    """Scores on upsets by radar and by a fix a second, as a report has them."""
    first = np.unique(windows["flight"], return_index=True)[1]
    upsets = np.char.startswith(windows["kind"][first], "upsets")
    radar = seen_by(windows["strata"][first], "4.8 s radar")
    found: dict = {"networks": DIGEST}
    for name, some in (("a fix a second", upsets & ~radar), ("radar", upsets & radar)):
        mine = [told[i] for i in np.flatnonzero(some)]
        found[name] = {
            "cases": len(mine),
            "mean_log_score": round(float(scores(mine).mean()), 4),
            "covered": round(float(np.mean([one.held for one in mine])), 4),
            "lost": round(lost(mine), 4),
        }
    return found


def main() -> None:
    """Ask, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("networks", type=Path, nargs="*")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--scores", type=Path)
    options = parser.parse_args()
    windows = windows_of(options.folder)
    both = [given(load_shipped(), windows)]
    if options.networks:
        both.append(given(learned(options.networks), windows))
    page = report(windows, both)
    print(page)
    if options.out:
        options.out.write_text(TITLE + page)
    if options.scores:
        kept = elsewhere(windows, both[0])
        options.scores.write_text(json.dumps(kept, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
