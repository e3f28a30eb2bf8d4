"""What the motion shows, in sentences that carry their bands."""

from __future__ import annotations

from neutralpoint.findings import Findings, KeyTime, Statement
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.words.motion import resolution_sentence
from neutralpoint.report.words.phrases import time_of_day
from neutralpoint.report.words.sections import statements_of, undetermined_of
from neutralpoint.report.words.tables import cell

# Label of the key time, quantity, opening of the sentence.
SAID = (
    ("highest altitude", "altitude", "The highest median height above mean sea level is"),
    ("steepest descent", "flight_path_angle", "The steepest median flight path angle is"),
    ("lowest load factor", "normal_load_factor", "The lowest median normal load factor is"),
    ("highest load factor", "normal_load_factor", "The highest median normal load factor is"),
    (
        "highest calibrated airspeed",
        "calibrated_airspeed",
        "The highest median calibrated airspeed is",
    ),
)


def in_short(findings: Findings) -> list[Statement]:
    """The statements of the findings, then the extremes of the motion with their bands."""
    by_label = {entry.label: entry for entry in findings.key_times}
    extremes = [
        _extreme(findings, by_label[label], name, opening)
        for label, name, opening in SAID
        if label in by_label and by_label[label].values[name].observable
    ]
    return [*statements_of(findings), *extremes]


def cannot_show(findings: Findings) -> list[Statement]:
    """What the findings leave undetermined, the gaps in the tracks, and windows too short."""
    gaps = [
        Statement(
            kind="fact",
            text=f"There is no reading from {time_of_day(findings, gap.start)} to "
            f"{time_of_day(findings, gap.end)} UTC ({gap.end - gap.start:.1f} s); the curves "
            "there rest on the readings around it.",
            basis=[source.path],
        )
        for source in findings.sources
        for gap in source.gaps
    ]
    coarse = [
        Statement(
            kind="derived", text=resolution_sentence(row), basis=["findings.json: resolution"]
        )
        for row in findings.resolution
        if not row.usable
    ]
    return [*undetermined_of(findings), *gaps, *coarse]


def _extreme(findings: Findings, entry: KeyTime, name: str, opening: str) -> Statement:
    shown, said = SHOWN[name], cell(name, entry.values[name])
    return Statement(
        kind="derived",
        text=f"{opening} {shown.with_unit(said.value)} (90%: {shown.with_unit(said.span)}), "
        f"at {time_of_day(findings, entry.time)} UTC.",
        basis=[f"motion.nc: {name}"],
    )
