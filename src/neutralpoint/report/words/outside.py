"""What is said of causes and examinations of other packages: in their words, and as theirs."""

from __future__ import annotations

from neutralpoint.findings import (
    Findings,
    OutsideCause,
    OutsideExamination,
    OutsideFindings,
    OutsideNumber,
    OutsideOrigin,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.report.wording.review import review_text
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import (
    aside,
    derived,
    inferred,
    pounds,
    small_percent,
    time_of_day,
)
from neutralpoint.vocabulary import CauseName

CAUTION = (
    "This section holds what other packages say of themselves. Their numbers were not checked "
    "here, and a cause that is possible is not a finding that it happened."
)
WORDS = {
    "cannot": "excluded by the required moment, as this package describes it",
    "can if": "possible only if {condition}",
    "can": "possible",
    "not judged": "not judged: the required history is known at too few times",
}
WITHHELD = "(words withheld: they say more than a track supports)"


def outside_section(found: OutsideFindings, findings: Findings) -> StageSection:
    """The section of what other packages add.

    Args:
        found: Of the stage.
        findings: The document, for its clock and its odds.

    Returns:
        The section.
    """
    return StageSection(
        stage="outside",
        title=STAGES["outside"],
        cautions=[CAUTION],
        statements=[
            *(_cause(cause, findings, found.file) for cause in found.causes),
            *no_share(findings),
            *(_examination(one, found.file) for one in found.examinations),
            *(aside(_mechanism(cause)) for cause in found.causes),
        ],
        tables=[aside(_table(one)) for one in found.examinations if one.numbers],
    )


def no_share(findings: Findings) -> list[Statement]:
    """Why a cause of another package has no odds, and where its share is.

    Args:
        findings: The document.

    Returns:
        A sentence where odds and such a cause stand in one document; else none.
    """
    outside, weighed = findings.outside, findings.weighing
    if outside is None or not outside.causes or weighed is None:
        return []
    rows = [row for row in weighed.rows if row.cause is CauseName.UNLISTED]
    share = f", {small_percent(rows[0].probability)} here" if rows else ""
    named = ", ".join(_said(cause.origin.title, cause.origin) for cause in outside.causes)
    return [
        inferred(
            f"Causes of other packages ({named}) have no share of the odds: these were learned on "
            f"a fixed list of causes. Whatever share they have is part of that of an unlisted "
            f"cause{share}, and of causes whose flights look like theirs.",
            "findings.json: outside.causes",
        )
    ]


def judged_elsewhere(findings: Findings) -> list[Statement]:
    """What the odds say of causes of other packages.

    Args:
        findings: The document.

    Returns:
        A sentence where there is such a cause; else none.
    """
    if findings.outside is None or not findings.outside.causes:
        return []
    named = ", ".join(_said(cause.origin.title, cause.origin) for cause in findings.outside.causes)
    return [
        inferred(
            f"Not among these causes: {named}; judged by the required moment alone, under "
            f"\u201c{STAGES['outside']}\u201d.",
            "findings.json: outside.causes",
        )
    ]


def without_odds(findings: Findings) -> str:
    """Where odds are printed in brief: that causes of other packages are not among them.

    Args:
        findings: The document.

    Returns:
        A sentence; empty without such a cause or without odds.
    """
    outside, weighed = findings.outside, findings.weighing
    if outside is None or not outside.causes or weighed is None:
        return ""
    named = ", ".join(_said(cause.origin.title, cause.origin) for cause in outside.causes)
    return f"Without odds, their share part of that of an unlisted cause: {named}."


def _said(text: str, origin: OutsideOrigin) -> str:
    """Words of a plug-in; its name instead where they claim more than a track supports."""
    return f"{origin.name} {WITHHELD}" if review_text(text).flags else text


def _from(origin: OutsideOrigin) -> str:
    version = f" {origin.version}" if origin.version else ""
    return f"package {origin.package}{version}"


def _cause(cause: OutsideCause, findings: Findings, file: str) -> Statement:
    condition = (
        "the errors of the data were unusually large"
        if cause.granted_force is None
        else f"the pilot resisted with up to {pounds(cause.granted_force)}"
    )
    first, last = (time_of_day(findings, at) for at in (cause.judged_from, cause.judged_to))
    title = _said(cause.origin.title, cause.origin)
    text = (
        f"{title} ({_from(cause.origin)}): {WORDS[cause.word].format(condition=condition)}, by "
        f"the unexplained moment from {first} to {last} UTC"
    )
    if cause.probability is not None:
        text += (
            f"; a fit as poor as its best one or poorer would occur in "
            f"{small_percent(cause.probability)} of such flights"
        )
    return inferred(f"{text}.", f"findings.json: outside.causes; {file}")


def _mechanism(cause: OutsideCause) -> Statement:
    origin = cause.origin
    told = [f"{origin.name}: {_said(cause.mechanism, origin)}"]
    told.append(
        f"It says that it can make {cause.histories:,} histories of the pitching-moment "
        f"coefficient, resting on: {_said(origin.source, origin)}"
    )
    for one in cause.estimates:
        told.append(
            f"Of those that fit, {one.name} is {_number(one.best)} {one.unit} "
            f"(90%: {_number(one.low90)} to {_number(one.high90)})"
        )
    if cause.settles:
        told.append(
            f"Evidence that would tell of it, by the package: {_said(cause.settles, origin)}"
        )
    return inferred(f"{'. '.join(text.rstrip('.') for text in told)}.", f"package {origin.package}")


def _examination(one: OutsideExamination, file: str) -> Statement:
    origin = one.origin
    count = len(one.numbers) + one.more
    note = f" It notes: {_said(one.note, origin).rstrip('.')}." if one.note else ""
    return derived(
        f"{_said(origin.title, origin)} ({_from(origin)}, not checked here): {count} "
        f"number{'' if count == 1 else 's'}, resting on: "
        f"{_said(origin.source, origin).rstrip('.')}.{note}",
        f"findings.json: outside.examinations; {file}: {one.group}",
    )


def _table(one: OutsideExamination) -> SectionTable:
    more = f"; {one.more} more stand in the file" if one.more else ""
    return SectionTable(
        caption=f"{_said(one.origin.title, one.origin)}, by {_from(one.origin)}{more}",
        kind="derived",
        columns=["Quantity", "Median or value", "90% band", "Unit"],
        rows=[
            [_said(row.label, one.origin), _number(row.value), _band(row), row.unit]
            for row in one.numbers
        ],
    )


def _band(row: OutsideNumber) -> str:
    if row.low90 is None or row.high90 is None:
        return "not stated"
    return f"{_number(row.low90)} to {_number(row.high90)}"


def _number(value: float | None) -> str:
    return "none" if value is None else f"{value:.3g}".replace("-", "\u2212")
