"""What is said of evidence that is not in hand."""

from __future__ import annotations

from neutralpoint.findings import EvidenceFindings, EvidenceItem, OutcomeRow, Settling, StageSection
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import inferred

CAUTION = (
    "Expected information rests on tables that are analyst's estimates. An as-found position is "
    "not the in-flight position unless actuator length and witness marks agree."
)
EFFORT = {
    "low": "low: records, inspection",
    "medium": "medium: examination",
    "high": "high: laboratory",
}


def evidence_section(found: EvidenceFindings) -> StageSection:
    """The section of evidence that is not in hand.

    Args:
        found: Of the stage.

    Returns:
        The section.
    """
    best = "; ".join(
        f"at {cost} cost, {item.item} ({item.bits:.2f} bits)"
        for cost, item in best_by_cost(found.items)
    )
    text = (
        f"Most informative evidence, by cost: {best}."
        if best
        else "No item of the list would separate these causes."
    )
    if found.silent:
        items = "item gives" if found.silent == 1 else "items give"
        text += f" {found.silent} more {items} less than {found.least} bits."
    return StageSection(
        stage="evidence",
        title=STAGES["settling"],
        cautions=[CAUTION],
        statements=[inferred(text, found.file)],
        settling=[_settling(item) for item in found.items],
    )


def best_by_cost(items: list[EvidenceItem]) -> list[tuple[str, EvidenceItem]]:
    """The most informative item of each class of cost.

    Args:
        items: Most informative first.

    Returns:
        Class and item, cheapest first; classes without an item are left out.
    """
    firsts = ((cost, next((i for i in items if i.cost == cost), None)) for cost in EFFORT)
    return [(cost, item) for cost, item in firsts if item is not None]


def leaders(outcome: OutcomeRow) -> list[str]:
    """Who leads if an outcome is found, each with its probability then."""
    return [f"{one.cause.spoken} {one.probability:.2f}" for one in outcome.leaders]


def _settling(item: EvidenceItem) -> Settling:
    outcomes = [
        f"{one.outcome} ({one.chance:.2f}): {'; '.join(leaders(one))}" for one in item.outcomes
    ]
    return Settling(
        item=item.item,
        gain=item.bits,
        lowest=item.lowest,
        highest=item.highest,
        effort=EFFORT[item.cost],
        outcomes=[*outcomes, item.caution] if item.caution else outcomes,
    )
