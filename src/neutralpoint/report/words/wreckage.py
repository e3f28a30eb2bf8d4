"""What is said of where the airplane and its parts came down."""

from __future__ import annotations

import math

from neutralpoint.findings import (
    Banded90,
    CauseEnding,
    Findings,
    GroundEnding,
    GroundMark,
    SectionTable,
    StageSection,
    Statement,
    WreckageFindings,
)
from neutralpoint.quantities import DEGREE, FOOT, KNOT
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import (
    derived,
    inferred,
    small_percent,
    time_of_day,
)

CAUTIONS = [
    "a part falls here with drag alone; its lateral glide is a stated scatter, and winds near "
    "the ground are known least.",
    "after the last reading nothing was received: the path to the ground is a continuation, with "
    "load factors and bank held as last seen unless a cause is named.",
]
DASH = "\u2013"
TOLD = 0.05  # share of the paths that break from which it is told; analyst's
FEW = 3  # pairs of parts whose order is said


def wreckage_section(findings: Findings) -> StageSection | None:
    """The section of where it came down.

    Args:
        findings: The document.

    Returns:
        The section; None where the stage has no results.
    """
    found = findings.wreckage
    if found is None:
        return None
    tables = [_parts(found, findings), _endings(found, findings), _missing(found)]
    return StageSection(
        stage="wreckage",
        title=STAGES["wreckage"],
        cautions=CAUTIONS,
        statements=[
            *_lead(found, findings),
            _ending(found, findings),
            *_broken(findings),
            *_flight(found),
            *_order(found),
            *_search(found),
        ],
        tables=[table for table in tables if table.rows],
    )


def _number(value: float, factor: float = 1.0, decimals: int = 0) -> str:
    return f"{round(value / factor, decimals) + 0.0:,.{decimals}f}".replace("-", "\u2212")


def _band(band: Banded90, factor: float, unit: str, decimals: int = 0) -> str:
    low, mid, high = (_number(v, factor, decimals) for v in (band.low90, band.median, band.high90))
    return f"{mid} {unit} (90%: {low} to {high})"


def place_words(latitude: float, longitude: float) -> str:
    """A place in decimal degrees with its hemispheres."""
    north, east = latitude / DEGREE, (longitude / DEGREE + 180.0) % 360.0 - 180.0
    return (
        f"{abs(north):.5f}\u00b0 {'N' if north >= 0 else 'S'}, "
        f"{abs(east):.5f}\u00b0 {'E' if east >= 0 else 'W'}"
    )


def _lead(found: WreckageFindings, findings: Findings) -> list[Statement]:
    if not found.parts and not found.missing:
        return []
    if not found.parts:
        text = "No part has a stated place, so none can be traced back to the path."
        return [derived(text, "case.toml: debris")]
    if found.one is None or found.together is None:
        part = found.parts[0]
        first = time_of_day(findings, part.time.low90)
        return [
            inferred(
                f"{part.name}: released between {first} and "
                f"{time_of_day(findings, part.time.high90)} UTC (90%), "
                f"{_band(part.height, FOOT, 'ft')} above the sea.",
                f"{found.file}",
            )
        ]
    first, last = (time_of_day(findings, t) for t in (found.together.low90, found.together.high90))
    text = (
        f"That one break-up explains the places of all {len(found.parts)} parts has a probability "
        f"of {small_percent(found.one)}, even odds against releases at unrelated times; if so it "
        f"was between {first} and {last} UTC (90%)."
    )
    return [inferred(text, f"findings.json: wreckage.one; {found.file}")]


def ending_words(ending: GroundEnding) -> str:
    """How paths meet the ground, in a phrase."""
    return (
        f"{_band(ending.distance, 1000.0, 'km', 1)} from the last reading, at "
        f"{_band(ending.speed, KNOT, 'kt')} true airspeed, path "
        f"{_band(ending.path_angle, DEGREE, 'deg')}"
    )


def _ending(found: WreckageFindings, findings: Findings) -> Statement:
    ending = found.ending
    text = (
        "With load factor and bank held as last seen, "
        f"{small_percent(ending.reached)} of the sample paths come down, at "
        f"{time_of_day(findings, ending.time.median)} UTC "
        f"(90%: {time_of_day(findings, ending.time.low90)} to "
        f"{time_of_day(findings, ending.time.high90)}), {ending_words(ending)}; median place "
        f"{place_words(ending.latitude, ending.longitude)}, 90% within "
        f"{_number(ending.spread)} m of it"
    )
    looked = f"Releases are searched from {time_of_day(findings, found.from_time)} UTC on"
    ground = "terrain of the case" if found.ground == "terrain" else "height stated for the parts"
    return inferred(f"{text}. Ground: {ground}. {looked}.", "findings.json: wreckage.ending")


def _flight(found: WreckageFindings) -> list[Statement]:
    if found.in_flight is None:
        return []
    factor = found.in_flight / math.log(10.0)
    if abs(factor) < 0.5:
        text = (
            "Whether these parts came off in flight or were carried to the ground, their places "
            "alone do not tell."
        )
    else:
        way = "came off in flight" if factor > 0.0 else "were carried to the ground"
        size = "over 1,000,000" if abs(factor) > 6.0 else f"{10.0 ** abs(factor):,.0f}"
        text = (
            f"Their places favor parts that {way}: Bayes factor {size} to 1. It enters the "
            "odds by how often each cause releases parts, with a probability of 10% that the "
            "places mislead."
        )
    return [inferred(text, "findings.json: wreckage.in_flight")]


