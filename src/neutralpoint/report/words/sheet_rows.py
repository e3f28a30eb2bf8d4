"""The table of causes on the answer sheet."""

from __future__ import annotations

from neutralpoint.findings import printed_probability
from neutralpoint.findings.judgement import CauseJudgement, NeedAgainstHas
from neutralpoint.report.sheet.said import Bound, Said, joined, say
from neutralpoint.report.sheet.sheet import CauseLine, FoldedLine
from neutralpoint.report.words.phrases import time_of_day
from neutralpoint.report.words.sheet_numbers import (
    FEATURES,
    chance,
    in_unit,
    share,
    tenth,
)
from neutralpoint.report.words.verdicts import GRANTS
from neutralpoint.vocabulary import QUANTITIES, CauseName

MOST_NEEDS = 2
LEAST_FIT = 0.01  # below which the required moment excludes, as its verdicts do
BY_HAND = (CauseName.NO_FAILURE, CauseName.CONTROL_INPUT, CauseName.UNLISTED)  # hands make these
DASH = "\u2013"
WORDS = {"can": "possible", "cannot": "excluded", "not judged": "not tested"}
OPEN = {
    "unlisted": "not on the list",
    "no-test": "not tested by the moment",
    "too-few-times": "not tested: too few times",
    "bank-not-observable": "not tested: bank not shown",
}


def cause_line(place: int, row: CauseJudgement, bound: Bound, *, leads: bool) -> CauseLine:
    """A row of the table.

    Args:
        place: Of the row in `judgement.rows`.
        row: The judgement.
        bound: Prints findings.
        leads: Whether its flight is drawn.

    Returns:
        The row.
    """
    key = f"judgement.rows.{place}"
    odds = row.odds
    return CauseLine(
        cause=row.cause,
        title=row.cause.title,
        leads=leads,
        needs=tuple(
            _need(f"{key}.needs.{i}", need, bound) for i, need in _telling(row.needs)[:MOST_NEEDS]
        ),
        misfit=_misfit(key, row, bound),
        odds=_odds(key, row, bound),
        probability=None if odds is None else odds.probability,
        lowest=None if odds is None else odds.lowest,
        highest=None if odds is None else odds.highest,
        word=word_of(key, row, bound),
    )


def _telling(needs: list[NeedAgainstHas]) -> list[tuple[int, NeedAgainstHas]]:
    """What is furthest beyond the airplane first."""
    return sorted(enumerate(needs), key=lambda pair: not _beyond(pair[1]))


def _beyond(need: NeedAgainstHas) -> bool:
    low, high = need.least, need.most
    return (high is not None and need.low90 > high) or (low is not None and need.high90 < low)


def _need(key: str, need: NeedAgainstHas, bound: Bound) -> Said:
    """Needed, against what there is."""
    bare, named = in_unit(need.unit, named=False), in_unit(need.unit)
    needed = say(
        "{}: needed {} to {}",
        QUANTITIES[need.quantity].short,
        bound(f"{key}.low90", bare),
        bound(f"{key}.high90", named),
    )
    if need.least is not None and need.most is not None:
        if need.least == -need.most:
            return needed + say("; available \u00b1{}", bound(f"{key}.most", named))
        least, most = bound(f"{key}.least", bare), bound(f"{key}.most", named)
        return needed + say("; available {} to {}", least, most)
    if need.most is not None:
        return needed + say("; available at most {}", bound(f"{key}.most", named))
    if need.least is not None:
        return needed + say("; available at least {}", bound(f"{key}.least", named))
    return needed


def _misfit(key: str, row: CauseJudgement, bound: Bound) -> Said:
    """How far its nearest flight stays off, and how often such a flight would."""
    near = row.best_flight
    parts = []
    if near is not None:
        parts.append(
            say(
                "{}, {}",
                bound(f"{key}.best_flight.distance", tenth),
                bound(f"{key}.best_flight.fails_in", lambda name: FEATURES.get(name) or name),
            )
        )
    if row.p_value is not None:
        parts.append(say("as poor in {}", bound(f"{key}.p_value", share)))
    return joined(parts, "; ") if parts else say(DASH)


def _odds(key: str, row: CauseJudgement, bound: Bound) -> Said:
    if row.odds is None:
        return say(DASH)
    return say(
        "{} ({} to {})",
        bound(f"{key}.odds.probability", chance),
        bound(f"{key}.odds.lowest", chance),
        bound(f"{key}.odds.highest", chance),
    )


def word_of(key: str, row: CauseJudgement, bound: Bound) -> Said:
    """The one word of a cause, with its condition.

    Args:
        key: Of the row.
        row: The judgement.
        bound: Prints findings.

    Returns:
        The word.
    """
    if row.word == "can if":
        return say("possible only if {}", _condition(key, row, bound))
    if row.word == "not judged":
        reason = row.open_because
        return say("not tested" if reason is None else OPEN[reason])
    if row.word == "cannot":
        return say("excluded by the moment; the odds disagree")
    return say("possible{}", _hands(row, bound))


