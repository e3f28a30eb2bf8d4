"""From a case folder to a `Case`: read, check, resolve, hash."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from math import hypot
from pathlib import Path

from neutralpoint.case.air import load_air
from neutralpoint.case.case import Analysis, Case, Happening, LoadedSource, ReadClock, Taken
from neutralpoint.case.clocks import clocks_taken, read_clocks
from neutralpoint.case.document import AnalysisEntry, CaseDocument, EventEntry
from neutralpoint.case.files import NAME, read_source
from neutralpoint.case.geoid import geoid_taken, geoid_warnings
from neutralpoint.case.ground import load_ground
from neutralpoint.case.lift import airplane_taken, lift_data, read_described
from neutralpoint.case.parsing import parse_case
from neutralpoint.case.patience import patient
from neutralpoint.case.stretch import stretch_taken, studied, track_seconds
from neutralpoint.case.text import case_text
from neutralpoint.case.tracks import load_tracks
from neutralpoint.errors import NeutralPointError
from neutralpoint.track import Track

SHORTEST_REFERENCE = 4.0  # s of trimmed flight; two smoothing windows


def load_case(folder: Path, tell: Callable[[str], None] = lambda _: None) -> Case:
    """Read a case folder.

    Args:
        folder: Folder that holds `case.toml`.
        tell: Told which track file is read.

    Returns:
        The case in SI units.

    Raises:
        NeutralPointError: For the first thing wrong, with file and place; `reading-slow`.
    """
    with patient(folder):
        return _read(folder, tell)


def _read(folder: Path, tell: Callable[[str], None]) -> Case:
    text, digest, size = case_text(folder)
    document = parse_case(text)
    own = LoadedSource("case", NAME, digest, size)
    whole, sources = load_tracks(folder, document, tell)
    track = studied(document.analysis, whole, NAME)
    first, last = track.span()
    middle = track.epoch + timedelta(seconds=0.5 * (first + last))
    air = load_air(folder, document, middle)
    airplane, file = read_described(folder, document.airplane, f"{NAME}: airplane.file")
    ground = load_ground(folder, document.terrain, track, air.setting.value, document.geoid_height)
    sound = _recordings(folder, document)
    everything = (own, *sources, *air.sources, *file, *ground, *sound)
    warnings = [w for s in everything if s.report is not None for w in s.report.warnings]
    return Case(
        folder=folder,
        document=document,
        sources=everything,
        track=track,
        weather=air.weather,
        lift=replace(lift_data(document.airplane, airplane), flaps_open=_flaps_open(document)),
        airplane=airplane,
        analysis=_analysis(document.analysis, track),
        altimeter_setting=air.setting,
        events=_events(document.events, read_clocks(document), track),
        taken=(
            *stretch_taken(document.analysis),
            *airplane_taken(document.airplane),
            *_flaps_taken(document),
            _age_taken(document),
            *_static_taken(document),
            *_turbulence_taken(document),
            *clocks_taken(document, track),
            *geoid_taken(document.geoid_height, track),
            *air.taken,
        ),
        warnings=(
            *warnings,
            *air.warnings,
            *_coverage(air.weather, track),
            *geoid_warnings(document.geoid_height, track),
        ),
        reports=tuple(air.reports),
    )


def _recordings(folder: Path, document: CaseDocument) -> list[LoadedSource]:
    """The recordings by their digests; they are decoded where they are heard."""
    found = []
    for number, entry in enumerate(document.recordings, start=1):
        file = read_source(folder, entry.file, f"{NAME}: recordings[{number}].file")
        found.append(LoadedSource("recording", file.path, file.sha256, len(file.data)))
    return found


def _flaps_open(document: CaseDocument) -> bool:
    """Whether nobody says how the flaps stood."""
    return document.analysis.flap is None


def _flaps_taken(document: CaseDocument) -> tuple[Taken, ...]:
    if not _flaps_open(document):
        return ()
    return (
        Taken(
            "flaps",
            "up; in slow flight some in a quarter of the paths",
            "default, analyst's estimate",
            "Angle of attack and pitch at less than 1.8 stall speeds; `analysis.flap` settles it.",
        ),
    )


def _age_taken(document: CaseDocument) -> Taken:
    told = "position_age" in document.model_fields_set
    return Taken(
        "age of positions",
        document.position_age.text,
        "case file" if told else "default, George et al., arXiv 2008.06352",
        "When things happened; airspeeds and load factors hardly.",
    )


def _static_taken(document: CaseDocument) -> tuple[Taken, ...]:
    error = document.static_source_error
    if error.value == 0.0 and error.sigma == 0.0:
        return ()
    return (
        Taken(
            "error of the static source",
            error.text,
            "case file",
            "Altitudes, and with them densities: airspeeds hardly.",
        ),
    )


def _turbulence_taken(document: CaseDocument) -> tuple[Taken, ...]:
    if document.turbulence is None:
        return ()
    return (
        Taken(
            "turbulence",
            document.turbulence,
            "case file",
            "Load factor, path angle and pitch, by a radar that does not tell it.",
        ),
    )


def _events(
    entries: tuple[EventEntry, ...], clocks: dict[str, ReadClock], track: Track
) -> tuple[Happening, ...]:
    """Events on the corrected clock; events of one clock move together, each with its error."""
    found = []
    for entry in entries:
        clock = None if entry.clock is None else clocks[entry.clock]
        offset, sigma = (0.0, 0.0) if clock is None else (clock.offset, clock.sigma)
        found.append(
            Happening(
                track_seconds(entry.time, track) - offset,
                hypot(entry.error.value, 2.0 * sigma),
                entry.kind,
                entry.text,
                entry.source,
                clock,
            )
        )
    return tuple(sorted(found, key=lambda event: event.time))


def _analysis(entry: AnalysisEntry, track: Track) -> Analysis:
    """Times on the track's axis; those outside the track are refused."""
    first, last = track.span()
    times: dict[str, float | None] = {}
    for key in ("onset", "reference_start", "reference_end"):
        clock = getattr(entry, key)
        times[key] = at = None if clock is None else track_seconds(clock, track)
        if at is not None and not first <= at <= last:
            raise NeutralPointError(
                "case-invalid",
                f"`analysis.{key}` lies outside the track, "
                f"{at - first:.0f} s after its first reading.",
                where=f"{NAME}: analysis.{key}",
                hint=f"The track lasts {last - first:.0f} s; times are UTC.",
            )
    start, end = times["reference_start"], times["reference_end"]
    reference = None if start is None or end is None else (start, end)
    if reference is not None and reference[1] - reference[0] < SHORTEST_REFERENCE:
        raise NeutralPointError(
            "case-invalid",
            f"The reference lasts {reference[1] - reference[0]:.1f} s.",
            where=f"{NAME}: analysis.reference_end",
            hint=f"Trimmed flight of at least {SHORTEST_REFERENCE:.0f} s is needed.",
        )
    return Analysis(times["onset"], reference, entry.flap or 0.0, entry.gear)


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
