"""What is written on pictures of time to act: how many were flown, and why a curve is flat."""

from __future__ import annotations

from neutralpoint.findings import (
    ProcedureRow,
    ResponseFindings,
    ResponseRow,
    SampledShare,
)
from neutralpoint.quantities import FOOT
from neutralpoint.report.words.phrases import percent

SAME = 1e-9
PROCEDURES = 2  # that a title names
# Source: study.response, which flies one draw of pilots and faults through every procedure.
NO_GUIDE = (
    "Simulated pilots: no guide to training, and nothing about what this crew could know or do."
)
COUNTED = "95% of counting alone"
PAIRED = "Intervals: 95% of counting alone; the same pilots fly each; model error is not in them."
AGREED = "this flight's direction for this cause"


def recovered_words(row: ResponseRow) -> str:
    """When a flight counts as recovered, by the side that the faults of the cause are flown to.

    Args:
        row: Of the cause.

    Returns:
        A sentence. Source: `response.outcome`.
    """
    if row.direction == "nose-up":
        return (
            "Recovered: 4 s level or back in the climb or descent it was in, not stalled, above "
            "the ground."
        )
    return "Recovered: 4 s level or back in the descent, climbing included, above the ground."


def side_word(row: ResponseRow) -> str:
    """The side to which the faults of a cause are flown, in two words; empty where none has one."""
    return "" if row.direction == "none" else row.direction.replace("-", " ")


def direction_words(row: ResponseRow) -> str:
    """Which way the faults of a cause are flown, and why.

    Args:
        row: Of the cause.

    Returns:
        A sentence.
    """
    side, up = side_word(row), row.nose_up
    shown = 0.0 if up is None else up if row.direction == "nose-up" else 1.0 - up
    said = {
        "stays": f"{AGREED} ({percent(shown)} of its simulated flights that follow the track)",
        "nearest": "the way its nearest simulated flights went; none of them stays with the track",
        "both": f"its simulated flights that follow the track go both ways ({percent(up or 0.0)} "
        "nose up), so that the side that costs height is flown",
        "nature": "this cause pitches no other way",
        "not-weighed": "the direction of this flight is not known without the odds, so that the "
        "side that costs height is flown",
    }
    if row.direction_from == "no-side":
        return "Faults of this cause pitch the airplane no certain way."
    return f"Faults are flown {side}: {said[row.direction_from]}."


def counted(share: SampledShare, pilots: int | None) -> str:
    """So many of so many, with the 95% interval; without a number of pilots the share alone."""
    low, high = (f"{100.0 * end:.0f}" for end in (share.low95, share.high95))
    if pilots is None:
        return f"{100.0 * share.share:.0f}% ({low} to {high}%)"
    return f"{share.share * pilots:.0f} of {pilots} ({low} to {high}%)"


def begun(row: ResponseRow, found: ResponseFindings) -> list[ProcedureRow]:
    """Procedures of a cause that were flown at every delay, nothing begun among them."""
    return [one for one in row.procedures if len(one.by_delay) == len(found.delays)]


def flat(row: ResponseRow, found: ResponseFindings) -> bool:
    """Whether no delay differs from that of the case by more than counting allows.

    Args:
        row: Of the cause.
        found: Of the stage.

    Returns:
        Whether every share lies within the 95% interval of the one at the delay of the case.
    """
    at = delay_of(found)
    return all(
        one.by_delay[at].low95 - SAME <= each.share <= one.by_delay[at].high95 + SAME
        for one in begun(row, found)
        for each in one.by_delay
    )


def bar_said(
    row: ResponseRow, one: ProcedureRow, found: ResponseFindings, pilots: int | None, *,
    brief: bool = False,
) -> str:  # fmt: skip
    """A procedure with what it comes to at the delay of the case.

    Args:
        row: Of the cause.
        one: Of its procedures.
        found: Of the stage.
        pilots: That were flown; None where the file does not say.
        brief: Whether the cause is told by a legend.

    Returns:
        Such as `Elevator jam, oppose: 32 of 32 (89 to 100%)`.
    """
    if brief:
        return f"{one.procedure}: {counted(one.by_delay[delay_of(found)], pilots)}"
    name = row.cause.title.split(" (")[0]
    idle = " (nothing else is begun)" if one.procedure == row.nothing else ""
    return f"{name}, {one.procedure}{idle}: {counted(one.by_delay[delay_of(found)], pilots)}"


