"""Flights of each cause given what was seen: where even the best one fails, and the trim in time.

The simulated flights of a cause are drawn closer to the one seen, round by round: those that come
near are kept, changed a little in everything that was drawn, flown again, and taken where they come
nearer, or not much less near.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.explanations import CAUSES, Cause
from neutralpoint.numerics.arrays import Flags, Floats
from neutralpoint.weighing.compare import compare
from neutralpoint.weighing.course import BESIDE, COLUMNS, Course
from neutralpoint.weighing.features import NAMES, features
from neutralpoint.weighing.flights import Drawn, Flown, Plan, flown_of
from neutralpoint.weighing.nearest import Scale, band, kernel
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.simulate import Fly, fly_drawn, fly_jobs

LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)  # the bands of 90 and 50 % and the median
# Shares of a normal score that are drawn anew in one move, and chances that the airplane's
# derivatives and the gusts are. An analyst's choice.
MOVES = (0.1, 0.3, 0.7)
NEW_AIRPLANE, NEW_GUSTS = 0.3, 0.2
KEPT = 0.5  # share of the flights that still counts when the kernel is narrowed; analyst's


@dataclass(frozen=True)
class Predictive:
    """Flights of one cause given what was seen; m records, k knots, five `LEVELS`.

    Attributes:
        cause: Its name.
        time: s after the reference, shape (m,).
        effective: Effective number of flights that the bands rest on.
        bands: Quantiles of each of `COLUMNS`, SI, shape (5, m) each.
        best: The nearest flight, by the same names and "pitch", shape (m,) each.
        trim: Quantiles of the trim surface, rad, shape (5, m); None without a trim drive.
        trim_end: Those at the last record, shape (5,); None without a trim drive.
        column_force: Quantiles, N, pull positive, shape (5, m).
        at: Knots, s after the reference, shape (k,).
        misfit: By quantity (`features.NAMES`), the nearest flight less the one seen, in standard
            deviations of error and ordinary flying, shape (k,) each.
        distance: Root mean square of all of it.
        fails_in: Quantity of the largest residual even of the nearest flight.
        fails_at: When, s after the reference.
        fails_by: By how many standard deviations, with the sign.
        moves_trim: Whether the cause itself acts on the trim drive.
        flown: The flights that the bands are of.
        weight: How well each of them follows the one seen, sums to 1, shape (n,).
    """

    cause: str
    time: Floats
    effective: float
    bands: dict[str, Floats]
    best: dict[str, Floats]
    trim: Floats | None
    trim_end: Floats | None
    column_force: Floats
    at: Floats
    misfit: dict[str, Floats]
    distance: float
    fails_in: str
    fails_at: float
    fails_by: float
    moves_trim: bool
    flown: Flown
    weight: Floats


@dataclass(frozen=True)
class _Target:
    """What flights are compared with."""

    at: Floats
    window: float
    seen: Floats
    scale: Scale

    def residual(self, course: Course) -> Floats:
        """Flights less the one seen, in standard deviations, shape (n, f)."""
        return (features(course, self.at, self.window) - self.seen) / self.scale.sigma


@dataclass(frozen=True)
class _Pool:
    """Flights of one cause with their residuals, and the nearest ever met."""

    flown: Flown
    residual: Floats
    best: Flown
    best_residual: Floats

    @property
    def distance(self) -> Floats:
        """Root mean square residual, infinite for a flight that was lost, shape (n,)."""
        with np.errstate(invalid="ignore"):
            found = np.sqrt(np.mean(self.residual**2, axis=1))
        return np.where(np.isfinite(found), found, np.inf)


def _pool(flown: Flown, residual: Floats, before: _Pool | None = None) -> _Pool:
    pool = _Pool(flown, residual, flown, residual[0])
    place = int(np.argmin(pool.distance))
    old = np.inf if before is None else np.sqrt(np.mean(before.best_residual**2))
    if before is not None and not pool.distance[place] < old:
        return replace(pool, best=before.best, best_residual=before.best_residual)
    return replace(pool, best=flown.rows(np.array([place])), best_residual=residual[place])


def _moved(drawn: Drawn, others: Drawn, rng: np.random.Generator) -> Drawn:
    """Everything drawn anew by a share, so that the prior is left as it is.

    Source: preconditioned Crank-Nicolson move, Cotter, Roberts, Stuart and White, Statistical
    Science 28 (2013) 424-446, section 4.
    """
    count = len(drawn.number)
    share = rng.choice(MOVES, (count, 1))

    def move(score: Floats) -> Floats:
        return np.sqrt(1.0 - share**2) * score + share * rng.standard_normal(score.shape)

    pick = rng.integers(0, len(others.number), count)
    swap, stir = rng.random(count) < NEW_AIRPLANE, rng.random(count) < NEW_GUSTS
    mixed = others.rows(pick)
    leaves = {
        name: np.where(swap, getattr(mixed.multipliers, name), value)
        for name, value in vars(drawn.multipliers).items()
    }
    return replace(
        drawn,
        unit=move(drawn.unit),
        ordinary=move(drawn.ordinary),
        multipliers=replace(drawn.multipliers, **leaves),
        number=np.where(stir, rng.integers(0, 2**30, count), drawn.number),
    )


def _tied(cause: Cause, plan: Plan, drawn: Drawn) -> Drawn:
    """The gusts of an ordinary flight are the air's, also after a move."""
    if cause.name != NOTHING:
        return drawn
    unit = drawn.unit.copy()
    unit[:, 0] = drawn.ordinary[:, [p.name for p in plan.ordinary].index("air")]
    return replace(drawn, unit=unit)


