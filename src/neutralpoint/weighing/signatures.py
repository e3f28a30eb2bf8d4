"""Every cause flown with controls free, and what power or a push alone make of the trim.

The same flights as those with a pilot, one for one: same airplane, fault, start and gusts; only the
hands are gone and nothing is done on purpose. The wings are held level as before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from neutralpoint.explanations import Cause, Prior
from neutralpoint.numerics.arrays import Floats
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.flights import Drawn, Flown, Plan, flown_of
from neutralpoint.weighing.nearest import LEAST_FLIGHTS, band, kernel
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.predictive import Predictive, joined
from neutralpoint.weighing.simulate import CHUNK, WILD, Fly, fly_drawn, fly_jobs

EDGES = (0.05, 0.5, 0.95)  # of the 90 % band, and the median
MEMBERS = 20  # flights of each cause, and of each trial of the trim; analyst's
TRIALS: tuple[Literal["idle", "full", "push"], ...] = ("idle", "full", "push")
ON, OFF = 3.0, -3.0  # normal scores of "either": the upper and the lower value
CALM = -6.0  # normal score of the gusts at which the air is as good as still
AT_ONCE = -8.0  # normal score of a fault that begins with the flight

# Loops too slow to matter, habits off, nothing meant: controls free. By name of
# `ordinary.ORDINARY`.
_GONE = {
    "crossover": 1e-6, "outer": 1e-6, "holding": 1e-6, "trims": 0.0, "speeds": 1.0, "stalls": 1.0,
    "powers_up": 1.0, "adapts": 1.0, "reaction": 1e6, "engaged": 0.0, "activity": 0.0,
    "climbs": 0.0, "turns": 0.0, "powers": 0.0, "matched": 0.0, "flaps": 0.0, "hills": 0.0,
    "steeps": 0.0, "sway": 0.0, "heave": 0.0, "cut_at": 0.0, "cut_lasts": 1e4, "hurry": 3.0,
}  # fmt: skip
_CHOSEN = {"cuts": Prior("either", 0.0, 1.0)}


@dataclass(frozen=True)
class HandsOff:
    """Flights with controls free.

    Attributes:
        causes: Flights by name of the cause.
        trials: Flights on which nothing fails: power to idle, power to full, a push of five
            seconds that is let go; without the push where the airplane knows no such cause.
    """

    causes: dict[str, Flown]
    trials: dict[str, Flown]


def without_hands(plan: Plan) -> Plan:
    """The plan of the same flights with controls free.

    Args:
        plan: With a pilot.

    Returns:
        The plan; `cuts` and `cut` stay to be chosen by their normal scores.
    """
    fixed = {name: Prior("uniform", value, value) for name, value in _GONE.items()} | _CHOSEN
    ordinary = tuple(
        replace(p, prior=fixed[p.name]) if p.name in fixed else p for p in plan.ordinary
    )
    return replace(plan, ordinary=ordinary)


def evenly_weighted(near: Predictive) -> Floats:
    """Weights of the flights of a cause, wide enough that a band rests on a score of them.

    Args:
        near: Flights of one cause, with the weights of a narrow kernel.

    Returns:
        Weights of the same kernel, wider, sum 1, shape (n,).
    """
    with np.errstate(divide="ignore"):
        square = -2.0 * np.log(near.weight / near.weight.max())
    return kernel(np.sqrt(np.maximum(square, 0.0)), LEAST_FLIGHTS)[0]


def picked(weight: Floats, count: int) -> NDArray[np.intp]:
    """Flights drawn evenly along the cumulated weights: the same ones every time.

    Args:
        weight: Sums to 1, shape (n,).
        count: How many.

    Returns:
        Shape (count,).

    Source: systematic resampling, Kitagawa, J. Comp. Graph. Stat. 5 (1996) 1-25, at its middle.
    """
    at = (np.arange(count) + 0.5) / count
    return np.minimum(np.searchsorted(np.cumsum(weight), at), weight.size - 1)


def fly_hands_off(near: dict[str, Predictive], fly: Fly = fly_jobs) -> HandsOff:
    """Fly every cause, and the trials of the trim, with controls free; in one batch.

    Args:
        near: Flights with a pilot by cause, the one on which nothing fails among them.
        fly: Flies chunks.

    Returns:
        The flights; those that were lost are left out.
    """
    causes = tuple(one.flown.act for one in near.values())
    plan = without_hands(next(iter(near.values())).flown.plan)
    wanted = _trials(plan, near)
    # At most one call of the program that the flights with a pilot have compiled already.
    count = max(1, min(MEMBERS, CHUNK // (len(causes) + len(wanted))))
    own = [
        _scored(plan, one.flown.drawn.rows(picked(evenly_weighted(one), count)), cuts=OFF)
        for one in near.values()
    ]
    parts = [*own, *(drawn.rows(np.arange(count) % len(drawn.number)) for _, drawn in wanted)]
    acts = [*causes, *(act for act, _ in wanted)]
    places = [causes.index(act) for act in acts]
    rows = fly_drawn(plan, causes, np.repeat(places, count), joined(parts), fly)
    each = rows.reshape(len(acts), count, plan.records, -1)
    flights = [
        _kept(act, plan, drawn, flown) for act, drawn, flown in zip(acts, parts, each, strict=True)
    ]
    trials = zip(TRIALS, flights[len(causes) :], strict=False)
    return HandsOff(
        {name: one for name, one in zip(near, flights, strict=False) if one is not None},
        {name: one for name, one in trials if one is not None},
    )


def bands(values: Floats, weight: Floats | None = None) -> Floats:
    """Median and edges of the 90 % band at each record.

    Args:
        values: One row a flight, shape (n, m).
        weight: Of each flight; None = all alike.

    Returns:
        5, 50 and 95 %, shape (3, m).
    """
    if weight is None:
        return np.quantile(values, EDGES, axis=0)
    return band(values, weight, EDGES)


def parting(
    time: Floats, flights: Floats, seen: Floats, *, lasting: float
) -> tuple[float | None, Floats]:
    """From when on the band of the flights and that of the data have nothing in common.

    Args:
        time: s, shape (m,).
        flights: Lower edge, median and upper edge, shape (3, m).
        seen: The same of the data; NaN where there are none.
        lasting: How long they must be apart to count, s.

    Returns:
        First time, None where they never part; and the gap, positive where the flights lie above,
        0 where the bands touch, shape (m,).
    """
    above = np.maximum(flights[0] - seen[2], 0.0)
    below = np.maximum(seen[0] - flights[2], 0.0)
    gap = np.nan_to_num(above - below)
    apart, nodes = gap != 0.0, max(1, round(lasting / (time[1] - time[0])))
    runs = np.convolve(apart, np.ones(nodes), "valid") >= nodes - 0.5
    first = np.flatnonzero(runs)
    return (float(time[first[0]]) if first.size else None), gap


def _trials(plan: Plan, near: dict[str, Predictive]) -> list[tuple[Cause, Drawn]]:
    """What is tried on the trim, in the order of `TRIALS`."""
    if NOTHING not in near:
        return []
    still = near[NOTHING].flown
    scores = {"air": CALM}
    found = [
        (still.act, _scored(plan, _first_unit(still.drawn, CALM), cuts=ON, cut=cut, **scores))
        for cut in (OFF, ON)
    ]
    pushed = near.get(CauseName.CONTROL_INPUT)
    if pushed is None:
        return found
    unit = _push_unit(pushed.flown.act, still.drawn.unit)
    drawn = _scored(plan, replace(still.drawn, unit=unit), cuts=OFF, **scores)
    return [*found, (pushed.flown.act, drawn)]


def _first_unit(drawn: Drawn, score: float) -> Drawn:
    """The gusts of an ordinary flight are its one parameter."""
    unit = drawn.unit.copy()
    unit[:, 0] = score
    return replace(drawn, unit=unit)


def _push_unit(act: Cause, like: Floats) -> Floats:
    """Normal scores of a push forward of typical force and length from the start on."""
    chosen = {"start": AT_ONCE, "opposed": OFF, "trimmed": ON}
    names = [p.name for p in act.parameters]
    forward = next(p.prior for p in act.parameters if p.name == "direction")
    chosen["direction"] = ON if forward.high > 0.0 else OFF
    unit = np.zeros_like(like)
    for name, score in chosen.items():
        unit[:, names.index(name)] = score
    return unit


def _scored(plan: Plan, drawn: Drawn, **scores: float) -> Drawn:
    """The draws with the normal scores of some ordinary parameters set."""
    ordinary, names = drawn.ordinary.copy(), [p.name for p in plan.ordinary]
    for name, score in scores.items():
        ordinary[:, names.index(name)] = score
    return replace(drawn, ordinary=ordinary)


def _kept(act: Cause, plan: Plan, drawn: Drawn, rows: Floats) -> Flown | None:
    """The flights that stayed within bounds; None where none did."""
    good = np.flatnonzero((np.abs(rows) < WILD).all(axis=(1, 2)))
    if not good.size:
        return None
    return flown_of(act, plan, drawn.rows(good), rows[good], np.zeros(good.size, dtype=int))
