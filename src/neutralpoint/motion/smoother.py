"""Joint sample paths of position, velocity and acceleration from a track."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.motion.chain import Chain, Levels, fit_chain, log_evidence, sample_chain
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.motion.gaps import Thinning, thinning
from neutralpoint.motion.guide import first_guide, refined
from neutralpoint.motion.horizontal import TIME_SIGMA, Guide, horizontal_rows, position_steps
from neutralpoint.motion.parameter import ParameterEstimate, estimated
from neutralpoint.motion.process import (
    QUICK_HORIZONTAL,
    QUICK_PLACES,
    QUICK_VERTICAL,
    Family,
    Process,
    horizontal_family,
    horizontal_process,
    unknown,
    vertical_family,
    vertical_process,
)
from neutralpoint.motion.regimes import (
    LOST,
    OVER_GROUND,
    MannerOfFlight,
    Regimes,
    Turbulence,
    paths_by_regime,
    regimes,
    sizes,
    upward,
)
from neutralpoint.motion.rows import KINDS, Rows, interval, stack
from neutralpoint.motion.vertical import altitude_rows, rate_rows
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.track import Track

# Standard deviations of the first node's states: no information, but that an acceleration is its
# slow part, what the process says of the quick one, and as much more as a roll or a pull that is
# under way when the record begins. Analyst's choice of the latter, 0.5 and 2 m/s^2.
HORIZONTAL_PRIOR = unknown([1e6, 400.0, 0.5] * 2 + [10.0] * 2, {2: 6, 5: 7})  # m, m/s, m/s^2
VERTICAL_PRIOR = unknown([3e4, 150.0, 2.0, 150.0, 10.0], {2: 4})  # m, m/s, m/s^2, m/s, m/s^2
LEVEL_WINDOW = 3.0  # s
DRAWS, SLOW_DRAWS = 8, 25  # of noise levels; of regimes, which differ more
# Least jerk levels, (m/s^3)^2/Hz: accelerations wandering by 0.05 and 0.03 m/s^2 within half a
# second, which is what recorded flights show in calm air
# (benchmarks/motion_on_recorded_flights.py).
CALM_VERTICAL = 0.005
CALM_HORIZONTAL = 0.002
LATENCIES = np.linspace(-0.8, 1.6, 9)  # s, searched; 91.227 allows 0.6 s uncompensated (memory)
# Quick part of the jerk over the slow one, searched: recorded and simulated flights in smooth air
# show 0 to 20, in rough air 50 to 300 (decisions/0012).
QUICK = np.geomspace(0.1, 200.0, 5)
FIRST_LAG = 0.3  # s, until it is estimated. Analyst's choice
LAGS = np.array([0.1, 0.2, 0.4, 0.7, 1.1, 1.7, 2.5, 4.0])  # s, searched


def level_window(time: Array) -> float:
    """Half width of the window of the local jerk level.

    Args:
        time: Times of the fixes, s, shape (n,).

    Returns:
        Two fix intervals, at least `LEVEL_WINDOW`, s.
    """
    return max(LEVEL_WINDOW, 2.0 * interval(time))


class _Part(ABC):
    """A chain on the nodes that are kept, its states on all of them."""

    rows: Rows
    process: Process
    thin: Thinning
    window: float
    regimes: Regimes | None = None
    history: Index
    shown = 0.0  # s, lag of the vertical rate
    _family: tuple[float, Family] | None = None
    parts: tuple[MannerOfFlight, ...]
    known: tuple[int, ...] = ()

    @abstractmethod
    def extra(self, mean: Array, kappa: Array) -> Array:
        """Variance added to each row, from states on all nodes."""

    def fitted(self, prior: Array, start: Levels | None, *, floor: float, calm: float) -> Chain:
        chain = fit_chain(
            self.process,
            self.thin.rows(self.rows),
            prior,
            thin=self.thin,
            window=self.window,
            floor=np.full(len(KINDS), floor),
            calm=calm,
            extra=lambda mean, kappa: self.extra(self.thin.filled(mean), kappa),
            start=start,
        )
        return replace(chain, mean=self.thin.filled(chain.mean))

    def evidence(self, prior: Array, levels: Levels, variance: Array) -> float:
        rows = self.thin.rows(self.rows)
        jerk = self.thin.level(levels.jerk)
        return log_evidence(self.process, rows, prior, jerk, variance / levels.weights)

    @property
    def slow(self) -> bool:
        """Whether readings are too far apart for a level of each moment."""
        return self.window > LEVEL_WINDOW

    @abstractmethod
    def made(self) -> Family:
        """The process in each regime."""

    def family(self) -> Family:
        """The same, made once for each lag."""
        if self._family is None or self._family[0] != self.shown:
            self._family = self.shown, self.made()
        return self._family[1]

    def search(self, prior: Array, chain: Chain) -> None:
        """Filter with all regimes, where readings are too far apart for a level of each."""
        if not self.slow:
            return
        family = self.family()
        usable = np.where(chain.levels.weights > LOST, 1.0, chain.levels.weights)
        self.regimes = regimes(
            family,
            self.parts,
            self.seen(family),
            self.whole(prior),
            variance=self.spread(chain) / usable,
            thin=self.thin,
        )

    def seen(self, family: Family) -> Rows:
        """Rows over the kept nodes and the states of the regimes, which may be more."""
        rows = self.thin.rows(self.rows)
        extra = family.size - rows.design.shape[1]
        return replace(rows, design=np.pad(rows.design, ((0, 0), (0, extra))))

    def spread(self, chain: Chain) -> Array:
        """Variance of each row before the weight of its own."""
        kappa = chain.levels.kappa
        kappa = np.where(np.isin(np.arange(kappa.size), self.known), 1.0, kappa)
        return kappa[self.rows.kind] * self.rows.variance + self.extra(chain.mean, kappa)

    def whole(self, prior: Array) -> Array:
        """Covariance of the first node's states; those that only regimes have are settled."""
        extra = self.family().size - len(prior)
        return np.pad(prior, ((0, extra), (0, extra)))

    def drawn(self, prior: Array, chain: Chain, rng: np.random.Generator, count: int) -> Array:
        if self.regimes is not None:
            family = self.family()
            factor, history = self.regimes.drawn(rng)
            self.history = history
            paths = paths_by_regime(
                family,
                self.seen(family),
                self.whole(prior),
                chain.levels,
                between=self.regimes.between(history, self.thin.kept.size),
                factor=factor,
                variance=self.spread(chain),
                thin=self.thin,
                rng=rng,
                count=count,
            )
            return self.thin.filled(paths[..., : len(prior)])
        paths = sample_chain(
            self.process,
            self.thin.rows(self.rows),
            prior,
            chain,
            thin=self.thin,
            window=self.window,
            rng=rng,
            count=count,
            extra=self.extra,
        )
        return self.thin.filled(paths)


