"""Judge what `calibration.py` kept: scores, coverage, wrong exclusions, ordinary flights.

    python benchmarks/calibration_report.py RAW [RAW ...]

Odds are made as the product makes them. Writes results/calibration.json and .md, and the score that
is shipped with the package.
"""

from __future__ import annotations

import argparse
import json
import pickle
from collections import defaultdict
from pathlib import Path

import numpy as np

from neutralpoint.weighing.features import NAMES
from neutralpoint.weighing.odds import (
    FAILED,
    NOTHING,
    combine,
    equal_prior,
    prior_of_failure,
)
from neutralpoint.weighing.scores import EDGES, brier_score, credible_set_cover, log_score
from neutralpoint.weighing.weigh import LAPSE, NULL_LAPSE, lapsed

RESULTS = Path(__file__).parent / "results"
SHIPPED = Path(__file__).parents[1] / "src" / "neutralpoint" / "study" / "weighing" / "score.json"
LAPSES = (0.0, 0.01, 0.02, 0.03, 0.05, 0.08)  # beside the one in use, for its effect
CHANCES = (0.5, 0.2, 0.1, 0.05, 0.02, 0.01)  # that something failed
PRIORS = {
    "equal weights": equal_prior,
    "even odds that anything failed": lambda names: prior_of_failure(names, 0.5),
    f"{FAILED:.0%} that anything failed": prior_of_failure,
}
WORLDS = {
    "blind, by a quick look": "blind, quick look",
    "blind, through track and smoother": "smoothed",
    "of the world that causes are flown in": "own",
    "of a world twice as wide as documented": "twice",
}
TARGETS = {
    "true_cause_below_1_percent": "at most 0.01",
    "cover_of_90_percent_sets": "0.87 to 0.93",
    "gained": "at least 1",
    "cover_of_90_percent_parameter_intervals": "0.87 to 0.93",
}


def probability(case: dict, prior=equal_prior, lapse: float = LAPSE) -> np.ndarray:
    """Odds of one case."""
    weights = prior(case["names"])
    runs = lapsed(case["names"], case["runs"], lapse)
    return combine(case["names"], weights, runs).probability


class Judged:
    """Cases of one world with equal prior weights; causes may differ from airplane to airplane."""

    def __init__(self, cases: list[dict], lapse: float = LAPSE) -> None:
        self.cases = cases
        self.each = [probability(c, lapse=lapse) for c in cases]
        self.true = [c["names"].index(c["cause"]) for c in cases]
        self.given = np.array([p[i] for p, i in zip(self.each, self.true, strict=True)])

    def mean(self, score) -> float:
        """Mean of a score that takes (1, C) and (1,)."""
        return float(
            np.mean(
                [
                    score(p[None], np.array([i]))[0]
                    for p, i in zip(self.each, self.true, strict=True)
                ]
            )
        )

    def summary(self) -> dict:
        """What is printed of a world."""
        size = np.array([len(p) for p in self.each])
        score = self.mean(log_score)
        prior = float(-np.log(size).mean())
        return {
            "cases": len(self.cases),
            "mean_log_score": score,
            "prior_log_score": prior,
            "gained": score - prior,
            "brier": self.mean(brier_score),
            "true_cause_below_1_percent": float((self.given < 0.01).mean()),
            "cover_of_90_percent_sets": self.mean(credible_set_cover),
            "true_cause_leads": float(
                np.mean([p.argmax() == i for p, i in zip(self.each, self.true, strict=True)])
            ),
        }

    def by_cause(self) -> dict:
        """Score of each cause."""
        found = defaultdict(list)
        for case, p, i in zip(self.cases, self.each, self.true, strict=True):
            found[case["cause"]].append((np.log(p[i]), p.argmax() == i, p[i] < 0.01))
        return {
            cause: {
                "cases": len(rows),
                "mean_log_score": float(np.mean([r[0] for r in rows])),
                "leads": float(np.mean([r[1] for r in rows])),
                "below_1_percent": float(np.mean([r[2] for r in rows])),
            }
            for cause, rows in found.items()
        }

    def diagram(self) -> dict:
        """A reliability diagram: every cause of every case is one statement."""
        stated = np.concatenate(self.each)
        happened = np.concatenate(
            [np.arange(len(p)) == i for p, i in zip(self.each, self.true, strict=True)]
        )
        place = np.clip(np.searchsorted(EDGES, stated, side="right") - 1, 0, len(EDGES) - 2)
        rows = [place == k for k in range(len(EDGES) - 1)]
        return {
            "edges": list(EDGES),
            "stated": [float(stated[r].mean()) if r.any() else None for r in rows],
            "happened": [float(happened[r].mean()) if r.any() else None for r in rows],
            "count": [int(r.sum()) for r in rows],
        }


