"""Which listed items, moved where, would reach the shift of the CG that was needed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.airplane.loading import Loading, mass_properties

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ItemReach:
    """How far one item can move the centre of gravity.

    Attributes:
        name: Item.
        mass: kg.
        loose: Whether it could move.
        aft: Shift by moving it to the most aft place listed, m (0 or more).
        forward: Shift by moving it to the most forward place listed, m (0 or less).
        enough: Probability that moving it alone reaches the shift that was needed.
    """

    name: str
    mass: float
    loose: bool
    aft: float
    forward: float
    enough: float


@dataclass(frozen=True)
class LoadReach:
    """What the load could do.

    Attributes:
        items: One row an item, those that reach furthest first.
        aft: All loose items to the most aft place, m.
        forward: All loose items to the most forward place, m.
        all_aft: Every item, fixed ones too, m.
        all_forward: Every item, fixed ones too, m.
    """

    items: list[ItemReach]
    aft: float
    forward: float
    all_aft: float
    all_forward: float


def load_reach(loading: Loading, needed: Array) -> LoadReach:
    """Compare the shift that was needed with what each item could give.

    Args:
        loading: What was on board. The cabin reaches from the most forward to the most aft item.
        needed: Lasting shift needed on each sample path, m aft, shape (S,).

    Returns:
        Reach of each item and of all together.

    Source: dCG = w d / W (FAA-H-8083-1B, ch. 2).
    """
    mass = mass_properties(loading).mass
    stations = [item.position[0] for item in loading.items]
    known = needed[np.isfinite(needed)]
    rows = []
    for item in loading.items:
        aft = item.mass * (max(stations) - item.position[0]) / mass
        forward = item.mass * (min(stations) - item.position[0]) / mass
        enough = (known <= aft) & (known >= forward)
        share = float(enough.mean()) if known.size else float("nan")
        rows.append(ItemReach(item.name, item.mass, item.loose, aft, forward, share))
    rows.sort(key=lambda row: max(row.aft, -row.forward), reverse=True)
    loose = [row for row in rows if row.loose]
    return LoadReach(
        rows,
        sum(row.aft for row in loose),
        sum(row.forward for row in loose),
        sum(row.aft for row in rows),
        sum(row.forward for row in rows),
    )
