"""What is said of what could be seen and felt; never what anyone did see or feel."""

from __future__ import annotations

from neutralpoint.findings import (
    Banded90,
    FeltFindings,
    FeltLight,
    FeltMoment,
    FeltPerception,
    Findings,
    Misperceived,
    PanelRequest,
    SectionTable,
    StageSection,
    Statement,
    TerrainAhead,
)
from neutralpoint.quantities import DEGREE, FOOT, MINUTE, NAUTICAL_MILE, STATUTE_MILE
from neutralpoint.report.figures.display import printed
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import (
    aside,
    derived,
    inferred,
    small_percent,
    time_of_day,
)
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.light import HorizonReason, HorizonSeen, Light

CAUTION = (
    "this is what a person with a healthy inner ear who looked at nothing could perceive by two "
    "published models; whether anyone looked at an instrument, and what anyone felt or meant, no "
    "track tells. Pilots in measured turns perceived more of a bank than either model does."
)
SILENT = {
    "attitude": "the track does not support pitch, bank and load factor over half of the stretch",
    "fixes": "the fixes are further apart than the semicircular canals remember a turn (5.7 s)",
    "short": "less than 30 s in the air are left, too few for the organs to settle",
}
LIGHTS = {
    Light.DAY: "daylight",
    Light.CIVIL: "civil twilight",
    Light.NAUTICAL: "nautical twilight",
    Light.ASTRONOMICAL: "astronomical twilight",
    Light.NIGHT: "night",
}
REASONS = {
    HorizonReason.NO_REPORT: "the case holds no surface report of the hour",
    HorizonReason.OLD_REPORT: "the nearest surface report is more than an hour away",
    HorizonReason.FAR_FROM_REPORT: "the airplane was higher than the report speaks of clouds",
    HorizonReason.NO_VISIBILITY: "the report gives no visibility",
    HorizonReason.NO_CLOUDS: "the report gives no clouds",
    HorizonReason.HAZE: "the reported visibility is too low for one or leaves it open",
    HorizonReason.BROKEN_OFF: "the airplane was in or above a layer whose top is not reported",
    HorizonReason.BELOW_CLOUD: "below the clouds of the report, by its visibility",
    HorizonReason.DARK: "no sun and no useful moon; lights on the ground may have shown one",
    HorizonReason.MOONLIT: "only the moon gave light",
    HorizonReason.DUSK: "the light was fading",
}
DEFAULT = "default, analyst's estimate"
PANELS = ("seat_load", "seat_tilt", "perceived_pitch", "perceived_bank", "perceived_turn")
MARKED = 10.0 * DEGREE  # off the flown angle, from which it is told first; analyst's


def felt_section(findings: Findings) -> StageSection | None:
    """The section of what could be seen and felt.

    Args:
        findings: The document.

    Returns:
        The section; None where the stage has no results.
    """
    found = findings.felt
    if found is None:
        return None
    said = found.perception
    return StageSection(
        stage="felt",
        title=STAGES["felt"],
        cautions=[CAUTION],
        # All in the appendix, to keep the body short; the first sentence carries the caution there.
        statements=[
            aside(one)
            for one in (
                *([_silent(found)] if said is None else _perceived(said, found, findings)),
                _light(found.light, findings),
                *_contradiction(found.light, findings),
                *([] if found.light.terrain is None else [_terrain(found.light.terrain)]),
            )
        ],
        tables=[] if said is None else [_table(said, findings)],
        panels=[] if said is None else _panels(found),
    )


def is_marked(said: FeltPerception) -> bool:
    """Whether a perceived angle is far off the flown one."""
    return max(abs(said.pitch.apart.median), abs(said.bank.apart.median)) >= MARKED


def _silent(found: FeltFindings) -> Statement:
    return derived(
        f"The track cannot tell what could be perceived: {SILENT[found.silent or 'attitude']}.",
        f"findings.json: felt; {found.file}",
    )


def _angle(value: float) -> str:
    return f"{printed(value / DEGREE, 0)}\u00b0"


def _band(band: Banded90) -> str:
    return f"{_angle(band.median)} (90%: {_angle(band.low90)} to {_angle(band.high90)})"


def _perceived(said: FeltPerception, found: FeltFindings, findings: Findings) -> list[Statement]:
    basis = f"findings.json: felt; {found.file}"
    pair = (("pitch", said.pitch), ("bank", said.bank))
    each = "; ".join(_furthest(name, one, findings) for name, one in pair)
    lead = (
        "A person with a healthy inner ear who looked at nothing could have perceived an attitude "
        f"other than the flown one. Largest difference, perceived less flown: {each}."
        if is_marked(said)
        else "By two models of the vestibular organs, pitch and bank that a person who looked at "
        f"nothing could have perceived stay near the flown ones. Largest difference: {each}."
    )
    load = said.highest
    force = (
        f"The specific force at the pilot's seat, averaged over {said.window:.1f} s, was between "
        f"{said.lowest.median:.2f} and {load.median:.2f} g (medians of the least and largest of "
        f"each path; 90%: down to {said.lowest.low90:.2f} and up to {load.high90:.2f} g)."
    )
    place = said.seat
    seat = (
        f"The head is taken {place.ahead:.1f} m \u00b1 {place.half_width:.1f} m ahead of the "
        f"center of gravity ({place.source or DEFAULT})."
    )
    return [
        inferred(
            lead,
            basis,
            "Rader, Oman and Merfeld (2009), table 4; Bos and Bles (2002)",
            caution=f"{CAUTION[0].upper()}{CAUTION[1:]} The two models differ by "
            f"{_angle(said.pitch.models)} in pitch and {_angle(said.bank.models)} in bank there; "
            "such models agree on an illusion but not on its size (Groen et al. 2022).",
        ),
        derived(force, basis),
        derived(seat, "airplane file"),
    ]