def found_out(worlds: dict[str, list[dict]]) -> list[dict]:
    """By the prior chance of a failure: ordinary flights left alone, faults found out."""
    rows = []
    for chance in CHANCES:
        row = {"chance_that_anything_failed": chance}
        for world in ("ordinary simulated", "recorded ordinary", "blind"):
            cases = [c for c in worlds[world] if world != "blind" or c["cause"] != NOTHING]
            each = [
                probability(c, lambda n: prior_of_failure(n, chance))  # noqa: B023
                for c in cases
            ]
            null = [p[c["names"].index(NOTHING)] for c, p in zip(cases, each, strict=True)]
            row[world] = {
                "flights": len(cases),
                "nothing_failed_leads": float(
                    np.mean([n == p.max() for n, p in zip(null, each, strict=True)])
                ),
                "failure_more_likely_than_not": float(np.mean(np.array(null) < 0.5)),
            }
        rows.append(row)
    return rows


def ordinary(cases: list[dict]) -> dict:
    """How often "nothing failed" leads, by prior."""
    found = {"flights": len(cases)}
    for name, prior in PRIORS.items():
        each = [probability(c, prior) for c in cases]
        null = [c["names"].index(NOTHING) for c in cases]
        given = np.array([p[i] for p, i in zip(each, null, strict=True)])
        leads = [p.argmax() == i for p, i in zip(each, null, strict=True)]
        found[name] = {
            "nothing_failed_leads": float(np.mean(leads)),
            "median_probability": float(np.median(given)),
            "lowest_probability": float(given.min()),
            "below_1_percent": float((given < 0.01).mean()),
        }
    return found


def smoother(rows: list[dict]) -> dict:
    """Errors of the features after track and smoother, over their stated spread."""
    if not rows:
        return {}
    found = {}
    for number, name in enumerate(NAMES):
        part = [slice(number * r["knots"], (number + 1) * r["knots"]) for r in rows]
        error = np.concatenate([r["error"][p] for r, p in zip(rows, part, strict=True)])
        spread = np.concatenate([r["spread"][p] for r, p in zip(rows, part, strict=True)])
        found[name] = {
            "median_spread": float(np.median(spread)),
            "rms_error": float(np.sqrt(np.mean(error**2))),
            "rms_of_standardised_error": float(
                np.sqrt(np.mean(np.clip(error / np.maximum(spread, 1e-9), -10, 10) ** 2))
            ),
            "inside_90_percent": float(np.mean(np.abs(error) < 1.645 * spread)),
        }
    return found


def joined(raws: list[dict]) -> dict:
    """Several runs, of other settings or seeds, as one."""
    return {
        "cases": [case for raw in raws for case in raw["cases"]],
        "covered": [row for raw in raws for row in raw["covered"]],
        "smoother": [row for raw in raws for row in raw["smoother"]],
        "traced": {label: shares for raw in raws for label, shares in raw["traced"].items()},
        "device": ", ".join(sorted({raw["device"] for raw in raws})),
        "seconds": sum(raw["seconds"].get("all", 0.0) for raw in raws),
    }