def recovery_title(
    rows: list[ResponseRow], found: ResponseFindings, pilots: int | None = None
) -> str:
    """What is seen: who recovers by each procedure, or how the delay changes it.

    Args:
        rows: Of the causes that are drawn.
        found: Of the stage.
        pilots: That were flown of each cause; None where the file does not say.
    """
    if not rows or not all(flat(row, found) for row in rows):
        return _most_moved(rows, found) if rows else "Simulated recoveries by delay"
    at, told = delay_of(found), {}
    for row in rows:
        for one in begun(row, found):
            told.setdefault(one.procedure, []).append(one.by_delay[at].share)
    best = sorted(told.items(), key=lambda pair: -sum(pair[1]))[:PROCEDURES]
    of = "" if pilots is None else f" of {pilots}"
    (name, shares), *others = best
    parts = [f"\u201c{name}\u201d recovers {_counts(shares, pilots)}{of}"]
    parts += [f"\u201c{one}\u201d {_counts(each, pilots)}" for one, each in others]
    return f"In this model {', '.join(parts)}"


def _counts(shares: list[float], pilots: int | None) -> str:
    if pilots is None:
        return " and ".join(percent(share) for share in shares)
    return " and ".join(f"{share * pilots:.0f}" for share in shares)


def delay_said(rows: list[ResponseRow], found: ResponseFindings) -> str:
    """That the delay changed nothing beyond counting, where it did not; else empty."""
    if not rows or not all(flat(row, found) for row in rows):
        return ""
    return (
        f"In this model no delay up to {found.delays[-1]:.0f} s changes that by more than counting "
        "error."
    )


def _most_moved(rows: list[ResponseRow], found: ResponseFindings) -> str:
    """The procedure on which the delay tells most: who recovers at once and at the longest."""
    pairs = [(row, one) for row in rows for one in begun(row, found)]
    row, one = max(pairs, key=lambda p: abs(p[1].by_delay[0].share - p[1].by_delay[-1].share))
    first, last = (percent(one.by_delay[k].share) for k in (0, -1))
    return (
        f"If it was {row.cause.spoken.split(' (')[0]}: {first} recover by "
        f"\u201c{one.procedure}\u201d at once, {last} after {found.delays[-1]:.0f} s"
    )


def directions_said(rows: list[ResponseRow]) -> list[str]:
    """Which way faults are flown; once where it is the same for all causes."""
    told = list(dict.fromkeys(direction_words(row) for row in rows))
    sides = {side_word(row) for row in rows}
    if len(rows) > 1 and len(sides) == 1 and all(row.direction_from == "stays" for row in rows):
        return [f"Faults are flown {sides.pop()}: this flight\u2019s direction for these causes."]
    return told


def height_said(rows: list[ResponseRow], found: ResponseFindings) -> list[str]:
    """Whether more height would have saved more, once for all causes of which it would not."""
    enough = [row.enough_height for row in rows if row.enough_height is not None]
    if len(enough) < len(rows) or not enough or max(enough) >= found.height:
        return []
    return [
        f"Height is not the limit: with {_feet(max(enough))} as many recover; these start "
        f"{_feet(found.height)} above the ground ({found.height_source})."
    ]


def delay_of(found: ResponseFindings) -> int:
    """Place of the delay nearest to the reaction time of the case."""
    return min(range(len(found.delays)), key=lambda k: abs(found.delays[k] - found.reaction_median))


def flat_reasons(row: ResponseRow, found: ResponseFindings) -> list[str]:
    """Why a delay changes little where it does: what these flights bear, and no more.

    Args:
        row: Of the cause.
        found: Of the stage.

    Returns:
        Sentences; none where every curve falls with the delay.
    """
    told = []
    for one in row.procedures:
        shares = [each.share for each in one.by_delay]
        if one.procedure == row.nothing or not shares:
            continue
        if min(shares) >= 1.0 - SAME:
            told.append(
                f"\u201c{one.procedure}\u201d: in this model the delay made no difference up to "
                f"{found.delays[-1]:.0f} s, which is no guide to training."
            )
        elif _joins(shares, row.nothing_saved.share):
            since = found.delays[_since(shares, row.nothing_saved.share)]
            told.append(
                f"\u201c{one.procedure}\u201d: from {since:.0f} s on no more than "
                f"\u201c{row.nothing}\u201d."
            )
        elif max(shares) <= SAME:
            told.append(f"\u201c{one.procedure}\u201d: not recoverable even with immediate action.")
    return told


def _since(shares: list[float], nothing: float) -> int:
    """The first delay from which a curve is that of nothing done."""
    parted = [k for k, share in enumerate(shares) if abs(share - nothing) > SAME]
    return parted[-1] + 1 if parted else 0


def _joins(shares: list[float], nothing: float) -> bool:
    return _since(shares, nothing) < len(shares) - 1


def _feet(height: float) -> str:
    return f"{round(height / FOOT, -2):,.0f} ft"
