"""Cannot, can if, can: the word for one family of causes, bound to a printed number.

A family is a set of histories of its own carrier (stabilizer, elevator, centre of gravity). The
needed history has a joint band. The set is first taken as the documents describe the airplane; then
one limit at a time is relaxed. *Can* where the documented set comes close enough, *can if* where
one relaxed limit does, *cannot* where even that misses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.moments.feasible import Miss, Needed, closest, needed_history
from neutralpoint.moments.required import Required
from neutralpoint.moments.shapes import Family
from neutralpoint.moments.strength import LARGEST, ONE_HAND, PROLONGED, ForceLimit

Array = NDArray[np.float64]

# A set that would look this far off in fewer than 1 of 20 flights of its own is not called able as
# documented; one in fewer than 1 of 500 is called unable. The second bounds the worst error,
# excluding the true cause (benchmarks/moments_recovery.py).
ABLE = 0.05
UNABLE = 0.002
KNOTS = 20
FEWEST = 4
LONGEST = 60.0  # s after the reference that are looked at
# Column work that is nobody's cause: small corrections, turbulence. Analyst's.
UNMODELLED_FORCE = 15.0  # N
UNMODELLED_TIME = 3.0  # s
# Before hands answer a fault, s: the shortest of the regulatory settings (AC 23-8, from memory).
HANDS_DELAY = 1.0


@dataclass(frozen=True)
class Verdict:
    """What one family of causes can do.

    Attributes:
        family: Name.
        word: "can", "can if", "cannot" or "not judged".
        probability: How often a flight really made by the closest member would look at least this
            far off; NaN where not judged.
        alone: The same for the set as documented with nobody on the column; NaN where not judged.
        condition: The relaxed limit that saves it; empty for "can".
        parameters: Parameters of the closest member, SI.
        peak_force: Largest pull the hands add in the closest member, N.
        miss_time: Where the closest member is furthest off, s.
        miss: By how many standard deviations.
    """

    family: str
    word: str
    probability: float
    alone: float
    condition: str
    parameters: dict[str, float]
    peak_force: float
    miss_time: float
    miss: float


@dataclass(frozen=True)
class Option:
    """One set of histories with what the hands may add, all in the unit of the carrier.

    Attributes:
        condition: What must be granted for it; empty as documented.
        family: Histories.
        force: N that the hands may add.
        opposing: True where the hands only give way to the fault or cancel it.
    """

    condition: str
    family: Family
    force: float
    opposing: bool


@dataclass(frozen=True)
class Carrier:
    """A needed history in the unit of one carrier.

    Attributes:
        needed: At the knots where it is known.
        scale: Carrier worth one newton of pull, at those knots, shape (k,).
    """

    needed: Needed
    scale: Array


def window_of(required: Required, longest: float = LONGEST) -> NDArray[np.bool_]:
    """From the end of the reference on, at most `longest` seconds.

    Args:
        required: What it took.
        longest: s.

    Returns:
        True inside, shape (m,).
    """
    end = required.time[np.flatnonzero(required.trimmed)[-1]]
    return (required.time >= end) & (required.time <= end + longest)


def knots_of(required: Required, window: float) -> Array:
    """Times at which histories are compared.

    Args:
        required: What it took.
        window: Smoothing window, s: knots lie no closer.

    Returns:
        s, shape (k,), at most `KNOTS`; times beyond the stall are left out.
    """
    inside = required.time[window_of(required)]
    count = int(min(KNOTS, max(FEWEST, (inside[-1] - inside[0]) / window)))
    knots = np.linspace(min(inside[0] + 0.5 * window, inside[-1]), inside[-1], count)
    return knots[~required.stalled[_nodes(required, knots)]]


def _nodes(required: Required, times: Array) -> NDArray[np.intp]:
    return np.clip(np.searchsorted(required.time, times), 0, required.time.size - 1)


def carrier(required: Required, paths: Array, knots: Array) -> Carrier:
    """A needed history with what the hands are worth in it.

    Args:
        required: What it took.
        paths: One carrier of it, shape (S, m).
        knots: s, shape (k,).

    Returns:
        The carrier, its covariance widened by small column work that is nobody's cause.
    """
    nodes = _nodes(required, knots)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.median((paths / required.column_force)[:, nodes], axis=0)
    scale = np.where(np.isfinite(ratio), ratio, 0.0)
    apart = np.abs(knots[:, None] - knots[None, :])
    small = np.exp(-apart / UNMODELLED_TIME) * scale[:, None] * scale[None, :]
    needed = needed_history(required.time, paths, knots, UNMODELLED_FORCE**2 * small)
    return Carrier(needed, scale[np.isin(knots, needed.time)])


def _limits(option: Option, scale: Array, times: Array) -> tuple[Array, Array]:
    """Least and most that the hands can add to each member, shape (c, k)."""
    most = option.force * np.abs(scale)
    histories = option.family.histories
    high = np.broadcast_to(most, histories.shape)
    if not option.opposing:
        return -high, high
    # Hands give way to the fault or cancel it; beyond that they only make small corrections. They
    # need a moment before they can do either.
    small = min(PROLONGED.force, option.force) * np.abs(scale)
    late = times - option.family.parameters[:, :1] >= HANDS_DELAY
    reaching = np.where(late, most, small)
    low = -np.minimum(np.maximum(histories, 0.0) + small, reaching)
    return low, np.minimum(np.maximum(-histories, 0.0) + small, reaching)


def judge(name: str, carried: Carrier, options: list[Option]) -> Verdict:
    """The word for one family.

    Args:
        name: Of the family.
        carried: What was needed of its carrier.
        options: Sets of histories at the knots of `carried`, the documented one first.

    Returns:
        The verdict on the first set that comes close enough, or on the closest one.
    """
    if carried.needed.time.size < FEWEST:
        unknown = float("nan")
        return Verdict(name, "not judged", unknown, unknown, "", {}, 0.0, unknown, unknown)
    alone = _alone(carried, options[0])
    best: tuple[Miss, Option] | None = None
    for option in options:
        low, high = _limits(option, carried.scale, carried.needed.time)
        miss = closest(carried.needed, option.family.histories, low, high)
        if option is options[0]:  # what hands cannot save is not saved by their absence
            alone = min(alone, miss.probability)
        if miss.probability >= ABLE:
            word = "can if" if option.condition else "can"
            return _verdict(name, carried, miss, option, word, alone)
        if best is None or miss.probability > best[0].probability:
            best = (miss, option)
    word = "can if" if best[0].probability >= UNABLE else "cannot"
    return _verdict(name, carried, *best, word, alone)


def _alone(carried: Carrier, documented: Option) -> float:
    """Probability of the closest member without hands; small column work is in the covariance."""
    none = np.zeros(carried.needed.time.size)
    return closest(carried.needed, documented.family.histories, none, none).probability


def _verdict(
    name: str, carried: Carrier, miss: Miss, option: Option, word: str, alone: float
) -> Verdict:
    doubt = "the errors of the data were unusually large" if miss.probability < ABLE else ""
    said = " and ".join(part for part in (option.condition, doubt) if part)
    return Verdict(
        family=name,
        word=word,
        probability=miss.probability,
        alone=alone,
        condition=said if word == "can if" else "",
        parameters=option.family.describe(miss.member),
        peak_force=float(np.abs(miss.added / np.maximum(np.abs(carried.scale), 1e-15)).max()),
        miss_time=miss.worst_time,
        miss=miss.worst,
    )


def hands_text(limit: ForceLimit) -> str:
    """Condition that lets the hands go beyond one hand's short-term force.

    Args:
        limit: What the hands give.

    Returns:
        Words; empty for one hand.
    """
    if limit is ONE_HAND:
        return ""
    return f"the hands gave up to {limit.force:.0f} N ({limit.name})"


def with_hands(family: Family, force: float, extra: list[tuple[str, Family]]) -> list[Option]:
    """A fault with hands against it, then each thing more that may be granted.

    Args:
        family: As documented.
        force: N that the hands give against the fault.
        extra: Further sets with what must be granted for them.

    Returns:
        The options: as documented, hands that also flew a recovery, stronger hands, the others.
    """
    flown = f"the hands also pulled or pushed beyond the fault, up to {force:.0f} N"
    return [
        Option("", family, force, True),
        Option(flown, family, force, False),
        Option(hands_text(LARGEST), family, LARGEST.force, True),
        *(Option(text, other, force, True) for text, other in extra),
    ]