def _furthest(name: str, one: Misperceived, findings: Findings) -> str:
    return (
        f"{name} {_band(one.apart)} at {time_of_day(findings, one.time)} UTC, more than 10\u00b0 "
        f"with a probability of {small_percent(one.probability)}"
    )


def _side(elevation: float) -> str:
    return "above the horizontal" if elevation >= 0.0 else "below the horizontal"


def _light(light: FeltLight, findings: Findings) -> Statement:
    moon = "below it"
    if light.moon_elevation > 0.0:
        moon = f"{_angle(light.moon_elevation)} above it, {100.0 * light.moon_lit:.0f}% lit"
    seen = {
        HorizonSeen.IN_SIGHT: "a natural horizon was in sight as far as the report shows",
        HorizonSeen.NOT: "no natural horizon was in sight",
        HorizonSeen.UNKNOWN: "whether a natural horizon was in sight cannot be determined",
    }[light.seen]
    why = "; ".join(REASONS[reason] for reason in light.reasons)
    text = (
        f"At {time_of_day(findings, light.time)} UTC: {LIGHTS[light.light]}, sun "
        f"{_angle(abs(light.sun_elevation))} {_side(light.sun_elevation)} in azimuth "
        f"{light.sun_azimuth / DEGREE:03.0f}\u00b0, moon {moon}; {seen}: {why}."
    )
    caution = ""
    if light.station and light.age is not None:
        caution = f"The report is of {light.station}, {light.age / MINUTE:.0f} min away"
        if light.ceiling is not None:
            caution += f", lowest broken layer {light.ceiling / FOOT:,.0f} ft above it"
        if light.visibility is not None:
            caution += f", visibility {light.visibility / STATUTE_MILE:.0f} statute miles or more"
        caution += "; the sky along the path may have been another."
    return inferred(text, "time and place of the track", "case.toml: weather", caution=caution)


def _contradiction(light: FeltLight, findings: Findings) -> list[Statement]:
    if not light.contradicts:
        return []
    return [
        derived(
            "The case states another light under [facts] than the sun gives at "
            f"{time_of_day(findings, light.time)} UTC: check date, clock and place.",
            "case.toml: facts.light",
        )
    ]


def _terrain(line: TerrainAhead) -> Statement:
    side = "right" if line.bearing >= 0.0 else "left"
    text = (
        f"The line of the terrain within 30\u00b0 of the way ahead stands highest at "
        f"{line.highest / DEGREE:+.1f}\u00b0 from the horizontal, {_angle(abs(line.bearing))} to "
        f"the {side} and {line.distance / NAUTICAL_MILE:.0f} NM away, and slopes by "
        f"{line.slope / DEGREE:+.1f}\u00b0 to the right; the horizon at sea would lie "
        f"{line.dip / DEGREE:.1f}\u00b0 down"
    ).replace("-", "\u2212")
    return derived(
        f"{text}. Heights are known over {small_percent(line.known)} of that view.",
        "case.toml: terrain",
        caution="A sloping line can pass for a level one where nothing else is in sight; whether "
        "it was visible the grid does not tell.",
    )


def _table(said: FeltPerception, findings: Findings) -> SectionTable:
    def rate(band: Banded90) -> str:
        low, mid, high = (printed(v / DEGREE, 1) for v in (band.low90, band.median, band.high90))
        return f"{mid} ({low} to {high})"

    def row(one: FeltMoment) -> list[str]:
        return [
            time_of_day(findings, one.time),
            *(_band(b) for b in (one.pitch, one.perceived_pitch, one.bank, one.perceived_bank)),
            rate(one.turn),
            rate(one.perceived_turn),
            f"{one.load.median:.2f} ({one.load.low90:.2f} to {one.load.high90:.2f})",
        ]

    return SectionTable(
        caption="Flown attitude and what two models perceive without outside view",
        kind="derived",
        detail=True,
        columns=[
            *("UTC", "Pitch flown", "Pitch perceived", "Bank flown", "Bank perceived"),
            *(
                "Turn flown, \u00b0/s (90%)",
                "Turn perceived, \u00b0/s (90%)",
                "Seat force, g (90%)",
            ),
        ],
        rows=[row(one) for one in said.moments],
    )


def _panels(found: FeltFindings) -> list[PanelRequest]:
    return [
        PanelRequest(
            file=found.file,
            variable=name,
            label=QUANTITIES[name].title,
            unit=QUANTITIES[name].unit,
        )
        for name in PANELS
    ]
