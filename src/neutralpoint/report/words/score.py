"""What is said of how often the method is right, beside every conclusion."""

from __future__ import annotations

from neutralpoint.findings import BlindScore, Score, WeighingFindings
from neutralpoint.report.words.phrases import percent

# Fineness of the data that a score was measured on, by its key.
STRATA = {
    "data fine": "fine data",
    "data middling": "data of median fineness",
    "data coarse": "coarse data",
}


def place_sentence(found: WeighingFindings) -> str:
    """Whether the odds may be trusted as far as their score.

    Args:
        found: Of the stage.

    Returns:
        The sentence.
    """
    if found.place == "inside":
        return (
            "Airplane and start lie inside the range that the networks of the odds were trained on."
        )
    odd = f"farthest from the median is {found.odd}, by {found.odd_by:+.1f} standard deviations"
    if found.place == "at the edge":
        return (
            "Airplane and start lie at the edge of the range that the networks of the odds were "
            f"trained on ({odd}): the true score may be worse than the one printed."
        )
    return (
        "Airplane and start lie outside the range that the shipped networks were trained on "
        f"({odd}): networks were trained on flights of this case instead; the score is not theirs."
    )


def score_sentence(score: BlindScore) -> str:
    """The score in a sentence.

    Args:
        score: On blind cases.

    Returns:
        The sentence.
    """
    where = (
        "from the start of this case" if score.of_this_case else "of airplanes kept out of training"
    )
    kind = STRATA.get(score.stratum, score.stratum)
    data = f" with {kind}" if kind else ""
    said = (
        f"On {score.cases:,} blind simulated flights {where}{data}, made by another flight "
        f"model, the mean log score was "
        f"{score.mean_log_score:.2f} nats against {score.prior_log_score:.2f} without knowledge; "
        f"90% sets of causes contained the true one {percent(score.covered)} of the time; the true "
        f"cause was given less than 1% in {100.0 * score.lost:.1f}% of them."
    )
    other = score.elsewhere
    if other is None:
        return said
    return (
        f"{said} On {other.cases:,} upsets of another simulator, from which nothing was learned, "
        f"these are {other.mean_log_score:.2f} nats, {percent(other.covered)} and "
        f"{100.0 * other.lost:.1f}%: real flights may be further still from what was learned."
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
        else "Flights of airplanes kept out of training, "
        f"{STRATA.get(score.stratum, score.stratum) or 'all data'}; the command calibrate flies "
        "some from the start of this case."
    )
    gained = score.mean_log_score - score.prior_log_score
    rows = [
        Score(
            name="mean log score",
            value=score.mean_log_score,
            cases=score.cases,
            sentence=f"Nats; 0 is perfect, {gained:.2f} better than without knowledge. {where}",
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
            sentence="Share of the flights; the worst kind of error.",
        ),
    ]
    if (other := score.elsewhere) is not None:
        rows.append(
            Score(
                name="coverage of 90% sets on another simulator",
                value=other.covered,
                cases=other.cases,
                sentence="Upsets of a simulator from which nothing was learned; the causes that "
                f"fit were given less than 1% in {100.0 * other.lost:.1f}%.",
            )
        )
    return rows
