"""Make the file that ships, and the scores that are printed beside the odds.

    python training/ship.py OUT... [--networks FILE] [--scores FILE] [--report FILE]

Each OUT is a folder of `learn.py`; their networks ship together. Each folder's networks are judged on
the blind flights that it has left, which no other folder has seen: the scores are those of as many
networks as one folder has, and all of them together are no worse.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from pathlib import Path

import numpy as np
from off_list import FIRST, KINDS_OFF
from places import CAUSE_NAMES, KINDS, SPLITS
from scipy.optimize import minimize_scalar
from scipy.special import log_softmax

from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.scores import brier_score, credible_set_cover, log_score, reliability
from neutralpoint.weighing.simulate import FLOWN
from neutralpoint.weighing.weigh import lapsed

# Data by the error over that of a track with a fix a second; analyst's names and limits.
DATA = {"fine": (0.0, 0.7), "middling": (0.7, 2.0), "coarse": (2.0, np.inf)}
LENGTHS = {"10 to 25 s": (0.0, 25.0), "25 to 60 s": (25.0, 60.0), "60 to 120 s": (60.0, 999.0)}
HELD = (0.95, 0.995)  # of the starts that were kept out lie inside, and inside or at the edge
# Least temperature: networks that learnt on flights wider than the blind ones could be sharpened on
# these, but no flight that is asked about is one of them.
ANOTHER_WORLD = 1.0
FAR = -25.0  # below it a cause could not act


def _joined(folders: list[Path], name: str) -> dict[str, np.ndarray]:
    """Arrays of all folders: networks one after the other, the rest from the first."""
    held = [dict(np.load(folder / name, allow_pickle=False)) for folder in folders]
    many = [key for key in held[0] if key.startswith("weights.")]
    return held[0] | {key: np.concatenate([each[key] for each in held]) for key in many}


def left_by(folders: list[Path]) -> dict[str, np.ndarray]:
    """Blind flights of all folders, one after the other, each rated by its own networks."""
    held = [dict(np.load(folder / "blind.npz", allow_pickle=False)) for folder in folders]
    world = ("split", "kind")
    return {
        name: held[0][name]
        if name in world
        else np.concatenate([each[name] for each in held], axis=int(name == "told"))
        for name in held[0]
    }


def edges_of(networks: dict[str, np.ndarray]) -> tuple[float, float]:
    """Distances from what was learnt that hold shares of the starts that were kept out."""
    near, held = (networks[n].astype(np.float32) for n in ("near", "held"))
    held = held[np.random.default_rng(0).permutation(len(held))[:2000]]
    far = [np.sqrt(((near - row) ** 2).mean(axis=1)).min() for row in held]
    return tuple(float(x) for x in np.quantile(far, HELD))  # type: ignore[return-value]


def probabilities(told: np.ndarray, temperature: float) -> np.ndarray:
    """Odds with equal weights as the study gives them, lapse and all, shape (n, causes)."""
    found = np.zeros(told.shape[1:])
    runs = log_softmax(told.astype(float) / temperature, axis=-1)
    can = told[0] > FAR
    for pattern in np.unique(can, axis=0):
        rows = np.flatnonzero((can == pattern).all(axis=1))
        names = tuple(n for n, there in zip(CAUSE_NAMES, pattern, strict=True) if there)
        for row in rows:
            mixed = np.exp(lapsed(names, runs[:, row][:, pattern])).mean(axis=0)
            found[row, pattern] = mixed / mixed.sum()
    return found


def best_temperature(told: np.ndarray, cause: np.ndarray) -> float:
    """Temperature of the best score of the networks together, and not below `ANOTHER_WORLD`."""

    def loss(logarithm: float) -> float:
        each = np.exp(log_softmax(told.astype(float) / np.exp(logarithm), axis=-1)).mean(axis=0)
        return -float(np.log(each[np.arange(len(cause)), cause] + 1e-6).mean())

    found = minimize_scalar(loss, bounds=np.log((ANOTHER_WORLD, 3.0)), method="bounded")
    return float(np.exp(found.x))


def scores(given: np.ndarray, true: np.ndarray) -> dict:
    """Scores of some blind cases."""
    score, chance = log_score(given, true), given[np.arange(true.size), true]
    return {
        "cases": int(true.size),
        "mean_log_score": float(score.mean()),
        "log_score_error": float(score.std() / np.sqrt(true.size)),
        "prior_log_score": float(-np.log((given > 0.0).sum(axis=1)).mean()),
        "brier": float(brier_score(given, true).mean()),
        "true_cause_below_1_percent": float((chance < 0.01).mean()),
        "cover_of_90_percent_sets": float(credible_set_cover(given, true).mean()),
        "true_cause_leads": float((given.argmax(axis=1) == true).mean()),
    }


def _strata(blind: dict[str, np.ndarray], rows: np.ndarray) -> dict[str, np.ndarray]:
    """Which of some rows lie in each stratum."""
    found = {}
    for name, (low, high) in DATA.items():
        found[f"data {name}"] = (blind["factor"][rows] >= low) & (blind["factor"][rows] < high)
    for name, (low, high) in LENGTHS.items():
        found[f"window {name}"] = (blind["length"][rows] >= low) & (blind["length"][rows] < high)
    found["a stretch hardly seen"] = blind["gap"][rows]
    split, kind = (blind[n][blind["start"][rows]] for n in ("split", "kind"))
    for number in (1, 2, 3):
        found[f"airplane {SPLITS[number]}"] = split == number
    for number, each in enumerate(KINDS):
        column = "" if each.reversible else ", no aerodynamic column force"
        found[f"{each.engines} {each.engine}, {each.trim}{column}"] = kind == number
    return found


def judged(blind: dict[str, np.ndarray], temperature: float) -> dict:
    """Everything that is printed: all cases inside, strata, causes, what is off the list."""
    true = np.where(blind["cause"] < 0, len(CAUSE_NAMES) - 1, blind["cause"])
    given = probabilities(blind["told"], temperature)
    split = blind["split"][blind["start"]]
    listed = true < FIRST
    inside = listed & (split == SPLITS.index("held out")) & (true != len(CAUSE_NAMES) - 1)
    found = scores(given[inside], true[inside])
    diagram = reliability(given[inside], true[inside])
    found["reliability"] = {
        "edges": [float(x) for x in diagram.edges],
        "stated": [float(x) if np.isfinite(x) else None for x in diagram.stated],
        "happened": [float(x) if np.isfinite(x) else None for x in diagram.happened],
        "count": [int(x) for x in diagram.count],
    }
    every = np.flatnonzero(listed & (true != len(CAUSE_NAMES) - 1))
    own = split[every] == SPLITS.index("held out")
    found["strata"] = {
        name: scores(given[every][rows], true[every][rows])
        for name, rows in _strata(blind, every).items()
        for rows in [rows & (own | name.startswith("airplane"))]
        if rows.any()
    }
    found["by_cause"] = {
        str(name): scores(given[rows], true[rows])
        for number, name in enumerate(CAUSE_NAMES)
        for rows in [np.flatnonzero(inside & (true == number))]
        if rows.size
    }
    found["off_list"] = {
        name: {
            "cases": int(rows.size),
            "unlisted": float(given[rows, -1].mean()),
            "unlisted_leads": float((given[rows].argmax(axis=1) == given.shape[1] - 1).mean()),
            "taken_for": str(CAUSE_NAMES[int(given[rows, :-1].mean(axis=0).argmax())]),
        }
        for number, name in enumerate(KINDS_OFF)
        for rows in [np.flatnonzero(true == FIRST + number)]
        if rows.size
    }
    return found | _null_and_ranks(blind, given, true, inside)


def _null_and_ranks(blind, given, true, inside) -> dict:
    """Faults found at even odds, ordinary flights left alone, and cover of parameter bands."""
    nothing = [str(name) for name in CAUSE_NAMES].index(NOTHING)

    def of_failure(weight: float) -> np.ndarray:
        """Probability that something failed, with a prior weight of failure."""
        clear = given[:, nothing] * (1.0 - weight)
        rest = (given.sum(axis=1) - given[:, nothing]) * weight
        count = np.maximum((given > 0.0).sum(axis=1) - 1, 1)
        return rest / count / (rest / count + clear)

    null = inside & (true == nothing)
    faults = inside & (true != nothing)
    ranks = blind["rank"].astype(float)[faults]
    used = np.array([len(c.parameters) for c in FLOWN])[true[faults]]
    there = np.arange(ranks.shape[1]) < used[:, None]
    held = (ranks > 0.05) & (ranks < 0.95)
    return {
        "nothing_failed_leads_at_even_odds": float((of_failure(0.5)[null] < 0.5).mean()),
        "faults_found_at_even_odds": float((of_failure(0.5)[faults] > 0.5).mean()),
        "parameter_bands_of_90_percent_hold": float(held[there].mean()),
        "parameters": int(there.sum()),
        "parameter_ranks": [int(x) for x in np.histogram(ranks[there], np.linspace(0, 1, 11))[0]],
    }


def table(found: dict) -> str:
    """The scores as a page."""
    head = (
        "| {} | cases | log score | leads | below 1% | 90% sets hold |\n|---|---|---|---|---|---|"
    )

    def row(name: str, s: dict) -> str:
        return (
            f"| {name} | {s['cases']} | {s['mean_log_score']:.2f} | {s['true_cause_leads']:.0%} | "
            f"{s['true_cause_below_1_percent']:.1%} | {s['cover_of_90_percent_sets']:.0%} |"
        )

    lines = [head.format("stratum"), row("airplanes never learned from", found)]
    lines += [row(name, s) for name, s in found["strata"].items()]
    lines += ["", head.format("cause")] + [row(name, s) for name, s in found["by_cause"].items()]
    lines += ["", "| off the list | cases | unlisted, mean | unlisted leads | taken for |",
              "|---|---|---|---|---|"]  # fmt: skip
    lines += [
        f"| {name} | {s['cases']} | {s['unlisted']:.2f} | {s['unlisted_leads']:.0%} | "
        f"{s['taken_for']} |"
        for name, s in found["off_list"].items()
    ]
    lines += [
        "",
        f"Ordinary flights on which no-failure leads at even odds that anything did: "
        f"{found['nothing_failed_leads_at_even_odds']:.1%}. Faults found more likely than not at "
        f"even odds: {found['faults_found_at_even_odds']:.1%}. Bands of 90% of parameters hold "
        f"{found['parameter_bands_of_90_percent_hold']:.1%} of {found['parameters']}; ranks by "
        f"tenths: {found['parameter_ranks']}.",
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Join, judge, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path, nargs="+")
    parser.add_argument("--networks", type=Path, required=True)
    parser.add_argument("--scores", type=Path, required=True)
    parser.add_argument("--report", type=Path, required=True)
    options = parser.parse_args()
    networks = _joined(options.out, "networks.npz")
    blind = left_by(options.out)
    split = blind["split"][blind["start"]]
    # The temperature is fitted on every second case and judged on the others.
    fitted = (np.arange(split.size) % 2 == 0) & (blind["cause"] < len(CAUSE_NAMES))
    cause = np.where(blind["cause"] < 0, len(CAUSE_NAMES) - 1, blind["cause"])
    own = np.flatnonzero(fitted & (split == SPLITS.index("held out")))[:8000]
    temperature = best_temperature(blind["told"][:, own], cause[own])
    rest = np.flatnonzero(np.arange(split.size) % 2 == 1)
    kept = {
        name: values[:, rest] if name == "told" else values[rest]
        for name, values in blind.items()
        if name not in ("split", "kind")
    }
    found = judged(kept | {"split": blind["split"], "kind": blind["kind"]}, temperature)
    found["temperature"] = temperature
    networks = {name: x for name, x in networks.items() if name not in ("held", "far")} | {
        "edges": np.array(edges_of(networks)),
        "temperature": np.array(temperature),
        "held_out": np.array(found["mean_log_score"]),
    }
    np.savez(options.networks, **networks)
    options.scores.write_text(json.dumps(found, indent=1, allow_nan=False) + "\n", "utf-8")
    options.report.write_text(table(found), "utf-8")
    print(table(found))
    print(hashlib.sha256(options.networks.read_bytes()).hexdigest())


if __name__ == "__main__":
    main()
