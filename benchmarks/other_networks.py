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
from blind import AT_ONCE, Rater
from scipy.special import logsumexp

from neutralpoint.study.weighing.networks import DIGEST, load_shipped
from neutralpoint.weighing.amortised import Shipped
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.weigh import reweigh

STRATA = ("autopilot on", "flown by hand", "4.8 s radar")
HELD = 0.9  # of a set of causes
STEPS = (0.0, 0.01, 0.03, 0.1, 0.3, 0.6, 0.85, 1.001)
AS_OFTEN = """## As often as stated

Every probability that was given to a cause on the upsets, and how often it fitted. What was done
fits one to three causes, so that small probabilities come true more often than stated."""
HEAD = """# The shipped odds on flights of other simulators

Made by benchmarks/other_networks.py on windows of benchmarks/asked_windows.py: flights of
simulators that share nothing with this project's, other pilots, other sensors, through the
smoother, the onset stated (left to the program where nothing failed), no case stated, every
mechanism equally likely beforehand. Upsets of another simulator: no learning has seen one. A rigid
airplane of a third: its flights of listed causes were learned from (other seeds; decisions/0024),
those of no list were not. Mean log score (nats) with its standard error of the causes that fit what
was done to the flight.

"""
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
class Told:
    """What odds make of flights, n of them.

    Attributes:
        chance: Probability of the causes that fit, shape (n,).
        leads: Whether one of them leads, shape (n,).
        held: Whether a set of 90 % holds one, shape (n,).
        stated: Probability of every cause that can act, one array a flight.
        happened: Whether it fits, likewise.
    """

    chance: np.ndarray
    leads: np.ndarray
    held: np.ndarray
    stated: list[np.ndarray]
    happened: list[np.ndarray]

    def rows(self, some: np.ndarray) -> Told:
        """Some of the flights."""
        where = np.flatnonzero(some)
        stated, happened = ([each[i] for i in where] for each in (self.stated, self.happened))
        return Told(self.chance[some], self.leads[some], self.held[some], stated, happened)


def given(networks: Shipped, windows: dict[str, np.ndarray]) -> Told:
    """What networks make of each flight."""
    rated = evidence(networks, windows)
    found, stated, happened = [], [], []
    for flight in range(int(windows["flight"].max()) + 1):
        rows = np.flatnonzero(windows["flight"] == flight)
        able = windows["allowed"][rows[0]]
        names = tuple(np.array(networks.causes)[able])
        each = rated[:, rows][:, :, able]
        runs = logsumexp(each, axis=1, b=windows["part"][rows][None, :, None])
        odds = reweigh(names, grouped_prior(names, None), runs)
        fits = windows["fits"][rows[0]][able]
        order = np.argsort(-odds.probability)
        before = np.cumsum(odds.probability[order]) - odds.probability[order]
        inside = fits[order][before < HELD].any()
        found.append((odds.probability[fits].sum(), fits[order[0]], inside))
        stated.append(odds.probability)
        happened.append(fits)
    return Told(*(np.array(x) for x in zip(*found, strict=True)), stated, happened)


def as_often(told: Told) -> list[str]:
    """A table of how often causes fit that are given a probability."""
    stated, happened = np.concatenate(told.stated), np.concatenate(told.happened)
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
    below = sum(each[each < 0.01].sum() for each in told.stated) / len(told.stated)
    lines += ["", f"By these odds the true cause would have less than 1% in {below:.1%}."]
    return lines


def alone(label: str, told: Told) -> str:
    """One row of the table of the shipped networks."""
    score = np.log(np.maximum(told.chance, 1e-9))
    error = score.std() / np.sqrt(score.size)
    return (
        f"| {label} | {score.size} | {score.mean():.2f} ± {error:.2f} | {told.leads.mean():.0%} | "
        f"{(told.chance < 0.01).mean():.1%} | {told.held.mean():.0%} |"
    )


def row(label: str, both: list[Told]) -> str:
    """One row of the table: both sets of networks, and the gain with its standard error."""
    if len(both) == 1:
        return alone(label, both[0])
    chances = [told.chance for told in both]
    score = np.log(np.maximum(chances, 1e-9))
    gain = score[1] - score[0]
    cells = [
        f"{s.mean():.2f} | {(c < 0.01).mean():.1%}" for s, c in zip(score, chances, strict=True)
    ]
    error = gain.std() / np.sqrt(gain.size)
    return f"| {label} | {gain.size} | {' | '.join(cells)} | {gain.mean():+.2f} ± {error:.2f} |"


def report(windows: dict[str, np.ndarray], both: list[Told]) -> str:
    """The page."""
    first = np.unique(windows["flight"], return_index=True)[1]
    kind, strata = windows["kind"][first], windows["strata"][first]
    world = np.array([name.split(":")[0] for name in kind])
    lines = [
        "| flights | how many | log score | leads | below 1% | 90% sets hold |",
        "|---|---|---|---|---|---|",
    ]
    if len(both) > 1:
        lines = [
            "| flights | how many | shipped | below 1% | others | below 1% | gain |",
            "|---|---|---|---|---|---|---|",
        ]
    learned_from = np.char.startswith(kind, LEARNED[0]) & ~np.char.endswith(kind, LEARNED[1])
    for name in dict.fromkeys(world[~learned_from]):
        mine = (world == name) & ~learned_from
        lines.append(row(name, [told.rows(mine) for told in both]))
        for label in STRATA:
            some = mine & np.array([label in each.split("|") for each in strata])
            if some.any():
                lines.append(row(f"{name}, {label}", [told.rows(some) for told in both]))
    for name in sorted(set(kind[~learned_from])):
        lines.append(row(name, [told.rows(kind == name) for told in both]))
    lines += ["", "Of the world that was learned from:", "", *lines[:2]]
    for name in sorted(set(kind[learned_from])):
        lines.append(row(name, [told.rows(kind == name) for told in both]))
    if len(both) == 1:
        upsets = both[0].rows(np.char.startswith(kind, "upsets"))
        lines += ["", AS_OFTEN, "", *as_often(upsets)]
    return "\n".join([*lines, ""])


def elsewhere(windows: dict[str, np.ndarray], told: Told) -> dict:
    """Scores on upsets by radar and by a fix a second, as a report has them."""
    first = np.unique(windows["flight"], return_index=True)[1]
    upsets = np.char.startswith(windows["kind"][first], "upsets")
    radar = np.array(["4.8 s radar" in each.split("|") for each in windows["strata"][first]])
    found: dict = {"networks": DIGEST}
    for name, some in (("a fix a second", upsets & ~radar), ("radar", upsets & radar)):
        mine = told.rows(some)
        found[name] = {
            "cases": int(some.sum()),
            "mean_log_score": round(float(np.log(np.maximum(mine.chance, 1e-9)).mean()), 4),
            "covered": round(float(mine.held.mean()), 4),
            "lost": round(float((mine.chance < 0.01).mean()), 4),
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
        options.out.write_text(HEAD + page)
    if options.scores:
        scores = elsewhere(windows, both[0])
        options.scores.write_text(json.dumps(scores, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
