"""Files of tracks to tables: CSV and Parquet by columns, a slice at a time; the others whole.

Nothing is read but the columns that have a role. What cannot be read is told with file and row, and
the rest goes on.
"""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from neutralpoint.errors import NeutralPointError
from neutralpoint.history.columns import (
    COLD,
    SAMPLE,
    VALUES,
    Layout,
    epoch_factor,
    layout_of,
    roles_of,
)
from neutralpoint.history.messages import (
    ASTERIX,
    MODES,
    is_messages,
    read_messages,
    refusals_of,
    track_table,
)
from neutralpoint.history.packed import PACKED, read_whole
from neutralpoint.history.rows import TrackTable
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import KELVIN_AT_0_C
from neutralpoint.sources import Column, HeightDatum, read_gpx, read_kml

TABLES = (".parquet", ".csv", ".tsv", ".txt")
TRACKS = (".gpx", ".kml", *MODES, *ASTERIX)
WILD = 1e12  # beyond any reading, in whatever unit: says nothing of the unit
TRUE = ("true", "1", "t", "yes", "y")
# A damaged Parquet file can end the threads of its library, which is no Exception of Python.
BROKEN = (
    pl.exceptions.PolarsError,
    pl.exceptions.PanicException,
    OSError,
    ValueError,
    EOFError,
)


@dataclass(frozen=True)
class TablePiece:
    """A stretch of rows of one file.

    Attributes:
        path: The file; a folder of Parquet files that were made of one.
        name: Of the file as the reader knows it, below the folder of tracks.
        first: First row, from 0.
        rows: How many.
        tail: Address of rows without one: the folder that the file lies in.
        only: Addresses that are taken; None for all.
    """

    path: str
    name: str
    first: int
    rows: int
    tail: str = ""


def is_tracks(path: Path) -> bool:
    """Whether a file is one that is read, by its name."""
    plain = path.name.removesuffix(PACKED).lower()
    return not path.name.startswith(".") and plain.endswith(TABLES + TRACKS)


def kind_of(path: str) -> str:
    """Suffix of a file without that of packing."""
    plain = path.lower().removesuffix(PACKED)
    return plain[plain.rfind(".") :]


def frame_of(path: str, name: str) -> pl.LazyFrame:
    """The columns of a table, not read yet.

    Args:
        path: The file, or a folder of Parquet files.
        name: Of the file, for errors.

    Returns:
        Lazy columns, those of text files as text.

    Raises:
        NeutralPointError: `file-format` where it is no table.
    """
    if Path(path).is_dir():
        return pl.scan_parquet(f"{path}/*.parquet")
    if kind_of(path) == ".parquet":
        return pl.scan_parquet(path)
    return pl.scan_csv(
        path,
        separator=_separator(path, name),
        infer_schema=False,
        truncate_ragged_lines=True,
        ignore_errors=True,
        comment_prefix="#",
    )


def _separator(path: str, name: str) -> str:
    opened = gzip.open if path.endswith(PACKED) else open
    with opened(path, "rb") as file:
        head = file.read(8192).decode("utf-8", "replace")
    lines = [line for line in head.splitlines() if line.strip() and not line.startswith("#")]
    if not lines:
        raise NeutralPointError(
            "file-empty", "The file is empty.", where=name, hint="It is left out; remove it."
        )
    return max((",", ";", "\t", "|"), key=lines[0].count)


def addresses(piece: TablePiece, column: str | None) -> pl.DataFrame | None:
    """Addresses of a table in the order of its rows; None where it has no such column."""
    if column is None:
        return None
    return frame_of(piece.path, piece.name).select(pl.col(column).cast(pl.String)).collect()


def read_layout(piece: TablePiece, given: dict[str, Column] | None) -> Layout:
    """Find out what the columns of a table hold.

    Args:
        piece: A piece of it.
        given: Columns that the case names.

    Returns:
        The layout.

    Raises:
        NeutralPointError: Of `roles_of` and `layout_of`; `file-empty`.
    """
    frame = frame_of(piece.path, piece.name)
    columns = roles_of(frame.collect_schema().names(), given, piece.name)
    head = frame.select(list(dict.fromkeys(columns.values()))).head(4 * SAMPLE).collect()
    if not head.height:
        raise NeutralPointError(
            "file-empty", "The table holds no rows.", where=piece.name, hint="It is left out."
        )
    if "address" in columns:
        usual = head[columns["address"]].drop_nulls().mode()
        if len(usual):
            head = head.filter(pl.col(columns["address"]) == usual[0])
    head = head.head(SAMPLE)
    time = _times(head[columns["time"]])
    order = np.argsort(time, kind="stable")
    order = order[np.isfinite(time[order])]
    raw = {role: _numbers(head[columns[role]])[order] for role in VALUES if role in columns}
    raw = {role: np.where(np.abs(cells) < WILD, cells, np.nan) for role, cells in raw.items()}
    return layout_of(columns, given, time[order], raw, piece.name)


def _numbers(column: pl.Series) -> Array:
    """A column as numbers; NaN where it holds none."""
    if column.dtype == pl.String:
        column = column.str.strip_chars().str.replace(",", ".", literal=True)
    return column.cast(pl.Float64, strict=False).fill_null(float("nan")).to_numpy()


