"""Null tables of the check of each cause: how low the networks rate a cause on its own flights.

    python training/nulls.py OUT... --nulls FILE --report FILE

Each OUT is a folder of `learn.py`. Of the blind flights of another model every second one makes the
table, the others judge it; neither the flights nor, but for those of the catalogue, the airplanes
were learnt from.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from pathlib import Path

import numpy as np
from off_list import FIRST, KINDS_OFF
from places import CAUSE_NAMES, SPLITS
from scipy.special import log_softmax
from scipy.stats import beta
from ship import DATA, FAR, LENGTHS, _joined

from neutralpoint.study.weighing.networks import DIGEST, load_shipped
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.check import EXCLUDED, Nulls, p_values_of

LISTED = len(CAUSE_NAMES) - 1
LEVELS = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
PULLED = 20.0  # flights that the tail of all causes counts for in that of one; analyst's
OWN_AIRPLANES = ("held out", "catalogue")
HEAD = """# The check of each cause by the track

Made by training/nulls.py from the blind flights of `training/learn.py`: another model of the
airplane (derivatives at least 20 % off), other pilots, rougher air, errors of the data from a
perfect track to a radar in rough air; faults that left no trace are left out. {table} flights made
the null table; the flights below did not. *True cause cannot* and *wrong causes cannot* are by the
track alone (p below {limit}); intervals hold 90 % (Clopper and Pearson). A calibrated p-value is
below 0.05 on 5 % of flights. Rows that name no airplane are of airplanes never learnt from and of
those of the catalogue; a case whose airplane lies outside is not judged by this table.
"""


def shares(told: np.ndarray, temperature: float) -> np.ndarray:
    """Logarithm of the mean share of each cause over the networks, shape (n, causes)."""
    can = told[0] > FAR
    found = np.empty(told.shape[1:])
    for rows in np.array_split(np.arange(told.shape[1]), 20):
        scaled = np.where(can[rows], told[:, rows].astype(float) / temperature, -1e6)
        mean = np.exp(log_softmax(scaled, axis=-1)).mean(axis=0)
        found[rows] = np.log(np.maximum(mean, 1e-300))
    return found


def table_of(share: np.ndarray, cause: np.ndarray, stratum: np.ndarray) -> Nulls:
    """Quantiles by cause, with a tail that falls as a power of the share.

    Args:
        share: Of the true cause, logarithm, shape (n,).
        cause: Its number, shape (n,).
        stratum: Of the data, shape (n,).

    Returns:
        The table.
    """
    rows = np.array([np.quantile(share[cause == c], LEVELS) for c in range(LISTED)])
    shift = np.array(
        [
            [np.quantile((share - rows[cause, i])[stratum == s], x) for i, x in enumerate(LEVELS)]
            for s in range(len(DATA))
        ]
    )
    below = rows[cause, 0] + shift[stratum, 0] - share
    tail = below > 0.0
    common = below[tail].mean()
    steep = [(tail & (cause == c)).sum() + PULLED for c in range(LISTED)] / np.array(
        [below[tail & (cause == c)].sum() + PULLED * common for c in range(LISTED)]
    )
    return Nulls(tuple(str(c) for c in CAUSE_NAMES[:-1]), np.array(LEVELS), rows, steep, shift)


def interval(hits: int, of: int) -> str:
    """Share in per cent with its 90 % interval (Clopper and Pearson, 1934)."""
    low = beta.ppf(0.05, hits, of - hits + 1) if hits else 0.0
    high = beta.ppf(0.95, hits + 1, of - hits) if hits < of else 1.0
    return f"{hits / max(of, 1):.2%} ({hits} of {of}; {low:.2%} to {high:.2%})"


def judged(share: np.ndarray, blind: dict, nulls: Nulls, rest: np.ndarray) -> list[str]:
    """Lines of the report, from flights that the table was not made of."""
    cause, stratum = blind["cause"], blind["stratum"]
    can, split = blind["can"], blind["split"]
    p = p_values_of(nulls, share[:, :LISTED], stratum)
    own = p[np.arange(len(p)), np.clip(cause, 0, LISTED - 1)]
    wrong = can[:, :LISTED].copy()
    listed = (cause >= 0) & (cause < FIRST)
    wrong[np.flatnonzero(listed), cause[listed]] = False
    usual = rest & np.isin(split, [SPLITS.index(name) for name in OWN_AIRPLANES])
    groups = {"all": usual}
    groups |= {f"data {n}": usual & (stratum == i) for i, n in enumerate(DATA)}
    groups |= {
        f"window {n}": usual & (blind["length"] >= a) & (blind["length"] < b)
        for n, (a, b) in LENGTHS.items()
    }
    groups["a stretch hardly seen"] = usual & blind["gap"]
    groups |= {f"airplane {n}": rest & (split == i) for i, n in enumerate(SPLITS) if i}
    groups |= {CauseName(n).title: usual & (cause == i) for i, n in enumerate(CAUSE_NAMES[:-1])}
    lines = [
        "| blind flights | true cause *cannot* | p < 0.01 | p < 0.05 | p < 0.1 | p < 0.5 | "
        "wrong causes *cannot* |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, rows in groups.items():
        if rows.any():
            cells = [f"{(own[rows] < level).mean():.1%}" for level in (0.01, 0.05, 0.1, 0.5)]
            out = (p[rows] < EXCLUDED)[wrong[rows]]
            hits = int((own[rows] < EXCLUDED).sum())
            lines.append(
                f"| {name} | {interval(hits, int(rows.sum()))} | {' | '.join(cells)} | "
                f"{out.mean():.0%} of {out.size} |"
            )
    best = np.where(can[:, :LISTED], p, 0.0).max(axis=1)
    lines += ["", "| flights | no listed cause with p of 0.01 | of 0.05 |", "|---|---|---|"]
    off = {name: cause == FIRST + i for i, name in enumerate(KINDS_OFF)}
    off = {"listed causes": usual & (cause > 0), "ordinary flights": usual & (cause == 0)} | off
    for name, rows in off.items():
        cells = [interval(int((best[rows] < a).sum()), int(rows.sum())) for a in (0.01, 0.05)]
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return lines


def main() -> None:
    """Make the table, judge it, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path, nargs="+")
    parser.add_argument("--nulls", type=Path, required=True)
    parser.add_argument("--report", type=Path, required=True)
    options = parser.parse_args()
    held = _joined(options.out, "blind.npz")
    told = np.concatenate([np.load(folder / "blind.npz")["told"] for folder in options.out])
    held["told"] = told[: len(load_shipped().weights)]
    blind = {name: held[name] for name in ("cause", "length", "factor", "gap")}
    blind["split"] = held["split"][held["start"]]
    blind["stratum"] = np.digitize(held["factor"], [high for _, high in DATA.values()][:-1])
    blind["can"] = held["told"][0] > FAR
    share = shares(held["told"], load_shipped().temperature)
    cause = blind["cause"]
    even = np.arange(len(cause)) % 2 == 0
    usual = (cause >= 0) & (cause < FIRST)
    usual &= np.isin(blind["split"], [SPLITS.index(name) for name in OWN_AIRPLANES])
    own = share[np.arange(len(cause)), np.clip(cause, 0, LISTED)]
    rows = usual & even
    nulls = table_of(own[rows], cause[rows], blind["stratum"][rows])
    document = {
        "networks": DIGEST,
        "causes": list(nulls.causes),
        "levels": nulls.levels.tolist(),
        "quantiles": nulls.quantiles.round(4).tolist(),
        "steep": nulls.steep.round(4).tolist(),
        "shift": nulls.shift.round(4).tolist(),
        "flights": int(rows.sum()),
    }
    text = json.dumps(document, indent=1) + "\n"
    options.nulls.write_text(text, "utf-8")
    lines = judged(share, blind, nulls, (cause >= 0) & (cause < FIRST) & ~even)
    head = HEAD.format(table=int(rows.sum()), limit=EXCLUDED)
    options.report.write_text("\n".join([head, *lines]) + "\n", "utf-8")
    print(hashlib.sha256(text.encode()).hexdigest())


if __name__ == "__main__":
    main()
