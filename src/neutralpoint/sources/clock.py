"""Times in text: epoch seconds or milliseconds, ISO 8601, time of day with day rollover."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.sources.cells import number
from neutralpoint.sources.dates import (
    DAY_FIRST,
    MONTH_FIRST,
    column_in_24_hours,
    order_of_dates,
    year_first,
)

DAY = 86400.0  # s
ISO = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d+))?)?\s*(Z|UTC|[+-]\d\d:?\d\d)?",
    re.IGNORECASE,
)
UTC_WORD = re.compile(r"\s*(?:UTC|Z)$", re.IGNORECASE)
CLOCK = re.compile(r"(\d{1,2}):(\d\d):(\d\d)(?:[.,](\d+))?Z?", re.IGNORECASE)
# Seconds in each unit that epochs are written in.
EPOCH_SCALES = {"epoch s": 1.0, "epoch ms": 1e-3, "epoch us": 1e-6, "epoch ns": 1e-9}
ORDERS = (DAY_FIRST, MONTH_FIRST)
FORMS = (*EPOCH_SCALES, "iso", *ORDERS, "time of day", "seconds of day", "elapsed s")
EARLIEST, LATEST = datetime(1970, 1, 2, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
UNIX = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class ClockSettings:
    """What the analyst says of a time column.

    Attributes:
        form: One of `FORMS`; None where it is to be found out.
        day: Date of the first row, for times without a date.
        offset: Clock minus UTC of times without a zone, s.
        start: UTC time that elapsed seconds count from.
    """

    form: str | None = None
    day: date | None = None
    offset: float = 0.0
    start: datetime | None = None


def read_times(
    cells: list[str], settings: ClockSettings, where: str
) -> tuple[datetime, Array, tuple[str, ...]]:
    """Times of a column.

    Args:
        cells: One cell a row.
        settings: What is known of the column.
        where: File and column, for errors.

    Returns:
        Midnight UTC before the first time, seconds after it (NaN where a cell is no time), and
        what was assumed.

    Raises:
        NeutralPointError: `time-unclear` where the form is neither named nor visible, or needs a
            date that is not given; `file-empty` where no cell is a time.
    """
    cells = column_in_24_hours(cells)
    form, said = _form(cells, settings, where)
    if form in ORDERS:
        cells = [year_first(cell, form) for cell in cells]
    if form in ("iso", *ORDERS):
        unix, more = _iso(cells, settings)
    elif form in EPOCH_SCALES:
        unix, more = _numbers(cells) * EPOCH_SCALES[form], ()
    elif form == "elapsed s":
        if settings.start is None:
            raise _unclear("seconds that count from an unknown start", "start", where)
        unix = _numbers(cells) + settings.start.timestamp()
        more = (f"Times are seconds after {settings.start:%Y-%m-%d %H:%M:%S} UTC.",)
    else:
        unix, more = _of_day(cells, form, settings, where)
    with np.errstate(invalid="ignore"):
        unix = np.where((unix > EARLIEST.timestamp()) & (unix < LATEST.timestamp()), unix, np.nan)
    if not np.isfinite(unix).any():
        raise NeutralPointError(
            "file-empty",
            f"No row has a usable time; the first cell is {cells[0][:40]!r}.",
            where=where,
            hint=f"Times are read as {form!r}; the form can be named: {', '.join(FORMS)}.",
        )
    first = float(unix[np.isfinite(unix)][0])
    midnight = UNIX + timedelta(seconds=first - first % DAY)
    midnight = midnight.replace(microsecond=0)
    seconds = np.round(unix - midnight.timestamp(), 6)  # an epoch of 1.7e9 s holds no more
    return midnight, seconds, (*said, *more)


def _unclear(found: str, key: str, where: str, allowed: str = "") -> NeutralPointError:
    return NeutralPointError(
        "time-unclear",
        f"The column holds {found}.",
        where=where,
        hint=f"Add the key `{key}` to the track file's entry in the case{allowed}.",
    )


def _form(cells: list[str], settings: ClockSettings, where: str) -> tuple[str, tuple[str, ...]]:
    if settings.form is not None:
        said = f"Times are read as {settings.form}, as the case says."
        return settings.form, () if settings.form == "elapsed s" else (said,)
    sample = [cell for cell in cells if cell][:200]
    if sum(bool(ISO.fullmatch(c)) for c in sample) > len(sample) / 2:
        return "iso", ()
    if sum(bool(CLOCK.fullmatch(c)) for c in sample) > len(sample) / 2:
        return "time of day", ()
    order = order_of_dates(sample)
    if order == "":
        found = f"dates such as {sample[0][:40]!r}, with the day or the month first"
        raise _unclear(found, "time_form", where, f" as one of: {', '.join(ORDERS)}")
    if order is not None:
        return order, (f"Dates are read as {order}: nothing else fits or is usual.",)
    values = _numbers(sample)
    values = values[np.isfinite(values)]
    middle = float(np.median(np.abs(values))) if values.size else 0.0
    for least, form in (
        (1e17, "epoch ns"),
        (1e14, "epoch us"),
        (1e11, "epoch ms"),
        (1e8, "epoch s"),
    ):
        if middle >= least:
            return form, (f"Times are read as {form} from their size.",)
    if not values.size:
        found = (
            f"no times that could be recognized, such as {sample[0][:40]!r}"
            if sample
            else ("no times")
        )
        raise _unclear(found, "time_form", where)
    raise _unclear(
        f"numbers near {middle:g}: seconds of the day or elapsed seconds", "time_form", where
    )


def _numbers(cells: list[str]) -> Array:
    out = np.full(len(cells), np.nan)
    for k, cell in enumerate(cells):
        try:
            out[k] = number(cell, "," if "," in cell and "." not in cell else ".")
        except ValueError:
            continue
    return out


def _fraction(digits: str | None) -> float:
    return float(f"0.{digits}") if digits else 0.0


def _iso(cells: list[str], settings: ClockSettings) -> tuple[Array, tuple[str, ...]]:
    out = np.full(len(cells), np.nan)
    zoneless = False
    for k, cell in enumerate(cells):
        # The standard library reads more than is meant here (`20310414`, weeks): the form is ours.
        if ISO.fullmatch(cell) is None:
            continue
        try:
            plain = cell[-1] == "Z" and cell[-2] != " "
            when = datetime.fromisoformat(cell if plain else UTC_WORD.sub("Z", cell))
        except ValueError:
            continue
        if when.tzinfo is None:
            zoneless = True
            when = when.replace(tzinfo=timezone(timedelta(seconds=settings.offset)))
        out[k] = when.timestamp()
    return out, (_zone_said(settings.offset) if zoneless else "Times carry their zone.",)


def _zone_said(offset: float) -> str:
    if offset == 0.0:
        return "Times without a zone are taken as UTC."
    zone = timezone(timedelta(seconds=offset))
    return f"Times without a zone are taken as {zone}."


def _of_day(
    cells: list[str], form: str, settings: ClockSettings, where: str
) -> tuple[Array, tuple[str, ...]]:
    if settings.day is None:
        raise _unclear("times of day without a date", "date", where)
    seconds = _numbers(cells) if form == "seconds of day" else _clock(cells)
    with np.errstate(invalid="ignore"):
        seconds = np.where((seconds >= 0.0) & (seconds < DAY + 1.0), seconds, np.nan)
    known = np.flatnonzero(np.isfinite(seconds))
    # A step back of more than half a day is midnight; anything less is a fault of the clock.
    turns = np.r_[0, np.diff(seconds[known]) < -DAY / 2] if known.size else np.zeros(0)
    back = np.r_[0, np.diff(seconds[known]) > DAY / 2] if known.size else np.zeros(0)
    seconds[known] += DAY * (np.cumsum(turns) - np.cumsum(back))
    midnight = datetime(settings.day.year, settings.day.month, settings.day.day, tzinfo=UTC)
    said = [_zone_said(settings.offset)]
    if turns.any():
        said.append(f"The time of day passes midnight {int(turns.sum())} time(s).")
    return seconds + midnight.timestamp() - settings.offset, tuple(said)


def _clock(cells: list[str]) -> Array:
    out = np.full(len(cells), np.nan)
    for k, cell in enumerate(cells):
        match = CLOCK.fullmatch(cell)
        if match is None:
            continue
        hour, minute, second, digits = match.groups()
        if int(minute) < 60 and int(second) <= 60:
            out[k] = 3600.0 * int(hour) + 60.0 * int(minute) + int(second) + _fraction(digits)
    return out
