"""When an upset began: the time at which the specific force left that of the last steady flight.

The sample paths say that there was an upset and roughly when; they are too smooth at its start to
say more. The time comes from the readings themselves: steady flight with the jerk of the flight
before, plus a force that steps, ramps or grows faster from the onset on. Each onset and
shape is weighed by the evidence of the readings, with the size of the force integrated out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.motion.chain import log_evidence, posterior
from neutralpoint.motion.estimate import Motion
from neutralpoint.motion.parameter import ParameterEstimate, estimated
from neutralpoint.motion.rows import Rows
from neutralpoint.motion.smoother import HORIZONTAL_PRIOR, VERTICAL_PRIOR, Smoother
from neutralpoint.quantities import GRAVITY

Array = NDArray[np.float64]

# What counts as an upset: this much off the steady force for a second. A level-off or an ordinary
# turn stays below. Analyst's choices.
UPSET = {"vertical": 0.3, "lateral": 1.0}  # g
STEADY = {"vertical": 0.15, "lateral": 0.3}  # g: flight beyond this is not steady
LASTING = 1.0  # s
BEFORE, AFTER = 30.0, 4.0  # s of flight looked at either side of where the upset is plain
MARGIN = 4.0  # s before the upset is plain that its own start may reach. Analyst's choice.
PRIORS = (HORIZONTAL_PRIOR, VERTICAL_PRIOR)
JERKS = np.geomspace(1e-3, 1.0, 10)  # (m/s^3)^2/Hz, searched
SETTLED = 10.0  # s after a take-off before steady flight can be left. Analyst's choice.
LEAST_BEFORE = 5.0  # s of flight that a fit needs before it
# The force grows evenly for so long and then holds, s; the last two grow all the time, evenly and
# with the square of time. What breaks or is let go acts at once, a drive runs evenly: hence the
# odds. Analyst's choices.
RISES = (0.25, 1.0, 2.0, 4.0)
ODDS = np.array([4.0, 1.0, 1.0, 1.0, 2.0, 1.0]) / 10.0
SHAPES = len(ODDS)
FINE = 0.05  # s, between the onsets tried
SIZE = 1.0 * GRAVITY  # m/s^2, standard deviation of the force at the end of the window, a priori


@dataclass(frozen=True)
class Onset:
    """The start of an upset.

    Attributes:
        time: s after the epoch; None where the motion has no upset.
        earliest: Lower edge of the 90 % band, s; None without an upset.
        latest: Upper edge, s; None without an upset.
        probability: That the force left steady flight at all, at even odds before the data.
        direction: `up`, `down`, `left` or `right`; None without an upset.
        growth: Probability that the force stepped (within 1 s), ramped, or grew faster.
    """

    time: ParameterEstimate | None
    earliest: float | None
    latest: float | None
    probability: float
    direction: str | None
    growth: tuple[float, float, float] | None


@dataclass(frozen=True)
class _Window:
    """Readings of one chain about the upset, with the node axis starting at the window."""

    step: float
    nodes: int
    rows: Rows
    variance: Array
    jerk: Array
    index: int  # of the chain: 0 horizontal, 1 vertical
    course: float  # rad, direction of flight before the upset


def _force(motion: Motion) -> dict[str, Array]:
    """Median force off that of straight steady flight on the uniform grid, g, by axis."""
    names = ("normal_load_factor", "bank_angle", "flight_path_angle", "longitudinal_load_factor")
    load, bank, path, along = (motion.paths[name][:, ~motion.is_fix] for name in names)
    up = load * np.cos(bank) * np.cos(path) + along * np.sin(path)
    return {
        "vertical": np.median(up, axis=0) - 1.0,
        "lateral": np.median(load * np.sin(bank), axis=0),
    }


def _settled_flight(time: Array, ground: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """True in flight, from `SETTLED` after the ground was left on."""
    left = np.flatnonzero(np.diff(ground.astype(np.int8)) == -1)
    since = np.abs(time[:, None] - time[left]) * np.where(time[:, None] >= time[left], 1.0, np.inf)
    return ~ground & (since.min(axis=1, initial=np.inf) > SETTLED)


def _plain(force: Array, limit: float, step: float) -> int | None:
    """First node at which the force is off by a limit for long enough."""
    edges = np.diff(np.r_[False, np.abs(force) > limit, False].astype(int))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    lasting = starts[ends - starts >= max(1, round(LASTING / step))]
    return int(lasting[0]) if lasting.size else None


def _steady_from(force: Array, limit: float, plain: int, step: float) -> int:
    """First node of the steady flight before the upset, at most `BEFORE` seconds earlier."""
    wild = np.abs(force[:plain]) > limit
    calm = np.flatnonzero(~wild)
    # The excursion that became the upset is no earlier unrest.
    earlier = np.flatnonzero(wild[: calm[-1]]) if calm.size else np.zeros(0, dtype=np.intp)
    after_unrest = int(earlier[-1]) + 1 if earlier.size else 0
    latest = plain - round(LEAST_BEFORE / step)
    return max(min(max(after_unrest, plain - round(BEFORE / step)), latest), 0)


def _cut(rows: Rows, first: int, last: int) -> tuple[Rows, NDArray[np.bool_]]:
    """Rows between two nodes, counted from the first, and which they are."""
    inside = (rows.node >= first) & (rows.node <= last)
    kept = {name: getattr(rows, name)[inside] for name in Rows.__annotations__}
    return Rows(**(kept | {"node": kept["node"] - first})), inside


def _steady_jerk(fitted: Smoother, index: int, first: int, last: int) -> float:
    """Jerk level of the flight before the upset by the evidence of its own readings alone."""
    rows, inside = _cut(fitted.rows[index], first, last)
    variance = fitted.variances[index][inside]
    score = [
        log_evidence(
            fitted.processes[index], rows, PRIORS[index], np.full(last - first, jerk), variance
        )
        for jerk in JERKS
    ]
    return float(np.exp(estimated(np.log(JERKS), np.array(score)).value))


def _window(fitted: Smoother, axis: str, first: int, plain: int) -> _Window:
    """Readings about the upset, with the jerk of the steady flight all through."""
    index, step = int(axis == "vertical"), fitted.step
    last = min(plain + round(AFTER / step), fitted.time.size - 1)
    rows, inside = _cut(fitted.rows[index], first, last)
    calm = max(plain - round(MARGIN / step), first + round(0.5 * LEAST_BEFORE / step))
    jerk = _steady_jerk(fitted, index, first, min(calm, last))
    mean = fitted.chains[0].mean[first]
    return _Window(
        step,
        last - first + 1,
        rows,
        fitted.variances[index][inside],
        np.full(last - first, jerk),
        index,
        float(np.arctan2(mean[4], mean[1])),
    )


def _response(window: _Window, onset: Array, shape: int, lag: float) -> Array:
    """States under a force that starts at each onset and is 1 at the end, shape (k, nodes, d)."""
    time = np.arange(window.nodes) * window.step
    since = np.maximum(time - onset[:, None], 0.0)
    if shape < SHAPES - 1:
        rise = (*RISES, np.inf)[shape]
        rise = np.minimum(rise, time[-1] - onset[:, None])
        grown, held = np.minimum(since, rise), np.maximum(since - rise, 0.0)
        force = grown / rise
        rate = 0.5 * grown**2 / rise + held
        place = grown**3 / (6.0 * rise) + held * (0.5 * rise + 0.5 * held)
    else:
        whole = since[:, -1:] ** 2
        force, rate, place = since**2 / whole, since**3 / (3.0 * whole), since**4 / (12.0 * whole)
    if window.index == 0:
        north, east = -np.sin(window.course), np.cos(window.course)
        axis = np.stack([place, rate, force], axis=-1)
        return np.concatenate([north * axis, east * axis], axis=-1)
    shown = np.zeros_like(rate)
    keep = np.exp(-window.step / lag)
    for k in range(1, window.nodes):
        mean = 0.5 * (rate[:, k - 1] + rate[:, k])
        shown[:, k] = keep * shown[:, k - 1] + (1.0 - keep) * mean
    return np.stack([place, rate, force, shown], axis=-1)


def _evidence(fitted: Smoother, window: _Window, onset: Array) -> tuple[Array, Array]:
    """Log evidence over steady flight of each onset and power, and the force found.

    Returns:
        Two arrays of shape (SHAPES, k).
    """
    process = fitted.processes[window.index]
    prior = PRIORS[window.index]
    rows, variance = window.rows, window.variance
    factor, mean = posterior(process, rows, prior, window.jerk, variance)
    misfit = (rows.value - rows.predict(mean)) / variance  # K^-1 y
    scores, sizes = [], []
    for shape in range(SHAPES):
        lag = fitted.lag.value if fitted.lag else 1.0
        seen = rows.predict(_response(window, onset, shape, lag))
        along = seen @ misfit
        information = np.zeros((seen.shape[0], window.nodes, process.size))
        np.add.at(information, (slice(None), rows.node), (seen / variance)[..., None] * rows.design)
        absorbed = np.stack([rows.predict(factor.solve(each)) for each in information])
        square = ((seen - absorbed) * seen / variance).sum(axis=1)
        certain = square + 1.0 / SIZE**2
        scores.append(0.5 * along**2 / certain - 0.5 * np.log(certain * SIZE**2))
        sizes.append(along / certain)
    return np.array(scores), np.array(sizes)


def _quantile(time: Array, density: Array, level: float) -> float:
    return float(np.interp(level, np.cumsum(density), time))


def _aged(time: Array, density: Array, age: ParameterEstimate) -> tuple[Array, Array]:
    """Times and density with the age of the readings taken off."""
    reach = max(round(4.0 * age.sigma / FINE), 1)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) * FINE / max(age.sigma, FINE)) ** 2)
    wide = np.convolve(density, kernel / kernel.sum())
    start = time[0] - reach * FINE - age.value
    return start + FINE * np.arange(wide.size), wide


def upset_onset(motion: Motion, ground: NDArray[np.bool_] | None = None) -> Onset:
    """Time of the onset of the first upset.

    Args:
        motion: The motion.
        ground: True where the airplane is on the ground, shape (m,): nothing there is an upset, nor
            is the rotation of a take-off.

    Returns:
        The onset with its band. Without an upset on the median path the times are None and the
        probability is 0.

    Valid: steady flight, straight or turning, for some seconds before the upset.
    Checked against: tests/recovery/test_motion_onset.py (steps and ramps of known onset).
    """
    fitted, step = motion.fitted, motion.fitted.step
    time = motion.time[~motion.is_fix]
    looked = time >= time[0] + LEAST_BEFORE
    if ground is not None:
        looked &= _settled_flight(time, ground[~motion.is_fix])
    force = {axis: np.where(looked, f, 0.0) for axis, f in _force(motion).items()}
    seen = {a: _plain(f, UPSET[a], step) for a, f in force.items()}
    found = {axis: at for axis, at in seen.items() if at is not None}
    if not found:
        return Onset(None, None, None, 0.0, None, None)
    axis = min(found, key=found.__getitem__)
    age = motion.altitude_age if axis == "vertical" else motion.position_age
    first = _steady_from(force[axis], STEADY[axis], found[axis], step)
    # The readings show what the paths, which are without age, did a moment before.
    plain = found[axis] + round(age.value / step)
    window = _window(fitted, axis, first, plain)
    onset = np.arange(0.2 * LEAST_BEFORE, (plain - first) * step + 1.0, FINE)
    scores, sizes = _evidence(fitted, window, onset)
    weight = np.exp(scores - scores.max()) * ODDS[:, None]
    odds = scores.max() + np.log(weight.sum() / onset.size)
    weight /= weight.sum()
    time, density = _aged(fitted.time[first] + onset, weight.sum(axis=0), age)
    # The likeliest shape gives the time; the band and its width hold what the others say as well.
    likely = weight[weight.sum(axis=1).argmax()]
    best = fitted.time[first] + _quantile(onset, likely / likely.sum(), 0.5) - age.value
    sigma = float(np.sqrt(((time - best) ** 2 * density).sum()))
    names = {"vertical": ("down", "up"), "lateral": ("left", "right")}[axis]
    return Onset(
        time=ParameterEstimate(best, sigma),
        earliest=_quantile(time, density, 0.05),
        latest=_quantile(time, density, 0.95),
        probability=float(1.0 / (1.0 + np.exp(-np.clip(odds, -50.0, 50.0)))),
        direction=names[int((weight * sizes).sum() > 0.0)],
        growth=(float(weight[:2].sum()), float(weight[2:-1].sum()), float(weight[-1].sum())),
    )