def joined(parts: Sequence[Drawn]) -> Drawn:
    """The rows of several draws together.

    Args:
        parts: At least one.

    Returns:
        All rows.
    """

    def join(name: str) -> Floats:
        return np.concatenate([getattr(part, name) for part in parts])

    first = parts[0]
    leaves = {
        name: np.concatenate([getattr(part.multipliers, name) for part in parts])
        for name in vars(first.multipliers)
    }
    begin = {name: np.concatenate([part.begin[name] for part in parts]) for name in first.begin}
    return Drawn(
        join("unit"),
        join("ordinary"),
        replace(first.multipliers, **leaves),
        begin,
        np.concatenate([part.number for part in parts]),
    )


def _narrowed(pool: _Pool, each: int, rng: np.random.Generator) -> tuple[_Pool, float]:
    """Flights drawn by their kernel weights, and the width of the kernel."""
    weight, width = kernel(pool.distance, KEPT * each)
    rows = rng.choice(weight.size, each, p=weight)
    return replace(pool, flown=pool.flown.rows(rows), residual=pool.residual[rows]), width


def _round(
    pools: list[_Pool], first: list[Flown], target: _Target, each: int, rng, fly: Fly
) -> list[_Pool]:
    """Draw near flights, change them, fly, and keep by the kernel; all causes in one batch.

    Source: likelihood-free moves, Marjoram et al., PNAS 100 (2003) 15324-15328, within sequential
    Monte Carlo, Del Moral, Doucet and Jasra, Statistics and Computing 22 (2012) 1009-1020.
    """
    plan = first[0].plan
    causes = tuple(batch.act for batch in first)
    narrowed = [_narrowed(pool, each, rng) for pool in pools]
    moved = [
        _tied(batch.act, plan, _moved(pool.flown.drawn, batch.drawn, rng))
        for (pool, _), batch in zip(narrowed, first, strict=True)
    ]
    place = np.repeat(np.arange(len(causes)), each)
    rows = fly_drawn(plan, causes, place, joined(moved), fly).reshape(
        len(causes), each, plan.records, -1
    )
    found = []
    for (pool, width), drawn, cause, flight in zip(narrowed, moved, causes, rows, strict=True):
        there = np.asarray(np.isfinite(flight).all(axis=(1, 2)))
        # A flight without a steady start is kept in its place, infinitely far off.
        fresh = flown_of(cause, plan, drawn, np.nan_to_num(flight), pool.flown.twin)
        residual = np.where(there[:, None], target.residual(fresh.course), np.inf)
        tried = _pool(fresh, residual, pool)
        with np.errstate(over="ignore", invalid="ignore"):
            gain = -0.5 * (tried.distance**2 - pool.distance**2) / width**2
        take = np.log(rng.random(each)) < gain
        found.append(_mixed(pool, tried, take))
    return found