class _Horizontal(_Part):
    """The horizontal chain of a track, refitted as its linearisation improves."""

    parts = OVER_GROUND

    def __init__(self, track: Track, frame: Curvilinear, guide: Guide) -> None:
        self.track, self.frame, self.guide = track, frame, guide
        self.window = level_window(track.fixes.time)
        self.latency: ParameterEstimate | None = None
        self.steps = position_steps(track.fixes, frame)
        self.rows = self.build(0.0)
        self.thin = thinning(self.rows, guide.direction.size, guide.step)
        told = track.ground_speed is not None or track.track_angle is not None
        self.quick = QUICK_HORIZONTAL if told else QUICK_PLACES
        self.process = horizontal_process(guide.step, self.thin.spacing, self.quick)

    def build(self, latency: float) -> Rows:
        """Rows about the present guide."""
        return horizontal_rows(self.track, self.frame, self.guide, latency, self.steps)

    def made(self) -> Family:
        return horizontal_family(self.guide.step, sizes(self.parts))

    def extra(self, mean: Array, kappa: Array) -> Array:
        """Variance of velocity rows from time jitter: what the acceleration moves them."""
        jitter = TIME_SIGMA**2 * kappa[KINDS.index("position_along")]
        acceleration = (mean[:, 2] ** 2 + mean[:, 5] ** 2)[self.rows.node]
        moving = self.rows.kind >= KINDS.index("ground_speed")
        return np.where(moving, acceleration * jitter, 0.0)

    def fit(self, start: Levels | None) -> Chain:
        return self.fitted(HORIZONTAL_PRIOR, start, floor=0.02, calm=CALM_HORIZONTAL)

    def relinearise(self, chain: Chain) -> None:
        self.guide = refined(self.guide, self.frame, chain.mean)
        latency = 0.0 if self.latency is None else self.latency.value
        self.rows = self.build(latency)

    def find_latency(self, chain: Chain) -> None:
        if self.track.ground_speed is None and self.track.track_angle is None:
            return
        levels = chain.levels
        scores = []
        for latency in LATENCIES:
            self.rows = self.build(float(latency))
            variance = levels.kappa[self.rows.kind] * self.rows.variance
            scores.append(self.evidence(HORIZONTAL_PRIOR, levels, variance))
        self.latency = estimated(LATENCIES, np.array(scores))


