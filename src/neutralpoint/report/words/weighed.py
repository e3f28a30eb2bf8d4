"""What the commands on odds and next evidence print."""

from __future__ import annotations

from neutralpoint.findings import EvidenceItem, OddsRow, WeighingFindings
from neutralpoint.report.words.evidence import best_by_cost, leaders
from neutralpoint.report.words.odds_tables import sided
from neutralpoint.report.words.prior import prior_sentence, reading_title
from neutralpoint.report.words.score import place_sentence, score_sentence
from neutralpoint.vocabulary import CauseName


def printed(probability: float) -> str:
    """A probability that never reads as none."""
    return "< 0.001" if probability < 0.0005 else f"{probability:.3f}"


def odds_heads(found: WeighingFindings) -> list[str]:
    """Heads of the table of odds."""
    over = f"over {found.networks} networks"
    return ["odds", over, "prior", "ln B", "cause", "evidence against the first"]


def odds_cells(row: OddsRow, leader: CauseName) -> list[str]:
    """A row of the table of odds."""
    return [
        printed(row.probability),
        f"{row.lowest:.3f} to {row.highest:.3f}",
        f"{row.prior:.3f}",
        f"{row.log_bayes_factor:+.1f}",
        row.cause.title,
        "" if row.cause is leader else sided(row),
    ]


def odds_lines(found: WeighingFindings) -> list[str]:
    """What follows the table of odds.

    Args:
        found: Of the stage.

    Returns:
        One line each: mechanisms with the names that `--prior` takes, prior, other evidence, rival,
        score.
    """
    groups = [
        f"{printed(group.probability)} {group.mechanism.title}: {', '.join(group.causes)}"
        for group in found.mechanisms
    ]
    return [
        *groups,
        prior_sentence(found.prior),
        *_other_priors(found),
        *_other_evidence(found),
        f"Nearest rival: {found.rival.spoken}.",
        place_sentence(found),
        score_sentence(found.score),
    ]


def _other_priors(found: WeighingFindings) -> list[str]:
    said = []
    for reading in found.readings[1:]:
        chance = dict(reading.probability)
        null = chance.pop(CauseName.NO_FAILURE, 0.0)
        first = max(chance, key=chance.__getitem__)
        said.append(
            f"With {reading_title(reading)}: {CauseName.NO_FAILURE.spoken} {null:.3f}, "
            f"{first.spoken} {chance[first]:.3f}."
        )
    return said


def _other_evidence(found: WeighingFindings) -> list[str]:
    said = []
    for item in found.evidence:
        nats, cause = max(zip(item.nats, found.weighed, strict=True))
        said.append(f"{item.name}: {nats:+.2f} nats for {cause.spoken}. {item.caution}".rstrip())
    return said


def next_lines(items: list[EvidenceItem]) -> list[str]:
    """Evidence that is not in hand, most informative first.

    Args:
        items: Of the stage.

    Returns:
        One line each.
    """
    said = []
    for item in items:
        said.append(
            f"{item.bits:5.2f} bits ({item.lowest:.2f} to {item.highest:.2f}), {item.cost} cost: "
            f"{item.item} ({item.source})"
        )
        said += [
            f"        {then.outcome} ({then.chance:.2f}): {', '.join(leaders(then))}"
            for then in item.outcomes
        ]
        if item.caution:
            said.append(f"        {item.caution}")
    said += [
        f"Most informative at {cost} cost: {item.item}, {item.bits:.2f} bits."
        for cost, item in best_by_cost(items)
    ]
    return said
