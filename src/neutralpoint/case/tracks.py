"""Track files of a case: read by their column maps and joined on one epoch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from neutralpoint.case.case import LoadedSource
from neutralpoint.case.document import AnyColumn, ColumnEntry, Section, TrackEntry
from neutralpoint.case.files import read_source
from neutralpoint.sources import ClockSettings, Column, ColumnMap, SourceReport, read_delimited
from neutralpoint.track import Gap, Quality, Track, join_tracks


def load_tracks(folder: Path, entries: Sequence[TrackEntry]) -> tuple[Track, list[LoadedSource]]:
    """Read and join the track files.

    Args:
        folder: The case folder.
        entries: The entries of the case file, at least one.

    Returns:
        The joined track, and each file with what was found, on the track's epoch.

    Raises:
        NeutralPointError: Of the files and their readers.
    """
    tracks, loaded = [], []
    for index, entry in enumerate(entries):
        file = read_source(folder, entry.file, f"case.toml: tracks[{index + 1}].file")
        track, report = read_delimited(file.data, _column_map(entry), file.path)
        shift = (track.epoch - tracks[0].epoch).total_seconds() if tracks else 0.0
        report = _shifted(report, shift, index)
        tracks.append(track)
        loaded.append(LoadedSource("track", file.path, file.sha256, len(file.data), report))
    return join_tracks(tracks), loaded


def columns_of(section: Section) -> dict[str, Column]:
    """Columns of a map by their role; roles without a column are left out."""
    named = {role: getattr(section, role) for role in type(section).model_fields}
    return {role: _column(entry) for role, entry in named.items() if entry is not None}


def _column(entry: AnyColumn) -> Column:
    if isinstance(entry, ColumnEntry):
        return Column(entry.column, entry.unit)
    return Column(entry)


def _column_map(entry: TrackEntry) -> ColumnMap:
    return ColumnMap(
        columns=columns_of(entry.columns),
        clock=ClockSettings(
            form=entry.time_form,
            day=entry.date,
            offset=entry.utc_offset.value,
            start=None if entry.start is None else utc(entry.start),
        ),
        address=entry.only,
        vertical_rate_source=entry.vertical_rate_source,
        out_of_order=entry.out_of_order,
    )


def utc(moment: datetime) -> datetime:
    """A time as UTC; one without a zone is UTC."""
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _shifted(report: SourceReport, shift: float, index: int) -> SourceReport:
    """A report on the epoch of the joined track, with the file's index in it."""

    def moved(quality: Quality) -> Quality:
        gaps = tuple(Gap(gap.start + shift, gap.end + shift) for gap in quality.gaps)
        return replace(quality, gaps=gaps)

    return replace(
        report,
        first=None if report.first is None else report.first + shift,
        last=None if report.last is None else report.last + shift,
        quality={name: moved(quality) for name, quality in report.quality.items()},
        suspicions=tuple(replace(s, time=s.time + shift, source=index) for s in report.suspicions),
    )