def report(raw: dict) -> dict:
    """Everything, as written."""
    worlds = defaultdict(list)
    for case in raw["cases"]:
        worlds[case["world"]].append(case)
    blind = Judged(worlds["blind"])
    inside = [row["inside"] for row in raw["covered"]]
    labels = sorted({case["label"] for case in worlds["blind"]})
    parts = {label: Judged([c for c in worlds["blind"] if c["label"] == label]) for label in labels}
    excluded = [np.delete(p, i) < 0.01 for p, i in zip(blind.each, blind.true, strict=True)]
    return {
        **blind.summary(),
        "other_causes_below_1_percent": float(np.mean(np.concatenate(excluded))),
        "cover_of_90_percent_parameter_intervals": float(np.mean(inside)) if inside else None,
        "parameter_intervals": len(inside),
        "parameter_ranks": np.histogram([r["rank"] for r in raw["covered"]], 10, (0, 1))[
            0
        ].tolist(),
        "device": raw["device"],
        "seconds": raw["seconds"],
        "lapse": LAPSE,
        "null_lapse": NULL_LAPSE,
        "targets": TARGETS,
        "starts": {label: part.summary() for label, part in parts.items()},
        "other_lapses": {str(x): Judged(worlds["blind"], x).summary() for x in LAPSES},
        "other_worlds": {
            world: judged.summary() | {"reliability": judged.diagram()}
            for world, key in WORLDS.items()
            if worlds[key] and (judged := Judged(worlds[key]))
        },
        "smoother": smoother(raw["smoother"]),
        "ordinary": {
            world: ordinary(cases)
            for world, cases in worlds.items()
            if world.startswith(("ordinary", "recorded")) and "not trimmed" not in world
        },
        "found_out": found_out(worlds),
        "windows_not_trimmed": sum(len(c) for w, c in worlds.items() if "not trimmed" in w),
        "left_a_trace": raw["traced"],
        "reliability": blind.diagram(),
        "by_cause": blind.by_cause(),
    }


