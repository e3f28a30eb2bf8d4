"""Events on earlier flights as an item of evidence; ordinary measures are none."""

from __future__ import annotations

from neutralpoint.case import Case
from neutralpoint.case.evidence_entries import FindingEntry
from neutralpoint.findings import HistoryEvidence, HistoryFindings
from neutralpoint.weighing.evidence import Contribution, from_table
from neutralpoint.weighing.items import EARLIER_TRACKS, earlier_item


def stated(case: Case) -> bool:
    """Whether the case itself says what earlier tracks show: then that counts, and once."""
    return any(
        isinstance(entry, FindingEntry) and entry.item == EARLIER_TRACKS
        for entry in case.document.evidence
    )


def earlier_contribution(
    found: HistoryEvidence | None, causes: tuple[str, ...], tracks: str
) -> Contribution | None:
    """What events on earlier flights add to the odds.

    Args:
        found: Events with the table that is used; None where there were none.
        causes: Listed causes, C of them.
        tracks: Where they were found.

    Returns:
        Log likelihoods; None without events. That none was found is not used: where a fault leaves
        no event on most flights, its absence says next to nothing.
    """
    if found is None:
        return None
    item = earlier_item(found.ordinary, {str(name): p for name, p in found.fault.items()})
    return Contribution(
        f"{item.name}: {found.events}",
        from_table(item, causes, item.outcomes[1], found.doubt),
        found.doubt,
        item.caution,
        f"tracks in {tracks}",
    )


def given_by(found: HistoryFindings | None) -> tuple[str, ...]:
    """Keys of the items that earlier flights answer."""
    return () if found is None or found.own == 0 else (EARLIER_TRACKS,)
