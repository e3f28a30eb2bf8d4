"""The flight of a cause that comes nearest to the motion: looked for a slice at a time.

A page that shows a cause begins with it. What is found is the best of so many flights and not the
best there is; how many were flown is said.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from neutralpoint.explanations import find_cause
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.flying.flyer import FlownCause

SEED = 190_219  # the same flights are tried whenever a case is opened
DRAWN = 24  # flights drawn from the priors before the search goes on about the best of them
WIDE, NARROW = 0.25, 0.02  # standard deviation of a step, in quantiles of the prior
SHRUNK, GROWN = 0.94, 1.25  # of the step after a flight that is no better, and one that is
ENDS = 0.002  # quantiles beyond which nothing is tried

Fly = Callable[[dict[str, float]], FlownCause]


@dataclass
class Search:
    """What has been tried of one cause.

    Attributes:
        names: Parameters that are looked over.
        tried: Flights so far.
        best: The nearest of them.
        place: Its parameters as quantiles of their priors, shape (d,).
        step: Standard deviation of the next step.
        rng: Random numbers.
    """

    names: tuple[str, ...]
    tried: int = 0
    best: FlownCause | None = None
    place: Array | None = None
    step: float = WIDE
    rng: np.random.Generator = field(default_factory=lambda: np.random.default_rng(SEED))


def begin_search(name: str) -> Search:
    """A search over all parameters of a cause.

    Args:
        name: Of the cause.
    """
    return Search(tuple(parameter.name for parameter in find_cause(name).parameters))


def go_on(search: Search, name: str, fly: Fly, *, seconds: float, start: float) -> FlownCause:
    """Fly more of a cause, about the nearest flight so far.

    Args:
        search: What has been tried; it is changed.
        name: Of the cause.
        fly: Flies it with parameters, SI.
        seconds: After which no flight is begun.
        start: When the case says that the upset began, s after the flight begins.

    Returns:
        The nearest flight so far.

    Source: a (1+1) evolution strategy with success-ruled steps, Rechenberg 1973 (from memory),
    after stratified draws; the numbers are an analyst's choice.
    """
    until = time.perf_counter() + seconds
    while search.best is None or time.perf_counter() < until:
        place = _next(search)
        values = _values(name, search.names, place)
        if search.tried == 0 and "start" in values:
            values["start"] = start
        flown = fly(values)
        search.tried += 1
        better = search.best is None or _misfit(flown) < _misfit(search.best)
        if better:
            search.best, search.place = flown, place
        if search.tried > DRAWN:
            search.step = float(np.clip(search.step * (GROWN if better else SHRUNK), NARROW, WIDE))
    return search.best


def _next(search: Search) -> Array:
    """Quantiles of the next flight: the middle, then draws of the priors, then steps."""
    size = len(search.names)
    if search.tried == 0:
        return np.full(size, 0.5)
    drawn = search.rng.random(size)
    if search.tried < DRAWN or search.place is None:
        return np.clip(drawn, ENDS, 1.0 - ENDS)
    moved = search.place + search.step * search.rng.standard_normal(size)
    again = search.rng.random(size) < 0.06  # now and then one parameter anew: two-sided ones flip
    return np.clip(np.where(again, drawn, moved), ENDS, 1.0 - ENDS)


def _values(name: str, names: tuple[str, ...], place: Array) -> dict[str, float]:
    priors = {parameter.name: parameter.prior for parameter in find_cause(name).parameters}
    return {
        key: float(priors[key].quantile(share)) for key, share in zip(names, place, strict=True)
    }


def _misfit(flown: FlownCause) -> float:
    overall = flown.misfit.overall
    return np.inf if overall is None or not np.isfinite(overall) else overall
