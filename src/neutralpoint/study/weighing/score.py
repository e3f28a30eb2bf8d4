"""How well the method did on flights whose cause was known: of the case, else as shipped."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from neutralpoint.findings import Score

SCORE_FILE = "calibration.json"
QUICK = "blind, by a quick look"  # among the other worlds of the shipped score


def score(results: Path | None = None, *, full: bool = True) -> dict:
    """The score on blind cases.

    Args:
        results: Results folder; its own score comes first.
        full: Of a whole weighing; else the shipped one of a quick look.

    Returns:
        As written by `neutralpoint calibrate`, with `of_this_case` and `full`.
    """
    path = results / SCORE_FILE if results is not None else None
    if path is not None and path.is_file():
        return json.loads(path.read_text("utf-8")) | {"of_this_case": True, "full": True}
    text = files("neutralpoint.study.weighing").joinpath("score.json").read_text("utf-8")
    shipped = json.loads(text) | {"of_this_case": False, "full": full}
    return shipped if full else shipped | shipped["other_worlds"][QUICK]


def score_sentence(results: Path | None = None, *, full: bool = True) -> str:
    """The score in a sentence, for printing beside every conclusion.

    Args:
        results: Results folder; None for the shipped one.
        full: Of a whole weighing; else of a quick look.

    Returns:
        The sentence.
    """
    s = score(results, full=full)
    where = "from the start of this case" if s["of_this_case"] else "of three invented airplanes"
    return (
        f"On {s['cases']} blind simulated flights {where}, made by another flight model and "
        f"weighed {'whole' if s['full'] else 'by a quick look'}, the mean log score was "
        f"{s['mean_log_score']:.2f} nats against {s['prior_log_score']:.2f} without knowledge; "
        "90 % sets of causes held the true one in "
        f"{100 * s['cover_of_90_percent_sets']:.0f} %; the true cause was given less than 1 % in "
        f"{100 * s['true_cause_below_1_percent']:.1f} % of them."
    )


def scores(results: Path | None = None, *, full: bool = True) -> list[Score]:
    """The same as the findings carry it.

    Args:
        results: Results folder; None for the shipped one.
        full: Of a whole weighing; else of a quick look.

    Returns:
        One entry a measure.
    """
    s = score(results, full=full)
    where = (
        "Flights from the start of this case."
        if s["of_this_case"]
        else "Flights of three invented airplanes from seven steady flights, not of this case; the "
        "command calibrate flies those."
    )
    how = "Weighed whole" if s["full"] else "Weighed by a quick look"
    where = f"{how}. {where}"
    gained = s["mean_log_score"] - s["prior_log_score"]
    return [
        Score(
            name="mean log score",
            value=s["mean_log_score"],
            cases=s["cases"],
            sentence=f"Nats; 0 is perfect, {gained:.2f} better than without knowledge. {where}",
        ),
        Score(
            name="coverage of 90 % sets of causes",
            value=s["cover_of_90_percent_sets"],
            cases=s["cases"],
            sentence="Honest sets hold the true cause in 0.9 of the flights.",
        ),
        Score(
            name="true cause given less than 1 %",
            value=s["true_cause_below_1_percent"],
            cases=s["cases"],
            sentence="Share of the flights: the worst error there is.",
        ),
    ]
