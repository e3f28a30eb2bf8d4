"""The columns of one table made rows of many flights: SI, ordered, and what is wrong counted."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from neutralpoint.history.cutting import GAP, FlightRows, speed_and_course
from neutralpoint.numerics.arrays import Array, Flags, Index

LATE = 30.0  # s by which a row may come late and is put in its place; analyst's
FASTEST = 450.0  # m/s between places, above which two airplanes are in one address; as `track`
BESIDE = 2000.0  # m that places of one airplane may lie apart at one time; analyst's
MIXED = 0.05  # share of such steps that makes a file one of mixed airplanes; as `track`
# What no airplane of the trade does, SI; a value beyond is a wrong one. Common practice, no source.
LIMITS = {
    "pressure_altitude": (-600.0, 20_000.0),
    "ground_speed": (0.0, 450.0),
    "vertical_rate": (-200.0, 200.0),
    "latitude": (-np.pi / 2.0, np.pi / 2.0),
    "temperature": (150.0, 340.0),
}


@dataclass(frozen=True)
class Trouble:
    """Something wrong with a file, and what became of it.

    Attributes:
        file: Path below the folder.
        row: First row concerned, counted from 1 without the header; 0 where it is the file.
        reason: Such as `clock-back`; a key of `REASONS` of the words.
        count: Rows concerned.
        detail: A number or a name that belongs to it.
    """

    file: str
    row: int
    reason: str
    count: int
    detail: str = ""

    def moved_by(self, rows: int) -> Trouble:
        """The same with its row counted from the beginning of the file."""
        return Trouble(
            self.file, self.row + rows if self.row else 0, self.reason, self.count, self.detail
        )


@dataclass
class TrackTable:
    """One table, as read: columns by role in SI.

    Attributes:
        file: Path below the folder.
        address: Number of the address of each row, shape (n,).
        time: s after the Unix epoch, NaN where it cannot be read, shape (n,).
        values: Columns by role, each (n,), NaN where absent.
        ground: Shape (n,).
        troubles: What was wrong; more is added.
    """

    file: str
    address: Index
    time: Array
    values: dict[str, Array]
    ground: Flags
    troubles: list[Trouble] = field(default_factory=list)

    def count(self, reason: str, marks: Flags, detail: str = "") -> None:
        """Add a trouble where any row is marked."""
        if marks.any():
            row = int(np.argmax(marks)) + 1
            self.troubles.append(Trouble(self.file, row, reason, int(marks.sum()), detail))


def rows_of(table: TrackTable) -> FlightRows:
    """Put the rows of a table in order and drop what cannot be used.

    A clock that jumps begins another flight: what was logged under a wrong time stays together.

    Args:
        table: As read; its troubles grow.

    Returns:
        Rows by address and time.
    """
    _within_limits(table)
    table.count("time-unreadable", ~np.isfinite(table.time))
    order = np.arange(table.time.size)
    address = table.address
    if address.size and (np.diff(address) < 0).any():
        order = np.argsort(address, kind="stable")
    order = order[np.isfinite(table.time[order])]
    number, time = address[order], table.time[order]
    order, number, time = _in_time(table, order, number, time)
    double = np.zeros(order.size, bool)
    double[1:] = (np.diff(time) <= 0.0) & (np.diff(number) == 0)
    _count_at(table, "row-double", order[double])
    kept = ~double
    order, number, time = order[kept], number[kept], time[kept]
    values = {name: column[order] for name, column in table.values.items()}
    _parts(number, time, values)
    return FlightRows(number, time, values, table.ground[order])


def _count_at(table: TrackTable, reason: str, at: Index, detail: str = "") -> None:
    if at.size:
        table.troubles.append(Trouble(table.file, int(at.min()) + 1, reason, int(at.size), detail))


def _within_limits(table: TrackTable) -> None:
    for role, (low, high) in LIMITS.items():
        column = table.values.get(role)
        if column is None:
            continue
        with np.errstate(invalid="ignore"):
            wrong = (column < low) | (column > high)
        if wrong.any():
            table.count("value-impossible", wrong, role)
            table.values[role] = np.where(wrong, np.nan, column)


def _in_time(
    table: TrackTable, order: Index, number: Index, time: Array
) -> tuple[Index, Index, Array]:
    """Late rows put in their place; a stretch under a jumped clock keeps its own."""
    same = np.diff(number) == 0
    back = np.concatenate([[False], (np.diff(time) < 0.0) & same])
    if not back.any():
        return order, number, time
    lapse = np.concatenate([[0.0], np.diff(time)])
    _count_at(table, "row-late", order[back & (lapse >= -LATE)])
    jumped = back & (lapse < -LATE)
    _count_at(table, "clock-back", order[jumped], f"{-lapse.min():.0f} s" if jumped.any() else "")
    # Stretches between jumps are sorted each for itself, and lie one after the other.
    onward = (lapse > GAP) if jumped.any() else np.zeros(lapse.size, bool)
    stretch: Index = np.cumsum(jumped | onward | np.concatenate([[True], ~same]), dtype=np.intp)
    within = np.lexsort((time, stretch))
    order, time, number, stretch = order[within], time[within], number[within], stretch[within]
    if jumped.any():
        order, number, time = _apart(table, order, number, time, stretch)
    return order, number, time


def _apart(
    table: TrackTable, order: Index, number: Index, time: Array, stretch: Index
) -> tuple[Index, Index, Array]:
    """Of an address whose clock jumped, stretches that overlap: the longest is kept, by rows."""
    begins = np.flatnonzero(np.concatenate([[True], np.diff(stretch) > 0]))
    ends = np.append(begins[1:], stretch.size)
    kept = np.ones(begins.size, bool)
    ranked = np.argsort(begins - ends, kind="stable")  # over stretches, a handful a file
    taken: dict[int, list[tuple[float, float]]] = {}
    for k in ranked:
        whose = int(number[begins[k]])
        span = (float(time[begins[k]]), float(time[ends[k] - 1]))
        beside = taken.setdefault(whose, [])
        if any(span[0] <= high and low <= span[1] for low, high in beside):
            kept[k] = False
        else:
            beside.append(span)
    use = np.repeat(kept, ends - begins)
    _count_at(table, "clock-left-out", order[~use])
    order, number, time = order[use], number[use], time[use]
    again = np.lexsort((time, number))
    return order[again], number[again], time[again]


def _parts(number: Index, time: Array, values: dict[str, Array]) -> None:
    """Ground velocity as north and east, so that a mean over rows is one; places go."""
    latitude, longitude = values.pop("latitude", None), values.pop("longitude", None)
    speed, course = values.get("ground_speed"), values.pop("track_angle", None)
    lacking = speed is None or course is None
    if lacking and latitude is not None and longitude is not None:
        made, along = speed_and_course(latitude, longitude, time)
        near = np.concatenate([[False], (np.diff(number) == 0) & (np.diff(time) < GAP)])
        made[~near] = np.nan
        speed = made if speed is None else speed
        course = along if course is None else course
    blank = np.full(time.size, np.nan)
    speed = blank if speed is None else speed
    course = blank if course is None else course
    values["ground_speed"] = speed
    values["north_part"], values["east_part"] = speed * np.cos(course), speed * np.sin(course)
    for role in ("vertical_rate", "temperature"):
        values.setdefault(role, blank)
    values.pop("geometric_altitude", None)


def mixed_airplanes(table: TrackTable) -> bool:
    """Whether the places of a table without addresses are those of several airplanes.

    Args:
        table: As read.

    Returns:
        True where many steps are too fast for one.
    """
    if "latitude" not in table.values or "longitude" not in table.values or table.time.size < 3:
        return False
    latitude, longitude = table.values["latitude"], table.values["longitude"]
    turn = np.diff(longitude) * np.cos(latitude[:-1])
    moved = 6.37e6 * np.hypot(np.diff(latitude), turn)
    lapse = np.abs(np.diff(table.time))
    with np.errstate(invalid="ignore"):
        return bool(np.nanmean(moved > BESIDE + FASTEST * lapse) > MIXED)
