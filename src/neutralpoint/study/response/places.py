"""References that flights may start from: pilots shared out among them, and results pooled."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.explanations import Setting
from neutralpoint.response import Outcome
from neutralpoint.study.response.answered import Answered

# A reference less probable than this gets no pilots: of the 32 of a quick look it would have one.
LEAST_SHARE = 0.05  # analyst's


@dataclass(frozen=True)
class FlightStart:
    """Where flights start.

    Attributes:
        setting: Trimmed flight there.
        begin: s after the track's epoch.
        weight: Probability that it is the last trimmed flight before the fault.
    """

    setting: Setting
    begin: float
    weight: float = 1.0


def kept_places(places: list[FlightStart]) -> list[FlightStart]:
    """The places worth flying from, their weights summing to 1.

    Args:
        places: All of them.

    Returns:
        Those of `LEAST_SHARE` and more, in their order; the most probable one in any case.
    """
    most = max(place.weight for place in places)
    total = sum(place.weight for place in places)
    kept = [p for p in places if p.weight == most or p.weight >= LEAST_SHARE * total]
    whole = sum(place.weight for place in kept)
    return [replace(place, weight=place.weight / whole) for place in kept]


def shared_out(count: int, weights: list[float]) -> list[int]:
    """Pilots for each place in proportion to its weight, at least one each.

    Source: method of largest remainders.

    Args:
        count: Pilots in all.
        weights: Summing to 1.

    Returns:
        Numbers that sum to `count` where there are no more places than pilots.
    """
    wanted = np.asarray(weights) * count
    given = np.maximum(np.floor(wanted).astype(int), 1)
    for place in np.argsort(given - wanted):
        if given.sum() >= count:
            break
        given[place] += 1
    while given.sum() > count and given.max() > 1:
        given[np.argmax(given)] -= 1
    return [int(number) for number in given]


def pooled(parts: list[tuple[Answered, ...]], main: int) -> tuple[Answered, ...]:
    """Pilots of all places as one population.

    Args:
        parts: Of each place, the same causes in the same order.
        main: FlightStart whose typical fault the forces are of.

    Returns:
        One entry a cause.
    """
    return tuple(
        replace(
            each[main],
            over_height=_side_by_side([one.over_height for one in each]),
            over_rate=None
            if each[main].over_rate is None
            else _side_by_side([one.over_rate for one in each if one.over_rate is not None]),
            stated=_side_by_side([one.stated for one in each]),
            regulatory=_side_by_side([one.regulatory for one in each]),
            latest=np.concatenate([one.latest for one in each], axis=-1),
        )
        for each in zip(*parts, strict=True)
    )


def _side_by_side(outcomes: list[Outcome]) -> Outcome:
    return Outcome(*(np.concatenate(leaves, axis=-1) for leaves in zip(*outcomes, strict=True)))
