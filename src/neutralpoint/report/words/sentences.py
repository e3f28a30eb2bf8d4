"""What the data leave open, in sentences."""

from __future__ import annotations

from neutralpoint.findings import Findings, Source, Statement
from neutralpoint.report.words.motion import resolution_sentence
from neutralpoint.report.words.phrases import time_of_day
from neutralpoint.report.words.sections import undetermined_of

GAPS = 4  # of a source, the longest, that are named


def cannot_show(findings: Findings) -> list[Statement]:
    """What the findings leave undetermined, the gaps in the tracks, and windows too short."""
    gaps = [_gaps(findings, source) for source in findings.sources if source.gaps]
    coarse = [
        Statement(
            kind="derived", text=resolution_sentence(row), basis=["findings.json: resolution"]
        )
        for row in findings.resolution
        if not row.usable
    ]
    return [*undetermined_of(findings), *gaps, *coarse]


def _gaps(findings: Findings, source: Source) -> Statement:
    """The longest gaps of a source in one sentence."""
    longest = sorted(source.gaps, key=lambda gap: gap.start - gap.end)[:GAPS]
    listed = ", ".join(
        f"from {time_of_day(findings, gap.start)} to {time_of_day(findings, gap.end)} UTC "
        f"({gap.end - gap.start:.1f} s)"
        for gap in sorted(longest, key=lambda gap: gap.start)
    )
    more = len(source.gaps) - len(longest)
    others = f" and in {more} shorter {'gap' if more == 1 else 'gaps'}" if more else ""
    return Statement(
        kind="fact",
        text=f"There is no reading {listed}{others}; the curves there rest on the readings around.",
        basis=[source.path],
    )
