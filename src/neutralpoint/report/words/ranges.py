"""How a probability is printed with its range: the wide one, over the assumptions, first."""

from __future__ import annotations

import math

from neutralpoint.findings import PRIOR_FACTORS, OddsRow, SwayEnd, SwayRow, WeighingFindings
from neutralpoint.report.words.sheet_numbers import chance
from neutralpoint.vocabulary import CauseName

FEW = 0.05  # below which a bound says all that there is to say; analyst's
DIVIDED, TIMES = "\u00f7", "\u00d7"
MOST_TURNED = 2  # ends that are named
MOVED = {
    "networks": "one of the trained estimates",
    "wind": "another wind",
    "cg": "another CG",
    "mass": "another mass",
    "reference": "another end of trimmed flight",
}
ASSUMED = "one assumption changed at a time"
NO_INTERVAL = "not a confidence interval"
SHOWN = 5  # causes with a row of their own in a picture of the odds, at most; analyst's
ESTIMATES = "range of the trained estimates alone"


def wide_of(row: OddsRow) -> tuple[float, float]:
    """The range over the assumptions; that of the trained estimates where no other was kept."""
    if row.least is None or row.most is None:
        return row.lowest, row.highest
    return row.least, row.most


def has_wide(found: WeighingFindings | None) -> bool:
    """Whether every cause has a range over the assumptions."""
    rows = [] if found is None else found.rows
    return bool(rows) and all(row.least is not None and row.most is not None for row in rows)


def ranged(stands: float, low: float, high: float) -> str:
    """A probability with its range; a small one as a bound.

    Args:
        stands: As the case stands.
        low: Lowest.
        high: Highest.

    Returns:
        Such as `0.27 to 0.77, as weighed 0.52`, or `below 0.04`.
    """
    if high < FEW:
        return f"below {math.floor(100.0 * high + 1.0 + 1e-9) / 100.0:.2f}"
    if chance(low) == chance(high):
        return chance(stands)
    return f"{chance(low)} to {chance(high)}, as weighed {chance(stands)}"


def rest_of(found: WeighingFindings, shown: tuple[CauseName, ...]) -> tuple[float, float, float]:
    """All causes but those shown, together.

    Args:
        found: Of the stage.
        shown: Causes that have a row of their own.

    Returns:
        As it stands, and the ends of its range: over the assumptions where they were kept.
    """
    stands = sum(row.probability for row in found.rows if row.cause not in shown)
    sums = [
        sum(value for cause, value in end.odds.items() if cause not in shown)
        for sway in found.sways
        for end in sway.ends
        if end.odds
    ]
    return min(stands, 1.0), min([stands, *sums]), min(max([stands, *sums]), 1.0)


def range_said(found: WeighingFindings) -> str:
    """What the ranges of a picture are."""
    if not has_wide(found):
        return f"{ESTIMATES[:1].upper()}{ESTIMATES[1:]}: no assumption was moved."
    leader = found.rows[0]
    return (
        f"Range: {ASSUMED} (prior weight \u00f73 or \u00d73, wind, loading, start and more). The "
        f"trained estimates alone: {chance(leader.lowest)} to {chance(leader.highest)} for the "
        "first. Error of the airplane model is not in it."
    )


def rivals_of(found: WeighingFindings) -> list[OddsRow]:
    """The most probable cause, and every other that leads with one assumption changed."""
    leaders = {end.leader for sway in found.sways for end in sway.ends}
    return [found.rows[0], *(row for row in found.rows[1:] if row.cause in leaders)]


def rows_shown(found: WeighingFindings) -> list[OddsRow]:
    """Causes with a row of their own, in every picture the same: rivals, and who may reach `FEW`.

    Args:
        found: Of the stage.

    Returns:
        Most probable first; the others are summed in one row.
    """
    rivals = rivals_of(found)
    able = [row for row in found.rows if wide_of(row)[1] >= FEW and row not in rivals]
    kept = [*rivals, *able][:SHOWN]
    return [row for row in found.rows if row in kept]


