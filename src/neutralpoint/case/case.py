"""The case in SI units, and where each part of it came from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.case.document import CaseDocument
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.earth.weather import Weather
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import LiftData
from neutralpoint.sources import SourceReport, SurfaceReport
from neutralpoint.track import Track


@dataclass(frozen=True)
class LoadedSource:
    """A file of the case and what its reader found.

    Attributes:
        role: `case`, `track`, `weather`, `airplane`, `terrain` or `recording`.
        path: Relative to the case folder.
        sha256: Hexadecimal digest.
        size: Bytes.
        report: What the reader found, times on the epoch of the joined track; None where the
            file is no data file.
    """

    role: str
    path: str
    sha256: str
    size: int
    report: SourceReport | None = None


@dataclass(frozen=True)
class Taken:
    """Something taken as given.

    Attributes:
        name: What.
        value: As the analyst wrote it.
        source: Where it comes from.
        effect: What it moves.
    """

    name: str
    value: str
    source: str
    effect: str


@dataclass(frozen=True)
class ReadClock:
    """A clock that readings were taken from.

    Attributes:
        name: As the case calls it.
        offset: The clock less true UTC, s; it is taken off.
        sigma: Standard deviation of it, s.
        basis: What it rests on.
    """

    name: str
    offset: float
    sigma: float
    basis: str


EventKind = Literal["voice", "warning", "radar", "witness", "record"]


@dataclass(frozen=True)
class Happening:
    """An event on the track's time axis.

    Attributes:
        time: s after the track's epoch, on the corrected clock.
        half_width: 95% half-width, s, with that of the clock.
        kind: Who or what noticed it.
        text: What was noticed.
        source: Where it is recorded.
        clock: The clock that it was read from; None for true UTC.
    """

    time: float
    half_width: float
    kind: EventKind
    text: str
    source: str
    clock: ReadClock | None = None


@dataclass(frozen=True)
class Analysis:
    """What the analyst settled, on the track's time axis.

    Attributes:
        onset: s after the track's epoch; None to find it.
        reference: First and last moment of the last trimmed flight, s; None to find it.
        flap: 0 (up) to 1 (full).
        gear: 0 (up) to 1 (down).
    """

    onset: float | None
    reference: tuple[float, float] | None
    flap: float
    gear: float


@dataclass(frozen=True)
class Case:
    """Everything a study starts from.

    Attributes:
        folder: The case folder.
        document: The case file.
        sources: Every file read, the case file first.
        track: The joined track.
        weather: Wind and temperature.
        lift: Mass and lift line.
        airplane: What the airplane file says; None where the case names none.
        analysis: What the analyst settled.
        altimeter_setting: Pa.
        events: In order of time.
        taken: What was taken as given.
        warnings: What may affect a result.
        reports: Surface reports with the height of their stations above the sea, m.
    """

    folder: Path
    document: CaseDocument
    sources: tuple[LoadedSource, ...]
    track: Track
    weather: Weather
    lift: LiftData
    airplane: DescribedAirplane | None
    analysis: Analysis
    altimeter_setting: Uncertain
    events: tuple[Happening, ...]
    taken: tuple[Taken, ...]
    warnings: tuple[NeutralPointError, ...]
    reports: tuple[tuple[SurfaceReport, float], ...] = ()

    @property
    def described(self) -> DescribedAirplane:
        """What the airplane file says, where there is nothing to do without one.

        Raises:
            NeutralPointError: `argument-invalid` where the case names none.
        """
        if self.airplane is None:
            raise NeutralPointError(
                "argument-invalid",
                "The case names no airplane, and causes cannot be flown without one.",
                where="case.toml",
                hint="Name an airplane file or one of the catalogue.",
            )
        return self.airplane
