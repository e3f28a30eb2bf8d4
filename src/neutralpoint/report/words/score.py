"""What is said of how often the method is right, beside every conclusion."""

from __future__ import annotations

from neutralpoint.findings import BlindScore, Score
from neutralpoint.report.words.phrases import percent


def score_sentence(score: BlindScore) -> str:
    """The score in a sentence.

    Args:
        score: On blind cases.

    Returns:
        The sentence.
    """
    where = "from the start of this case" if score.of_this_case else "of three invented airplanes"
    return (
        f"On {score.cases:,} blind simulated flights {where}, made by another flight model and "
        f"weighed {'whole' if score.full else 'by a quick look'}, the mean log score was "
        f"{score.mean_log_score:.2f} nats against {score.prior_log_score:.2f} without knowledge; "
        f"90% sets of causes contained the true one {percent(score.covered)} of the time; the true "
        f"cause was given less than 1% in {100.0 * score.lost:.1f}% of them."
    )


def score_rows(score: BlindScore) -> list[Score]:
    """The measures one by one.

    Args:
        score: On blind cases.

    Returns:
        One entry a measure.
    """
    where = (
        "Flights from the start of this case."
        if score.of_this_case
        else "Flights of three invented airplanes from seven steady flights, not of this case; the "
        "command calibrate flies those."
    )
    how = "Weighed whole" if score.full else "Weighed by a quick look"
    gained = score.mean_log_score - score.prior_log_score
    return [
        Score(
            name="mean log score",
            value=score.mean_log_score,
            cases=score.cases,
            sentence=f"Nats; 0 is perfect, {gained:.2f} better than without knowledge. {how}. "
            f"{where}",
        ),
        Score(
            name="coverage of 90% sets of causes",
            value=score.covered,
            cases=score.cases,
            sentence="A well-calibrated 90% set contains the true cause 90% of the time.",
        ),
        Score(
            name="true cause given less than 1%",
            value=score.lost,
            cases=score.cases,
            sentence="Share of the flights: the worst error there is.",
        ),
    ]
