"""When an upset began, as a distribution over the record and over there being none.

The paths say that there was an upset and roughly when; no threshold says when it began, for what
came before may have been a climb, a turn or another manoeuvre, and an autopilot or hands may have
hidden it for a minute. Each second of the record is a candidate with a weight: by how ordinary the
flight is before it and how unlike that afterwards, in a score whose weights were fitted to
simulated flights of every cause (`onset_weights`). No onset at all is a candidate too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.motion.onset_features import CELL, cells, onset_features
from neutralpoint.motion.onset_weights import INTERCEPT, WEIGHTS
from neutralpoint.numerics.arrays import Array, Flags

SIGNALS = (
    "normal_load_factor",
    "longitudinal_load_factor",
    "bank_angle",
    "flight_path_angle",
    "true_airspeed",
)
OFFSETS = (0.0, 0.5 * CELL)  # s: candidates lie half a cell apart
SETTLED = 10.0  # s after a take-off before flight can be left. Analyst's choice.
LEAST = 4  # cells: a shorter motion shows nothing
# A score fitted in one simulated world is too sure in another. Power that it is raised to, and the
# share of its weight that is spread over the time before, s: what hands or an autopilot hide at
# first. Chosen on one batch of flights of another simulator, measured on fresh ones
# (benchmarks/onset_blind.py).
POWER = 0.9
EARLIER_SHARE, EARLIER = 0.08, 20.0
KEPT = 1e-4  # weight below which a candidate is left out
# From the begin of a fault to the motion showing it, s: most show within seconds, a trim drive or a
# weak engine under an autopilot much later. Two exponentials, median 3 s and 95% at 35 s; on
# simulated flights 3.4 and 29 s, with the autopilot on 3.8 and 41 s (benchmarks/onset_blind.py).
SHOWN_AT_ONCE, HIDDEN, HIDDEN_SHARE = 3.5, 25.0, 0.2
LONGEST_HIDDEN = 120.0


@dataclass(frozen=True)
class Onsets:
    """Candidates for the start of an upset.

    Attributes:
        time: s after the epoch, rising, shape (k,).
        weight: Probability that the motion left ordinary flight then, shape (k,).
        none: Probability that it never did.
    """

    time: Array
    weight: Array
    none: float

    @property
    def found(self) -> bool:
        """Whether an onset is more likely than none."""
        return self.none < 0.5

    def quantile(self, level: float) -> float:
        """Time before which the upset began with a probability, had there been one.

        Args:
            level: Probability.

        Returns:
            s after the epoch.
        """
        return _quantile(self.time, self.weight, level)

    @property
    def median(self) -> float:
        """Middle of the distribution, had there been an upset, s after the epoch."""
        return self.quantile(0.5)

    @property
    def interval(self) -> tuple[float, float]:
        """90% interval, had there been an upset, s after the epoch."""
        return self.quantile(0.05), self.quantile(0.95)


def stated(time: float) -> Onsets:
    """An onset that the analyst states.

    Args:
        time: s after the epoch.

    Returns:
        One candidate.
    """
    return Onsets(np.array([time]), np.array([1.0]), 0.0)


def _quantile(time: Array, weight: Array, level: float) -> float:
    """Each candidate stands for the span about it."""
    if time.size == 1:
        return float(time[0])
    share = np.r_[0.0, np.cumsum(weight)] / weight.sum()
    middle = 0.5 * (time[1:] + time[:-1])
    edges = np.r_[time[0] - 0.5 * CELL, middle, time[-1] + 0.5 * CELL]
    return float(np.interp(level, share, edges))


def fault_begin(onsets: Onsets) -> Onsets:
    """When what caused an upset began: some time before the motion showed it.

    Args:
        onsets: Of the motion.

    Returns:
        Candidates half a cell apart, with the same probability of none.
    """
    back = np.arange(0.0, LONGEST_HIDDEN, 0.5 * CELL)
    density = (1.0 - HIDDEN_SHARE) * np.exp(-back / SHOWN_AT_ONCE) / SHOWN_AT_ONCE
    density += HIDDEN_SHARE * np.exp(-back / HIDDEN) / HIDDEN
    density /= density.sum()
    first = onsets.time[0] - LONGEST_HIDDEN
    count = round((onsets.time[-1] - first) / (0.5 * CELL)) + 1
    place = np.rint((onsets.time[:, None] - back - first) / (0.5 * CELL)).astype(np.intp)
    weight = np.zeros(count)
    np.add.at(weight, np.clip(place, 0, count - 1), onsets.weight[:, None] * density)
    return Onsets(first + 0.5 * CELL * np.arange(count), weight, onsets.none)


def _scores(time: Array, values: dict[str, Array], offset: float) -> tuple[Array, Array]:
    """Middle of each cell, and its log odds against none before the number of cells counts."""
    start, signals = cells(time, values, offset)
    return start + 0.5 * CELL, INTERCEPT + onset_features(signals) @ WEIGHTS


def _possible(middle: Array, time: Array, ground: Flags) -> Flags:
    """Candidates in flight, a while after the ground was left."""
    on = np.interp(middle, time, ground.astype(float)) > 0.0
    left = time[1:][np.diff(ground.astype(np.int8)) == -1]
    since = middle[:, None] - left
    fresh = ((since >= 0.0) & (since < SETTLED)).any(axis=1)
    return ~on & ~fresh


def _widened(middle: Array, weight: Array) -> Array:
    """A share of the weight spread over the time before, shape (k,)."""
    kept = np.where(weight > KEPT * weight.max(), weight, 0.0).tolist()
    fading = np.exp(-np.diff(middle) / EARLIER).tolist()
    # What one candidate hands to those before it adds up to its weight: sums forward, then back, as
    # a table of all pairs takes gigabytes on a long record.
    total = [1.0]
    for keep in fading:
        total.append(1.0 + keep * total[-1])
    spread = [kept[-1] / total[-1]]
    for own, keep, size in zip(kept[-2::-1], fading[::-1], total[-2::-1], strict=True):
        spread.append(own / size + keep * spread[-1])
    return (1.0 - EARLIER_SHARE) * weight + EARLIER_SHARE * np.array(spread[::-1])


def upset_onsets(time: Array, paths: dict[str, Array], ground: Flags | None = None) -> Onsets:
    """Candidates for the onset of the first upset of a record, with weights.

    Args:
        time: s after the epoch, a uniform grid, shape (m,).
        paths: Sample paths of `SIGNALS`, each of shape (S, m).
        ground: True where the airplane is on the ground, shape (m,): nothing there is an upset, nor
            is the rotation of a take-off.

    Returns:
        The candidates. Before the record is looked at the chance of an upset is that of the flights
        the score was fitted to, about even, however long the record is.

    Source: conditional logit, McFadden, "Conditional logit analysis of qualitative choice behavior"
    (1974), from memory; features and widening are an analyst's choice.
    Valid: records of at least some ten seconds before the upset.
    Checked against: tests/recovery/test_motion_onset.py; benchmarks/onset_blind.py.
    """
    values = {name: np.median(paths[name], axis=0).astype(float) for name in SIGNALS}
    if time[-1] - time[0] < LEAST * CELL:
        return Onsets(np.array([0.5 * (time[0] + time[-1])]), np.array([0.0]), 1.0)
    both = [_scores(time, values, offset) for offset in OFFSETS]
    middle, score = (np.concatenate([pair[i] for pair in both]) for i in (0, 1))
    order = np.argsort(middle, kind="stable")
    middle, score = middle[order], score[order]
    if ground is not None:
        score = np.where(_possible(middle, time, ground), score, -np.inf)
    top = float(score.max())
    if not np.isfinite(top):
        return Onsets(middle[:1], np.array([0.0]), 1.0)
    odds = top + np.log(np.exp(score - top).mean())
    weight = np.exp(POWER * (score - top))
    weight = _widened(middle, weight / weight.sum())
    kept = weight > KEPT * weight.max()
    shown = float(1.0 / (1.0 + np.exp(-np.clip(odds, -50.0, 50.0))))
    return Onsets(middle[kept], shown * weight[kept] / weight[kept].sum(), 1.0 - shown)
