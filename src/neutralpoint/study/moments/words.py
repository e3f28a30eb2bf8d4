"""What a judgement reads like: the only place where one becomes a sentence."""

from __future__ import annotations

import numpy as np

from neutralpoint.moments import (
    Ability,
    ComparedQuantity,
    Comparison,
    Grant,
    GrantedCondition,
    Hands,
    Judgement,
    NotJudged,
    ValueBand,
    Word,
)
from neutralpoint.quantities import DEGREE, POUND_FORCE
from neutralpoint.vocabulary import CauseName

GRANTS = {
    Grant.STRONGER_HANDS: "the hands resisted with up to {force}",
    Grant.CREW_TRIM: "the crew also used the pitch trim",
    Grant.OTHER_RATE: "the motor ran at half to twice its documented rate",
    Grant.OTHER_TRAVEL: "the travel was up to twice what is documented",
    Grant.FIXED_ITEMS: "items listed as fixed moved too",
    Grant.MORE_LOAD: "more than twice all listed items moved",
    Grant.ICE: "ice lowered the stalling angle by {degrees}",
    Grant.LARGE_ERRORS: "the errors of the data were unusually large",
}
REASONS = {
    NotJudged.TOO_FEW_TIMES: "The needed history is known at too few times.",
    NotJudged.BANK_NOT_OBSERVABLE: "The track does not show the bank, and without it a spiral is "
    "not judged.",
}
# Name, factor to SI, unit, decimals.
NEEDS = {
    ComparedQuantity.TRIM_ANGLE: ("trim angle", DEGREE, "deg", 2),
    ComparedQuantity.TRIM_RATE: ("trim rate", DEGREE, "deg/s", 2),
    ComparedQuantity.ELEVATOR: ("elevator", DEGREE, "deg", 1),
    ComparedQuantity.FORCE: ("column pull", POUND_FORCE, "lb", 0),
    ComparedQuantity.CG_SHIFT: ("shift of the center of gravity", 0.01, "cm", 0),
    ComparedQuantity.THRUST: ("thrust", 1e3, "kN", 1),
    ComparedQuantity.INCIDENCE: ("highest angle of attack", DEGREE, "deg", 1),
    ComparedQuantity.BANK: ("steepest bank", DEGREE, "deg", 0),
}
LENGTHS = ("duration", "first duration", "hold", "second duration")


def percent(value: float) -> str:
    """A probability in per cent, small ones as a bound."""
    return "under 0.1%" if value < 1e-3 else f"{100.0 * value:.2g}%"


def pounds(force: float) -> str:
    """A force in pounds with newtons beside it."""
    return f"{force / POUND_FORCE:.0f} lb ({force:.0f} N)"


def condition_words(judged: Judgement) -> str:
    """What saves the cause; empty where nothing has to.

    Args:
        judged: The judgement.

    Returns:
        A clause.
    """
    return "" if judged.condition is None else _grant(judged.condition)


def _grant(condition: GrantedCondition) -> str:
    value = condition.value
    force = pounds(value) if np.isfinite(value) else "more than was ever measured"
    return GRANTS[condition.grant].format(force=force, degrees=f"{value / DEGREE:.1f} deg")


def miss_words(judged: Judgement, first: float) -> str:
    """Where the best history is furthest off; empty where nothing is.

    Args:
        judged: The judgement.
        first: First time of the result file, s.

    Returns:
        A sentence.
    """
    miss = judged.miss
    if miss is None:
        return ""
    moment = f", {miss.moment:+.0f} N m" if np.isfinite(miss.moment) else ""
    return f"{abs(miss.deviations):.1f} standard deviations{moment} at {miss.time - first:.0f} s."


def sentence(judged: Judgement, first: float) -> str:
    """The judgement in words, with the numbers that it follows from.

    Args:
        judged: The judgement.
        first: First time of the result file, s.

    Returns:
        Sentences.
    """
    if judged.reason is not None:
        return REASONS[judged.reason]
    parts = [_fit(judged), *map(_hands, judged.abilities), *map(_need, judged.comparisons)]
    parts += [_estimate(judged.cause, name, band, first) for name, band in judged.estimates]
    if judged.word is Word.CAN and judged.cause is not CauseName.WING_STALL:
        parts.append("Possible is not probable: see the odds.")
    parts.append(f"Judged from {judged.judged[0] - first:.0f} to {judged.judged[1] - first:.0f} s.")
    return " ".join(part for part in parts if part)


def _fit(judged: Judgement) -> str:
    if judged.cause is CauseName.WING_STALL:
        return f"Probability that the stall was reached {percent(judged.probability)}."
    return (
        "A fit as poor as this or poorer would occur in "
        f"{percent(judged.probability)} of such flights."
    )


def _hands(row: Ability) -> str:
    """One kind of hands and what it costs."""
    if row.hands is Hands.NONE:
        return f"Hands off: {percent(row.probability)}."
    if np.isnan(row.price):
        return f"With the trim used: {percent(row.probability)}."
    name = "Hands that only resist" if row.hands is Hands.RESISTING else "Hands that do anything"
    if row.price == 0.0:
        return ""
    if np.isinf(row.price):
        return f"{name}: no measured force is enough."
    return f"{name}: {pounds(row.price)} is enough."


def _need(row: Comparison) -> str:
    name, factor, unit, decimals = NEEDS[row.quantity]

    def number(value: float) -> str:
        return f"{value / factor:.{decimals}f}"

    band = row.needed
    text = f"Needed {name} {number(band.low)} to {number(band.high)} {unit}"
    ends = [number(end) for end in (row.low, row.high) if np.isfinite(end)]
    return f"{text}; limits {' and '.join(ends)} {unit}." if ends else f"{text}."


def _estimate(cause: CauseName, name: str, band: ValueBand, first: float) -> str:
    if name in LENGTHS:
        factor, unit, zero, decimals = 1.0, "s", 0.0, 1
    elif name == "start":
        factor, unit, zero, decimals = 1.0, "s", first, 0
    elif cause in (CauseName.LOAD_SHIFT_AFT, CauseName.LOAD_SHIFT_FORWARD):
        factor, unit, zero, decimals = 0.01, "cm", 0.0, 1
    else:
        factor, zero, decimals = DEGREE, 0.0, 2
        unit = "deg/s" if name == "rate" else "deg"
    best, low, high = (
        f"{(v - zero) / factor:.{decimals}f}" for v in (band.median, band.low, band.high)
    )
    return f"Best {name} {best} {unit} ({low} to {high})."
