"""All flights that were measured, one row each."""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from neutralpoint.history.measures import EVENT, SUMS, climb_against
from neutralpoint.history.rows import Trouble
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.vocabulary.measure import MEASURES

Names = NDArray[np.str_]


@dataclass(frozen=True)
class Fleet:
    """Flights, in order of airplane and time.

    Attributes:
        address: Of the airplane, (F,).
        kind: Its type, (F,).
        file: Where it was read, (F,).
        start: s after the Unix epoch, (F,).
        length: s, (F,).
        interval: Median time between rows, s, (F,).
        rows: (F,).
        values: By measure: value and standard deviation, (2, F).
        climb: Sums for the regression of the climb, (F, SUMS).
        events: Flight, s after its start and vertical speed, m/s, of each onset-like event, then
            the probability of an onset about it, and when, s after the start, (k, EVENT).
        curve_height: m, of all flights, (k,).
        curve_rate: m/s, (k,).
        curve_first: Where the curve of each flight begins and the last ends, (F, 2).
        read: Rows that were read.
        troubles: What was wrong with files and rows.
    """

    address: Names
    kind: Names
    file: Names
    start: Array
    length: Array
    interval: Array
    rows: Index
    values: dict[str, Array]
    climb: Array
    events: Array
    curve_height: Array
    curve_rate: Array
    curve_first: Index
    read: int
    troubles: tuple[Trouble, ...]

    @property
    def count(self) -> int:
        """How many flights there are."""
        return int(self.start.size)

    def taken(self, use: Flags) -> Fleet:
        """Some of the flights; curves stay where they are."""
        number = np.cumsum(use) - 1
        kept = use[self.events[:, 0].astype(np.intp)] if len(self.events) else np.zeros(0, bool)
        events = self.events[kept].copy()
        events[:, 0] = number[events[:, 0].astype(np.intp)]
        changed = {
            name: getattr(self, name)[use]
            for name in ("address", "kind", "file", "start", "length", "interval", "rows", "climb",
                         "curve_first")
        }  # fmt: skip
        values = {name: each[:, use] for name, each in self.values.items()}
        rest = {f.name: getattr(self, f.name) for f in fields(self)}
        return Fleet(**(rest | changed | {"values": values, "events": events}))

    def curve(self, flight: int) -> tuple[Array, Array]:
        """Height and vertical speed of a flight as they are drawn."""
        first, last = self.curve_first[flight]
        return self.curve_height[first:last], self.curve_rate[first:last]


def joined(files: list[Path], troubles: list[Trouble]) -> Fleet:
    """Put together what the parts gave.

    Args:
        files: Of the parts.
        troubles: Of files that are in no part.

    Returns:
        The fleet; the rate of climb of each flight is held against its type.
    """
    held = [dict(np.load(path, allow_pickle=False)) for path in files]

    def all_of(name: str, empty: NDArray) -> Any:
        return np.concatenate([part[name] for part in held]) if held else empty

    flights = np.cumsum([0] + [part["start"].size for part in held])
    points = np.cumsum([0] + [part["curve_height"].size for part in held])
    events = [np.zeros((0, EVENT))]
    ends = [np.zeros((0, 2), np.intp)]
    for number, part in enumerate(held):
        if len(part["events"]):
            events.append(part["events"] + np.eye(1, EVENT) * flights[number])
        first = part["curve_first"] + points[number]
        ends.append(np.stack([first[:-1], first[1:]], axis=1))
        troubles = troubles + [Trouble(**one) for one in json.loads(str(part["troubles"]))]
    blank = np.zeros(0)
    values = (
        np.concatenate([part["values"] for part in held], axis=2)
        if held
        else np.zeros((len(MEASURES), 2, 0))
    )
    fleet = Fleet(
        address=all_of("address", np.zeros(0, str)),
        kind=all_of("kind", np.zeros(0, str)),
        file=all_of("where", np.zeros(0, str)),
        start=all_of("start", blank),
        length=all_of("length", blank),
        interval=all_of("interval", blank),
        rows=all_of("rows", blank).astype(np.intp),
        values={name: values[number] for number, name in enumerate(MEASURES)},
        climb=all_of("climb", np.zeros((0, SUMS))),
        events=np.concatenate(events),
        curve_height=all_of("curve_height", blank),
        curve_rate=all_of("curve_rate", blank),
        curve_first=np.concatenate(ends),
        read=int(sum(int(part["read"]) for part in held)),
        troubles=tuple(troubles),
    )
    ordered = np.lexsort((fleet.start, fleet.address))
    return against_type(_reordered(fleet, ordered))


def _reordered(fleet: Fleet, order: Index) -> Fleet:
    place = np.empty(order.size, np.intp)
    place[order] = np.arange(order.size)
    events = fleet.events.copy()
    if len(events):
        events[:, 0] = place[events[:, 0].astype(np.intp)]
    every = fleet.taken(np.ones(fleet.count, bool))
    rest: dict[str, Any] = {f.name: getattr(every, f.name) for f in fields(every)}
    for name in ("address", "kind", "file", "start", "length", "interval", "rows", "climb",
                 "curve_first"):  # fmt: skip
        rest[name] = rest[name][order]
    rest["values"] = {name: each[:, order] for name, each in fleet.values.items()}
    whole: dict[str, Any] = rest | {"events": events}
    return Fleet(**whole)


def against_type(fleet: Fleet) -> Fleet:
    """The fleet with rates of climb held against what the flights of the type do together."""
    found = np.full((2, fleet.count), np.nan)
    for kind in np.unique(fleet.kind):  # over types, a handful
        use = fleet.kind == kind
        found[:, use] = climb_against(fleet.climb[use], fleet.climb[use].sum(axis=0))
    return Fleet(
        **{f.name: getattr(fleet, f.name) for f in fields(fleet) if f.name != "values"},
        values=fleet.values | {"climb_rate": found},
    )
