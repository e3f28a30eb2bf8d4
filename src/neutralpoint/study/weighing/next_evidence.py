"""What would settle a case: evidence not yet collected, by what it is expected to tell."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from neutralpoint.explanations import CAUSES
from neutralpoint.findings import Settling, StageSection, Statement
from neutralpoint.study.weighing.file import WEIGHING_FILE, read_weighing, saved_odds
from neutralpoint.weighing.items import ITEMS, actuator_item
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.value import Item, Worth, rank

LEADERS = 3  # causes named for each outcome
EFFORT = {
    "low": "low: papers, a look",
    "medium": "medium: an examination",
    "high": "high: a laboratory",
}
PRINTED = 0.005  # bits below which an item tells nothing of these causes


def open_items(saved: dict) -> list[Item]:
    """Items that the case has not given yet.

    Args:
        saved: Of `read_weighing`.

    Returns:
        Tables of the analyst's, and the trim actuator from the flights of this case.
    """
    given = set(saved["items_given"])
    trim, rows = saved["trim"], [row for row in saved["causes"] if row["name"] != UNLISTED]
    found = [item for item in ITEMS if item.key not in given]
    if trim["drive"] != "none":
        actuator = actuator_item(
            trim["drive"],
            tuple(row["name"] for row in rows),
            [np.array(row["trim_draws"]) for row in rows],
            tuple(trim["travel"]),
            trim["at"],
        )
        found = [actuator, *found] if actuator.key not in given else found
    return found


def ranked(saved: dict) -> tuple[list[Worth], tuple[str, ...]]:
    """Open items, most informative first, by the saved odds.

    Args:
        saved: Of `read_weighing`.

    Returns:
        One entry an item, and the names of the causes.
    """
    odds, each = saved_odds(saved)
    return rank(open_items(saved), odds.causes, odds.probability, each), odds.causes


def next_items(results: Path) -> list[dict]:
    """The same as JSON values.

    Args:
        results: The results folder.

    Returns:
        One entry an item: bits with their spread over the seeds of the odds, cost, source, and how
        the odds would read for each outcome.
    """
    worths, causes = ranked(read_weighing(results))
    return [_entry(worth, causes) for worth in worths]


def _entry(worth: Worth, causes: tuple[str, ...]) -> dict:
    item = worth.item
    return {
        "item": item.name,
        "key": item.key,
        "bits": worth.bits,
        "low": worth.low,
        "high": worth.high,
        "cost": item.cost,
        "source": item.source,
        "caution": item.caution,
        "outcomes": [
            {
                "outcome": word,
                "chance": float(chance),
                "leaders": [
                    (causes[i], float(then[i])) for i in np.argsort(-then, kind="stable")[:LEADERS]
                ],
            }
            for word, chance, then in zip(item.outcomes, worth.chance, worth.odds_then, strict=True)
        ],
    }


def best_by_cost(worths: list[Worth]) -> list[tuple[str, Worth]]:
    """The most informative item of each class of cost.

    Args:
        worths: Ranked.

    Returns:
        Class and item, cheapest first; classes without an item are left out.
    """
    found = []
    for cost in ("low", "medium", "high"):
        first = next((worth for worth in worths if worth.item.cost == cost), None)
        if first is not None:
            found.append((cost, first))
    return found


def settling_section(saved: dict) -> StageSection:
    """What would settle it, for the findings.

    Args:
        saved: A weighing as `weighing.json` has it.

    Returns:
        The section.
    """
    worths, causes = ranked(saved)
    shown = [worth for worth in worths if worth.bits >= PRINTED]
    best = "; ".join(
        f"of {cost} cost, {w.item.name} ({w.bits:.2f} bits)" for cost, w in best_by_cost(shown)
    )
    silent = len(worths) - len(shown)
    text = f"Most is expected: {best}." if best else "No item of the list tells these causes apart."
    if silent:
        text += f" {silent} more item(s) would tell less than {PRINTED} bits."
    return StageSection(
        stage="evidence",
        title="What would settle it",
        cautions=[
            "What is expected rests on tables of the analyst's; a position as found is not one in "
            "flight until marks agree."
        ],
        statements=[Statement(kind="inferred", text=text, basis=[WEIGHING_FILE])],
        settling=[_settling(worth, causes) for worth in shown],
    )


def said_leaders(outcome: dict) -> list[str]:
    """Who leads if an outcome is found, for people.

    Args:
        outcome: As in `next_items`.

    Returns:
        Causes by their titles, each with its probability then.
    """
    return [f"{CAUSES[name].spoken} {value:.2f}" for name, value in outcome["leaders"]]


def _settling(worth: Worth, causes: tuple[str, ...]) -> Settling:
    entry = _entry(worth, causes)
    outcomes = []
    for then in entry["outcomes"]:
        leaders = "; ".join(said_leaders(then))
        outcomes.append(f"{then['outcome']} ({then['chance']:.2f}): {leaders}")
    if entry["caution"]:
        outcomes.append(entry["caution"])
    return Settling(
        item=entry["item"],
        gain=entry["bits"],
        lowest=entry["low"],
        highest=entry["high"],
        effort=EFFORT[entry["cost"]],
        outcomes=outcomes,
    )
