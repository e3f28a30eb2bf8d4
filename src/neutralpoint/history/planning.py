"""From a folder of tracks to parts of about equal size; a table of many is spread by address."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_folder, written
from neutralpoint.history.columns import Layout
from neutralpoint.history.packed import check_table
from neutralpoint.history.parts import TrackPart, trouble_of
from neutralpoint.history.reading import (
    BROKEN,
    TRACKS,
    TablePiece,
    addresses,
    frame_of,
    is_tracks,
    kind_of,
    read_layout,
    slices,
)
from neutralpoint.history.rows import Trouble
from neutralpoint.sources import Column

PART_ROWS = 1_000_000  # rows of a part: 0.4 GB while it is measured
TRACK_ROWS = 20_000  # that a file of a track counts for


def track_files(folder: Path) -> list[Path]:
    """The files of tracks below a folder, in order of their names.

    Raises:
        NeutralPointError: `file-missing` where there is none.
    """
    found = sorted(p for p in folder.rglob("*") if is_tracks(p) and not p.is_symlink()) \
        if folder.is_dir() else []  # fmt: skip
    found = [p for p in found if p.is_file()]
    if not found:
        raise NeutralPointError(
            "file-missing",
            f"There is no track in {folder.name!r}.",
            where=str(folder),
            hint="Put tracks there as CSV, Parquet, GPX, KML, Mode S or ASTERIX.",
        )
    return found


def plan(
    folder: Path,
    given: dict[str, Column] | None,
    scratch: Path,
    tell: Callable[[str], None],
) -> tuple[list[TrackPart], list[Trouble]]:
    """Divide the tracks of a folder into parts.

    Args:
        folder: Of the tracks; a file below a folder of its own belongs to the airplane that this
            folder is named after, where no column says otherwise.
        given: Columns that the case names.
        scratch: Where a table is spread to that is too large and not in order of addresses.
        tell: Told what is being done.

    Returns:
        Parts, and files that are left out with the reason.
    """
    plans, troubles = _Division(folder, given, scratch), []
    for path in track_files(folder):
        name = path.relative_to(folder).as_posix()
        tell(f"Looking at {name}")
        try:
            plans.add(path, name)
        except (NeutralPointError, *BROKEN) as error:
            troubles.append(trouble_of(error, name))
    return plans.parts(), troubles


class _Division:
    """Gathers pieces into parts.

    Args:
        folder: Of the tracks.
        given: Columns that the case names.
        scratch: For tables that are spread.
    """

    def __init__(self, folder: Path, given: dict[str, Column] | None, scratch: Path) -> None:
        self.folder, self.given, self.scratch = folder, given, scratch
        self.layouts: list[Layout] = []
        self.known: dict[tuple, int] = {}
        self.pieces: list[tuple[TablePiece, int]] = []
        self.marks: dict[str, tuple[int, int]] = {}

    def add(self, path: Path, name: str) -> None:
        """Take a file in."""
        about = path.stat()
        self.marks[name] = (about.st_size, about.st_mtime_ns)
        above = path.relative_to(self.folder).parent.as_posix()
        tail = "" if above == "." else above.lower()
        if about.st_size == 0:
            raise NeutralPointError(
                "file-empty", "The file is empty.", where=name, hint="It is left out."
            )
        if kind_of(path.name) in TRACKS:
            self.pieces.append((TablePiece(str(path), name, 0, TRACK_ROWS, tail), -1))
            return
        check_table(str(path), name)
        rows = int(frame_of(str(path), name).select(pl.len()).collect().item())
        whole = TablePiece(str(path), name, 0, rows, tail)
        layout = self._layout(whole)
        self.pieces += [(piece, layout) for piece in self._divided(whole, layout)]

    def _layout(self, piece: TablePiece) -> int:
        schema = frame_of(piece.path, piece.name).collect_schema()
        key = tuple((name, str(kind)) for name, kind in schema.items())
        if key not in self.known:
            layout = read_layout(piece, self.given)
            self.known[key] = len(self.layouts)
            self.layouts.append(layout)
        return self.known[key]

    def _divided(self, whole: TablePiece, layout: int) -> list[TablePiece]:
        """A table in pieces that keep the rows of an airplane together."""
        column = self.layouts[layout].columns.get("address")
        if whole.rows <= 2 * PART_ROWS or column is None:
            return [whole]
        if kind_of(whole.path) != ".parquet":
            whole = self._as_parquet(whole)
        names = addresses(whole, column)
        if names is None:
            return [whole]
        lengths = names.to_series().rle().struct.field("len").to_numpy()
        if lengths.size > names.to_series().n_unique():
            return self._spread(whole, column)
        return _by_addresses(whole, lengths)

    def _place(self, whole: TablePiece) -> Path:
        mark = f"{whole.path} {self.marks[whole.name]}"
        name = f"spread-{hashlib.sha256(mark.encode()).hexdigest()[:16]}"
        self.scratch.mkdir(parents=True, exist_ok=True)
        return own_folder(self.scratch / name, make=True)

    def _as_parquet(self, whole: TablePiece) -> TablePiece:
        target = self._place(whole) / "all.parquet"
        if not target.is_file():
            with written(target) as fresh:
                frame_of(whole.path, whole.name).sink_parquet(fresh)
        return TablePiece(str(target), whole.name, 0, whole.rows, whole.tail)

    def _spread(self, whole: TablePiece, column: str) -> list[TablePiece]:
        """Rows of a table spread by address, in one pass; a folder a bucket."""
        place, buckets = self._place(whole), -(-whole.rows // PART_ROWS)
        done = place / "done"
        if not done.is_file():
            for number, taken in enumerate(slices(whole.path, whole.name, PART_ROWS)):
                which = taken[column].cast(pl.String).hash(seed=0) % buckets
                for (bucket,), rows in taken.with_columns(_bucket=which).partition_by(
                    "_bucket", as_dict=True, include_key=False
                ).items():  # fmt: skip
                    folder = own_folder(place / f"{bucket:05d}", make=True)
                    with written(folder / f"{number:06d}.parquet") as fresh:
                        rows.write_parquet(fresh)
            with written(done):
                pass
        found = sorted(p for p in place.iterdir() if p.is_dir() and not p.is_symlink())
        counts = [int(frame_of(str(p), "").select(pl.len()).collect().item()) for p in found]
        return [
            TablePiece(str(p), whole.name, 0, count, whole.tail)
            for p, count in zip(found, counts, strict=True)
        ]

    def parts(self) -> list[TrackPart]:
        """Pieces joined until a part is full."""
        groups: list[list[tuple[TablePiece, int]]] = []
        size = 0
        for piece, layout in self.pieces:
            if not groups or size + piece.rows > PART_ROWS:
                groups.append([])
                size = 0
            groups[-1].append((piece, layout))
            size += piece.rows
        return [self._part(group) for group in groups]

    def _part(self, group: list[tuple[TablePiece, int]]) -> TrackPart:
        used = sorted({layout for _, layout in group if layout >= 0})
        again = {layout: number for number, layout in enumerate(used)} | {-1: -1}
        return TrackPart(
            tuple((piece, again[layout]) for piece, layout in group),
            tuple(self.layouts[layout] for layout in used),
            sum(piece.rows for piece, _ in group),
            tuple(self.marks[piece.name] for piece, _ in group),
        )


def _by_addresses(whole: TablePiece, lengths) -> list[TablePiece]:
    """Stretches of rows that end with an airplane."""
    ends = np.cumsum(lengths)
    pieces, first = [], 0
    for end, following in zip(ends, [*ends[1:], ends[-1]], strict=True):  # over airplanes
        if following - first > PART_ROWS or end == ends[-1]:
            pieces.append(
                TablePiece(whole.path, whole.name, int(first), int(end - first), whole.tail)
            )
            first = end
    return pieces