def _order(found: WreckageFindings) -> list[Statement]:
    sure = sorted(found.order, key=lambda pair: -pair.probability)[:FEW]
    if not sure or (found.one is not None and found.one > 0.5):
        return []
    listed = "; ".join(
        f"{pair.first} before {pair.second} ({small_percent(pair.probability)})" for pair in sure
    )
    text = f"Order of release, each by itself: {listed}."
    return [inferred(text, "findings.json: wreckage.order")]


def _search(found: WreckageFindings) -> list[Statement]:
    said = []
    for part in found.missing:
        when = (
            "released when the parts found were"
            if part.assumed == "as the parts found"
            else "released at any time that was examined"
        )
        said.append(
            inferred(
                f"Missing, {part.name}: {when}, it lies with 50% within "
                f"{part.area50 / 1e6:.2f} km\u00b2 and with 90% within {part.area90 / 1e6:.2f} "
                f"km\u00b2 about {place_words(part.latitude, part.longitude)}.",
                *found.map_files,
            )
        )
    return said


def _parts(found: WreckageFindings, findings: Findings) -> SectionTable:
    def clock(band: Banded90) -> str:
        low, mid, high = (time_of_day(findings, t) for t in (band.low90, band.median, band.high90))
        return f"{mid} ({low} to {high})"

    return SectionTable(
        caption="Parts traced back to the path, in the order of their medians",
        kind="inferred",
        columns=["Part", "Falls at", "Released, UTC (90%)", "Height, ft above the sea (90%)",
                 "In flight", "Nearest landing", "Source"],
        rows=[
            [
                part.name,
                f"{_number(part.terminal_speed, KNOT)} kt",
                clock(part.time),
                _band(part.height, FOOT, "ft"),
                small_percent(part.airborne),
                f"{part.nearest:.1f} standard deviations",
                part.source,
            ]
            for part in sorted(found.parts, key=lambda part: part.time.median)
        ],
    )  # fmt: skip


def _endings(found: WreckageFindings, findings: Findings) -> SectionTable:
    def row(name: str, ending: GroundEnding | None, broke: str = DASH) -> list[str]:
        if ending is None:
            return [name, *5 * [DASH], broke, DASH]
        return [
            name,
            time_of_day(findings, ending.time.median),
            _band(ending.distance, 1000.0, "km", 1),
            _band(ending.speed, KNOT, "kt"),
            _band(ending.path_angle, DEGREE, "deg"),
            _band(ending.heading, DEGREE, "deg"),
            broke,
            small_percent(ending.reached),
        ]

    causes: list[CauseEnding] = findings.endings
    return SectionTable(
        caption="How the paths meet the ground under each remaining cause",
        kind="inferred",
        columns=["Cause", "Time, UTC", "From the last reading", "True airspeed", "Path angle",
                 "Heading", "Broke before", "Come down"],
        rows=[
            *map(_as_found, found.marks),
            row("held as last seen", found.ending),
            *(row(f"{one.cause.title} ({small_percent(one.probability)})", one.ending,
                  _broke(one, findings)) for one in causes),
        ],
    )  # fmt: skip


def _as_found(mark: GroundMark) -> list[str]:
    """Marks of the case as a row beside the paths."""
    return [
        f"as found: {mark.source}",
        DASH,
        _band(mark.distance, 1000.0, "km", 2) if mark.distance else DASH,
        _band(mark.speed, KNOT, "kt") if mark.speed else DASH,
        _band(mark.path_angle, DEGREE, "deg") if mark.path_angle else DASH,
        *3 * [DASH],
    ]


def _broke(one: CauseEnding, findings: Findings) -> str:
    """How many of the paths pass ultimate load before the ground, and when."""
    share = small_percent(one.broke)
    if one.broke_time is None:
        return share
    return f"{share}, from {time_of_day(findings, one.broke_time.low90)} UTC on"


def _broken(findings: Findings) -> list[Statement]:
    """Causes whose flights pass ultimate load before the ground."""
    broken = [one for one in findings.endings if one.broke >= TOLD]
    if not broken:
        return []
    listed = "; ".join(f"{one.cause.spoken}, {_broke(one, findings)}" for one in broken)
    text = (
        f"Broke in flight: share of the paths that pass ultimate load before the ground: {listed}. "
        "From then on the path of the model is not trusted; bands in the table are of the others."
    )
    return [inferred(text, "findings.json: endings")]


def _missing(found: WreckageFindings) -> SectionTable:
    return SectionTable(
        caption="Where to look for missing parts",
        kind="inferred",
        columns=["Part", "Most likely place", "50% within", "90% within"],
        rows=[
            [
                part.name,
                place_words(part.latitude, part.longitude),
                f"{part.area50 / 1e6:.2f} km\u00b2",
                f"{part.area90 / 1e6:.2f} km\u00b2",
            ]
            for part in found.missing
        ],
    )