class _Vertical(_Part):
    """The vertical chain of a track."""

    # What altitudes are off by is their rounding; a fit may call rough air noise.
    known = (KINDS.index("altitude"), KINDS.index("altitude_crossing"))

    def __init__(
        self,
        track: Track,
        guide: Guide,
        jitter: float,
        scale: Array,
        turbulence: Turbulence | None,
    ) -> None:
        self.track, self.guide, self.jitter, self.scale = track, guide, jitter, scale
        self.parts = upward(turbulence)
        self.lag: ParameterEstimate | None = None
        self.share = QUICK_VERTICAL
        self.quick = ParameterEstimate(float(np.log(QUICK_VERTICAL)), 0.0)
        self.window = level_window(track.altitudes.time)
        self.thin = thinning(self.read(FIRST_LAG), guide.direction.size, guide.step)
        self.build(FIRST_LAG)

    def read(self, lag: float) -> Rows:
        parts = [altitude_rows(part, self.guide) for part in self.track.altitudes.by_step()]
        if self.track.vertical_rate is not None:
            parts += [
                rate_rows(part, self.guide, lag=lag, scale=self.scale)
                for part in self.track.vertical_rate.by_step()
            ]
        return stack(parts)

    def build(self, lag: float) -> None:
        self.shown = lag
        self.move(self.share)
        self.rows = self.read(lag)

    def move(self, quick: float) -> None:
        self.share = quick
        self.process = vertical_process(self.guide.step, self.shown, self.thin.spacing, quick)

    @property
    def gust(self) -> float | None:
        """Root mean square vertical speed by gusts in the regimes drawn last, m/s."""
        if self.regimes is None:
            return None
        return float(np.sqrt(np.mean(sizes(self.parts)[self.history, -1])))

    def made(self) -> Family:
        return vertical_family(self.guide.step, self.shown, sizes(self.parts))

    def extra(self, mean: Array, kappa: Array) -> Array:
        """Variance from time jitter: what the rate moves an altitude, the acceleration a rate."""
        rate = self.rows.kind == KINDS.index("vertical_rate")
        slope = np.where(rate, mean[self.rows.node, 2], mean[self.rows.node, 1])
        return (slope * self.jitter) ** 2

    def fit(self, start: Levels | None) -> Chain:
        return self.fitted(VERTICAL_PRIOR, start, floor=0.5, calm=CALM_VERTICAL)

    def find_quick(self, chain: Chain) -> Chain:
        """The share of quick jerk by evidence, each with noise levels of its own, and the fit.

        Readings that are seconds apart do not tell it; regimes stand in its place there.
        """
        if self.slow:
            return self.fit(chain.levels)
        scores, levels = [], chain.levels
        for quick in QUICK:
            levels = self._moved(levels, float(quick))
            levels = self.fit(levels).levels
            variance = levels.kappa[self.rows.kind] * self.rows.variance
            variance = variance + self.extra(chain.mean, levels.kappa)
            scores.append(self.evidence(VERTICAL_PRIOR, levels, variance))
        self.quick = estimated(np.log(QUICK), np.array(scores))
        return self.fit(self._moved(levels, float(np.exp(self.quick.value))))

    def _moved(self, levels: Levels, quick: float) -> Levels:
        """Levels to start from at another share: the whole drive stays about what it was."""
        ratio = (1.0 + self.share) / (1.0 + quick)
        self.move(quick)
        return replace(levels, jerk=np.maximum(ratio * levels.jerk, CALM_VERTICAL))

    def draw_quick(self, rng: np.random.Generator) -> None:
        """Take a share of quick jerk drawn from what is known of it."""
        drawn = rng.normal(self.quick.value, self.quick.sigma)
        self.move(float(np.exp(np.clip(drawn, np.log(QUICK[0]), np.log(QUICK[-1])))))

    def find_lag(self, chain: Chain) -> None:
        if self.track.vertical_rate is None:
            return
        levels = chain.levels
        scores = []
        for lag in LAGS:
            self.build(float(lag))
            added = self.extra(chain.mean, levels.kappa)
            variance = levels.kappa[self.rows.kind] * self.rows.variance + added
            scores.append(self.evidence(VERTICAL_PRIOR, levels, variance))
        found = estimated(np.log(LAGS), np.array(scores))
        lag = float(np.exp(found.value))
        self.lag = ParameterEstimate(lag, lag * found.sigma)
        self.build(lag)


@dataclass(frozen=True)
class Paths:
    """Joint sample paths over the ground.

    Attributes:
        time: Grid, s, shape (m,).
        horizontal: Sample paths of (pn, vn, an, pe, ve, ae, ...), shape (S, m, 8).
        vertical: Sample paths of (H, H', H'', lagged rate, ...), shape (S, m, 5).
        frame: Scaled coordinates of the horizontal paths.
        gust: Root mean square vertical speed that the drawn air makes, m/s; None where readings are
            close enough to tell it.
    """

    time: Array
    horizontal: Array
    vertical: Array
    frame: Curvilinear
    gust: float | None


