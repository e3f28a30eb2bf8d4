"""How well the method did on flights whose cause was known: of the case, else as shipped."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from neutralpoint.findings import Score

SCORE_FILE = "calibration.json"


def score(results: Path | None = None) -> dict:
    """The score on blind cases.

    Args:
        results: Results folder; its own score comes first.

    Returns:
        As written by `neutralpoint calibrate`, with `of_this_case`.
    """
    path = results / SCORE_FILE if results is not None else None
    if path is not None and path.is_file():
        return json.loads(path.read_text("utf-8")) | {"of_this_case": True}
    shipped = files("neutralpoint.study").joinpath("weighing_score.json").read_text("utf-8")
    return json.loads(shipped) | {"of_this_case": False}


def score_sentence(results: Path | None = None) -> str:
    """The score in a sentence, for printing beside every conclusion.

    Args:
        results: Results folder; None for the shipped one.

    Returns:
        The sentence.
    """
    s = score(results)
    where = "from the start of this case" if s["of_this_case"] else "of three invented airplanes"
    return (
        f"On {s['cases']} blind simulated flights {where}, made by another flight model, the mean "
        f"log score was {s['mean_log_score']:.2f} nats against {s['prior_log_score']:.2f} without "
        f"knowledge; 90 % sets of causes held the true one in "
        f"{100 * s['cover_of_90_percent_sets']:.0f} %; the true cause was given less than 1 % in "
        f"{100 * s['true_cause_below_1_percent']:.1f} % of them."
    )


def scores(results: Path | None = None) -> list[Score]:
    """The same as the findings carry it.

    Args:
        results: Results folder; None for the shipped one.

    Returns:
        One entry a measure.
    """
    s = score(results)
    where = (
        "Flights from the start of this case."
        if s["of_this_case"]
        else "Flights of three invented airplanes from seven steady flights, not of this case; the "
        "command calibrate flies those."
    )
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
