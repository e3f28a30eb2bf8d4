"""From a case folder to a `Case`: read, check, resolve, hash."""

from __future__ import annotations

import hashlib
import tomllib
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from neutralpoint.case.air import load_air
from neutralpoint.case.airplane_document import CATALOGUE, catalogue_names
from neutralpoint.case.case import Case, Happening, LoadedSource, Taken
from neutralpoint.case.document import AirplaneEntry, CaseDocument, EventEntry
from neutralpoint.case.files import read_source
from neutralpoint.case.quantity import Uncertain
from neutralpoint.case.refusal import refusal
from neutralpoint.case.tracks import load_tracks, utc
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import LiftData
from neutralpoint.track import Track

NAME = "case.toml"
LARGEST = 1024 * 1024  # bytes of a case file


def load_case(folder: Path) -> Case:
    """Read a case folder.

    Args:
        folder: Folder that holds `case.toml`.

    Returns:
        The case in SI units.

    Raises:
        NeutralPointError: For the first thing wrong, with file and place.
    """
    text, digest, size = _case_text(folder)
    document = parse_case(text)
    own = LoadedSource("case", NAME, digest, size)
    track, sources = load_tracks(folder, document.tracks)
    first, last = track.span()
    middle = track.epoch + timedelta(seconds=0.5 * (first + last))
    air = load_air(folder, document, middle)
    airplane = _airplane_file(folder, document.airplane)
    everything = (own, *sources, *air.sources, *airplane)
    warnings = [w for s in everything if s.report is not None for w in s.report.warnings]
    return Case(
        folder=folder,
        document=document,
        sources=everything,
        track=track,
        weather=air.weather,
        lift=_lift(document.airplane),
        altimeter_setting=air.setting,
        events=_events(document.events, track),
        taken=(*_airplane_taken(document.airplane), _age_taken(document), *air.taken),
        warnings=(*warnings, *air.warnings, *_coverage(air.weather, track)),
    )


def parse_case(text: str, where: str = NAME) -> CaseDocument:
    """The document in a TOML text.

    Args:
        text: TOML.
        where: What errors call it.

    Returns:
        The document.

    Raises:
        NeutralPointError: `case-syntax` where it is no TOML, `case-invalid`, `quantity-invalid`
            or `quantity-unit` for the first key or value that is refused.
    """
    try:
        table: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise NeutralPointError(
            "case-syntax",
            f"The case file is not valid TOML: {error}.",
            where=where,
            hint='Texts and quantities need quotes, like mass = "10 900 lb +- 150 lb".',
        ) from error
    except (RecursionError, ValueError, OverflowError) as error:
        raise NeutralPointError(
            "case-syntax",
            "The case file holds a value that cannot be read.",
            where=where,
            hint="Check for very deep nesting and for dates and numbers out of range.",
        ) from error
    try:
        return CaseDocument.model_validate(table)
    except ValidationError as invalid:
        raise refusal(invalid, CaseDocument, text, where) from invalid


def _case_text(folder: Path) -> tuple[str, str, int]:
    path = folder / NAME
    if not path.is_file():
        raise NeutralPointError(
            "case-missing",
            f"There is no {NAME} in {folder}.",
            where=str(folder),
            hint="`neutralpoint new DIR` writes a case to start from.",
        )
    if path.stat().st_size > LARGEST:
        raise NeutralPointError(
            "file-too-large",
            f"The case file has {path.stat().st_size / 1e6:.1f} MB.",
            where=str(path),
            hint="A case file names data files; it does not hold the data.",
        )
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NeutralPointError(
            "case-syntax",
            f"The case file is not UTF-8 at byte {error.start}.",
            where=str(path),
            hint="Save it as UTF-8.",
        ) from error
    return text, hashlib.sha256(data).hexdigest(), len(data)