class Smoother:
    """Both chains fitted to a track, ready to draw paths.

    Args:
        track: The record, with positions and pressure altitudes.
        step: Grid step, s.
        height_ratio: From pressure altitude to the rate read per rate of pressure altitude: 1 where
            the vertical rate is barometric, the ratio of the heights where it is geometric.
        turbulence: As somebody reported it; counts where altitudes are too far apart to tell it.

    Attributes:
        time: Grid, s, shape (m,).
        frame: Scaled coordinates.
        chains: The fitted horizontal and vertical chains.
        rows: The rows behind them.
        processes: Their processes on the uniform grid.
        variances: Variance of each row, outliers' included, shape (n,) each.
        quick: Quick part of the jerk over the slow one, of the vertical chain.
        latency: Age of the velocity against the position, s; None without velocities.
        lag: Lag of the vertical rate, s; None without one.
        jitter: Of the times of the readings, one sigma, s.
        slow: Whether fixes are too far apart to show a roll as it is flown.
        draws: Draws of noise levels or regimes that a band rests on; the paths are shared out.
    """

    def __init__(
        self,
        track: Track,
        *,
        step: float,
        height_ratio: Callable[[Array], Array] = np.ones_like,
        turbulence: Turbulence | None = None,
    ) -> None:
        position = track.fixes
        start = float(position.time[0])
        nodes = int(np.floor((float(position.time[-1]) - start) / step + 0.5)) + 1
        self.step, self.time = step, start + step * np.arange(nodes)
        self.frame = Curvilinear(*np.median(position.value, axis=0).tolist())
        guide = first_guide(track, self.frame, start, step, nodes)

        self._horizontal = horizontal = _Horizontal(track, self.frame, guide)
        chain_h = horizontal.fit(None)
        horizontal.relinearise(chain_h)
        horizontal.find_latency(chain_h)
        horizontal.relinearise(chain_h)
        chain_h = horizontal.fit(chain_h.levels)
        # Once more with levels that the latency no longer spoils.
        horizontal.find_latency(chain_h)
        horizontal.relinearise(chain_h)

        self.jitter = jitter = TIME_SIGMA * float(
            np.sqrt(chain_h.levels.kappa[KINDS.index("position_along")])
        )
        ratio = height_ratio(guide.height)
        self._vertical = vertical = _Vertical(track, horizontal.guide, jitter, ratio, turbulence)
        chain_v = vertical.fit(None)
        vertical.find_lag(chain_v)
        chain_v = vertical.find_quick(chain_v)
        vertical.find_lag(chain_v)

        horizontal.search(HORIZONTAL_PRIOR, chain_h)
        vertical.search(VERTICAL_PRIOR, chain_v)
        self.chains, self.rows = (chain_h, chain_v), (horizontal.rows, vertical.rows)
        lag = FIRST_LAG if vertical.lag is None else vertical.lag.value
        self.quick = float(np.exp(vertical.quick.value))
        self.processes = (
            horizontal_process(step, quick=horizontal.quick),
            vertical_process(step, lag, quick=self.quick),
        )
        self.variances = tuple(
            (chain.levels.kappa[part.rows.kind] * part.rows.variance + part.extra(chain.mean, k))
            / chain.levels.weights
            for part, chain in ((horizontal, chain_h), (vertical, chain_v))
            for k in [chain.levels.kappa]
        )
        self.latency, self.lag = horizontal.latency, vertical.lag
        self.slow = horizontal.slow
        self.draws = SLOW_DRAWS if horizontal.slow or vertical.slow else DRAWS

    def draw(self, rng: np.random.Generator, count: int) -> Paths:
        """Joint sample paths at one draw of noise levels, latency and lag.

        Args:
            rng: Source of random numbers.
            count: Number of paths.

        Returns:
            The paths.
        """
        horizontal, vertical = self._horizontal, self._vertical
        vertical.draw_quick(rng)
        if self.latency is not None:
            drawn = rng.normal(self.latency.value, self.latency.sigma)
            horizontal.rows = horizontal.build(float(drawn))
        if self.lag is not None:
            spread = self.lag.sigma / self.lag.value
            drawn = self.lag.value * np.exp(spread * rng.standard_normal())
            vertical.build(float(np.clip(drawn, LAGS[0], LAGS[-1])))
        over_ground = horizontal.drawn(HORIZONTAL_PRIOR, self.chains[0], rng, count)
        upward = vertical.drawn(VERTICAL_PRIOR, self.chains[1], rng, count)
        return Paths(self.time, over_ground, upward, self.frame, vertical.gust)
