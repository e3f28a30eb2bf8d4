"""Null tables of the check of each cause: how low the networks rate a cause on its own flights.

    python training/nulls.py FRESH... --training DIR --nulls FILE --report FILE

FRESH are files of `blind.py`. Every second blind flight that the training has left makes a first
table, which is moved to where the fresh flights lie; the others, and fresh flights of a world that
a table has not seen, judge it.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
from blind import FAMILY, joined
from off_list import FIRST, KINDS_OFF
from places import CAUSE_NAMES, KINDS, SPLITS
from scipy.special import log_softmax
from scipy.stats import beta
from ship import FAR, LENGTHS, left_by

from neutralpoint.study.weighing.networks import DIGEST
from neutralpoint.study.weighing.score import STRATA
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.check import EXCLUDED, Nulls, p_listed, p_values_of

LISTED = len(CAUSE_NAMES) - 1
LEVELS = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
# Of the share of the unlisted cause on flights of listed ones.
BEYOND = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005)
PULLED = 20.0  # flights that the tail of all causes counts for in that of one; analyst's
OWN_AIRPLANES = ("held out", "catalogue")
HEAD = """# The check of each cause by the track

Made by training/nulls.py from blind flights: another model of the airplane (derivatives at least
20 % off), other pilots, rougher air, errors of the data from a perfect track to a radar in rough
air; faults that left no trace are left out. {table} flights that the training has left made the
first table, {fresh} fresh ones of this version (training/blind.py; airplanes, windows and seeds of
their own) moved it. Fresh flights are judged by a table that was moved without their world, the
others are those of the training that made no table. *True cause cannot* and *wrong causes cannot*
are by the track alone (p below {limit}); intervals hold 90% (Clopper and Pearson), as if flights
of one start were apart. A calibrated p-value is below 0.05 on 5 % of flights.
"""


@dataclass(frozen=True)
class Rated:
    """Blind flights as the networks rate them, n of them.

    Attributes:
        share: Logarithm of the mean share of each listed cause over the networks, shape (n, C).
        unlisted: The same of the unlisted one, shape (n,).
        cause: Number of the true one; off the list from `FIRST` on, shape (n,).
        can: Which causes can act on the airplane, shape (n, C).
        stratum: Of the data, shape (n,).
        length: Of the window, s, shape (n,).
        start: Number of the start, shape (n,).
        kind: Of airplane, shape (n,).
    """

    share: np.ndarray
    unlisted: np.ndarray
    cause: np.ndarray
    can: np.ndarray
    stratum: np.ndarray
    length: np.ndarray
    start: np.ndarray
    kind: np.ndarray

    @property
    def own(self) -> np.ndarray:
        """Share of the true cause, shape (n,); of the last one where it is off the list."""
        return self.share[np.arange(len(self.cause)), np.clip(self.cause, 0, LISTED - 1)]

    def rows(self, chosen: np.ndarray) -> Rated:
        """Some of the flights."""
        return Rated(*(getattr(self, f.name)[chosen] for f in fields(self)))


def _rated(evidence, cause, can, factor, length, start, kind) -> Rated:
    share = np.log(np.maximum(np.exp(evidence.astype(float)).mean(axis=0), 1e-300))
    stratum = np.digitize(factor, [most for _, most in STRATA][:-1])
    found = Rated(
        share[:, :LISTED], share[:, LISTED], cause, can[:, :LISTED], stratum, length, start, kind
    )
    return found.rows(
        (cause >= FIRST) | (found.can[np.arange(len(cause)), np.clip(cause, 0, LISTED - 1)])
    )


def of_training(folders: list[Path]) -> Rated:
    """Blind flights that the learning has left, inside the family, off the list too."""
    held = left_by(folders)
    inside = np.isin(held["split"][held["start"]], [SPLITS.index(n) for n in OWN_AIRPLANES])
    rows = np.flatnonzero(inside & (held["cause"] >= 0))
    told = held["told"][:, rows]
    can = told[0] > FAR
    parts = [
        log_softmax(np.where(can[some], told[:, some].astype(float), -1e6), axis=-1)
        for some in np.array_split(np.arange(len(rows)), 20)
    ]
    given = (held[name][rows] for name in ("cause", "factor", "length", "start"))
    cause, factor, length, start = given
    kind = held["kind"][start]
    return _rated(np.concatenate(parts, axis=1), cause, can, factor, length, start, kind)


def of_files(files: list[Path]) -> Rated:
    """Blind flights of `blind.py`."""
    held = joined([dict(np.load(file)) for file in files])
    given = (held[n] for n in ("evidence", "cause", "allowed", "factor", "length", "start"))
    return _rated(*given, held["start"] // (10 * FAMILY))


def first_table(old: Rated) -> Nulls:
    """Quantiles by cause, with a tail that falls as a power of the share."""
    share, cause = old.own, old.cause
    rows = np.array([np.quantile(share[cause == c], LEVELS) for c in range(LISTED)])
    below = rows[cause, 0] - share
    tail = below > 0.0
    common = below[tail].mean()
    count = np.bincount(cause[tail], minlength=LISTED) + PULLED
    steep = count / (np.bincount(cause[tail], below[tail], LISTED) + PULLED * common)
    names = tuple(str(c) for c in CAUSE_NAMES[:-1])
    unlisted = [
        [np.quantile(old.unlisted[old.stratum == s], 1.0 - x) for x in BEYOND]
        for s in range(len(STRATA))
    ]
    still = np.zeros((len(STRATA), len(LEVELS)))
    return Nulls(names, np.array(LEVELS), rows, steep, still, np.array(BEYOND), np.array(unlisted))


def moved(first: Nulls, fresh: Rated) -> Nulls:
    """The table as flights of this version have it: moved by kind of data, with their tail.

    What a cause's own quantiles are is taken from the many flights of the training.
    """
    level = fresh.own[:, None] - first.quantiles[fresh.cause]
    shift = np.array(
        [
            [np.quantile(level[fresh.stratum == s, i], x) for i, x in enumerate(LEVELS)]
            for s in range(len(STRATA))
        ]
    )
    below = first.steep[fresh.cause] * (shift[fresh.stratum, 0] - level[:, 0])
    return replace(first, shift=shift, steep=first.steep / below[below > 0.0].mean())


def interval(hits: int, of: int) -> str:
    """Share in per cent with its 90 % interval (Clopper and Pearson, 1934)."""
    low = beta.ppf(0.05, hits, of - hits + 1) if hits else 0.0
    high = beta.ppf(0.95, hits + 1, of - hits) if hits < of else 1.0
    return f"{hits / max(of, 1):.2%} ({hits} of {of}; {low:.2%} to {high:.2%})"


def judged(found: Rated, p: np.ndarray, groups: dict[str, np.ndarray]) -> list[str]:
    """A table of how often the true cause and wrong ones are excluded, by group of flights."""
    own = p[np.arange(len(p)), found.cause]
    wrong = found.can.copy()
    wrong[np.arange(len(p)), found.cause] = False
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
    return lines


def groups_of(found: Rated) -> dict[str, np.ndarray]:
    """Flights by data, window, kind of airplane and cause."""
    groups = {"all": np.ones(len(found.cause), bool)}
    groups |= {name: found.stratum == i for i, (name, _) in enumerate(STRATA)}
    groups |= {
        f"window {n}": (found.length >= a) & (found.length < b) for n, (a, b) in LENGTHS.items()
    }
    groups |= {
        f"{k.engines} {k.engine}, {k.trim}": found.kind == i for i, k in enumerate(KINDS[:-1])
    }
    return groups | {CauseName(n).title: found.cause == i for i, n in enumerate(CAUSE_NAMES[:-1])}


def none_near(nulls: Nulls, found: Rated, groups: dict[str, np.ndarray]) -> list[str]:
    """How often the unlisted cause is left so large a share that no listed one comes near."""
    names = (*nulls.causes, CauseName.UNLISTED)
    p = np.array(
        [
            p_listed(nulls, names, np.append(share, unlisted)[None], int(stratum))
            for share, unlisted, stratum in zip(
                found.share, found.unlisted, found.stratum, strict=True
            )
        ]
    )
    lines = ["| flights | no listed cause near: p < 0.01 | p < 0.05 |", "|---|---|---|"]
    for name, rows in groups.items():
        cells = [interval(int((p[rows] < a).sum()), int(rows.sum())) for a in (0.01, 0.05)]
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return lines


def tested(first: Nulls, fresh: Rated) -> np.ndarray:
    """P-values of fresh flights, each group of airplanes by a table moved without it."""
    found = np.empty_like(fresh.share)
    world = fresh.start // FAMILY % 10
    for one in np.unique(world):
        mine = world == one
        table = moved(first, fresh.rows(~mine))
        found[mine] = p_values_of(table, fresh.share[mine], fresh.stratum[mine])
    return found


def clusters(own: np.ndarray, start: np.ndarray) -> str:
    """90 % interval of the share of true causes excluded, drawing whole starts (bootstrap)."""
    rng, out = np.random.default_rng(0), own < EXCLUDED
    names, place = np.unique(start, return_inverse=True)
    hits, of = np.bincount(place, out), np.bincount(place)
    drawn = rng.integers(0, len(names), (4000, len(names)))
    low, high = np.quantile(hits[drawn].sum(axis=1) / of[drawn].sum(axis=1), (0.05, 0.95))
    return f"{low:.2%} to {high:.2%} over {len(names)} starts"


def main() -> None:
    """Make the table, judge it, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("fresh", type=Path, nargs="+", help="files of blind.py")
    parser.add_argument(
        "--training", type=Path, nargs="+", required=True, help="folders of learn.py"
    )
    parser.add_argument("--nulls", type=Path, required=True)
    parser.add_argument("--report", type=Path, required=True)
    options = parser.parse_args()
    old, fresh = of_training(options.training), of_files(options.fresh)
    off = old.rows(old.cause >= FIRST)
    old = old.rows(old.cause < FIRST)
    even = np.arange(len(old.cause)) % 2 == 0
    first = first_table(old.rows(even))
    nulls = moved(first, fresh)
    document = {
        "networks": DIGEST,
        "causes": list(nulls.causes),
        "levels": nulls.levels.tolist(),
        "quantiles": nulls.quantiles.round(4).tolist(),
        "steep": nulls.steep.round(4).tolist(),
        "shift": nulls.shift.round(4).tolist(),
        "beyond": nulls.beyond.tolist(),
        "unlisted": nulls.unlisted.round(4).tolist(),
        "flights": [int(even.sum()), len(fresh.cause)],
    }
    options.nulls.write_text(json.dumps(document, indent=1) + "\n", "utf-8")
    p, rest = tested(first, fresh), old.rows(~even)
    p_old = p_values_of(nulls, rest.share, rest.stratum)
    own = p[np.arange(len(p)), fresh.cause]
    lines = [
        HEAD.format(table=int(even.sum()), fresh=len(fresh.cause), limit=EXCLUDED),
        "## Fresh flights of this version\n",
        f"True cause *cannot*: {clusters(own, fresh.start)} (90 %).\n",
        *judged(fresh, p, groups_of(fresh)),
        "\n## Flights that the training has left\n",
        *judged(rest, p_old, groups_of(rest)),
        "\n## Whether any listed cause comes near\n",
    ]
    near = {"faults on the list": fresh.cause > 0, "ordinary flights": fresh.cause == 0}
    lines += none_near(nulls, fresh, near)
    near = {
        "faults that the training has left": rest.cause > 0,
        "ordinary flights that it has left": rest.cause == 0,
    }
    lines += none_near(nulls, rest, near)[2:]
    kinds = {name: off.cause == FIRST + i for i, name in enumerate(KINDS_OFF)}
    lines += none_near(nulls, off, kinds)[2:]
    options.report.write_text("\n".join(lines) + "\n", "utf-8")
    print("\n".join(lines[:12]))


if __name__ == "__main__":
    main()
