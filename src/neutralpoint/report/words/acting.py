"""What is written on pictures of time to act: how many were flown, and why a curve is flat."""

from __future__ import annotations

from neutralpoint.findings import ProcedureRow, ResponseFindings, ResponseRow, SampledShare
from neutralpoint.quantities import FOOT
from neutralpoint.report.words.phrases import percent

SAME = 1e-9
# Source: study.response, which flies one draw of pilots and faults through every procedure.
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


def count_of(one: ProcedureRow, row: ResponseRow, found: ResponseFindings,
             pilots: int | None) -> str:  # fmt: skip
    """A procedure with what it comes to at the delay nearest to the one of the case."""
    at = delay_of(found)
    told = counted(one.by_delay[at], pilots)
    if one.procedure == row.nothing:
        return f"{one.procedure} (nothing else is begun): {told}"
    return f"{one.procedure}: {told} at {found.delays[at]:.0f} s"


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
    enough = row.enough_height
    if told and enough is not None and enough < found.height:
        told.append(
            f"Height is not the limit: with {_feet(enough)} and with more as many recover; "
            f"these start {_feet(found.height)} above the ground ({found.height_source})."
        )
    return told


def _since(shares: list[float], nothing: float) -> int:
    """The first delay from which a curve is that of nothing done."""
    parted = [k for k, share in enumerate(shares) if abs(share - nothing) > SAME]
    return parted[-1] + 1 if parted else 0


def _joins(shares: list[float], nothing: float) -> bool:
    return _since(shares, nothing) < len(shares) - 1


def _feet(height: float) -> str:
    return f"{round(height / FOOT, -2):,.0f} ft"
