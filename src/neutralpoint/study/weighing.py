"""The stage `weighing`: how likely each cause is, kept as `results/weighing.json`."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import numpy as np

from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Section, Statement, Table
from neutralpoint.study.moments import Moments
from neutralpoint.study.motion_file import KeptMotion
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.items import ITEMS
from neutralpoint.weighing.odds import bayes_factor_words, equal_prior
from neutralpoint.weighing.simulate import Start, flyable, simulate
from neutralpoint.weighing.value import rank
from neutralpoint.weighing.weigh import UNLISTED, Weighed, weigh

WEIGHING_FILE = "weighing.json"
LONGEST = 60.0  # s after the reference that are weighed: later a pilot's hands decide; analyst's
LEAST = 6.0  # s
FLIGHTS, QUICK_FLIGHTS = 300, 64  # simulated flights of each cause
HEAT_RATIO, GAS_CONSTANT = 1.4, 287.05287  # US Standard Atmosphere 1976, defining constants
SEA_LEVEL_TEMPERATURE, LAPSE = 288.15, 0.0065  # same source


def _course(motion: KeptMotion, begin: float) -> Course:
    inside = ~motion.is_fix & (motion.time >= begin) & (motion.time <= begin + LONGEST)
    if inside.sum() < 2 or np.ptp(motion.time[inside]) < LEAST:
        raise NeutralPointError(
            "track-too-short",
            f"Less than {LEAST:.0f} s of flight are left after the last trimmed flight.",
            where="track",
            hint="Give an earlier reference or onset in the case file.",
        )
    values = {name: motion.paths[name][:, inside] for name in COLUMNS}
    return Course(motion.time[inside] - motion.time[inside][0], **values)


def _start(case: Case, motion: KeptMotion, begin: float) -> Start:
    near = ~motion.is_fix & (np.abs(motion.time - begin) <= 2.0)
    mean = {
        name: motion.paths[name][:, near].mean(axis=1)
        for name in ("true_airspeed", "flight_path_angle", "pressure_altitude", "mach")
    }
    altitude = float(np.median(mean["pressure_altitude"]))
    sound = mean["true_airspeed"] / mean["mach"]
    warmth = float(np.median(sound**2)) / (HEAT_RATIO * GAS_CONSTANT)
    return Start(
        speed=mean["true_airspeed"],
        path_angle=mean["flight_path_angle"],
        pressure_altitude=altitude,
        temperature_offset=warmth - (SEA_LEVEL_TEMPERATURE - LAPSE * altitude),
        flap=case.analysis.flap,
        gear=case.analysis.gear,
    )


def work_out_weighing(
    case: Case, motion: KeptMotion, moments: Moments, *, quick: bool = False
) -> Weighed:
    """Simulate every cause from the end of the reference, and weigh them.

    Args:
        case: The case; its airplane is known.
        motion: Its motion.
        moments: Gives the reference and the window.
        quick: Fewer flights, no parameters.

    Returns:
        What was found.

    Raises:
        NeutralPointError: `track-too-short` where nothing is left after the reference.
    """
    rng = np.random.default_rng([case.document.seed, 5])
    begin = float(moments.required.time[np.flatnonzero(moments.required.trimmed)[-1]])
    observed = _course(motion, begin)
    airplane = moments.airplane.airplane
    causes = flyable(airplane)
    count = (QUICK_FLIGHTS if quick else FLIGHTS) * len(causes)
    flown = simulate(
        airplane,
        moments.airplane.uncertainty.draw(rng, count),
        _start(case, motion, begin),
        causes,
        rng=rng,
        duration=float(observed.time[-1]),
    )
    names = (*(cause.name for cause in causes), UNLISTED)
    return weigh(
        observed,
        flown,
        window=moments.window,
        prior=equal_prior(names),
        rng=rng,
        deep=not quick,
    )


def score() -> dict:
    """The score on blind cases that is shipped with the program.

    Returns:
        As written by `benchmarks/calibration.py`.
    """
    return json.loads(files("neutralpoint.study").joinpath("weighing_score.json").read_text())


def score_sentence() -> str:
    """The score in a sentence, for printing beside every conclusion."""
    s = score()
    return (
        f"On {s['cases']} blind simulated cases from another flight model the mean log score was "
        f"{s['mean_log_score']:.2f} nats against {s['prior_log_score']:.2f} without knowledge; "
        f"90 % sets of causes held the true one in {100 * s['cover_of_90_percent_sets']:.0f} %; "
        f"the true cause was given less than 1 % in "
        f"{100 * s['true_cause_below_1_percent']:.1f} % of them."
    )


def weighing_document(found: Weighed) -> dict:
    """What is kept of a weighing."""
    odds = found.odds
    return {
        "held_out_log_score": found.held_out,
        "twin": found.twin,
        "score": score_sentence(),
        "causes": [
            {
                "name": name,
                "prior": float(odds.prior[i]),
                "probability": float(odds.probability[i]),
                "low": float(odds.low[i]),
                "high": float(odds.high[i]),
                "log_evidence": float(odds.log_evidence[i]),
                "log_evidence_error": float(odds.log_evidence_error[i]),
                "nearest_distance": found.near[name].distance if name in found.near else None,
                "nearest_fails_in": found.near[name].miss_name if name in found.near else "",
                "parameters": {
                    key: [float(x) for x in np.quantile(column, (0.05, 0.5, 0.95))]
                    for key, column in zip(
                        found.parameters[name].names, found.parameters[name].draws.T, strict=True
                    )
                }
                if name in found.parameters
                else {},
            }
            for i, name in enumerate(odds.causes)
        ],
    }


def read_weighing(results: Path) -> dict:
    """Read `weighing.json`.

    Args:
        results: The results folder.

    Returns:
        Its content.

    Raises:
        NeutralPointError: `results-missing` without the file.
    """
    path = results / WEIGHING_FILE
    if not path.is_file():
        raise NeutralPointError(
            "results-missing",
            f"There is no {WEIGHING_FILE} in the results folder.",
            where=str(path),
            hint="Run `neutralpoint weigh CASE` first.",
        )
    return json.loads(path.read_text("utf-8"))


def weighing_section(found: Weighed) -> Section:
    """The odds as the report shows them.

    Args:
        found: What was found.

    Returns:
        The section.
    """
    odds = found.odds
    first = odds.order()[0]
    rows = []
    for i in odds.order():
        factor = float(odds.log_evidence[i] - odds.log_evidence[first])
        rows.append(
            [
                odds.causes[i],
                f"{odds.probability[i]:.3f}",
                f"{odds.low[i]:.3f} to {odds.high[i]:.3f}",
                f"{odds.prior[i]:.3f}",
                f"{factor:.1f} ({bayes_factor_words(factor)})",
            ]
        )
    return Section(
        stage="weighing",
        title="How likely each cause is",
        statements=[
            Statement(
                kind="inferred",
                text=f"Of the causes listed, {odds.causes[first]} has the largest probability, "
                f"{odds.probability[first]:.2f}, with equal prior weights.",
                basis=[WEIGHING_FILE],
                caution="Probabilities of listed causes under this model; no finding of fault. "
                "The official investigation decides.",
            ),
            Statement(kind="derived", text=score_sentence(), basis=["weighing_score.json"]),
        ],
        tables=[
            Table(
                caption="Odds between the causes; ln B is against the first row",
                kind="inferred",
                columns=["cause", "probability", "over seeds", "prior", "ln B (words)"],
                rows=rows,
            )
        ],
    )


def next_items(results: Path) -> list[dict]:
    """Items of evidence, most informative first, by the saved odds.

    Args:
        results: The results folder.

    Returns:
        One entry an item: bits, cost, source, and how the odds read for each outcome.
    """
    saved = read_weighing(results)["causes"]
    names = tuple(row["name"] for row in saved)
    odds = np.array([row["probability"] for row in saved])
    rows = []
    for entry in rank(list(ITEMS), names, odds / odds.sum()):
        outcomes = []
        for word, chance, then in zip(
            entry.item.outcomes, entry.chance, entry.odds_then, strict=True
        ):
            best = np.argsort(-then)[:3]
            leaders = [(names[i], float(then[i])) for i in best]
            outcomes.append({"outcome": word, "chance": float(chance), "leaders": leaders})
        rows.append(
            {
                "item": entry.item.name,
                "bits": entry.bits,
                "cost": entry.item.cost,
                "source": entry.item.source,
                "caution": entry.item.caution,
                "outcomes": outcomes,
            }
        )
    return rows