def _hands(row: CauseJudgement, bound: Bound) -> Said:
    """What hands it takes beside the cause, by the required moment."""
    moments = bound.findings.moments
    verdicts = [] if moments is None else moments.verdicts
    place = next((i for i, v in enumerate(verdicts) if v.cause is row.cause), None)
    if place is None or row.cause in BY_HAND:
        return Said()
    for k, hands in enumerate(verdicts[place].hands):
        key = f"moments.verdicts.{place}.hands.{k}"
        if hands.hands == "none" and hands.probability >= LEAST_FIT:
            return _hands_off(row.cause, bound)
        if hands.hands != "none" and hands.price:
            kind = "resisting" if hands.hands == "resisting" else "pushing or pulling"
            return say(", with hands {} {} or more", kind, bound(f"{key}.price", in_unit("N")))
        if hands.hands != "none" and hands.price == 0.0:
            break
    return say(", with hands on the column")


def _hands_off(cause: CauseName, bound: Bound) -> Said:
    """A moment that asks for no column force, beside flights of the cause with hands off.

    The moment asks whether any history of the surface would do; the flights whether a fault such as
    those nearest the data does. Where they leave the data, it takes a pilot's reaction as well.
    """
    found = bound.findings.signatures
    rows = [] if found is None else found.rows
    place = next((i for i, one in enumerate(rows) if one.cause is cause), None)
    if found is None or place is None or not rows[place].hands_off:
        return say("; the moment asks for no column force")
    times = [(one.time, k) for k, one in enumerate(rows[place].hands_off) if one.time is not None]
    if not times:
        return say(", even with no pilot input")
    first = min(times)[1]
    return say(
        " with a pilot\u2019s reaction; hands-off apart at {} UTC",
        bound(f"signatures.rows.{place}.hands_off.{first}.time",
              lambda t: time_of_day(bound.findings, t)[:-2]),
    )  # fmt: skip


def _condition(key: str, row: CauseJudgement, bound: Bound) -> Said:
    condition = row.condition
    if condition is None:
        return say("more is granted than is documented")
    pattern = GRANTS[condition.grant]
    if condition.value is None:
        return say(pattern.format(force="more than was ever measured", degrees=""))
    if "{" not in pattern:
        return say(pattern)
    value = bound(f"{key}.condition.value", in_unit(condition.unit))
    head, tail = pattern.split("{force}" if "{force}" in pattern else "{degrees}")
    return say("{}{}{}", head, value, tail)


def folded_line(place: int, row: CauseJudgement, bound: Bound) -> FoldedLine:
    """An excluded cause with its reason in about ten words.

    Args:
        place: Of the row in `judgement.rows`.
        row: The judgement.
        bound: Prints findings.

    Returns:
        The line.
    """
    return FoldedLine(title=row.cause.title, reason=_reason(f"judgement.rows.{place}", row, bound))


def _reason(key: str, row: CauseJudgement, bound: Bound) -> Said:
    if "airplane-or-facts" in row.excluded_by:
        return _gated(row.cause, bound)
    if "moment" in row.excluded_by:
        return _by_moment(key, row, bound)
    if row.p_value is not None:
        return say("track, a fit as poor in {}", bound(f"{key}.p_value", share))
    return say("by the track")


def _by_moment(key: str, row: CauseJudgement, bound: Bound) -> Said:
    """What is beyond the airplane, or else how poorly the moment fits."""
    for i, need in enumerate(row.needs):
        if _beyond(need):
            return _need(f"{key}.needs.{i}", need, bound)
    if row.moment_probability is None:
        return say("by the required moment")
    if row.cause is CauseName.WING_STALL:
        return say("stall reached with probability {}", _tail(key, bound))
    return say("moment, a fit as poor in {}", _tail(key, bound))


def _tail(key: str, bound: Bound):
    return bound(f"{key}.moment_probability", share)


def _gated(cause: CauseName, bound: Bound) -> Said:
    """The reason that airplane or facts give, in lower case and without its stop."""
    weighing = bound.findings.weighing
    gated = [] if weighing is None else weighing.gated
    for i, entry in enumerate(gated):
        if entry.title == cause.title:
            return say("{}", bound(f"weighing.gated.{i}.reason", _as_reason))
    return say("the airplane or a fact of the flight excludes it")


def _as_reason(text: str) -> str:
    return (text[:1].lower() + text[1:]).rstrip(".")


def small_line(rows: list[tuple[int, CauseJudgement]], bound: Bound) -> Said:
    """Causes that are possible and hardly probable.

    Args:
        rows: Places in `judgement.rows`, with the judgements.
        bound: Prints findings.

    Returns:
        One line; empty without rows.
    """
    if not rows:
        return Said()
    weighed = [pair for pair in rows if pair[1].odds is not None]
    names = joined([say(_short(row.cause)) for _, row in rows])
    if not weighed:
        return say("Also not excluded: {}.", names)
    highest = max(weighed, key=lambda pair: pair[1].odds.probability if pair[1].odds else 0.0)
    key = f"judgement.rows.{highest[0]}.odds.probability"
    return say("Not excluded, each {}: {}.", bound(key, _at_most), names)


def _at_most(probability: float) -> str:
    text = printed_probability(probability)
    return text if text.startswith("less") else f"at most {text}"


def _short(cause: CauseName) -> str:
    return cause.spoken.split(" (")[0]