def _mixed(old: _Pool, new: _Pool, take: Flags) -> _Pool:
    """The new flight where it is taken, the old one elsewhere."""
    rows = np.where(take, np.arange(take.size), take.size + np.arange(take.size))
    a, b = new.flown, old.flown
    course = {
        name: np.concatenate([getattr(a.course, name), getattr(b.course, name)])[rows]
        for name in COLUMNS
    }
    both = replace(
        a,
        unit=np.concatenate([a.unit, b.unit])[rows],
        values=np.concatenate([a.values, b.values])[rows],
        course=Course(a.course.time, **course),
        drawn=joined([a.drawn, b.drawn]).rows(rows),
        **{name: np.concatenate([getattr(a, name), getattr(b, name)])[rows] for name in BESIDE},
    )
    residual = np.concatenate([new.residual, old.residual])[rows]
    return _Pool(both, residual, new.best, new.best_residual)


def _summary(pool: _Pool, target: _Target, final: bool) -> Predictive:
    flown, count = pool.flown, len(pool.residual)
    least = max(2.0, (0.9 if final else 0.1) * count)
    weight, _ = kernel(pool.distance, min(least, 20.0))
    best = pool.best
    worst = int(np.argmax(np.abs(pool.best_residual)))
    each = target.at.size
    has_trim = flown.plan.airplane.trim_drive.kind != "none"
    trim = band(flown.trim, weight, LEVELS) if has_trim else None
    return Predictive(
        cause=flown.cause,
        time=flown.course.time,
        effective=float(1.0 / np.sum(weight**2)),
        bands={name: band(getattr(flown.course, name), weight, LEVELS) for name in COLUMNS},
        best={name: getattr(best.course, name)[0] for name in COLUMNS} | {"pitch": best.pitch[0]},
        trim=trim,
        trim_end=None if trim is None else trim[:, -1],
        column_force=band(flown.column_force, weight, LEVELS),
        at=target.at,
        misfit=dict(zip(NAMES, pool.best_residual.reshape(len(NAMES), each), strict=True)),
        distance=float(np.sqrt(np.mean(pool.best_residual**2))),
        fails_in=NAMES[worst // each],
        fails_at=float(target.at[worst % each]),
        fails_by=float(pool.best_residual[worst]),
        moves_trim="trim drive" in CAUSES[flown.cause].changes,
        flown=flown,
        weight=weight,
    )


def predict(
    flown: list[Flown],
    observed: Course,
    *,
    window: float,
    rng: np.random.Generator,
    rounds: int = 6,
    each: int = 30,
    fly: Fly = fly_jobs,
) -> dict[str, Predictive]:
    """Draw flights of every cause that come near the one seen.

    Args:
        flown: Simulated flights by cause.
        observed: Sample paths after the reference.
        window: Smoothing window of the data, s.
        rng: Source of chance.
        rounds: Times that flights are changed and flown again; 0 takes them as they are.
        each: Flights of each cause in a round.
        fly: Flies chunks.

    Returns:
        One entry a cause. Weights are those of a kernel about the flight seen, no narrower than
        the flights allow: bands are too wide rather than too narrow where `distance` is large.

    Checked against: tests/recovery/test_weighing.py.
    """
    compared = compare(observed, flown, window)
    target = _Target(compared.at, window, compared.observed, compared.scale)
    pools = [
        _pool(batch, (clean - target.seen) / target.scale.sigma)
        for batch, clean in zip(flown, compared.simulated, strict=True)
    ]
    for _ in range(rounds):
        pools = _round(pools, flown, target, each, rng, fly)
    return {pool.flown.cause: _summary(pool, target, rounds > 0) for pool in pools}
