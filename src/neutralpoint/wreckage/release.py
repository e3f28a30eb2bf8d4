"""When and how high parts were released, from where they were found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logsumexp

from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.wreckage.falling import AirColumn, Bodies, fall

# What a tumbling part glides aside, a share of the height it falls, standard deviation; and the
# speed that it is thrown with, m/s a component. Both analyst's estimates.
GLIDE, THROW = 0.03, 3.0
# Two parts released within so many seconds belong to one break-up; analyst's estimate.
TOGETHER = 2.0
# Patterns of the wind over height that are kept, nodes over the drag, and the sampler of the winds:
# rounds, draws a round, draws that must count, widening of a proposal. Chosen by
# tests/recovery/test_debris.py.
PATTERNS, NODES = 6, 5
ROUNDS, DRAWS, ENOUGH, WIDEN = 5, 300, 50.0, 1.3
FLOOR = 600.0  # least ln of a density before its scale: a part that fits nowhere stops no sum
FINER = 4  # release times between two knots at which landings are interpolated
LEVELS = (0.05, 0.5, 0.95)  # ends and middle of a 90% band


@dataclass(frozen=True)
class FoundPart:
    """A part that was found.

    Attributes:
        name: What it is.
        drag_area: Drag coefficient times area over mass, drawn for each sample path, m2/kg, (S,).
        north: m.
        east: m.
        height: Of the ground there, m above the sea.
        error: Standard deviation of the place, m a component.
    """

    name: str
    drag_area: Array
    north: float
    east: float
    height: float
    error: float


@dataclass(frozen=True)
class Trace:
    """The paths that parts may have been released from, k knots in time, S paths.

    Attributes:
        time: s, rising, shape (k,).
        north: m, shape (S, k); so are the others.
        east: m.
        height: m above the sea.
        velocity_north: Over the ground, m/s.
        velocity_east: m/s.
        velocity_up: m/s.
    """

    time: Array
    north: Array
    east: Array
    height: Array
    velocity_north: Array
    velocity_east: Array
    velocity_up: Array


@dataclass(frozen=True)
class Release:
    """When one part was released, given all the evidence.

    Attributes:
        name: Of the part.
        time: 5, 50 and 95%, s.
        height: The same, m above the sea.
        nearest: Least distance between landing and place found, m, in its own standard deviations.
        evidence: ln p(place | released somewhere on the paths), m^-2, in the winds that fit all.
        weight: Of each time, sums to 1, shape (k',).
    """

    name: str
    time: tuple[float, float, float]
    height: tuple[float, float, float]
    nearest: float
    evidence: float
    weight: Array


@dataclass(frozen=True)
class Releases:
    """All parts together.

    Attributes:
        parts: One entry a part.
        time: Release times looked at, s, shape (k',).
        order: Chance that the first of a pair was released before the second by more than the
            width of one break-up, shape (p, p).
        one: Probability that one break-up explains all, with even prior odds against releases
            that have nothing to do with each other; 1 for a single part.
        together: 5, 50 and 95% of its time, s, if it does.
        weight: Of each time of one break-up, sums to 1, shape (k',).
        log_apart: ln p(all places | each released by itself).
        log_once: ln p(all places | one break-up).
    """

    parts: list[Release]
    time: Array
    order: Array
    one: float
    together: tuple[float, float, float]
    weight: Array
    log_apart: float
    log_once: float


def landings(
    trace: Trace, drag_area: Array, air: AirColumn, height: float, rng: np.random.Generator
) -> tuple[Array, Array]:
    """Where a part would land, released at each knot of each path.

    Args:
        trace: The paths.
        drag_area: m2/kg, shape (S,).
        air: Wind and density.
        height: Of the ground, m above the sea.
        rng: Source of the throw.

    Returns:
        m north and east, each (S, k). What starts below the ground stays where it starts.
    """
    paths, knots = trace.height.shape
    throw = THROW * rng.standard_normal((3, paths, 1))
    bodies = Bodies(
        trace.north.ravel(),
        trace.east.ravel(),
        trace.height.ravel(),
        (trace.velocity_north + throw[0]).ravel(),
        (trace.velocity_east + throw[1]).ravel(),
        (trace.velocity_up + throw[2]).ravel(),
        np.repeat(drag_area, knots),
        np.repeat(np.arange(paths), knots).astype(np.intp),
    )
    landed = fall(bodies, air, lambda north, east: np.full_like(north, height))
    return landed.north.reshape(paths, knots), landed.east.reshape(paths, knots)


def _finer(time: Array) -> tuple[Array, Index, Array]:
    """Times between the knots, the knot before each and the share of the way to the next."""
    fine = np.interp(np.arange((time.size - 1) * FINER + 1) / FINER, np.arange(time.size), time)
    place = np.arange(fine.size) / FINER
    low = np.minimum(place.astype(np.intp), time.size - 2)
    return fine, low, place - low


def _total(log: Array, axis: int | None = None, keepdims: bool = False) -> Array:
    """ln of a sum of exponentials."""
    return np.asarray(logsumexp(log, axis=axis, keepdims=keepdims))


def _between(values: Array, low: Index, share: Array) -> Array:
    return values[:, low] * (1.0 - share) + values[:, low + 1] * share


@dataclass(frozen=True)
class _Map:
    """Where one part lands, by its drag, the wind and the time of release.

    Place = line @ (1, u, u^2) + wind @ z + error, u and z standard normal, at each time.
    """

    line: Array  # (k', 3, 2)
    wind: Array  # (k', r, 2)
    variance: Array  # of the error, both components, (k',)
    found: Array  # (2,)

    def score(self, z: Array) -> Array:
        """ln p(place found | time, wind) for winds (M, r): shape (M, k')."""
        nodes, share = np.polynomial.hermite_e.hermegauss(NODES)
        shift = np.einsum("mr,krc->mkc", z, self.wind)
        away = self.found - shift - self.line[:, 0]
        total = np.zeros(away.shape[:2])
        for u, part in zip(nodes, share / share.sum(), strict=True):
            left = away - (u * self.line[:, 1] + u**2 * self.line[:, 2])
            total += part * np.exp(-0.5 * (left**2).sum(axis=2) / self.variance)
        with np.errstate(divide="ignore"):
            return np.maximum(np.log(total), -FLOOR) - np.log(2.0 * np.pi * self.variance)


def winds_of(air: AirColumn) -> Array:
    """The winds of the sample paths by their leading patterns over height.

    Args:
        air: A column for each path.

    Returns:
        Standardized amounts of each pattern, shape (S, r).

    Source: principal components.
    """
    every = np.concatenate([air.north, air.east], axis=1)
    left, size, _ = np.linalg.svd(every - every.mean(axis=0), full_matrices=False)
    kept = min(PATTERNS, int((size > 1e-6 * max(size[0], 1e-12)).sum()))
    return left[:, :kept] * np.sqrt(len(every))


def _map(
    trace: Trace, part: FoundPart, air: AirColumn, z: Array, rng: np.random.Generator
) -> tuple[_Map, float]:
    """Regress the landings of a part on its drag and the wind, at each time."""
    _, low, share = _finer(trace.time)
    each = landings(trace, part.drag_area, air, part.height, rng)
    place = np.stack([_between(x, low, share) for x in each], axis=2)  # (S, k', 2)
    log = np.log(part.drag_area)
    u = (log - log.mean()) / max(float(log.std()), 1e-9)
    columns = np.column_stack([np.ones_like(u), u, u**2, z])
    fitted, *_ = np.linalg.lstsq(columns, place.reshape(len(u), -1), rcond=None)
    left = place - (columns @ fitted).reshape(place.shape)
    freedom = max(len(u) - columns.shape[1], 1)
    fitted = np.moveaxis(fitted.reshape(columns.shape[1], *place.shape[1:]), 0, 1)
    fallen = np.maximum(_between(trace.height, low, share).mean(axis=0) - part.height, 0.0)
    variance = (left**2).sum(axis=(0, 2)) / (2.0 * freedom)
    variance = variance + part.error**2 + (GLIDE * fallen) ** 2
    found = np.array([part.north, part.east])
    away = np.sqrt(((place - found) ** 2).sum(axis=2) / variance)
    return _Map(fitted[:, :3], fitted[:, 3:], variance, found), float(away.min())


def _sampled(
    target: Callable[[Array], Array], size: int, rng: np.random.Generator
) -> tuple[Array, Array, float]:
    """Winds drawn from their posterior: draws, weights that sum to 1, ln evidence.

    Source: population Monte Carlo, Cappe et al., J. Comp. Graph. Statistics 13 (2004) 907, with the
    likelihood brought in step by step so that every round keeps enough draws.
    """
    mean, cov = np.zeros(size), np.eye(size)
    z, log = np.zeros((DRAWS, size)), np.zeros(DRAWS)
    for round_ in range(ROUNDS):
        root = np.linalg.cholesky(cov)
        normal = rng.standard_normal((DRAWS, size))
        z = mean + normal @ root.T
        prior = -0.5 * (z**2).sum(axis=1)
        proposal = -0.5 * (normal**2).sum(axis=1) - np.log(np.diag(root)).sum()
        score = target(z)
        heat = 1.0
        log = score + prior - proposal
        while round_ < ROUNDS - 1 and _effective(heat * score + prior - proposal) < ENOUGH:
            heat *= 0.7
            if heat < 1e-4:
                break
        tempered = heat * score + prior - proposal
        weight = np.exp(tempered - _total(tempered))
        mean = weight @ z
        centered = z - mean
        cov = WIDEN * (centered.T * weight) @ centered + 1e-6 * np.eye(size)
    weight = np.exp(log - _total(log))
    return z, weight, float(_total(log) - np.log(DRAWS))


def _effective(log: Array) -> float:
    weight = np.exp(log - _total(log))
    return float(1.0 / np.sum(weight**2))


def release_times(
    trace: Trace, parts: list[FoundPart], air: AirColumn, rng: np.random.Generator
) -> Releases:
    """Trace every part back to the paths.

    Releases are as likely at any time of the trace. The wind is the same for all parts; drag, throw
    and glide are each part's own.

    Args:
        trace: The paths that parts may have been released from.
        parts: At least one.
        air: Wind and density, a column for each path.
        rng: Source of random numbers.

    Returns:
        What the places say.

    Source: Bayes' rule over time of release, drag and the leading patterns of the wind error; the
    way to the ground is linear in these patterns and quadratic in the logarithm of the drag, fitted
    to falls from every path. Checked against: tests/recovery/test_debris.py.
    """
    time, low, share = _finer(trace.time)
    height = _between(trace.height, low, share)
    z = winds_of(air)
    maps, nearest = zip(*(_map(trace, part, air, z, rng) for part in parts), strict=True)

    def scores(winds: Array) -> Array:
        return np.stack([one.score(winds) for one in maps])  # (p, M, k')

    def apart(winds: Array) -> Array:
        return (_total(scores(winds), axis=2) - np.log(time.size)).sum(axis=0)

    def once(winds: Array) -> Array:
        return _total(scores(winds).sum(axis=0), axis=1) - np.log(time.size)

    z_apart, w_apart, e_apart = _sampled(apart, z.shape[1], rng)
    z_once, w_once, e_once = _sampled(once, z.shape[1], rng)
    each = scores(z_apart)
    chance = np.exp(each - _total(each, axis=2, keepdims=True))  # of time, by part and wind
    both = scores(z_once).sum(axis=0)
    joint = w_once @ np.exp(both - _total(both, axis=1, keepdims=True))
    one = 1.0 if len(parts) == 1 else float(expit(e_once - e_apart))
    releases = []
    for number, part in enumerate(parts):
        # Averaged over whether all came off together, so that a band leaves neither out.
        weight = (1.0 - one) * (w_apart @ chance[number]) + one * joint
        spread = np.broadcast_to(weight / len(height), height.shape)
        releases.append(
            Release(
                part.name,
                _quantiles(time, weight),
                _quantiles(height.ravel(), spread.ravel()),
                nearest[number],
                float(w_apart @ _total(each[number], axis=1) - np.log(time.size)),
                weight,
            )
        )
    order = _order(time, chance, w_apart)
    together = _quantiles(time, joint)
    return Releases(releases, time, order, one, together, joint, e_apart, e_once)


def _order(time: Array, chance: Array, weight: Array) -> Array:
    """Chance that one part came off before another, each released by itself."""
    count = len(chance)
    order = np.zeros((count, count))
    later = np.searchsorted(time, time + TOGETHER, side="right")
    for first in range(count):
        for second in range(count):
            if first != second:
                tail = np.concatenate(
                    [np.cumsum(chance[second][:, ::-1], axis=1)[:, ::-1],
                     np.zeros((len(weight), 1))], axis=1
                )  # fmt: skip
                each = (chance[first] * tail[:, later]).sum(axis=1)
                order[first, second] = float(weight @ each)
    return order


def _quantiles(values: Array, weight: Array) -> tuple[float, float, float]:
    """Weighted 5, 50 and 95%."""
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order])
    share = share / share[-1]
    at = np.minimum(np.searchsorted(share, LEVELS), len(order) - 1)
    low, middle, high = values[order][at]
    return float(low), float(middle), float(high)
