"""What would settle a case: evidence not yet collected, by what it is expected to tell."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from neutralpoint.findings import EvidenceFindings, EvidenceItem, LeaderThen, OutcomeRow
from neutralpoint.study.weighing.saved import (
    WEIGHING_FILE,
    SavedWeighing,
    read_weighing,
    saved_odds,
)
from neutralpoint.weighing.items import ITEMS, actuator_item
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.value import Item, Worth, rank

LEADERS = 3  # causes named for each outcome
PRINTED = 0.005  # bits below which an item tells nothing of these causes


def open_items(saved: SavedWeighing) -> list[Item]:
    """Items that the case has not given yet.

    Args:
        saved: Of `read_weighing`.

    Returns:
        Tables of the analyst's, and the trim actuator from the flights of this case.
    """
    given = set(saved.items_given)
    trim, rows = saved.trim, [row for row in saved.causes if row.name != UNLISTED]
    found = [item for item in ITEMS if item.key not in given]
    if trim.drive != "none":
        actuator = actuator_item(
            trim.drive,
            tuple(row.name for row in rows),
            [np.array(row.trim_draws) for row in rows],
            trim.travel,
            trim.at,
        )
        found = [actuator, *found] if actuator.key not in given else found
    return found


def ranked(saved: SavedWeighing) -> tuple[list[Worth], tuple[str, ...]]:
    """Open items, most informative first, by the saved odds.

    Args:
        saved: Of `read_weighing`.

    Returns:
        One entry an item, and the names of the causes.
    """
    odds, each = saved_odds(saved)
    return rank(open_items(saved), odds.causes, odds.probability, each), odds.causes


def evidence_findings(saved: SavedWeighing) -> EvidenceFindings:
    """What would tell the causes apart.

    Args:
        saved: A weighing as `weighing.json` has it.

    Returns:
        Items worth listing.
    """
    worths, causes = ranked(saved)
    shown = [worth for worth in worths if worth.bits >= PRINTED]
    return EvidenceFindings(
        file=WEIGHING_FILE,
        least=PRINTED,
        silent=len(worths) - len(shown),
        items=[_item(worth, causes) for worth in shown],
    )


def next_items(results: Path) -> list[EvidenceItem]:
    """Every open item, most informative first.

    Args:
        results: The results folder.

    Returns:
        One entry an item.
    """
    worths, causes = ranked(read_weighing(results))
    return [_item(worth, causes) for worth in worths]


def _item(worth: Worth, causes: tuple[str, ...]) -> EvidenceItem:
    item = worth.item
    return EvidenceItem(
        item=item.name,
        key=item.key,
        bits=max(worth.bits, 0.0),
        lowest=worth.low,
        highest=worth.high,
        cost=item.cost,
        source=item.source,
        caution=item.caution,
        outcomes=[
            OutcomeRow(
                outcome=word,
                chance=min(float(chance), 1.0),
                leaders=[
                    LeaderThen(cause=causes[i], probability=min(float(then[i]), 1.0))
                    for i in np.argsort(-then, kind="stable")[:LEADERS]
                ],
            )
            for word, chance, then in zip(item.outcomes, worth.chance, worth.odds_then, strict=True)
        ],
    )