def _airplane_file(folder: Path, airplane: AirplaneEntry) -> tuple[LoadedSource, ...]:
    if airplane.file is None:
        return ()
    if airplane.file in catalogue_names():
        data = (CATALOGUE / f"{airplane.file}.toml").read_bytes()
        digest = hashlib.sha256(data).hexdigest()
        return (LoadedSource("airplane", f"catalogue: {airplane.file}", digest, len(data)),)
    file = read_source(folder, airplane.file, f"{NAME}: airplane.file")
    return (LoadedSource("airplane", file.path, file.sha256, len(file.data)),)


def _lift(airplane: AirplaneEntry) -> LiftData:
    """Mass and lift line; impossible values are refused."""
    for key in ("mass", "wing_area", "lift_slope", "maximum_lift"):
        found: Uncertain = getattr(airplane, key)
        if found.value <= 0.0 or found.value < 2.0 * found.sigma:
            raise NeutralPointError(
                "quantity-range",
                f"airplane.{key} is {found.text!r}.",
                where=f"{NAME}: airplane.{key}",
                hint="It must be positive, the whole +- interval included.",
            )
    return LiftData(
        mass=airplane.mass.value,
        wing_area=airplane.wing_area.value,
        lift_slope=airplane.lift_slope.value,
        zero_lift_angle=airplane.zero_lift_angle.value,
        maximum_lift=airplane.maximum_lift.value,
        mass_flow=airplane.fuel_flow.value,
        aspect_ratio=None if airplane.aspect_ratio is None else airplane.aspect_ratio.value,
        mass_sigma=airplane.mass.sigma,
        lift_slope_sigma=airplane.lift_slope.sigma,
        zero_lift_angle_sigma=airplane.zero_lift_angle.sigma,
    )


def _airplane_taken(airplane: AirplaneEntry) -> tuple[Taken, ...]:
    effects = {
        "mass": "Lift coefficient, angle of attack, pitch.",
        "wing_area": "Lift coefficient, angle of attack, pitch.",
        "lift_slope": "Angle of attack and pitch.",
        "zero_lift_angle": "Angle of attack and pitch, by the same amount.",
        "maximum_lift": "Where the airplane is said to be near its stall.",
        "fuel_flow": "Mass late in the track.",
    }
    return tuple(
        Taken(key.replace("_", " "), getattr(airplane, key).text, "case file", effect)
        for key, effect in effects.items()
        if key in airplane.model_fields_set
    )


def _age_taken(document: CaseDocument) -> Taken:
    told = "position_age" in document.model_fields_set
    return Taken(
        "age of positions",
        document.position_age.text,
        "case file" if told else "default, George et al., arXiv 2008.06352",
        "When things happened; airspeeds and load factors hardly.",
    )


def _events(entries: tuple[EventEntry, ...], track: Track) -> tuple[Happening, ...]:
    first, _ = track.span()
    day = (track.epoch + timedelta(seconds=first)).date()
    found = []
    for entry in entries:
        clock = entry.time
        moment = utc(clock if isinstance(clock, datetime) else datetime.combine(day, clock))
        time = (moment - track.epoch).total_seconds()
        if not isinstance(clock, datetime) and time < first - 43200.0:
            time += 86400.0
        found.append(Happening(time, entry.error.value, entry.kind, entry.text, entry.source))
    return tuple(sorted(found, key=lambda event: event.time))


def _coverage(weather, track: Track) -> tuple[NeutralPointError, ...]:
    """Warn where the track leaves the levels of the weather."""
    altitude = track.pressure_altitude or track.geometric_altitude
    if altitude is None or weather.altitude.size < 2:
        return ()
    kept = altitude.value[~altitude.suspect]
    low, high = float(weather.altitude[0]), float(weather.altitude[-1])
    beyond = max(float(kept.max()) - high, low - float(kept.min())) if kept.size else 0.0
    if beyond < 300.0:
        return ()
    return (
        NeutralPointError(
            "weather-invalid",
            f"The track leaves the levels of the weather by {beyond:.0f} m.",
            where=f"{NAME}: weather",
            hint="The end values are held there; add weather at those heights.",
        ),
    )
