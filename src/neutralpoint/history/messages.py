"""Raw Mode S and ASTERIX of many airplanes as one table, by the readers of the project.

Such files are decoded message by message, which costs a hundred times what a row of a table does;
a part of them is small, and worker processes share them. A recording whose times hold no date takes
it from its name (`2031-04-14.ast`).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time
from functools import partial
from pathlib import Path

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.history.packed import PACKED, read_whole
from neutralpoint.history.rows import TrackTable, Trouble
from neutralpoint.numerics.arrays import Array
from neutralpoint.sources import ClockSettings, SourceReport, decode
from neutralpoint.sources.extras import optional
from neutralpoint.track import Track

MODES = (".modes", ".avr")
ASTERIX = (".ast", ".asterix", ".pcap")
FEWEST = 120  # squitters or records from which an airplane of a recording is read; analyst's
# Formats 17 and 18, whole: their address stands in them, so that each line is looked at once.
SQUITTER = re.compile(
    r"(?:^|[^0-9A-F])(?:@[0-9A-F]{12}|[*@])?((?:8[89A-F]|9[0-7])[0-9A-F]{26})(?![0-9A-F])"
)
DATE = re.compile(r"(?<!\d)(\d{4})-?(\d\d)-?(\d\d)(?!\d)")
Airplane = tuple[str, Callable[[], tuple[Track, SourceReport]]]
NEAR = 10.0  # s between a reading and the altitude that it is put beside


def is_messages(path: str) -> bool:
    """Whether a file holds raw messages, by its name."""
    return path.lower().removesuffix(PACKED).endswith(MODES + ASTERIX)


def read_messages(path: str, name: str) -> tuple[TrackTable, list[str]]:
    """Read a recording of raw messages whole.

    Args:
        path: The file, packed by gzip or not.
        name: Of the file as the reader knows it.

    Returns:
        Rows of every airplane that was heard often enough, and their addresses.

    Raises:
        NeutralPointError: `extra-missing`; `time-unclear` without a date; `file-empty`; of readers
            and of `read_whole`.
    """
    data = read_whole(path, name)
    plain = path.lower().removesuffix(PACKED)
    each = _modes(data, name) if plain.endswith(MODES) else _asterix(data, name)
    tables, addresses, troubles = [], [], []
    failed: NeutralPointError | None = None
    for address, read in each:
        try:
            track, report = read()
        except NeutralPointError as error:
            failed, said = error, f"{address}: {error.message}"
            troubles.append(Trouble(name, 0, error.code, 0, said))
            continue
        addresses.append(address.lower())
        tables.append(track_table(name, track))
        troubles += refusals_of(name, report)
    if failed is not None and not tables:
        raise failed
    if not tables:
        raise NeutralPointError(
            "file-empty",
            f"No airplane is heard {FEWEST} times.",
            where=name,
            hint="It is left out; records of whole flights serve.",
        )
    return _joined(name, tables, troubles), addresses


def refusals_of(name: str, report: SourceReport) -> list[Trouble]:
    """What a reader refused, as troubles of a file.

    Args:
        name: Of the file.
        report: Of the reader.

    Returns:
        One for each reason.
    """
    return [
        Trouble(name, one.rows[0] if one.rows else 0, "row-refused", one.count, one.reason)
        for one in report.refused
    ]


def _joined(name: str, tables: list[TrackTable], troubles: list[Trouble]) -> TrackTable:
    """Tables of one airplane each as one; what an airplane does not send is NaN."""
    roles = list(dict.fromkeys(role for table in tables for role in table.values))
    sizes = [table.time.size for table in tables]
    values = {
        role: np.concatenate(
            [t.values.get(role, np.full(n, np.nan)) for t, n in zip(tables, sizes, strict=True)]
        )
        for role in roles
    }
    return TrackTable(
        name,
        np.repeat(np.arange(len(tables)), sizes),
        np.concatenate([table.time for table in tables]),
        values,
        np.concatenate([table.ground for table in tables]),
        troubles,
    )


def _day(name: str) -> date | None:
    """Date in the name of a file."""
    for found in DATE.finditer(Path(name).name):
        try:
            return date(*(int(part) for part in found.groups()))
        except ValueError:
            continue
    return None


def _modes(data: bytes, name: str) -> Iterator[Airplane]:
    """Airplanes of lines of Mode S; each is read from its own squitters."""
    optional("pyModeS", "modes", name)
    from neutralpoint.sources.modes.lines import MOST_LINES
    from neutralpoint.sources.modes.read import read_modes

    lines = decode(data, name).splitlines()
    if len(lines) > MOST_LINES:
        raise NeutralPointError(
            "file-too-large",
            f"The file has {len(lines)} lines.",
            where=name,
            hint=f"At most {MOST_LINES} are read; cut it by the hour or the day.",
        )
    own: dict[str, list[str]] = defaultdict(list)
    for line in lines:
        found = SQUITTER.search(line.upper())
        if found is not None:
            own[found[1][2:8]].append(line)
    clock = _clock(next((line for several in own.values() for line in several), ""), _day(name))
    for address, several in own.items():
        if len(several) >= FEWEST:
            yield address, partial(read_modes, "\n".join(several), clock, address, name)


def _clock(line: str, day: date | None) -> ClockSettings:
    """How the times of a recording are read, from a line of it and the date of its name.

    Seconds that count from an unknown start are put at midnight of that date: flights of one
    recording keep their order, and those of two never meet within a day.
    """
    start = None if day is None else datetime.combine(day, time(), UTC)
    first = re.split(r"[,;\t ]+", line.strip())[0]
    if first.startswith("@"):
        return ClockSettings("ticks 12 MHz", day, 0.0, start)
    try:
        elapsed = float(first) < 1e8 and start is not None
    except ValueError:
        elapsed = False
    return ClockSettings("elapsed s" if elapsed else None, day, 0.0, start)


def _asterix(data: bytes, name: str) -> Iterator[Airplane]:
    """Airplanes of an ASTERIX recording."""
    optional("asterix.base", "asterix", name)
    from neutralpoint.sources.asterix.read import AsterixSettings, read_each

    day = _day(name)
    if day is None:
        raise NeutralPointError(
            "time-unclear",
            "Times of ASTERIX start again at midnight, and the name of the file holds no date.",
            where=name,
            hint="Put the UTC date of the first record into the name, as in 2031-04-14.ast.",
        )
    yield from read_each(data, AsterixSettings(day, None, {}, None), FEWEST, name)


def track_table(name: str, track: Track) -> TrackTable:
    """A track of a reader of the project as a table: the times of its altitudes.

    Args:
        name: Of its file.
        track: As it was read.

    Returns:
        The table, one airplane.
    """
    heights = track.altitudes
    good = ~heights.suspect
    time = heights.time[good]
    values = {"pressure_altitude": np.asarray(heights.value[good], float)}
    for role in ("ground_speed", "vertical_rate"):
        channel = getattr(track, role)
        if channel is not None and (~channel.suspect).sum() > 1:
            use = ~channel.suspect
            values[role] = _at(time, channel.time[use], channel.value[use])
    if track.position is not None and (~track.position.suspect).sum() > 1:
        use = ~track.position.suspect
        place = track.position.value[use]
        values["latitude"] = _at(time, track.position.time[use], place[:, 0])
        values["longitude"] = _at(time, track.position.time[use], np.unwrap(place[:, 1]))
    if track.track_angle is not None and (~track.track_angle.suspect).sum() > 1:
        use = ~track.track_angle.suspect
        turned = np.unwrap(track.track_angle.value[use])
        values["track_angle"] = _at(time, track.track_angle.time[use], turned)
    return TrackTable(
        name,
        np.zeros(time.size, np.intp),
        time + track.epoch.timestamp(),
        values,
        np.zeros(time.size, bool),
    )


def _at(time: Array, known: Array, value: Array) -> Array:
    """A channel at other times, NaN further than `NEAR` from any reading."""
    line = np.interp(time, known, value)
    near = np.searchsorted(known, time)
    before = known[np.clip(near - 1, 0, known.size - 1)]
    after = known[np.clip(near, 0, known.size - 1)]
    off = np.minimum(np.abs(time - before), np.abs(after - time))
    return np.where(off <= NEAR, line, np.nan)
