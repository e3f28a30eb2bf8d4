"""Loading: what is on board, where, and what that makes of mass, centre of gravity and inertia.

Positions are (station, side, depth): m aft of the datum, to the right, and below the datum line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from neutralpoint.airplane.model import MassProperties
from neutralpoint.errors import NeutralPointError

Position = tuple[float, float, float]
Station = TypeVar("Station", float, np.ndarray)  # one, or many at once


@dataclass(frozen=True)
class LoadItem:
    """Something carried: a person, a bag, a crate.

    Args:
        name: What an analyst calls it.
        mass: kg.
        position: Station, side, depth, m.
        loose: True when it could move in flight; an item that is tied down or strapped in is not.
    """

    name: str
    mass: float
    position: Position
    loose: bool = False


@dataclass(frozen=True)
class FuelTank:
    """A tank, or a pair of tanks used alike.

    Args:
        name: What an analyst calls it.
        capacity: Usable fuel, kg.
        contents: Fuel in it, kg.
        station_at_contents: Pairs (contents kg, station m), contents rising; a tank whose
            station does not depend on contents has one pair.
        side: Distance right of the plane of symmetry, m (0 for a pair used alike).
        depth: Below the datum line, m.
    """

    name: str
    capacity: float
    contents: float
    station_at_contents: tuple[tuple[float, float], ...]
    side: float = 0.0
    depth: float = 0.0

    @property
    def position(self) -> Position:
        """Centre of gravity of the fuel in it: station, side, depth, m."""
        contents, stations = zip(*self.station_at_contents, strict=True)
        return (float(np.interp(self.contents, contents, stations)), self.side, self.depth)


@dataclass(frozen=True)
class Loading:
    """The empty airplane with everything on board.

    Args:
        empty: As weighed, with its own inertia.
        items: People, bags, cargo.
        tanks: Fuel.
    """

    empty: MassProperties
    items: tuple[LoadItem, ...] = ()
    tanks: tuple[FuelTank, ...] = ()

    def item(self, name: str) -> LoadItem:
        """The item of that name.

        Args:
            name: Of the item.

        Returns:
            The item.

        Raises:
            NeutralPointError: No item has that name.
        """
        for item in self.items:
            if item.name == name:
                return item
        known = ", ".join(repr(item.name) for item in self.items) or "none"
        raise NeutralPointError(
            "argument-invalid",
            f"No item named {name!r} is on board.",
            where="items",
            hint=f"Items on board: {known}.",
        )

    def with_item(self, item: LoadItem) -> Loading:
        """The same loading with one item more.

        Args:
            item: To be added.

        Returns:
            A new loading.
        """
        return replace(self, items=(*self.items, item))


def mass_properties(loading: Loading) -> MassProperties:
    """Mass, centre of gravity and inertia of the empty airplane and all it carries.

    Items and fuel count as point masses. The centre of gravity is kept in the plane of symmetry:
    what an item does to one side is not followed.

    Args:
        loading: What is on board.

    Returns:
        Mass kg, centre of gravity m, inertia kg m2 about it.

    Source: FAA-H-8083-1B, Weight and Balance Handbook, ch. 2 (sum of moments over sum of
        weights); parallel-axis theorem.
    Checked against: tests/against/test_loading_examples.py.
    """
    empty = loading.empty
    masses, positions = _points(loading)
    mass = float(masses.sum())
    station, _, depth = (masses @ positions / mass).tolist()
    # Stations count aft, body axes forward: hence the minus of the first row.
    forward, right, down = (positions - [station, 0.0, depth]).T * [[-1.0], [1.0], [1.0]]
    return MassProperties(
        mass=mass,
        cg_station=station,
        cg_depth=depth,
        roll_inertia=float(empty.roll_inertia + masses @ (right**2 + down**2)),
        pitch_inertia=float(empty.pitch_inertia + masses @ (forward**2 + down**2)),
        yaw_inertia=float(empty.yaw_inertia + masses @ (forward**2 + right**2)),
        cross_inertia=float(empty.cross_inertia + masses @ (forward * down)),
    )


def _points(loading: Loading) -> tuple[np.ndarray, np.ndarray]:
    """Masses (k,) kg and positions (k, 3) m of empty airplane, items and fuel."""
    empty = loading.empty
    parts = [(empty.mass, (empty.cg_station, 0.0, empty.cg_depth))]
    parts += [(item.mass, item.position) for item in loading.items]
    parts += [(tank.contents, tank.position) for tank in loading.tanks]
    return np.array([m for m, _ in parts]), np.array([p for _, p in parts])


def percent_mac(station: Station, leading_edge: float, chord: float) -> Station:
    """Station (m) as percent of the mean aerodynamic chord.

    Args:
        station: m.
        leading_edge: Station of the nose of the mean chord, m.
        chord: Mean aerodynamic chord, m.

    Returns:
        Percent of the chord.

    Source: FAA-H-8083-1B, ch. 3: CG in % MAC = 100 (CG - LEMAC) / MAC.
    Checked against: tests/against/test_loading_examples.py, examples 4.4 to 4.6.
    """
    return 100.0 * (station - leading_edge) / chord


def station_of_percent_mac(percent: float, leading_edge: float, chord: float) -> float:
    """Station, m, of a point given in percent of the mean aerodynamic chord.

    Args:
        percent: Percent of the chord.
        leading_edge: Station of the nose of the mean chord, m.
        chord: Mean aerodynamic chord, m.

    Returns:
        Station, m.
    """
    return leading_edge + percent / 100.0 * chord
