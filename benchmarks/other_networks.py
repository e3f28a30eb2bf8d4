"""Judge networks on kept windows of flights, beside the shipped ones.

    PYTHONPATH=src:benchmarks:training python benchmarks/other_networks.py FOLDER NETWORKS...
        [--out FILE]

FOLDER is of `asked_windows.py`, NETWORKS are files of `training/learn.py` whose networks are taken
together; with none the shipped ones are judged alone. Odds are those of a case that states no
prior. Mean log score (nats) of the causes that fit, and how often these have less than 1 %.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np
from blind import AT_ONCE, Rater
from scipy.special import logsumexp

from neutralpoint.study.weighing.networks import load_shipped
from neutralpoint.weighing.amortised import Shipped
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.weigh import reweigh

STRATA = ("autopilot on", "flown by hand", "4.8 s radar")


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


def given(networks: Shipped, windows: dict[str, np.ndarray]) -> np.ndarray:
    """Probability of the causes that fit, of each flight."""
    rated = evidence(networks, windows)
    found = []
    for flight in range(int(windows["flight"].max()) + 1):
        rows = np.flatnonzero(windows["flight"] == flight)
        able = windows["allowed"][rows[0]]
        names = tuple(np.array(networks.causes)[able])
        each = rated[:, rows][:, :, able]
        runs = logsumexp(each, axis=1, b=windows["part"][rows][None, :, None])
        odds = reweigh(names, grouped_prior(names, None), runs)
        found.append(odds.probability[windows["fits"][rows[0]][able]].sum())
    return np.array(found)


def row(label: str, chances: list[np.ndarray]) -> str:
    """One row of the table: both sets of networks, and the gain with its standard error."""
    score = np.log(np.maximum(chances, 1e-9))
    gain = score[1] - score[0]
    cells = [
        f"{s.mean():.2f} | {(c < 0.01).mean():.1%}" for s, c in zip(score, chances, strict=True)
    ]
    error = gain.std() / np.sqrt(gain.size)
    return f"| {label} | {gain.size} | {' | '.join(cells)} | {gain.mean():+.2f} ± {error:.2f} |"


def report(windows: dict[str, np.ndarray], chances: list[np.ndarray]) -> str:
    """The page."""
    first = np.unique(windows["flight"], return_index=True)[1]
    kind, strata = windows["kind"][first], windows["strata"][first]
    world = np.array([name.split(":")[0] for name in kind])
    lines = [
        "| flights | how many | shipped | below 1% | others | below 1% | gain |",
        "|---|---|---|---|---|---|---|",
    ]
    for name in dict.fromkeys(world):
        lines.append(row(name, [c[world == name] for c in chances]))
        for label in STRATA:
            some = (world == name) & np.array([label in each.split("|") for each in strata])
            lines += [row(f"{name}, {label}", [c[some] for c in chances])] if some.any() else []
    for name in sorted(set(kind)):
        lines.append(row(name, [c[kind == name] for c in chances]))
    return "\n".join([*lines, ""])


def main() -> None:
    """Ask, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("networks", type=Path, nargs="*")
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    windows = windows_of(options.folder)
    chances = [given(load_shipped(), windows), given(learned(options.networks), windows)]
    page = report(windows, chances)
    print(page)
    if options.out:
        options.out.write_text(page)


if __name__ == "__main__":
    main()
