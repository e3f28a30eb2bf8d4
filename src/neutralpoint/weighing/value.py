"""What an item of evidence that nobody has collected yet would be worth, in bits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from scipy.special import ndtr

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.weighing.odds import UNLISTED, posterior

Cost = Literal["low", "medium", "high"]


@dataclass(frozen=True)
class Item:
    """An item of evidence and what each cause expects of it.

    Attributes:
        name: What would be looked at.
        cost: Class of effort.
        outcomes: What may be found.
        otherwise: P(outcome | cause) for a cause that `rows` does not name.
        rows: P(outcome | cause) by name of the cause.
        source: Where the numbers are from; "analyst's estimate" for a judgement.
        caution: What the finding does not say.
        key: As the case file calls it.
    """

    name: str
    cost: Cost
    outcomes: tuple[str, ...]
    otherwise: tuple[float, ...]
    rows: dict[str, tuple[float, ...]] = field(default_factory=dict)
    source: str = "analyst's estimate"
    caution: str = ""
    key: str = ""

    def table(self, causes: tuple[str, ...]) -> Array:
        """P(outcome | cause).

        Args:
            causes: Names; a cause that is not listed expects what the listed ones do on average.

        Returns:
            Shape (C, outcomes).

        Raises:
            NeutralPointError: `argument-invalid` for a row that is no distribution.
        """
        listed = [self.rows.get(c, self.otherwise) for c in causes if c != UNLISTED]
        # Of a cause that nobody listed one expects what the listed ones leave on average.
        mean = tuple(np.mean(listed, axis=0)) if listed else self.otherwise
        rows = [mean if c == UNLISTED else self.rows.get(c, self.otherwise) for c in causes]
        table = np.array(rows, dtype=float)
        if table.shape[1] != len(self.outcomes) or not np.allclose(table.sum(axis=1), 1.0):
            raise NeutralPointError(
                "argument-invalid",
                f"The outcomes of {self.name!r} do not have probabilities that add up to 1.",
                where=f"evidence.{self.name}",
                hint="Give each cause one probability an outcome.",
            )
        return table


@dataclass(frozen=True)
class Worth:
    """What one item is expected to tell.

    Attributes:
        item: The item.
        bits: Expected information on the cause.
        low: The same, lowest over the runs that the odds rest on.
        high: Highest over the runs.
        chance: Probability of each outcome now.
        odds_then: Probability of the causes after each outcome, shape (outcomes, C).
    """

    item: Item
    bits: float
    low: float
    high: float
    chance: Array
    odds_then: Array


def entropy_bits(probability: Array) -> Array:
    """Entropy over the last axis. Source: Shannon, Bell Syst. Tech. J. 27 (1948) 379-423.

    Args:
        probability: Shape (..., C).

    Returns:
        Bits, shape (...).
    """
    # 0 log 0 is 0: what is certain not to be tells nothing.
    safe = np.where(probability > 0.0, probability, 1.0)
    return -np.sum(probability * np.log2(safe), axis=-1)


def bits_of(probability: Array, table: Array) -> float:
    """Expected information: entropy of the odds now less the mean entropy after.

    Args:
        probability: Odds now, shape (C,).
        table: P(outcome | cause), shape (C, outcomes).

    Returns:
        Bits.

    Source: Lindley, Ann. Math. Stat. 27 (1956) 986-1005, definition 2.
    """
    chance, then = _after(probability, table)
    return float(max(entropy_bits(probability) - chance @ entropy_bits(then), 0.0))


def _after(probability: Array, table: Array) -> tuple[Array, Array]:
    """Chance of each outcome, and the odds after it."""
    chance = probability @ table
    # An outcome that a cause cannot have takes the cause away, and its logarithm is minus infinity;
    # one that no cause left can have is no number, and the odds stay.
    with np.errstate(divide="ignore", invalid="ignore"):
        then = posterior(probability, np.log(table.T))
    return chance, np.where(chance[:, None] > 0.0, then, probability)


def worth(item: Item, causes: tuple[str, ...], probability: Array, each: Array) -> Worth:
    """What an item is expected to tell, and how far that is settled.

    Args:
        item: The item.
        causes: Names.
        probability: Odds now, shape (C,).
        each: Odds of each run that they are the mean of, shape (R, C).

    Returns:
        What it is worth.
    """
    table = item.table(causes)
    runs = [bits_of(row, table) for row in each]
    bits = bits_of(probability, table)
    chance, then = _after(probability, table)
    return Worth(item, bits, min(*runs, bits), max(*runs, bits), chance, then)


def rank(
    items: list[Item], causes: tuple[str, ...], probability: Array, each: Array | None = None
) -> list[Worth]:
    """All items, most informative first; the cheaper first where two tell the same.

    Args:
        items: Uncollected items.
        causes: Names.
        probability: Odds now, shape (C,).
        each: Odds of each run, shape (R, C); None where there was one.

    Returns:
        One entry an item.
    """
    each = probability[None] if each is None else each
    found = [worth(item, causes, probability, each) for item in items]
    cost = {"low": 0, "medium": 1, "high": 2}
    # Rounded, so that noise in the third digit does not set a laboratory before a look.
    return sorted(found, key=lambda entry: (-round(entry.bits, 3), cost[entry.item.cost]))


def measured_table(draws: list[Array], edges: Array, sigma: float, spoiled: float) -> Array:
    """Outcome table of a measured position, from what each cause leaves it at.

    Args:
        draws: Value that each cause predicts, one array a cause.
        edges: Limits between the outcomes, rising, shape (k - 1,).
        sigma: Standard deviation of the measurement and of what impact does to it.
        spoiled: Chance that the position as found says nothing of the one in flight.

    Returns:
        P(outcome | cause), shape (C, k).
    """
    # Of a share of cases marks and length disagree; then every outcome is as likely as the others.
    even = np.full(edges.size + 1, 1.0 / (edges.size + 1))
    rows = []
    for values in draws:
        below = ndtr((edges[None, :] - np.asarray(values)[:, None]) / sigma)
        ends = np.pad(below, ((0, 0), (1, 1)), constant_values=(0.0, 1.0))
        rows.append((1.0 - spoiled) * np.diff(ends, axis=1).mean(axis=0) + spoiled * even)
    return np.array(rows)
