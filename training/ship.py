"""Make the file that ships, and the scores that are printed beside the odds.

    python training/ship.py OUT... --networks FILE
    python training/ship.py OUT... --networks FILE --fresh FILE --scores FILE --report FILE

Each OUT is a folder of `learn.py`; their networks ship together. The second call needs flights that
`blind.py` has rated by the file of the first: these give the scores. Airplanes outside the family,
flights off the list and parameters are judged on what each OUT has left, by its own networks.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from pathlib import Path

import numpy as np
from blind import FAMILY
from off_list import FIRST, KINDS_OFF
from places import CAUSE_NAMES, KINDS, SPLITS
from scipy.special import log_softmax

from neutralpoint.report.words.score import STRATA as WORDS
from neutralpoint.study.weighing.score import STRATA, kind_of_data
from neutralpoint.weighing.amortised import spread_of
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.scores import brier_score, credible_set_cover, log_score, reliability
from neutralpoint.weighing.simulate import FLOWN
from neutralpoint.weighing.weigh import lapsed

LENGTHS = {"10 to 25 s": (0.0, 25.0), "25 to 60 s": (25.0, 60.0), "60 to 120 s": (60.0, 999.0)}
HELD = (0.95, 0.995)  # of the starts that were kept out lie inside, and inside or at the edge
# What the networks say is divided by, with a fix a second: they are surer of flights of others than
# they may be. Settled with `RARER` on upsets of another simulator, flights of no list of a third
# and own ones, through sensors and smoother (decisions/0024); other flights than are scored.
TEMPERATURE = 1.3
RARER = 1.4  # by how much more they are too sure by a radar of 4.8 s
FAR = -25.0  # below it a cause could not act


def _joined(folders: list[Path], name: str) -> dict[str, np.ndarray]:
    """Arrays of all folders: networks one after the other, the rest from the first."""
    held = [dict(np.load(folder / name, allow_pickle=False)) for folder in folders]
    many = [key for key in held[0] if key.startswith("weights.")]
    return held[0] | {key: np.concatenate([each[key] for each in held]) for key in many}


def left_by(folders: list[Path]) -> dict[str, np.ndarray]:
    """Blind flights of all folders, one after the other, each rated by its networks as shipped."""
    held = [dict(np.load(folder / "blind.npz", allow_pickle=False)) for folder in folders]
    world = ("split", "kind")
    found = {
        name: held[0][name]
        if name in world
        else np.concatenate([each[name] for each in held], axis=int(name == "told"))
        for name in held[0]
    }
    raw = found["told"].astype(np.float32)
    context = np.zeros((raw.shape[1], 2), np.float32)
    context[:, 1] = found["window"]
    cooled = raw / spread_of(TEMPERATURE, RARER, context)[:, None].astype(np.float32)
    return found | {"told": np.where(raw > FAR, cooled, raw)}


def edges_of(networks: dict[str, np.ndarray]) -> tuple[float, float]:
    """Distances from what was learned that hold shares of the starts that were kept out."""
    near, held = (networks[n].astype(np.float32) for n in ("near", "held"))
    held = held[np.random.default_rng(0).permutation(len(held))[:2000]]
    far = [np.sqrt(((near - row) ** 2).mean(axis=1)).min() for row in held]
    return tuple(float(x) for x in np.quantile(far, HELD))  # type: ignore[return-value]


def probabilities(told: np.ndarray) -> np.ndarray:
    """Odds with equal weights as the study gives them, lapse and all, shape (n, causes)."""
    found = np.zeros(told.shape[1:])
    runs = log_softmax(told.astype(float), axis=-1)
    can = told[0] > FAR
    for pattern in np.unique(can, axis=0):
        rows = np.flatnonzero((can == pattern).all(axis=1))
        names = tuple(n for n, there in zip(CAUSE_NAMES, pattern, strict=True) if there)
        for row in rows:
            mixed = np.exp(lapsed(names, runs[:, row][:, pattern])).mean(axis=0)
            found[row, pattern] = mixed / mixed.sum()
    return found


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
    kinds = np.array([kind_of_data(float(error)) for error in blind["factor"][rows]])
    found = {name: kinds == number for number, (name, _) in enumerate(STRATA)}
    for name, (low, high) in LENGTHS.items():
        found[f"window {name}"] = (blind["length"][rows] >= low) & (blind["length"][rows] < high)
    found["a stretch hardly seen"] = blind["gap"][rows]
    kind = blind["kind"][blind["start"][rows]]
    for number, each in enumerate(KINDS):
        column = "" if each.reversible else ", no aerodynamic column force"
        found[f"{each.engines} {each.engine}, {each.trim}{column}"] = kind == number
    return found


def fresh_flights(file: Path) -> dict[str, np.ndarray]:
    """Flights of `blind.py` as those that the learning has left; their airplanes are new to all."""
    held = dict(np.load(file, allow_pickle=False))
    can = held["allowed"][np.arange(len(held["cause"])), held["cause"]]
    told = np.where(held["allowed"], held["evidence"], 2.0 * FAR)[:, can]
    kind = held["start"][can] // (10 * FAMILY)
    new = np.full(len(kind), SPLITS.index("held out"))
    return {name: held[name][can] for name in ("cause", "length", "factor", "gap")} | {
        "told": told,
        "start": np.arange(len(kind)),
        "split": new,
        "kind": kind,
    }


def judged(fresh: dict[str, np.ndarray], left: dict[str, np.ndarray]) -> dict:
    """Everything that is printed: all cases inside, strata, causes, what is off the list."""
    true, given = fresh["cause"], probabilities(fresh["told"])
    found = scores(given, true)
    diagram = reliability(given, true)
    found["reliability"] = {
        "edges": [float(x) for x in diagram.edges],
        "stated": [float(x) if np.isfinite(x) else None for x in diagram.stated],
        "happened": [float(x) if np.isfinite(x) else None for x in diagram.happened],
        "count": [int(x) for x in diagram.count],
    }
    found["strata"] = {
        name: scores(given[rows], true[rows])
        for name, rows in _strata(fresh, np.arange(true.size)).items()
        if rows.any()
    } | _outside(left)
    found["by_cause"] = {
        str(name): scores(given[rows], true[rows])
        for number, name in enumerate(CAUSE_NAMES)
        for rows in [np.flatnonzero(true == number)]
        if rows.size
    }
    return found | _off_list(left) | _failures(given, true) | _ranks(left)


def _outside(left: dict[str, np.ndarray]) -> dict:
    """Scores on airplanes outside the family."""
    listed = (left["cause"] >= 0) & (left["cause"] < len(CAUSE_NAMES) - 1)
    outside = left["split"][left["start"]] == SPLITS.index("outside")
    rows = np.flatnonzero(listed & outside)
    return {"airplane outside": scores(probabilities(left["told"][:, rows]), left["cause"][rows])}


def _off_list(left: dict[str, np.ndarray]) -> dict:
    """What is made of flights of causes that are not listed."""
    found = {}
    for number, name in enumerate(KINDS_OFF):
        rows = np.flatnonzero(left["cause"] == FIRST + number)
        if rows.size:
            given = probabilities(left["told"][:, rows])
            found[name] = {
                "cases": int(rows.size),
                "unlisted": float(given[:, -1].mean()),
                "unlisted_leads": float((given.argmax(axis=1) == given.shape[1] - 1).mean()),
                "taken_for": str(CAUSE_NAMES[int(given[:, :-1].mean(axis=0).argmax())]),
            }
    return {"off_list": found}


def _failures(given: np.ndarray, true: np.ndarray) -> dict:
    """Faults found at even odds, and ordinary flights left alone."""
    nothing = [str(name) for name in CAUSE_NAMES].index(NOTHING)
    clear = given[:, nothing]
    count = np.maximum((given > 0.0).sum(axis=1) - 1, 1)
    rest = (given.sum(axis=1) - clear) / count
    failed = rest / (rest + clear)
    null = true == nothing
    return {
        "nothing_failed_leads_at_even_odds": float((failed[null] < 0.5).mean()),
        "faults_found_at_even_odds": float((failed[~null] > 0.5).mean()),
    }


def _ranks(left: dict[str, np.ndarray]) -> dict:
    """Cover of the bands of parameters."""
    nothing = [str(name) for name in CAUSE_NAMES].index(NOTHING)
    fault = (left["cause"] >= 0) & (left["cause"] < len(CAUSE_NAMES) - 1)
    fault &= left["cause"] != nothing
    rows = np.flatnonzero(fault & (left["split"][left["start"]] == SPLITS.index("held out")))
    ranks = left["rank"].astype(float)[rows]
    used = np.array([len(c.parameters) for c in FLOWN])[left["cause"][rows]]
    there = np.arange(ranks.shape[1]) < used[:, None]
    held = (ranks > 0.05) & (ranks < 0.95)
    return {
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
    lines += [row(WORDS.get(name, name), s) for name, s in found["strata"].items()]
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
    parser.add_argument("--fresh", type=Path)
    parser.add_argument("--scores", type=Path)
    parser.add_argument("--report", type=Path)
    options = parser.parse_args()
    networks, found = _joined(options.out, "networks.npz"), {"mean_log_score": 0.0}
    if options.fresh:
        found = judged(fresh_flights(options.fresh), left_by(options.out))
        found |= {"temperature": TEMPERATURE, "rarer": RARER}
        options.scores.write_text(json.dumps(found, indent=1, allow_nan=False) + "\n", "utf-8")
        options.report.write_text(table(found), "utf-8")
        print(table(found))
    networks = {name: x for name, x in networks.items() if name not in ("held", "far")} | {
        "edges": np.array(edges_of(networks)),
        "temperature": np.array(TEMPERATURE),
        "rarer": np.array(RARER),
        "held_out": np.array(found["mean_log_score"]),
    }
    np.savez(options.networks, **networks)
    print(hashlib.sha256(options.networks.read_bytes()).hexdigest())


if __name__ == "__main__":
    main()
