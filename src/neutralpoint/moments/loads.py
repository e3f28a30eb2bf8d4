"""How far each listed item could move the CG, and whether its move alone makes the path."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from neutralpoint.airplane.loading import Loading, mass_properties


@dataclass(frozen=True)
class ItemReach:
    """How far one item can move the centre of gravity.

    Attributes:
        name: Item.
        mass: kg.
        loose: Whether it could move.
        aft: Shift by moving it to the most aft place listed, m (0 or more).
        forward: Shift by moving it to the most forward place listed, m (0 or less).
        enough: How often a flight on which it alone moved, controls free, would have a fit as poor
            as this or poorer; NaN where that is not known.
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


def load_reach(loading: Loading, chance: Callable[[float, float], float]) -> LoadReach:
    """How far each item could move the CG, and whether its move alone makes the path.

    Args:
        loading: What was on board. The cabin reaches from the most forward to the most aft item.
        chance: From a shift forward (0 or less) and aft, m, to how often a flight on which the
            load went there, or part of the way, and stayed would fit as poorly or worse.

    Returns:
        Reach of each item and of all together.

    Source: dCG = w d / W (FAA-H-8083-1B, ch. 2).
    """
    mass = float(mass_properties(loading).mass)
    stations = [item.position[0] for item in loading.items]
    rows = []
    for item in loading.items:
        aft = item.mass * (max(stations) - item.position[0]) / mass
        forward = item.mass * (min(stations) - item.position[0]) / mass
        rows.append(ItemReach(item.name, item.mass, item.loose, aft, forward, chance(forward, aft)))
    rows.sort(key=lambda row: max(row.aft, -row.forward), reverse=True)
    loose = [row for row in rows if row.loose]
    return LoadReach(
        rows,
        sum(row.aft for row in loose),
        sum(row.forward for row in loose),
        sum(row.aft for row in rows),
        sum(row.forward for row in rows),
    )
