"""Parts of a history: which rows of which files are measured together, and one part measured."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

import neutralpoint
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import written
from neutralpoint.history.columns import Layout
from neutralpoint.history.cutting import GRID, FlightRows, Flights, cut
from neutralpoint.history.measures import Measured, Steps, measure
from neutralpoint.history.reading import BROKEN, TRACKS, TablePiece, kind_of, read_piece, read_track
from neutralpoint.history.rows import TrackTable, Trouble, mixed_airplanes, rows_of
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.track import quantization_step
from neutralpoint.vocabulary.measure import MEASURES

CURVE = 20.0  # s between the points of the curve that is drawn of a flight
CASE_LEAST = 60.0  # s that the record of the case must last; analyst's
LOOKED_AT = 6000  # rows from which a step is read


@dataclass(frozen=True)
class TrackPart:
    """Pieces that are measured together.

    Attributes:
        pieces: Each with the number of its layout; -1 for a track that is read whole.
        layouts: Of the tables.
        rows: How many rows there are.
        mark: Size and time of the files, so that a part of changed files is another one.
    """

    pieces: tuple[tuple[TablePiece, int], ...]
    layouts: tuple[Layout, ...]
    rows: int
    mark: tuple[tuple[int, int], ...]

    @property
    def key(self) -> str:
        """Name of its results: a digest of what they are made from."""
        told = [
            neutralpoint.__version__,
            code_digest(),
            [[asdict(piece), number] for piece, number in self.pieces],
            [[layout.columns, layout.factors] for layout in self.layouts],
            self.mark,
        ]
        text = json.dumps(told, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:24]


def code_digest() -> str:
    """Digest of what measures: results of other code are not taken up again."""
    folder = Path(__file__).parent
    names = ("cutting", "measures", "spectra", "rows", "reading", "columns", "messages", "onsets",
             "parts")  # fmt: skip
    text = b"".join((folder / f"{name}.py").read_bytes() for name in names)
    return hashlib.sha256(text).hexdigest()


def part_file(folder: Path, part: TrackPart) -> Path:
    """Where the results of a part lie."""
    return folder / f"part-{part.key}.npz"


def measure_part(part: TrackPart, folder: str) -> int:
    """Measure a part and save what was found, whole or not at all.

    Args:
        part: The part.
        folder: Where to.

    Returns:
        Rows that were read.
    """
    tables, troubles, names = [], [], []
    for piece, number in part.pieces:
        try:
            table, addresses, kinds = _read(piece, part.layouts, number)
        except (NeutralPointError, *BROKEN) as error:
            troubles.append(trouble_of(error, piece.name))
            continue
        if addresses == [piece.tail] and mixed_airplanes(table):
            troubles.append(Trouble(piece.name, 0, "track-mixed", table.time.size))
            continue
        table.address = table.address + len(names)
        names += [(piece.name, address, kind)
                  for address, kind in zip(addresses, kinds, strict=True)]  # fmt: skip
        tables.append((table, piece.first))
    rows = [rows_of(table) for table, _ in tables]
    for table, first in tables:
        troubles += [trouble.moved_by(first) for trouble in table.troubles]
        if table.time.size and not np.isfinite(table.values["pressure_altitude"]).any():
            troubles.append(Trouble(table.file, 0, "no-altitude", int(table.time.size)))
    together = _joined(rows)
    flights = cut(together)
    found = measure(flights, _steps(together))
    read = int(sum(table.time.size for table, _ in tables))
    _save(part_file(Path(folder), part), flights, found, names, troubles, read)
    return read


def trouble_of(error: BaseException, name: str) -> Trouble:
    """An error of a file as a trouble that the rest goes on with."""
    if not isinstance(error, NeutralPointError):
        said = str(error).splitlines()[0][:160] if str(error) else type(error).__name__
        return Trouble(name, 0, "file-format", 0, said)
    row = error.where.rpartition(":")[2]
    return Trouble(name, int(row) if row.isdigit() else 0, error.code, 0, error.message)


def _read(piece: TablePiece, layouts: tuple[Layout, ...], number: int):
    if kind_of(piece.path) in TRACKS and number < 0:
        table, addresses = read_track(piece)
        return table, addresses, [""] * len(addresses)
    return read_piece(piece, layouts[number])


def _joined(rows: list[FlightRows]) -> FlightRows:
    if not rows:
        empty = np.zeros(0)
        names = ("pressure_altitude", "vertical_rate", "ground_speed", "north_part", "east_part",
                 "temperature")  # fmt: skip
        return FlightRows(
            np.zeros(0, np.intp), empty, dict.fromkeys(names, empty), np.zeros(0, bool)
        )
    return FlightRows(
        np.concatenate([one.airplane for one in rows]),
        np.concatenate([one.time for one in rows]),
        {name: np.concatenate([one.values[name] for one in rows]) for name in rows[0].values},
        np.concatenate([one.ground for one in rows]),
    )


def _steps(rows: FlightRows) -> Steps:
    """Steps of the readings, from the first flights of a part."""

    def step(name: str) -> float:
        column = rows.values[name]
        known = column[np.isfinite(column)][:LOOKED_AT]
        return quantization_step(known) if known.size > 50 else 0.0

    return Steps(step("pressure_altitude"), step("vertical_rate"), step("ground_speed"))


def curves(flights: Flights) -> tuple[Array, Array, Index]:
    """Height and vertical speed of each flight as they are drawn.

    Args:
        flights: On their grid.

    Returns:
        Height, m, and vertical speed, m/s, at every `CURVE` s after the start, all flights one
        after the other, (k,), and where each begins, (F + 1,).
    """
    every = round(CURVE / GRID)
    number = -(-np.diff(flights.first) // every)
    whose = np.repeat(np.arange(flights.count), number)
    within = np.arange(whose.size) - np.repeat(np.cumsum(number) - number, number)
    at = flights.first[:-1][whose] + every * within
    height = flights.values["pressure_altitude"]
    ahead = np.minimum(at + every, flights.first[1:][whose] - 1)
    rate = (height[ahead] - height[at]) / (GRID * np.maximum(ahead - at, 1))
    height = np.where(flights.seen[at], height[at], np.nan)
    rate = np.where(flights.seen[at], rate, np.nan)
    first = np.concatenate([[0], np.cumsum(number)])
    return height.astype(np.float32), rate.astype(np.float32), first


def _save(
    target: Path,
    flights: Flights,
    found: Measured,
    names: list[tuple[str, str, str]],
    troubles: list[Trouble],
    read: int,
) -> None:
    height, rate, first = curves(flights)
    file, address, kind = (
        np.array([names[int(k)][column] for k in flights.airplane], dtype=str)
        for column in range(3)
    )
    with written(target, ending=".new") as fresh, fresh.open("wb") as out:
        np.savez(
            out,
            where=file,
            address=address,
            kind=kind,
            start=flights.start,
            rows=flights.rows,
            interval=flights.interval,
            length=GRID * np.diff(flights.first),
            values=np.stack([found.values[name] for name in MEASURES], axis=0),
            climb=found.climb,
            events=found.events,
            curve_height=height,
            curve_rate=rate,
            curve_first=first,
            troubles=np.array(json.dumps([asdict(trouble) for trouble in troubles])),
            read=np.array(read),
        )


def case_flight(table: TrackTable, steps: Steps) -> tuple[Flights, Measured]:
    """The flight of the case, measured as the others are.

    Args:
        table: Its track.
        steps: Of its readings.

    Returns:
        Its flights on the grid, and what was measured in them.
    """
    flights = cut(rows_of(table), CASE_LEAST)
    return flights, measure(flights, steps)
