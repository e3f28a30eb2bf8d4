"""Track files of a case: each read by its kind, put on one clock, and joined."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from neutralpoint.case.case import LoadedSource, ReadClock
from neutralpoint.case.clocks import read_clocks
from neutralpoint.case.document import CaseDocument
from neutralpoint.case.files import SourceFile, read_source
from neutralpoint.case.track_entries import (
    AnyColumn,
    AsterixEntry,
    ColumnEntry,
    ModesEntry,
    PlacesEntry,
    PluggedEntry,
    TrackEntry,
)
from neutralpoint.documents.fields import Section
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.errors import NeutralPointError
from neutralpoint.sources import (
    ClockSettings,
    Column,
    ColumnMap,
    HeightDatum,
    SourceReport,
    decode,
    read_delimited,
    read_gpx,
    read_kml,
)
from neutralpoint.sources.extras import optional
from neutralpoint.sources.plugged import read_plugged
from neutralpoint.track import (
    Clock,
    Gap,
    Quality,
    Track,
    align_tracks,
    join_tracks,
    moved,
    watch_heights,
)

AnyEntry = TrackEntry | ModesEntry | AsterixEntry | PlacesEntry | PluggedEntry


def load_tracks(
    folder: Path, document: CaseDocument, tell: Callable[[str], None]
) -> tuple[Track, list[LoadedSource]]:
    """Read and join the track files.

    Args:
        folder: The case folder.
        document: The case file, with at least one track.
        tell: Told which file is read, and how large it is.

    Returns:
        The joined track, and each file with what was found, on the track's epoch.

    Raises:
        NeutralPointError: Of the files and their readers.
    """
    read, loaded = [], []
    known = read_clocks(document)
    named = [None if e.clock is None else known[e.clock] for e in document.tracks]
    for index, entry in enumerate(document.tracks):
        file = read_source(folder, entry.file, f"case.toml: tracks[{index + 1}].file")
        tell(f"Reading {file.path}, {len(file.data) / 1e6:.1f} MB")
        track, report = _read(entry, file, index, document.geoid_height)
        read.append(_on_true_time(track, report, named[index]))
        loaded.append(file)
    tracks, clocks = align_tracks(
        [track for track, _ in read], [0.0 if c is None else c.sigma for c in named]
    )
    sources = []
    for index, (file, (_, report)) in enumerate(zip(loaded, read, strict=True)):
        shift = (tracks[index].epoch - tracks[0].epoch).total_seconds()
        report = _shifted(report, shift - clocks[index].offset, index)
        said = (*report.assumed, *clocks[index].said, *watch_heights(tracks[index]))
        report = replace(
            report, assumed=said, warnings=(*report.warnings, *_alone(clocks[index], file.path))
        )
        sources.append(LoadedSource("track", file.path, file.sha256, len(file.data), report))
    return join_tracks(tracks), sources


def _alone(clock: Clock, path: str) -> tuple[NeutralPointError, ...]:
    """A warning where the clocks of two files could not be compared."""
    if clock.compared:
        return ()
    return (
        NeutralPointError(
            "time-unclear",
            "The clock of this track file cannot be compared with that of the first; the two are "
            "joined as they are, and may be seconds apart.",
            where=path,
            hint="Leave one of them out, or give its `clock` an entry under `[[clocks]]`.",
        ),
    )


def _on_true_time(
    track: Track, report: SourceReport, clock: ReadClock | None
) -> tuple[Track, SourceReport]:
    """A record with the offset of its clock taken off."""
    if clock is None:
        return track, report
    said = (
        f"Read from the clock {clock.name!r}, {clock.offset:.3f} +- {2.0 * clock.sigma:.3f} s off "
        f"({clock.basis}); taken off.",
    )
    moved_report = _shifted(report, -clock.offset, None)
    return moved(track, -clock.offset), replace(moved_report, assumed=(*report.assumed, *said))


def _read(
    entry: AnyEntry, file: SourceFile, index: int, geoid: Uncertain | None
) -> tuple[Track, SourceReport]:
    """One track file by its kind."""
    if isinstance(entry, ModesEntry):
        optional("pyModeS", "modes", file.path)
        from neutralpoint.sources.modes.read import read_modes

        clock = ClockSettings(
            entry.time_form,
            entry.date,
            entry.utc_offset.value,
            None if entry.start is None else utc(entry.start),
        )
        return read_modes(decode(file.data, file.path), clock, entry.only, file.path)
    if isinstance(entry, AsterixEntry):
        return _asterix(entry, file, f"case.toml: tracks[{index + 1}].editions")
    if isinstance(entry, PluggedEntry):
        return read_plugged(file.data, entry.reader, entry.options, file.path)
    if isinstance(entry, PlacesEntry):
        known = entry.geoid_height or geoid
        heights = HeightDatum(entry.height_datum, None if known is None else known.value)
        read = read_gpx if entry.kind == "gpx" else read_kml
        return read(file.data, heights, file.path)
    return read_delimited(file.data, column_map(entry), file.path)


def _asterix(entry: AsterixEntry, file: SourceFile, key: str) -> tuple[Track, SourceReport]:
    optional("asterix.base", "asterix", file.path)
    from neutralpoint.sources.asterix.read import AsterixSettings, read_asterix
    from neutralpoint.sources.radar import Site

    site = entry.site and Site(
        entry.site.latitude.value, entry.site.longitude.value, entry.site.height.value
    )
    try:
        editions = {int(category): edition for category, edition in entry.editions.items()}
    except ValueError as wrong:
        raise NeutralPointError(
            "case-invalid",
            f"A category is no number: {', '.join(entry.editions)[:80]}.",
            where=key,
            hint='Write categories as text of digits: { "062" = "1.18" }.',
        ) from wrong
    return read_asterix(
        file.data, AsterixSettings(entry.date, entry.only, editions, site), file.path
    )


def columns_of(section: Section) -> dict[str, Column]:
    """Columns of a map by their role; roles without a column are left out."""
    named = {role: getattr(section, role) for role in type(section).model_fields}
    return {role: _column(entry) for role, entry in named.items() if entry is not None}


def _column(entry: AnyColumn) -> Column:
    if isinstance(entry, ColumnEntry):
        return Column(entry.column, entry.unit)
    return Column(entry)


def column_map(entry: TrackEntry) -> ColumnMap:
    """What an entry of the case says of the columns of its file.

    Args:
        entry: Of a delimited file.

    Returns:
        The column map that its reader takes.
    """
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


def _shifted(report: SourceReport, shift: float, index: int | None) -> SourceReport:
    """A report with its times moved, and with the file's index in it."""

    def moved(quality: Quality) -> Quality:
        gaps = tuple(Gap(gap.start + shift, gap.end + shift) for gap in quality.gaps)
        return replace(quality, gaps=gaps)

    return replace(
        report,
        first=None if report.first is None else report.first + shift,
        last=None if report.last is None else report.last + shift,
        quality={name: moved(quality) for name, quality in report.quality.items()},
        suspicions=tuple(
            replace(s, time=s.time + shift, source=s.source if index is None else index)
            for s in report.suspicions
        ),
    )
