"""What is said of the onset, and of the references that results count from."""

from __future__ import annotations

from neutralpoint.findings import (
    Findings,
    MomentsFindings,
    MovedReference,
    OnsetFindings,
    OnsetHeadline,
    OnsetWord,
    ReferenceRow,
    SectionTable,
    StageSection,
    Statement,
    WeighingFindings,
    onset_headline,
    printed_probability,
)
from neutralpoint.report.words.phrases import derived, inferred, pounds, time_of_day
from neutralpoint.vocabulary import CauseName

FILE = "motion.nc"
LEVELS = ("5%", "25%", "50%", "75%", "95%")
FIRST, MIDDLE, LAST = 0, 2, 4  # of the quantiles
SHOWN = 0.02  # probability from which a cause has a row in the odds by reference
MASKED = (
    "This is when the motion shows it. An autopilot, or hands, can mask a trim motor for a minute: "
    "what caused it may have begun earlier."
)
CONTAINED = (
    "A fault that hands or an autopilot contained leaves no departure to find. State "
    "`analysis.onset` in the case file where it is known from elsewhere."
)


# The headline by its word, wherever an onset is told.
HEADLINES: dict[OnsetWord, str] = {
    "found": "Onset of the upset",
    "unclear": "Onset not clear",
    "none": "No onset found",
    "stated": "Onset as the case states it",
    "stated-not-shown": "Onset stated; the motion shows none",
}


def headline_of(findings: Findings) -> OnsetHeadline | None:
    """The headline of a document, also of one that was saved without it.

    Args:
        findings: The document.

    Returns:
        The headline; None where it holds no onset.
    """
    return findings.onset or onset_headline(findings.motion, findings.moments)


def onset_section(found: OnsetFindings, findings: Findings) -> StageSection:
    """The onset under a headline of its own.

    Args:
        found: What the motion shows.
        findings: The document, for its clock.

    Returns:
        The section.
    """
    known = headline_of(findings)
    title = HEADLINES["found" if known is None else known.word]
    if not found.found:
        stated = known is not None and known.stated is not None
        return StageSection(stage="motion", title=title, statements=[_none(found, stated=stated)])
    return StageSection(
        stage="motion",
        title=title,
        statements=[_found(found, findings), _begun(found, findings)],
        tables=[_quantiles(found, findings)],
    )


def chance(probability: float) -> str:
    """A probability that never reads as certainty."""
    return f"{100.0 * min(max(probability, 0.01), 0.99):.0f}%"


def _none(found: OnsetFindings, *, stated: bool) -> Statement:
    compared = (
        "Causes are compared from the onset that the case states; the motion by itself gives no "
        "reason for it."
        if stated
        else "Causes are compared with the part that is least ordinary, and no result of this "
        "study says that anything failed before that."
    )
    return derived(
        "No departure from ordinary flight was found: the probability that the record holds one "
        f"is {chance(found.probability)}. {compared}",
        f"{FILE}: onset_probability",
        caution="" if stated else CONTAINED,
    )


def _band(times: list[float], findings: Findings) -> str:
    middle, first, last = (time_of_day(findings, times[k]) for k in (MIDDLE, FIRST, LAST))
    return f"{middle} UTC (90%: {first} to {last})"


def _found(found: OnsetFindings, findings: Findings) -> Statement:
    return derived(
        f"The motion left ordinary flight at {_band(found.left, findings)}; the probability that "
        f"it did at all is {chance(found.probability)}.",
        f"{FILE}: onset",
        f"{FILE}: onset_weight",
        caution=MASKED,
    )


def _begun(found: OnsetFindings, findings: Findings) -> Statement:
    return inferred(
        "What caused it began, by the delays of simulated faults, at "
        f"{_band(found.begun, findings)}. References before the onset are weighted by this.",
        f"{FILE}: onset_weight",
    )


def _quantiles(found: OnsetFindings, findings: Findings) -> SectionTable:
    rows = (("motion leaves ordinary flight", found.left), ("its cause begins", found.begun))
    return SectionTable(
        caption="Time, UTC, before which each began with the probability of the column",
        kind="derived",
        columns=["event", *LEVELS],
        rows=[[name, *(time_of_day(findings, t) for t in times)] for name, times in rows],
    )


def stated_onset(given: float, findings: Findings) -> Statement:
    """An onset that the case states, beside what the motion shows.

    Args:
        given: s after the epoch.
        findings: The document.

    Returns:
        The statement.
    """
    shown = findings.motion.onset if findings.motion is not None else None
    said = "shows no onset"
    if shown is not None and shown.found:
        apart = given - shown.left[MIDDLE]
        inside = "inside" if shown.left[FIRST] <= given <= shown.left[LAST] else "outside"
        said = (
            f"shows one {abs(apart):.1f} s {'earlier' if apart > 0.0 else 'later'}; the stated one "
            f"is {inside} its 90% interval"
        )
    return Statement(
        kind="fact",
        text=f"The case states the onset at {time_of_day(findings, given)} UTC, and results count "
        f"from there. The motion by itself {said}.",
        basis=["case.toml: analysis.onset", f"{FILE}: onset"],
    )


def _ends(row: ReferenceRow, findings: Findings) -> str:
    return f"{time_of_day(findings, row.end)} ({100.0 * row.weight:.0f}%)"


