"""Tracks from ASTERIX categories 021, 048 and 062. Needs the optional extra `asterix`."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import partial
from typing import Any

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.assembly import Assembly, place, turned
from neutralpoint.sources.asterix.blocks import records
from neutralpoint.sources.asterix.records import StateRecord, said
from neutralpoint.sources.radar import Site, located
from neutralpoint.sources.report import SourceReport
from neutralpoint.track import Track

DAY = 86400.0  # s
STALE = "the state is extrapolated: its youngest plot is older than the time between states"
DOUBT_ALL = ("position", "ground_speed", "track_angle")
HEIGHT_WITHIN = 60.0  # s between a plot without an altitude and the altitude taken for it
# Steps of the items, SI (specifications of the categories).
STEPS: dict[str, float] = dict.fromkeys(DOUBT_ALL, 0.0)


@dataclass(frozen=True)
class AsterixSettings:
    """What the case says of an ASTERIX file.

    Attributes:
        day: UTC date of the first record; ASTERIX times start again at midnight.
        address: 24-bit address, or `track N` for a track number; None for the only airplane.
        editions: Edition by category; the best fitting where left out.
        site: Place of the station, for plots in range and azimuth.
    """

    day: date
    address: str | None
    editions: dict[int, str]
    site: Site | None


def read_asterix(data: bytes, settings: AsterixSettings, where: str) -> tuple[Track, SourceReport]:
    """A track from ASTERIX.

    Args:
        data: Bare blocks, or a packet capture.
        settings: What the case says.
        where: Name of the file, for errors.

    Returns:
        The track, coasted and extrapolated states marked, and the report.

    Raises:
        NeutralPointError: `file-empty`, `file-too-large`, `file-format`, or `case-invalid` where
            the file holds several airplanes and none is named, or plots without a site.
    """
    readings = Assembly()
    found, told, count = _states(data, settings, readings, where)
    mine = _chosen(found, settings.address, readings, where)
    return _track_of(mine, settings, readings, (told, count), where)


def read_each(
    data: bytes, settings: AsterixSettings, fewest: int, where: str
) -> Iterator[tuple[str, Callable[[], tuple[Track, SourceReport]]]]:
    """Every airplane of an ASTERIX recording, decoded once.

    Args:
        data: Bare blocks, or a packet capture.
        settings: What is known of it; its address is not looked at.
        fewest: Records that an airplane must have.
        where: Name of the file, for errors.

    Returns:
        One by one: address or `track N`, and what makes the track; it raises as `read_asterix`.
    """
    readings = Assembly()
    found, told, count = _states(data, settings, readings, where)
    own: dict[str, list[Any]] = defaultdict(list)
    for one in found:
        own[_name(one[0])].append(one)
    for name, mine in own.items():
        if len(mine) >= fewest:
            yield name, partial(_track_of, mine, settings, readings, (told, count), where)
            readings = Assembly()  # what was refused of the whole file is told once


def _states(data: bytes, settings: AsterixSettings, readings: Assembly, where: str):
    """Records with a time, sentences on the editions, and how many records there are."""
    entries, told = records(data, settings.editions, readings.refusals, where)
    found = []
    for entry in entries:
        one = said(entry)
        if one is None:
            readings.refusals.add("the record has no time", entry.row)
        else:
            found.append((one, entry.row, entry.category))
    if not found:
        raise readings.nothing(len(entries), where)
    return found, told, len(entries)


def _track_of(
    mine, settings: AsterixSettings, readings: Assembly, told: tuple[tuple[str, ...], int], where
) -> tuple[Track, SourceReport]:
    """The track of the records of one airplane."""
    kinds = Counter(one.rate_source for one, _, _ in mine if one.rate_source != "unknown")
    _mark_stale([one for one, _, category in mine if category == 62])
    days = _Days()
    for one, row, _ in mine:
        for name, (time, value) in one.values.items():
            if name == "position":
                value = place(*value)
            elif name in ("track_angle", "magnetic_heading"):
                value = turned(value)
            readings.add(
                name,
                days.unrolled(time),
                value,
                row,
                doubt=one.doubts.get(name, ""),
                sigma=_usable(one.sigmas.get(name)),
            )
        _plot(one, row, days, readings, settings, where)
    _place_plots(readings, settings)
    midnight = datetime(settings.day.year, settings.day.month, settings.day.day, tzinfo=UTC)
    track, report = readings.finish(
        midnight,
        "ASTERIX",
        told[1],
        where,
        steps=STEPS,
        vertical_rate_source=kinds.most_common(1)[0][0] if kinds else "unknown",
        assumed=(*told[0], *_sentences(mine, kinds)),
    )
    return track, replace(
        report, onboard={n: c for n, c in readings.others().items() if n != "polar"}
    )


def _usable(sigma: float | None) -> float:
    """A standard deviation that is one; a tracker that states 0 states nothing."""
    return sigma if sigma is not None and sigma > 0.0 else float("nan")


class _Days:
    """Times of day made to run on over midnight."""

    def __init__(self) -> None:
        self.last: float | None = None
        self.turns = 0.0

    def unrolled(self, time: float) -> float:
        """Seconds after the first midnight."""
        whole = time + self.turns
        if self.last is not None:
            if whole < self.last - DAY / 2:
                self.turns += DAY
                whole += DAY
            elif whole > self.last + DAY / 2:  # a late record of the day before
                return whole - DAY
        self.last = whole
        return whole


def _chosen(found, address: str | None, readings: Assembly, where: str):
    """Records of one airplane; a record without an address is known by its track number."""
    names = Counter(_name(one) for one, _, _ in found)
    if address is None:
        if len(names) > 1:
            shown = ", ".join(name for name, _ in names.most_common(8))
            raise NeutralPointError(
                "case-invalid",
                f"The file holds {len(names)} airplanes: {shown}.",
                where=where,
                hint='Say which with `only = "..."`: an address, or `track N`.',
            )
        return found
    wanted = address.strip().lower()
    mine = []
    for one, row, category in found:
        if wanted in (one.address.lower(), f"track {one.number}"):
            mine.append((one, row, category))
        else:
            readings.refusals.add("the record belongs to another airplane", row)
    if not mine:
        raise NeutralPointError(
            "file-empty",
            f"No record is of {address!r}; the file has "
            f"{', '.join(name for name, _ in names.most_common(8))}.",
            where=where,
            hint="Give a 24-bit address in hexadecimal digits, or `track N`.",
        )
    return mine


def _name(one: StateRecord) -> str:
    return one.address or f"track {one.number}"


def _mark_stale(states: list[StateRecord]) -> None:
    """States older than the time between states rest on no new plot."""
    times = np.array([one.values["position"][0] for one in states if "position" in one.values])
    steps = np.diff(np.unique(times))
    if not steps.size:
        return
    step = float(np.median(steps))
    for one in states:
        if one.age is not None and one.age > step:
            for name in DOUBT_ALL:
                if name in one.values:
                    one.doubts.setdefault(name, STALE)


def _plot(
    one: StateRecord, row: int, days: _Days, readings: Assembly, settings, where: str
) -> None:
    if one.polar is None or "position" in one.values:
        return
    if settings.site is None:
        raise NeutralPointError(
            "case-invalid",
            "The file holds plots in range and azimuth, and no station is named.",
            where=where,
            hint="Give `site = { latitude, longitude, height }` of the station.",
        )
    time, rho, theta = one.polar
    readings.add(
        "polar", days.unrolled(time), (rho, theta), row, doubt=one.doubts.get("position", "")
    )


def _place_plots(readings: Assembly, settings: AsterixSettings) -> None:
    """Plots as positions, with the altitude nearest in time."""
    if "polar" not in readings.channels or settings.site is None:
        return
    plots = readings.channels.pop("polar")
    altitudes = readings.channels.get("pressure_altitude")
    time = np.array(altitudes.time) if altitudes else np.zeros(0)
    value = np.array(altitudes.value) if altitudes else np.zeros(0)
    for k, when in enumerate(plots.time):
        near = int(np.argmin(np.abs(time - when))) if time.size else None
        if near is None or abs(time[near] - when) > HEIGHT_WITHIN:
            readings.refusals.add("a plot without an altitude cannot be placed", plots.row[k])
            continue
        rho, theta = np.asarray(plots.value[k])
        where = located(settings.site, rho, theta, float(value[near]))
        readings.add("position", when, where, plots.row[k], doubt=plots.doubt[k])


def _sentences(mine, kinds: Counter[str]) -> tuple[str, ...]:
    categories = {category for _, _, category in mine}
    out = []
    if 21 in categories:
        out.append(
            "Category 021: times of applicability where they are sent, else of reception, else "
            "of the report."
        )
    if 48 in categories:
        out.append(
            "Category 048: times are those of the plots; slant range and azimuth are placed with "
            "the pressure altitude as height."
        )
    if 62 in categories:
        coasted = sum("tracker coasted" in d for one, _, _ in mine for d in one.doubts.values())
        out.append(
            "Category 062: times are those of the track state, that of the measured level less "
            f"its age; {coasted} coasted or extrapolated values are marked."
        )
        out.append("The tracker's measured level may leave out levels it found not credible.")
    if kinds:
        out.append("Vertical rates: " + ", ".join(f"{n} {k}" for k, n in kinds.items()) + ".")
    return tuple(out)
