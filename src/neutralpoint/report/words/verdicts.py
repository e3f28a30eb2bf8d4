"""What is said of one cause by the required moment: here alone is a verdict a sentence."""

from __future__ import annotations

from collections import Counter

from neutralpoint.findings import (
    CauseVerdict,
    ClosestMiss,
    Estimated,
    Granted,
    HandsRow,
    MomentsFindings,
    Need,
    Score,
    Statement,
    Verdict,
    VerdictScore,
)
from neutralpoint.quantities import DEGREE, INCH, POUND_FORCE
from neutralpoint.report.words.phrases import derived, pounds, small_percent
from neutralpoint.vocabulary import CauseName

GRANTS = {
    "stronger-hands": "the pilot resisted with up to {force}",
    "crew-trim": "the crew also used the pitch trim",
    "other-rate": "the motor ran at half to twice its documented rate",
    "other-travel": "the travel was up to twice what is documented",
    "fixed-items": "items listed as fixed moved too",
    "more-load": "more than twice all listed items moved",
    "ice": "ice lowered the stalling angle by {degrees}",
    "large-errors": "the errors of the data were unusually large",
}
REASONS = {
    "too-few-times": "The required history is known at too few times.",
    "bank-not-observable": "Bank is not observable, so a spiral is not judged.",
}
# Name, factor to SI, unit, decimals.
NEEDS = {
    "trim-angle": ("trim angle", DEGREE, "deg", 2),
    "trim-rate": ("trim rate", DEGREE, "deg/s", 2),
    "elevator": ("elevator", DEGREE, "deg", 1),
    "force": ("column pull", POUND_FORCE, "lb", 0),
    "cg-shift": ("CG shift", INCH, "in", 1),
    "thrust": ("thrust", POUND_FORCE, "lb", 0),
    "incidence": ("highest angle of attack", DEGREE, "deg", 1),
    "bank": ("steepest bank", DEGREE, "deg", 0),
}
Span = tuple[float, float]
LENGTHS = ("duration", "first duration", "hold", "second duration")
LOADS = (CauseName.LOAD_SHIFT_AFT, CauseName.LOAD_SHIFT_FORWARD)


def cause_verdict(verdict: Verdict, found: MomentsFindings) -> CauseVerdict:
    """A verdict in words, with the numbers that it follows from.

    Args:
        verdict: Of one cause.
        found: Of the stage.

    Returns:
        The verdict as it is printed.
    """
    return CauseVerdict(
        cause=verdict.cause,
        title=verdict.cause.title,
        word=verdict.word,
        probability=verdict.probability,
        condition="" if verdict.granted is None else _granted(verdict.granted),
        closest_miss="" if verdict.miss is None else _miss(verdict.miss, found.first),
        sentence=_sentence(verdict, found.first, common_span(found)),
        basis=[found.file],
    )


SCORES = {
    "true-cause-excluded": (
        "true cause excluded",
        "Share of the verdicts on the true cause that were \u201ccannot\u201d",
    ),
    "wrong-causes-excluded": (
        "wrong causes excluded",
        "Share of the verdicts on other causes that were \u201ccannot\u201d in flights that became "
        "an upset, wing stall and spiral dive left out",
    ),
    "upsets-with-an-exclusion": (
        "upsets with an exclusion",
        "Share of the flights that became an upset in which any other cause than wing stall and "
        "spiral dive was rightly excluded",
    ),
}


def verdict_score(score: VerdictScore) -> Score:
    """A score of the verdicts in words.

    Args:
        score: A share of blind flights.

    Returns:
        The score as it is printed.
    """
    name, meaning = SCORES[score.name]
    return Score(
        name=name,
        value=score.value,
        low90=score.low90,
        high90=score.high90,
        cases=score.cases,
        sentence=f"{meaning}; of {score.flights} simulated flights of three invented airplanes at "
        "one fix a second, with other errors of the airplane and other pilots than the test "
        "assumes; not of this case.",
    )