def others_said(found: WeighingFindings, shown: list[OddsRow]) -> tuple[str, str]:
    """How many causes are summed in the last row; and that none of them is large, if none is."""
    rest = [row for row in found.rows if row not in shown]
    most = max((wide_of(row)[1] for row in rest), default=0.0)
    each = f"each {ranged(most, 0.0, most)}" if most < FEW else ""
    return f"{len(rest)} others together", each


def odds_title(found: WeighingFindings, *, none_near: bool = False) -> str:
    """What the odds come to, in one sentence that names every cause that may lead.

    Args:
        found: Of the stage.
        none_near: Whether no listed cause comes near the track, so that odds only rank.
    """
    if none_near:
        return "No listed cause comes near this track: its odds rank causes that do not fit"
    rivals = rivals_of(found)
    told = [f"{row.cause.spoken.split(' (')[0]} {_span(row)}" for row in rivals]
    if len(told) == 1:
        how = "whatever assumption is changed" if found.sways else "as weighed"
        return f"{told[0][:1].upper()}{told[0][1:]}: it leads {how}"
    return f"Not settled: {', '.join(told[:-1])} or {told[-1]}"


def _span(row: OddsRow) -> str:
    low, high = wide_of(row)
    if chance(low) == chance(high):
        return chance(row.probability)
    return f"up to {chance(high)}" if low < FEW else f"{chance(low)} to {chance(high)}"


def turned_said(found: WeighingFindings) -> str:
    """Which other cause leads where one assumption is moved, and which; empty where none does."""
    told = [
        f"{end.leader.spoken.split(' (')[0]} leads {_if_set(sway, end, _owner(sway, found))}"
        for sway in found.sways
        for end in sway.ends
        if end.leader is not found.rows[0].cause
    ]
    text = "; ".join(told[:MOST_TURNED])
    return f"{text[:1].upper()}{text[1:]}." if told else ""


def _owner(sway: SwayRow, found: WeighingFindings) -> str:
    """Whose prior weight is moved."""
    cause = CauseName(sway.name) if sway.assumption == "weight" and sway.name else None
    return (cause or found.rows[0].cause).spoken.split(" (")[0]


def _if_set(sway: SwayRow, end: SwayEnd, owner: str) -> str:
    """Under which change of an assumption, with its owner."""
    if sway.assumption == "weight" and end.setting:
        low = end.setting < 1.0
        how, times = ("divided by", 1.0 / end.setting) if low else ("times", end.setting)
        return f"if the prior weight of {owner} is {how} {times:.0f}"
    return f"with {_set_to(sway, end)}"


def _set_to(sway: SwayRow, end: SwayEnd) -> str:
    """An assumption at one of its ends."""
    if sway.assumption == "weight" and end.setting:
        low = end.setting < 1.0
        sign, times = (DIVIDED, 1.0 / end.setting) if low else (TIMES, end.setting)
        return f"its prior weight {sign}{times:.0f}"
    if sway.assumption == "failed" and end.setting is not None:
        return f"a prior of {end.setting:g} that something failed"
    if sway.assumption == "evidence":
        return "one item of evidence left out"
    return MOVED[sway.assumption]


def _weighed_as(found: WeighingFindings, moved: OddsRow, factor: float) -> SwayEnd:
    """The odds with the prior weight of one cause multiplied."""
    whole = 1.0 + (factor - 1.0) * moved.probability
    odds = {
        row.cause: min((factor if row is moved else 1.0) * row.probability / whole, 1.0)
        for row in found.rows
    }
    leader = max(odds, key=lambda cause: odds[cause])
    first = found.rows[0].cause
    return SwayEnd(setting=factor, leader=leader, probability=odds[first], odds=odds)


def lesser_said(found: WeighingFindings) -> str:
    """By how much the prior weight of any cause but the first two moves the leader at most."""
    first, rest = found.rows[0], found.rows[2:]
    ends = [
        _weighed_as(found, row, factor).probability
        for row in rest
        if row.cause is not CauseName.NO_FAILURE
        for factor in PRIOR_FACTORS
    ]
    most = max((abs(end - first.probability) for end in ends), default=0.0)
    bound = math.floor(100.0 * most + 1.0 + 1e-9) / 100.0
    moved = f"{DIVIDED}{PRIOR_FACTORS[1]:.0f} to {TIMES}{PRIOR_FACTORS[1]:.0f}"
    told = f"The prior weight of any other cause, {moved}, moves it by less than {bound:.2f}."
    return told if ends else ""