def reference_statements(found: MomentsFindings, findings: Findings) -> list[Statement]:
    """The references that may be the last before the fault, and where they disagree.

    Args:
        found: Of the required moment.
        findings: The document, for its clock.

    Returns:
        Nothing where there is one reference.
    """
    rows = found.references
    if len(rows) < 2:
        return []
    ends = ", ".join(_ends(row, findings) for row in rows)
    said = [
        inferred(
            f"{len(rows)} steady stretches may be the last before the fault; they end at (UTC, "
            f"with the probability of each) {ends}. Verdicts are the mean over them; curves and "
            "forces count from the most probable one.",
            f"{FILE}: onset_weight",
            f"{found.file}: is_reference",
        )
    ]
    for cause in rows[0].words:
        if len({row.words[cause] for row in rows}) > 1:
            said.append(_depends(cause, found, findings))
    return said


def _depends(cause: CauseName, found: MomentsFindings, findings: Findings) -> Statement:
    parts = ", ".join(
        f"{row.words[cause]} from {time_of_day(findings, row.end)}" for row in found.references
    )
    return inferred(f"{cause.title} depends on the reference: {parts}.", found.file)


def moved_statements(found: MomentsFindings) -> list[Statement]:
    """What changes where the reference or a stated onset is moved, a sentence for each direction.

    Args:
        found: Of the required moment.

    Returns:
        The sentences.
    """
    if not found.moved:
        return []
    base, *moved = found.moved
    onset = [each for each in moved if each.what == "onset"]
    if onset and not any(_changed(base, each) for each in onset):
        moved = [each for each in moved if each not in onset]
        least = (
            f"With the onset {abs(onset[0].seconds):.0f} s earlier or later: no verdict changes."
        )
        return [*(_moved(base, each, found.file) for each in moved), derived(least, found.file)]
    return [_moved(base, each, found.file) for each in moved]


def _changed(base: MovedReference, each: MovedReference) -> list[str]:
    return [
        f"{cause.title} from {base.words[cause]} to {word}"
        for cause, word in each.words.items()
        if word != base.words[cause]
    ]


def _moved(base: MovedReference, each: MovedReference, file: str) -> Statement:
    changed = _changed(base, each)
    force = ""
    if base.force and each.force:
        low, middle, high = each.force
        force = (
            f"; the largest column force goes from {pounds(base.force[1])} to {pounds(middle)} "
            f"(90%: {pounds(low)} to {pounds(high)})"
        )
    way = "later" if each.seconds > 0.0 else "earlier"
    shift = each.end - base.end
    ends = f", the reference then {abs(shift):.0f} s {'later' if shift > 0.0 else 'earlier'}"
    if abs(shift) < 0.5:
        ends = ", the reference the same"
    return derived(
        f"With the {each.what} {abs(each.seconds):.0f} s {way}"
        f"{ends if each.what == 'onset' else ''}: "
        f"{'; '.join(changed) or 'no verdict changes'}{force}.",
        file,
    )


def window_statements(found: WeighingFindings, findings: Findings) -> list[Statement]:
    """That the odds are a mean over references, and where these disagree.

    Args:
        found: Of the weighing.
        findings: The document, for its clock.

    Returns:
        Nothing where they count from one reference.
    """
    rows = found.windows
    if len(rows) < 2:
        return []
    onset = None if findings.motion is None else findings.motion.onset
    given = findings.moments is not None and findings.moments.stated_onset is not None
    why = ""
    if given:
        why = (
            "The onset that is stated is the motion's; what caused it may have begun before, "
            "hidden by an autopilot or by hands. "
        )
    elif onset is not None and not onset.found:
        why = "No onset was found, so the odds rest on where it may lie. "
    leaders = ", ".join(
        f"{row.leader.spoken} {printed_probability(row.probability[row.leader])} from "
        f"{time_of_day(findings, row.begin)} UTC ({100.0 * row.weight:.0f}%)"
        for row in rows
    )
    alike = len({row.leader for row in rows}) == 1
    said = "All name the same cause first" if alike else "They do not name the same cause first"
    return [
        inferred(
            f"{why}The odds are the mean over {len(rows)} references that may be the last before "
            f"the fault, each with its own probability. {said}: {leaders}.",
            f"{found.file}: windows",
        )
    ]


def window_tables(found: WeighingFindings, findings: Findings) -> list[SectionTable]:
    """The odds by reference.

    Args:
        found: Of the weighing.
        findings: The document, for its clock.

    Returns:
        Nothing where they count from one reference.
    """
    windows = found.windows
    if len(windows) < 2:
        return []
    ends = (f"{time_of_day(findings, row.begin)} ({100.0 * row.weight:.0f}%)" for row in windows)
    shown = [
        row
        for row in found.rows
        if max(w.probability.get(row.cause, 0.0) for w in windows) >= SHOWN
    ]
    return [
        SectionTable(
            caption="Odds by reference: the columns are the ends, UTC, of the steady stretches "
            "that may be the last before the fault, with their probabilities; causes that reach "
            f"{100.0 * SHOWN:.0f}% from one of them",
            kind="inferred",
            columns=["cause", "over all", *ends],
            rows=[
                [
                    row.cause.title,
                    printed_probability(row.probability),
                    *(printed_probability(w.probability[row.cause]) for w in windows),
                ]
                for row in shown
            ],
        )
    ]


def reference_tables(found: MomentsFindings, findings: Findings) -> list[SectionTable]:
    """Every verdict by reference.

    Args:
        found: Of the required moment.
        findings: The document, for its clock.

    Returns:
        Nothing where there is one reference.
    """
    rows = found.references
    if len(rows) < 2:
        return []
    return [
        SectionTable(
            caption="Verdicts by reference: the columns are the ends, UTC, of the steady stretches "
            "that may be the last before the fault, with their probabilities",
            kind="inferred",
            columns=["cause", *(_ends(row, findings) for row in rows)],
            rows=[
                [cause.title, *(str(row.words[cause]) for row in rows)] for cause in rows[0].words
            ],
        )
    ]
