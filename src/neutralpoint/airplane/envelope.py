"""Centre-of-gravity envelopes, and what moving one item does to balance and stability."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.airplane.loading import (
    Loading,
    LoadItem,
    Position,
    mass_properties,
    percent_mac,
)
from neutralpoint.airplane.model import MassProperties
from neutralpoint.errors import NeutralPointError


@dataclass(frozen=True)
class Envelope:
    """Limits of mass and centre of gravity as a closed polygon.

    Args:
        name: For which operation it holds ("take-off and flight").
        vertices: Pairs (station m, mass kg) in order round the polygon.
    """

    name: str
    vertices: tuple[tuple[float, float], ...]

    def contains(self, station: float, mass: float) -> bool:
        """Whether a point (station m, mass kg) lies inside or on the edge.

        Args:
            station: m.
            mass: kg.

        Returns:
            True inside or on the edge.
        """
        limits = self.station_limits(mass)
        return limits is not None and limits[0] <= station <= limits[1]

    def station_limits(self, mass: float) -> tuple[float, float] | None:
        """Foremost and rearmost station (m) at a mass (kg); None above or below the envelope.

        An envelope has two limits at every mass, which is how they are published.

        Args:
            mass: kg.

        Returns:
            Foremost and rearmost station, m.
        """
        crossings = self._crossings(mass)
        return (min(crossings), max(crossings)) if crossings else None

    def _crossings(self, mass: float) -> list[float]:
        """Stations at which the edges reach a mass."""
        following = (*self.vertices[1:], self.vertices[0])
        edges = zip(self.vertices, following, strict=True)
        return [station for start, end in edges for station in _crossing(start, end, mass)]

    def mass_limits(self) -> tuple[float, float]:
        """Lowest and highest mass of the polygon, kg.

        Returns:
            kg, kg.
        """
        masses = [mass for _, mass in self.vertices]
        return (min(masses), max(masses))

    def margins(self, properties: MassProperties) -> Margins:
        """Distance of a loading from each limit; negative means passed.

        Args:
            properties: The loading.

        Returns:
            Distances to the limits.
        """
        station, mass = float(properties.cg_station), float(properties.mass)
        low, high = self.mass_limits()
        crossings = self._crossings(min(max(mass, low), high))
        return Margins(station - min(crossings), max(crossings) - station, high - mass)


@dataclass(frozen=True)
class Margins:
    """Distances to the limits of an envelope; a negative one is a limit passed.

    Args:
        forward: From the forward limit, m.
        aft: From the aft limit, m.
        mass: From the highest mass, kg.
    """

    forward: float
    aft: float
    mass: float

    def passed(self) -> tuple[str, ...]:
        """Names of the limits that are passed.

        Returns:
            Any of "forward", "aft", "mass".
        """
        named = (("forward", self.forward), ("aft", self.aft), ("mass", self.mass))
        return tuple(name for name, margin in named if margin < 0.0)


def _crossing(
    start: tuple[float, float], end: tuple[float, float], mass: float
) -> tuple[float, ...]:
    """Stations at which one edge reaches a mass: none, one, or both ends of a level edge."""
    (station0, mass0), (station1, mass1) = start, end
    if not min(mass0, mass1) <= mass <= max(mass0, mass1):
        return ()
    if mass0 == mass1:
        return (station0, station1)
    return (station0 + (station1 - station0) * (mass - mass0) / (mass1 - mass0),)


def move_item(loading: Loading, name: str, to: Position, *, mass: float | None = None) -> Loading:
    """The loading with an item, or part of it, moved to another place.

    Args:
        loading: As it was.
        name: Item to move.
        to: Its new position, station, side, depth, m.
        mass: How much of it moves, kg; all of it when not given.

    Returns:
        A new loading.

    Raises:
        NeutralPointError: No such item, or more than it weighs.
    """
    item = loading.item(name)
    moved = item.mass if mass is None else mass
    if not 0.0 < moved <= item.mass:
        raise NeutralPointError(
            "quantity-range",
            f"{moved:.1f} kg of {name!r} cannot move: it weighs {item.mass:.1f} kg.",
            where="mass",
            hint="Give a mass above nothing and not above that of the item.",
        )
    rest = tuple(other for other in loading.items if other is not item)
    if moved < item.mass:
        rest = (*rest, replace(item, mass=item.mass - moved))
    return replace(loading, items=(*rest, LoadItem(item.name, moved, to, item.loose)))


@dataclass(frozen=True)
class MoveEffect:
    """What one move does.

    Args:
        before: Mass properties as it was.
        after: With the item moved.
        shift: Change of centre of gravity, m, positive aft.
        static_margin_before: Stick-fixed, fraction of the mean chord.
        static_margin_after: The same, with the item moved.
        margins: Per envelope name, the margins after the move.
    """

    before: MassProperties
    after: MassProperties
    shift: float
    static_margin_before: float
    static_margin_after: float
    margins: dict[str, Margins]


def effect_of_move(
    loading: Loading,
    name: str,
    to: Position,
    *,
    neutral_point: float,
    chord: float,
    envelopes: tuple[Envelope, ...],
    mass: float | None = None,
) -> MoveEffect:
    """What moving an item does to centre of gravity, static margin and limits.

    Args:
        loading: As it was.
        name: Item to move.
        to: New position, station, side, depth, m.
        neutral_point: Stick-fixed neutral point, m aft of the datum.
        chord: Mean aerodynamic chord, m.
        envelopes: Limits to test.
        mass: Part of the item that moves, kg; all when not given.

    Returns:
        Before, after, and what changed.

    Source: shift = w d / W (FAA-H-8083-1B, ch. 4); static margin = (neutral point - CG) / chord.
    Checked against: tests/against/test_loading_examples.py, examples 4.1 and 4.3.
    """
    before = mass_properties(loading)
    after = mass_properties(move_item(loading, name, to, mass=mass))
    return MoveEffect(
        before,
        after,
        float(after.cg_station - before.cg_station),
        float(neutral_point - before.cg_station) / chord,
        float(neutral_point - after.cg_station) / chord,
        {envelope.name: envelope.margins(after) for envelope in envelopes},
    )


def mass_to_move(properties: MassProperties, *, target: float, start: float, end: float) -> float:
    """Mass that must move from one station to another to bring the centre of gravity to a target.

    Args:
        properties: As loaded.
        target: Wanted centre of gravity, m aft of the datum.
        start: Station it is taken from, m.
        end: Station it is put at, m.

    Returns:
        Mass, kg; negative when the move goes the wrong way.

    Raises:
        NeutralPointError: The two arms are the same.

    Source: FAA-H-8083-1B, ch. 4: weight shifted / total weight = CG change / distance shifted.
    Checked against: tests/against/test_loading_examples.py, example 4.2.
    """
    if np.isclose(start, end):
        raise NeutralPointError(
            "argument-invalid",
            "The station the mass is taken from and the one it is put at are the same.",
            where="end",
            hint="Give two different stations.",
        )
    return float(properties.mass * (target - properties.cg_station) / (end - start))


def within(loading: Loading, envelopes: tuple[Envelope, ...]) -> dict[str, bool]:
    """Per envelope name, whether the loading lies inside it.

    Args:
        loading: What is on board.
        envelopes: Limits.

    Returns:
        Envelope name to True (inside) or False.
    """
    properties = mass_properties(loading)
    return {
        envelope.name: envelope.contains(float(properties.cg_station), float(properties.mass))
        for envelope in envelopes
    }


def percent_mac_limits(
    envelope: Envelope, mass: float, leading_edge: float, chord: float
) -> tuple[float, float] | None:
    """Foremost and rearmost centre of gravity in % MAC at a mass; None outside the envelope.

    Args:
        envelope: Limits.
        mass: kg.
        leading_edge: Station of the nose of the mean chord, m.
        chord: Mean aerodynamic chord, m.

    Returns:
        Forward and aft limit, % MAC.
    """
    limits = envelope.station_limits(mass)
    if limits is None:
        return None
    return (
        percent_mac(limits[0], leading_edge, chord),
        percent_mac(limits[1], leading_edge, chord),
    )