def table(head: list[str], rows: list[list[str]]) -> list[str]:
    """Lines of a table."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return [*lines, *("| " + " | ".join(row) + " |" for row in rows), ""]


def score_row(name: str, found: dict) -> list[str]:
    """One world in a table."""
    return [
        name,
        str(found["cases"]),
        f"{found['mean_log_score']:.2f}",
        f"{found['prior_log_score']:.2f}",
        f"{100 * found['cover_of_90_percent_sets']:.0f}%",
        f"{100 * found['true_cause_below_1_percent']:.1f}%",
        f"{100 * found['true_cause_leads']:.0f}%",
    ]


def in_words(found: dict) -> str:
    """The page."""
    head = [
        "cases",
        "how many",
        "log score",
        "no knowledge",
        "90% sets hold",
        "below 1%",
        "leads",
    ]
    rows = [score_row("**blind, all**", found)]
    rows += [score_row(label, part) for label, part in found["starts"].items()]
    rows += [score_row(world, part) for world, part in found["other_worlds"].items()]
    cover = found["cover_of_90_percent_parameter_intervals"]
    diagram = found["reliability"]
    lines = [
        "# How honest the odds are",
        "",
        f"Run on {found['device']} in {found['seconds']:.0f} s, `calibration.py`. Truth: "
        "derivatives 20% off, other pilots who do other things on purpose, rougher air. A fault "
        "that left no trace beyond error and ordinary flying counts as no failure. Odds with "
        f"equal weights and a lapse of {found['lapse']:.0%} between faults, which was chosen on "
        "flights of the same other model with other seeds, before these were flown.",
        "",
        *table(head, rows),
        f"Intervals of parameters at 90% hold the truth in "
        f"{'none tried' if cover is None else f'{100 * cover:.0f}%'} of "
        f"{found['parameter_intervals']}; ranks in ten bins: {found['parameter_ranks']}. Of the "
        f"causes that were not the true one {found['other_causes_below_1_percent']:.0%} are given "
        "less than 1%.",
        "",
        "What another lapse would have given on the blind flights:",
        "",
        *table(
            head,
            [score_row(f"{float(x):.0%}", part) for x, part in found["other_lapses"].items()],
        ),
        "## Ordinary flights",
        "",
        "How often `no-failure` leads, and its least probability:",
        "",
        *table(
            ["flights", "how many", *PRIORS],
            [
                [
                    world,
                    str(part["flights"]),
                    *(
                        f"{100 * part[p]['nothing_failed_leads']:.1f}% "
                        f"({part[p]['lowest_probability']:.3f})"
                        for p in PRIORS
                    ),
                ]
                for world, part in found["ordinary"].items()
            ],
        ),
        "Windows of 38 s after 8 s of steady flight. Recorded flights are weighed with an airplane "
        "of the catalogue that is not theirs; test maneuvers are "
        "pushes, pulls and banks beyond 0.5 to 1.7 g, 60 deg of bank or 20 deg of pitch. "
        f"{found['windows_not_trimmed']} windows had no steady start in that airplane.",
        "",
        "What that chance costs: how often a fault with a trace is found more likely than not on "
        "blind flights of known fault, most of them mild, beside ordinary flights left alone.",
        "",
        *table(
            [
                "chance that anything failed",
                "simulated ordinary: no failure leads",
                "recorded ordinary: no failure leads",
                "faults: a failure more likely than not",
            ],
            [
                [
                    f"{row['chance_that_anything_failed']:.0%}",
                    f"{row['ordinary simulated']['nothing_failed_leads']:.1%}",
                    f"{row['recorded ordinary']['nothing_failed_leads']:.1%}",
                    f"{row['blind']['failure_more_likely_than_not']:.0%}",
                ]
                for row in found["found_out"]
            ],
        ),
        "## Reliability",
        "",
        *table(
            ["stated between", "mean stated", "came true", "statements"],
            [
                [
                    f"{low} and {high}",
                    "" if stated is None else f"{stated:.3f}",
                    "" if stated is None else f"{happened:.3f}",
                    str(count),
                ]
                for low, high, stated, happened, count in zip(
                    diagram["edges"][:-1],
                    diagram["edges"][1:],
                    diagram["stated"],
                    diagram["happened"],
                    diagram["count"],
                    strict=True,
                )
            ],
        ),
        "## Errors after the smoother",
        "",
        *table(
            ["quantity", "stated spread", "rms error", "inside 90%"],
            [
                [
                    name,
                    f"{row['median_spread']:.3g}",
                    f"{row['rms_error']:.3g}",
                    f"{100 * row['inside_90_percent']:.0f}%",
                ]
                for name, row in found["smoother"].items()
            ],
        ),
        "## By cause",
        "",
        *table(
            ["cause", "cases", "log score", "leads", "below 1%"],
            [
                [
                    cause,
                    str(row["cases"]),
                    f"{row['mean_log_score']:.2f}",
                    f"{100 * row['leads']:.0f}%",
                    f"{100 * row['below_1_percent']:.0f}%",
                ]
                for cause, row in found["by_cause"].items()
            ],
        ),
    ]
    return "\n".join(lines)


def main() -> None:
    """Judge and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("raw", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--ship", action="store_true", help="also write the shipped score")
    options = parser.parse_args()
    found = report(joined([pickle.loads(path.read_bytes()) for path in options.raw]))
    text = json.dumps(found, indent=1) + "\n"
    (options.out / "calibration.json").write_text(text, "utf-8")
    (options.out / "calibration.md").write_text(in_words(found), "utf-8")
    if options.ship:
        SHIPPED.write_text(text, "utf-8")
    print(in_words(found))


if __name__ == "__main__":
    main()
