"""How much of the uncertainty of the cause an item of evidence would remove, in plain words.

Uncertainty is the entropy of the odds; an expected gain in bits is a share of it. Source: Shannon,
Bell System Technical Journal 27 (1948) 379-423, for entropy and expected information, from memory.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import EvidenceItem, Findings, OutcomeRow, WeighingFindings
from neutralpoint.report.words.sheet_numbers import chance

SETTLES = 0.5  # share of the uncertainty from which a find may be said to settle; analyst's
COSTS = {
    "low": "low cost: records or a look",
    "medium": "medium cost: an examination",
    "high": "high cost: a laboratory",
}
HOW = [
    "Uncertainty: how open the odds are; 100% would settle the cause.",
    "Averages over what might be found; they rest on tables that are analyst's estimates, whose "
    "error is not in them.",
]


def uncertainty_of(found: WeighingFindings) -> float:
    """Entropy of the odds, bits."""
    shares = np.array([row.probability for row in found.rows if row.probability > 0.0])
    return float(-(shares * np.log2(shares)).sum())


def uncertainty_share(bits: float, found: WeighingFindings) -> float:
    """Share of the uncertainty that an expected gain removes, 0 to 1."""
    whole = uncertainty_of(found)
    return min(bits / whole, 1.0) if whole > 0.0 else 0.0


def removes(share: float) -> str:
    """A share of the uncertainty in whole per cent, small ones as a bound."""
    return "below 1%" if share < 0.01 else f"about {100.0 * share:.0f}%"


def outcomes_said(item: EvidenceItem, found: WeighingFindings) -> str:
    """The likeliest outcome of an item and the one that moves a probability most, with chances.

    Args:
        item: Of evidence not in hand.
        found: The odds without it.
    """
    if not item.outcomes:
        return ""
    now = {row.cause: row.probability for row in found.rows}

    def moves(outcome: OutcomeRow) -> float:
        return max(abs(one.probability - now.get(one.cause, 0.0)) for one in outcome.leaders)

    likeliest = max(item.outcomes, key=lambda one: one.chance)
    most = max(item.outcomes, key=moves)
    name = item.item.partition(":")[0]
    told = f"{name[:1].upper()}{name[1:]}: its likeliest outcome, {_outcome(likeliest)}"
    if most is likeliest:
        return f"{told}, and no other moves more."
    return f"{told}; the one that moves most, {_outcome(most)}."


def _outcome(outcome: OutcomeRow) -> str:
    leader = outcome.leaders[0]
    return (
        f"{outcome.outcome} (chance {chance(outcome.chance)}), would give "
        f"{leader.cause.spoken.split(' (')[0]} {chance(leader.probability)}"
    )


def best_said(findings: Findings) -> str:
    """The most informative item in one sentence; empty without one."""
    found, weighing = findings.evidence, findings.weighing
    if found is None or weighing is None or not found.items:
        return ""
    first = max(found.items, key=lambda item: item.bits)
    name = first.item.partition(":")[0]
    share = removes(uncertainty_share(first.bits, weighing))
    most = f"{name} would tell most: {share} of the uncertainty"
    if uncertainty_share(first.bits, weighing) < SETTLES:
        return f"On average no single find settles it; {most}"
    return f"{most[:1].upper()}{most[1:]}"
