"""The key times of a motion: where a reader looks first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from neutralpoint.findings import Event, KeyTime, banded
from neutralpoint.findings.part import Kind
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.extremes import highest, lowest, stands_out
from neutralpoint.vocabulary import QUANTITIES

DESCENT = "steepest descent"
# Variable, which end, label.
EXTREMES: tuple[tuple[str, str, str], ...] = (
    ("pressure_altitude", "high", "highest altitude"),
    ("flight_path_angle", "low", DESCENT),
    ("normal_load_factor", "low", "lowest load factor"),
    ("normal_load_factor", "high", "highest load factor"),
    ("calibrated_airspeed", "high", "highest calibrated airspeed"),
)


def key_times(
    time: Array,
    paths: Mapping[str, Array],
    observable: Mapping[str, Flags],
    *,
    names: Sequence[str],
    events: Sequence[Event] = (),
    flown: Flags | None = None,
) -> list[KeyTime]:
    """Values with bands at the first and last moment, at extremes and at the events.

    Args:
        time: s after the epoch, shape (m,).
        paths: Sample paths by variable, each (S, m), SI.
        observable: By variable, True where the data bear a value, each (m,).
        names: Variables that the table carries.
        events: Events of the case; those outside the motion are left out.
        flown: True where an extreme may lie, (m,); None = everywhere.

    Returns:
        The rows in order of time. An extreme is that of each path, sought where it is observable,
        at the middle of their times; a record that changes evenly has none, and one that hardly
        descends has no steepest descent.
    """
    none: dict[str, Array] = {}
    found: list[tuple[int, str, Kind, dict[str, Array]]] = []
    found.append((0, "first fix", "derived", none))
    found.append((len(time) - 1, "last fix", "derived", none))
    for variable, end, label in EXTREMES:
        if variable not in paths:
            continue
        sought = observable[variable] if flown is None else observable[variable] & flown
        if not sought.any() or not stands_out(paths[variable][:, sought], high=end == "high"):
            continue
        own = (highest if end == "high" else lowest)(paths[variable][:, sought])
        at = int(np.flatnonzero(sought)[int(np.median(own.node))])
        if label != DESCENT or np.quantile(own.value, 0.95) < 0.0:
            found.append((at, label, "derived", {variable: own.value}))
    for event in events:
        if time[0] <= event.time <= time[-1]:
            found.append((int(np.argmin(np.abs(time - event.time))), event.text, "fact", none))
    return [
        KeyTime(
            time=float(time[at]),
            label=label,
            kind=kind,
            values={
                name: banded(
                    own.get(name, paths[name][:, at]),
                    QUANTITIES[name].unit,
                    observable=bool(observable[name][at]),
                    circular=QUANTITIES[name].circular,
                )
                for name in names
                if name in paths
            },
        )
        for at, label, kind, own in sorted(found, key=lambda row: row[0])
    ]