def _granted(granted: Granted) -> str:
    if granted.value is None:
        return GRANTS[granted.grant].format(force="more than was ever measured", degrees="")
    return GRANTS[granted.grant].format(
        force=pounds(granted.value), degrees=f"{granted.value / DEGREE:.1f} deg"
    )


def _miss(miss: ClosestMiss, first: float) -> str:
    moment = "" if miss.moment is None else f", {miss.moment:+,.0f} N m"
    return f"{abs(miss.deviations):.1f} standard deviations{moment} at {miss.time - first:.0f} s."


def common_span(found: MomentsFindings) -> Span | None:
    """The stretch over which most causes are judged, s after the epoch.

    Args:
        found: Of the stage.

    Returns:
        Begin and end; None where none is judged.
    """
    spans = Counter(span for one in found.verdicts if (span := _judged(one)) is not None)
    return spans.most_common(1)[0][0] if spans else None


def judged_statement(found: MomentsFindings) -> list[Statement]:
    """Over which stretch causes are judged, said once.

    Args:
        found: Of the stage.

    Returns:
        Nothing where none is judged.
    """
    span = common_span(found)
    if span is None:
        return []
    begin, end = span[0] - found.first, span[1] - found.first
    return [
        derived(
            f"Causes are judged {begin:.0f} to {end:.0f} s after the start of the record, unless a "
            "verdict states another stretch.",
            found.file,
        )
    ]


def _judged(verdict: Verdict) -> Span | None:
    if verdict.judged_from is None or verdict.judged_to is None:
        return None
    return verdict.judged_from, verdict.judged_to


def _sentence(verdict: Verdict, first: float, common: Span | None) -> str:
    if verdict.reason is not None:
        return REASONS[verdict.reason]
    parts = [_fit(verdict), *map(_hands, verdict.hands), *map(_need, verdict.needs)]
    parts += [_estimate(verdict.cause, one, first) for one in verdict.estimates]
    span = _judged(verdict)
    if span is not None and span != common:
        begin, end = (at - first for at in span)
        parts.append(f"Judged {begin:.0f} to {end:.0f} s after the start of the record.")
    return " ".join(part for part in parts if part)


def _fit(verdict: Verdict) -> str:
    """The probability where it is not that of the fit, which has a column of its own."""
    if verdict.probability is None or verdict.cause is not CauseName.WING_STALL:
        return ""
    return f"Probability that the stall was reached {small_percent(verdict.probability)}."


def _hands(row: HandsRow) -> str:
    """One kind of hands and what it costs."""
    if row.hands == "none":
        return f"p-value hands off: {small_percent(row.probability)}."
    if row.end == "none":
        return f"p-value with trim used by the crew: {small_percent(row.probability)}."
    name = "Resisting pull alone" if row.hands == "resisting" else "Any column force"
    if row.price == 0.0:
        return ""
    if row.price is None:
        return f"{name}: no measured force suffices."
    return f"{name}: {pounds(row.price)} suffices."


def _need(row: Need) -> str:
    name, factor, unit, decimals = NEEDS[row.quantity]

    def number(value: float) -> str:
        return f"{value / factor:.{decimals}f}"

    text = f"Needs {name} {number(row.low90)} to {number(row.high90)} {unit}"
    ends = [number(end) for end in (row.least, row.most) if end is not None]
    return f"{text}; has {' to '.join(ends)} {unit}." if ends else f"{text}."


def _estimate(cause: CauseName, one: Estimated, first: float) -> str:
    factor, unit, zero, decimals = _scale(cause, one.name, first)
    best, low, high = (
        f"{(value - zero) / factor:.{decimals}f}" for value in (one.best, one.low90, one.high90)
    )
    return f"Best {one.name} {best} {unit} ({low} to {high})."


def _scale(cause: CauseName, name: str, first: float) -> tuple[float, str, float, int]:
    """Factor to SI, unit, zero and decimals of a parameter."""
    if name in LENGTHS:
        return 1.0, "s", 0.0, 1
    if name == "start":
        return 1.0, "s", first, 0
    if cause in LOADS:
        return INCH, "in", 0.0, 1
    return DEGREE, "deg/s" if name == "rate" else "deg", 0.0, 2