def _times(column: pl.Series) -> Array:
    """A column of times, s after the Unix epoch; NaN where it cannot be read."""
    if column.dtype == pl.String:
        numbers = _numbers(column)
        if np.isfinite(numbers).mean() > 0.5:
            return numbers * epoch_factor(numbers)
        text = column.str.strip_chars().str.replace(r"(?i)\s*(utc|z)$", "")
        column = text.str.replace(" ", "T", literal=True).str.to_datetime(
            "%Y-%m-%dT%H:%M:%S%.f", strict=False, time_unit="us"
        )
    if isinstance(column.dtype, pl.Datetime):
        whole = column.dt.epoch("us").cast(pl.Float64)
        return 1e-6 * whole.fill_null(float("nan")).to_numpy()
    numbers = _numbers(column)
    return numbers * epoch_factor(numbers)


def read_piece(piece: TablePiece, layout: Layout) -> tuple[TrackTable, list[str], list[str]]:
    """Read a piece of a table.

    Args:
        piece: The piece.
        layout: Of its columns.

    Returns:
        The table, the addresses that its numbers stand for, and the type of each.

    Raises:
        NeutralPointError: `file-format` where the file cannot be read there.
    """
    columns = layout.columns
    wanted = list(dict.fromkeys(columns.values()))
    try:
        data = (
            frame_of(piece.path, piece.name).select(wanted).slice(piece.first, piece.rows).collect()
        )
    except BROKEN as broken:
        raise NeutralPointError(
            "file-format",
            f"The file breaks off or is damaged: {str(broken).partition(chr(10))[0][:160]}",
            where=f"{piece.name}:{piece.first + 1}",
            hint="It is left out; get it again.",
        ) from broken
    number, names = _coded(data, columns, piece.tail)
    values = {role: _numbers(data[columns[role]]) * layout.factors[role] for role in layout.factors}
    if "pressure_altitude" not in values:
        values["pressure_altitude"] = values.get("geometric_altitude", np.full(data.height, np.nan))
    if "temperature" in columns:
        warm = _numbers(data[columns["temperature"]])
        known = warm[np.isfinite(warm)]
        celsius = known.size and np.median(known) < COLD
        values["temperature"] = warm + (KELVIN_AT_0_C if celsius else 0.0)
    table = TrackTable(
        piece.name, number, _times(data[columns["time"]]), values, _ground(data, columns)
    )
    for role in layout.factors:
        if data[columns[role]].dtype == pl.String:
            cell = data[columns[role]].str.strip_chars().fill_null("")
            unread = ~np.isfinite(_numbers(data[columns[role]])) & (cell != "").to_numpy()
            table.count("cell-unreadable", unread, role)
    return table, names, _kinds(data, columns, number, len(names))


def _coded(data: pl.DataFrame, columns: dict[str, str], tail: str):
    """Number of the airplane of each row, and what the numbers stand for."""
    if "address" not in columns:
        return np.zeros(data.height, np.intp), [tail]
    text = data[columns["address"]].cast(pl.String).str.strip_chars().str.to_lowercase()
    text = text.fill_null("")
    if data.height and text.n_unique() == 1:
        return np.zeros(data.height, np.intp), [text[0] or tail]
    ranks = text.rank("dense").cast(pl.Int64).to_numpy().astype(np.intp) - 1
    names = text.unique().sort().to_list()
    return ranks, [name or tail for name in names]


def _ground(data: pl.DataFrame, columns: dict[str, str]):
    if "ground" not in columns:
        return np.zeros(data.height, bool)
    told = data[columns["ground"]]
    if told.dtype == pl.Boolean:
        return told.fill_null(False).to_numpy()
    text = told.cast(pl.String).str.strip_chars().str.to_lowercase().fill_null("")
    return text.is_in(TRUE).to_numpy()


def _kinds(data: pl.DataFrame, columns: dict[str, str], number, count: int) -> list[str]:
    """Type of each airplane: that of its first row."""
    if "kind" not in columns or not data.height:
        return [""] * count
    first = np.full(count, data.height, np.intp)
    np.minimum.at(first, number, np.arange(data.height))
    told = data[columns["kind"]].cast(pl.String).fill_null("")
    return [told[int(at)].strip() for at in first]


def read_track(piece: TablePiece) -> tuple[TrackTable, list[str]]:
    """Read a file that is no table whole.

    Args:
        piece: The file: GPX, KML, lines of Mode S or ASTERIX.

    Returns:
        The table, and the addresses that its numbers stand for.

    Raises:
        NeutralPointError: Of its reader.
    """
    if is_messages(piece.path):
        return read_messages(piece.path, piece.name)
    data = read_whole(piece.path, piece.name)
    read = read_gpx if kind_of(piece.path) == ".gpx" else read_kml
    track, report = read(data, HeightDatum(), piece.name)
    table = track_table(piece.name, track)
    table.troubles += refusals_of(piece.name, report)
    return table, [piece.tail]


def slices(path: str, name: str, rows: int) -> Iterator[pl.DataFrame]:
    """A table in slices, each read once.

    Args:
        path: A Parquet file.
        name: As the reader knows it.
        rows: Of each slice.

    Yields:
        The rows, in order.
    """
    frame, first = frame_of(path, name), 0
    while True:
        taken = frame.slice(first, rows).collect()
        if not taken.height:
            return
        yield taken
        first += rows
