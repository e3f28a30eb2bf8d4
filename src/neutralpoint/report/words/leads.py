"""The result of each section in one sentence, with which it opens."""

from __future__ import annotations

from collections.abc import Sequence

from neutralpoint.findings import (
    Banded,
    CheckedClaim,
    Findings,
    KeyTime,
    MomentsFindings,
    ResponseFindings,
    StageSection,
    Statement,
    said_likelihood,
)
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.words.phrases import derived, inferred, percent
from neutralpoint.report.words.response import latest_words
from neutralpoint.vocabulary import CauseName

ORDER = (
    ("can", "possible"),
    ("can if", "possible only on a condition"),
    ("cannot", "excluded"),
    ("not judged", "not judged"),
)
MIDDLE = 1  # of the 5, 50 and 95 % of the latest action


def path_lead(findings: Findings) -> Statement | None:
    """The flight in one sentence: heights, steepest descent, load factor.

    Args:
        findings: The document.

    Returns:
        The sentence; None where nothing is known at the key times.
    """
    at = {entry.label: entry for entry in findings.key_times}
    parts = [
        part
        for part in (
            _reached(at.get("highest altitude"), "altitude", "height up to"),
            _reached(
                at.get("highest calibrated airspeed"), "calibrated_airspeed", "airspeed up to"
            ),
            _reached(at.get("steepest descent"), "flight_path_angle", "path as steep as"),
            _load(at.get("lowest load factor"), at.get("highest load factor")),
        )
        if part
    ]
    if not parts:
        return None
    return derived(f"Medians: {', '.join(parts)}.", "motion.nc")


def _value(entry: KeyTime | None, name: str) -> Banded | None:
    found = None if entry is None else entry.values.get(name)
    return found if found is not None and found.observable else None


def _reached(entry: KeyTime | None, name: str, opening: str) -> str:
    value = _value(entry, name)
    if value is None:
        return ""
    return f"{opening} {SHOWN[name].with_unit(SHOWN[name].number(value.median))}"


def _load(low: KeyTime | None, high: KeyTime | None) -> str:
    ends = [_value(entry, "normal_load_factor") for entry in (low, high)]
    if ends[0] is None or ends[1] is None:
        return ""
    shown = SHOWN["normal_load_factor"]
    first, last = (shown.number(end.median) for end in ends if end is not None)
    return f"load factor {first} to {shown.with_unit(last)}"


def moments_lead(found: MomentsFindings) -> Statement | None:
    """How many causes the required moment leaves, and which it excludes.

    Args:
        found: Of the stage.

    Returns:
        The sentence; None where nothing was judged.
    """
    if not found.verdicts:
        return None
    groups = [
        f"{len(names)} {said}{_named(names) if word == 'cannot' else ''}"
        for word, said in ORDER
        if (names := [v.cause for v in found.verdicts if v.word == word])
    ]
    return inferred(
        f"Of {len(found.verdicts)} causes tested against the moment that the path required: "
        f"{'; '.join(groups)}.",
        found.file,
    )


def _named(causes: Sequence[CauseName]) -> str:
    return f" ({', '.join(cause.spoken for cause in causes)})"


def response_lead(found: ResponseFindings, leaders: Sequence[str]) -> Statement | None:
    """For the leading cause that was flown: who recovers, and until when.

    Args:
        found: Of the stage.
        leaders: Causes, most probable first.

    Returns:
        The sentence; None where nothing was flown.
    """
    rows = {str(row.cause): row for row in found.rows}
    row = next((rows[name] for name in leaders if name in rows), None)
    row = row or next(iter(found.rows), None)
    if row is None:
        return None
    best = max(row.procedures, key=lambda one: one.saved.share)
    until = (
        f"; median latest effective action {latest_words(best.latest[MIDDLE], found.longest)}"
        if best.latest and best.latest[MIDDLE].end == "known"
        else ""
    )
    recover = (
        f"{percent(best.saved.share)} of simulated pilots recover with the best of "
        f"{len(row.procedures)} procedures ('{best.procedure}')"
        if best.saved.share > 0.0
        else f"no simulated pilot recovers with any of {len(row.procedures)} procedures"
    )
    return inferred(
        f"If {row.cause.spoken}: {recover}{until}.",
        f"{found.file}: {row.cause}/saved_stated",
    )


def odds_lead(section: StageSection) -> Statement | None:
    """The most probable cause of a section that holds odds and no sentence.

    Args:
        section: Of a document of version 2.

    Returns:
        The sentence; None without odds.
    """
    if not section.odds:
        return None
    first = max(section.odds, key=lambda row: row.probability)
    said = said_likelihood(first.probability)
    return inferred(f"Most probable of the causes weighed: {first.said}, {said}.")


def claims_lead(claims: Sequence[CheckedClaim], drafts: int) -> Statement:
    """How many claims there are and how they stand.

    Args:
        claims: Of the analyst.
        drafts: Number of sentences proposed.

    Returns:
        The sentence.
    """
    if not claims:
        return derived(f"No claim is stated yet; {drafts} sentences are proposed.", "claims.toml")
    held = sum(claim.holds for claim in claims)
    return derived(
        f"Of {len(claims)} claims of the analyst the findings support {held}.", "claims.toml"
    )