HANGS = {
    "weight": "the prior weight of {}",
    "failed": "the prior that something failed",
    "evidence": "single items of evidence",
    "networks": "which trained estimate is taken",
    "wind": "the wind",
    "cg": "the CG",
    "mass": "the mass",
    "reference": "the end of trimmed flight",
}


def sways_title(found: WeighingFindings) -> str:
    """What the leading probability hangs on, in one sentence."""
    turned = [s for s in found.sways if any(e.leader is not found.rows[0].cause for e in s.ends)]
    if not turned:
        return "No assumption tested puts another cause first"
    owners = [CauseName(sway.name) if sway.name else found.rows[0].cause
              for sway in turned if sway.assumption == "weight"]  # fmt: skip
    first = " or ".join(cause.spoken.split(" (")[0] for cause in owners)
    told = list(dict.fromkeys(HANGS[sway.assumption].format(first) for sway in turned))
    return f"Which cause leads hangs on {' and '.join(told)}"


def tipping(found: WeighingFindings, place: int, end: SwayEnd) -> float | None:
    """Probability of the leader from which, towards an end, another cause leads.

    Args:
        found: Of the stage.
        place: Of the assumption.
        end: One at which another cause leads.

    Returns:
        It; None where only the end is known, for no prior was changed.

    Source: Bayes' rule, by which a change of prior odds multiplies odds; own derivation.
    """
    by_cause = {row.cause: row.probability for row in found.rows}
    first = found.rows[0]
    other = by_cause.get(end.leader, 0.0)
    kind = found.sways[place].assumption
    nobody = CauseName.NO_FAILURE
    if kind == "weight" and found.sways[place].name:  # of the other: its odds are multiplied
        return first.probability / (1.0 - other + first.probability)
    if kind == "weight" or (kind == "failed" and first.cause is nobody):
        # Its own odds are multiplied until it is as probable as the other.
        return other / (1.0 - first.probability + other)
    if kind == "failed" and end.leader is nobody:
        return first.probability / (1.0 - other + first.probability)
    return None


def turned_ends(found: WeighingFindings, place: int) -> list[SwayEnd]:
    """The ends of one assumption at which another cause leads."""
    first = found.rows[0].cause
    return [end for end in found.sways[place].ends if end.leader is not first]


def leads_said(found: WeighingFindings, place: int) -> str:
    """Which other cause leads at an end of one assumption, and at which; empty where none does."""
    sway = found.sways[place]
    told = [
        f"{_brief(sway, end)}{end.leader.spoken.split(' (')[0]} leads"
        for end in sway.ends
        if end.leader is not found.rows[0].cause
    ]
    return f"; {'; '.join(told)}" if told else ""


def _brief(sway: SwayRow, end: SwayEnd) -> str:
    """An end where the assumption is named before it."""
    if sway.assumption == "weight" and end.setting:
        return f"at {_set_to(sway, end).split()[-1]} "
    if sway.assumption == "failed" and end.setting is not None:
        return f"at {end.setting:g} "
    return f"{_set_to(sway, end)}: "


def rest_said(found: WeighingFindings, shown: int) -> list[str]:
    """How many assumptions are not drawn, which move the leader least."""
    count = len(found.sways) - shown
    if count <= 0:
        return []
    verb = "moves" if count == 1 else "move"
    return [f"{count} more of the {len(found.sways)} tested {verb} it by less and "
            f"{'is' if count == 1 else 'are'} not drawn."]  # fmt: skip


def prior_said(found: WeighingFindings) -> str:
    """The prior that something failed, on which no failure hangs; empty where none was set."""
    if found.prior.failed is None:
        return ""
    whose = "by the case" if found.prior.failed_stated else "by default"
    return f"Assumed beforehand ({whose}): {found.prior.failed:g} that something failed."
