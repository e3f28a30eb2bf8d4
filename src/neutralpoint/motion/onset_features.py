"""What a motion looks like about a moment at which an upset may have begun.

The motion is put on cells of one second. Each cell is a candidate: had the upset begun in it, the
flight before would look ordinary and that after it would part from it. The numbers that say so are
logarithms of squares, so that none of them runs away in violent flight.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import DEGREE

CELL = 1.0  # s
# Spans after and before a candidate that are looked at apart, s.
AFTER = ((0, 1), (1, 2), (2, 4), (4, 7), (7, 12), (12, 20), (20, 32), (32, 48))
BEFORE = ((-3, 0), (-8, -3), (-20, -8), (-45, -20))
SPANS = AFTER + BEFORE
JUST_BEFORE = 4  # s before a candidate that changes are counted from
# Of each: what it is, and the change that counts as one. Sizes about what one reading a second
# shows of calm flight, and three that only an upset reaches. Analyst's estimate.
SIGNALS = (
    "vertical force",
    "change of bank",
    "change of path angle",
    "change of force along the path",
    "change of speed",
    "steep bank",
    "large vertical force",
    "steep path",
)
EXTRA = (
    "most unusual in 12 s",
    "most unusual in 30 s",
    "most unusual in 60 s",
    "most unusual before",
    "mean before",
    *(
        f"step of {name} over {span} s"
        for name in ("force", "thrust", "roll", "bend")
        for span in (2, 4)
    ),
    "log time to an upset",
    "time to an upset",
    "log calm until then",
    "calm until then",
    "calm before",
    "flight before",
    "flight after",
    "unusual without an upset",
)
NAMES = (*(f"{name}, {a} to {b} s" for a, b in SPANS for name in SIGNALS), *EXTRA)
# 1 is plain: vertical force off by 0.3 g, bank of 45 deg, path of 12 deg. Analyst's choice.
LOAD, BANK, PATH = 0.3, 45.0 * DEGREE, 12.0 * DEGREE
PLAIN = 1.5
FAR = 120.0  # s: no upset in sight


def cells(time: Array, values: dict[str, Array], offset: float = 0.0) -> tuple[Array, Array]:
    """Means over cells of one second.

    Args:
        time: s, shape (m,), no coarser than a cell.
        values: `normal_load_factor`, `longitudinal_load_factor`, `bank_angle`,
            `flight_path_angle`, `true_airspeed`, each of shape (m,).
        offset: Of the first cell after the first time, s.

    Returns:
        Start of each cell, s, shape (n,); vertical force less that of steady flight in g, force
        along the path in g, bank, path angle in rad and true airspeed, shape (5, n).
    """
    path = values["flight_path_angle"]
    bank = np.unwrap(values["bank_angle"])
    up = values["normal_load_factor"] * np.cos(bank) - np.cos(path)
    along = values["longitudinal_load_factor"]
    start = time[0] + offset
    count = max(int((time[-1] - start) / CELL), 1)
    place = np.floor((time - start) / CELL).astype(np.intp)
    inside = (place >= 0) & (place < count)
    number = np.bincount(place[inside], minlength=count)
    edges = start + CELL * np.arange(count)

    def mean(series: Array) -> Array:
        total = np.bincount(place[inside], weights=series[inside], minlength=count)
        filled = np.interp(edges + 0.5 * CELL, time, series)
        return np.where(number > 0, total / np.maximum(number, 1), filled)

    return edges, np.stack([mean(x) for x in (up, along, bank, path, values["true_airspeed"])])


def _base(series: Array) -> Array:
    """Mean of the cells just before each candidate; the first cell where there is none."""
    total = np.r_[0.0, np.cumsum(series)]
    last = np.arange(series.size)
    first = np.maximum(last - JUST_BEFORE, 0)
    return np.where(last > 0, (total[last] - total[first]) / np.maximum(last - first, 1), series[0])


def _squares(signals: Array, bases: Array) -> Array:
    """The signals of `SIGNALS` at one distance from each candidate, shape (..., 8)."""
    up, along, bank, path, speed = signals
    along0, bank0, path0, speed0 = bases
    return np.log1p(
        np.stack(
            [
                (up / 0.1) ** 2,
                ((bank - bank0) / (8.0 * DEGREE)) ** 2,
                ((path - path0) / (2.0 * DEGREE)) ** 2,
                ((along - along0) / 0.04) ** 2,
                ((speed - speed0) / (0.04 * speed0)) ** 2,
                (bank / (40.0 * DEGREE)) ** 4,
                (up / 0.3) ** 4,
                (path / (10.0 * DEGREE)) ** 4,
            ],
            axis=-1,
        )
    )


def _spans(signals: Array) -> Array:
    """Mean of each signal in each span about each candidate, shape (n, spans, 8); 0 beyond."""
    count = signals.shape[1]
    bases = np.stack([_base(series) for series in signals[1:]])
    found = np.zeros((count, len(SPANS), len(SIGNALS)))
    for number, (first, last) in enumerate(SPANS):
        seen = np.zeros(count)
        for shift in range(first, last):
            here = np.arange(max(-shift, 0), min(count, count - shift))
            if here.size:
                found[here, number] += _squares(signals[:, here + shift], bases[:, here])
                seen[here] += 1.0
        found[:, number] /= np.maximum(seen, 1.0)[:, None]
    return found


def _step(series: Array, span: int) -> Array:
    """Mean of the cells after each candidate less that of the cells before."""
    padded = np.r_[np.full(span, series[0]), series, np.full(span, series[-1])]
    total = np.r_[0.0, np.cumsum(padded)]
    at = np.arange(series.size) + span
    return (total[at + span] - 2.0 * total[at] + total[at - span]) / span


def _steps(signals: Array) -> list[Array]:
    up, along, bank, path, _ = signals
    changes = ((up, 0.05), (along, 0.02))
    changes += ((np.gradient(bank), 2.0 * DEGREE), (np.gradient(path), 0.5 * DEGREE))
    return [np.log1p((_step(x, span) / size) ** 2) for x, size in changes for span in (2, 4)]


def _unusual(signals: Array) -> Array:
    """How far each cell is from ordinary flight, 1 being plain, shape (n,)."""
    up, _, bank, path, _ = signals
    return np.abs(up) / LOAD + (bank / BANK) ** 2 + np.abs(path) / PATH


def _ahead(series: Array, span: int) -> Array:
    """Largest value in so many cells from each on."""
    padded = np.r_[series, np.zeros(span)]
    return np.lib.stride_tricks.sliding_window_view(padded, span)[: series.size].max(axis=1)


def _until(plain: Flags) -> Array:
    """Cells until the next that is plain, at most `FAR`."""
    places = np.where(plain, np.arange(plain.size), plain.size + int(FAR))
    following = np.minimum.accumulate(places[::-1])[::-1]
    return np.minimum(following - np.arange(plain.size), FAR)


def _extra(signals: Array) -> Array:
    """The numbers of `EXTRA`, shape (n, 20)."""
    up, _, bank, _, speed = signals
    count, index = up.size, np.arange(up.size)
    how = _unusual(signals)
    grown = np.log1p(how**2)
    before = np.r_[0.0, np.maximum.accumulate(grown)[:-1]]
    mean = np.r_[0.0, np.cumsum(grown)[:-1]] / np.maximum(index, 1)
    until = _until(how > PLAIN)
    calm = (np.abs(up) < 0.05) & (np.abs(np.gradient(bank)) < 1.5 * DEGREE)
    total = np.r_[0.0, np.cumsum(calm & (np.abs(np.gradient(speed)) < 0.8))]
    between = total[np.minimum(index + until.astype(np.intp), count)] - total[:count]
    recent = total[:count] - total[np.maximum(index - 10, 0)]
    furthest = _ahead(grown, 60)
    return np.stack(
        [
            _ahead(grown, 12),
            _ahead(grown, 30),
            furthest,
            before,
            mean,
            *_steps(signals),
            np.log1p(until),
            until / 30.0,
            np.log1p(between),
            np.minimum(between, 30.0) / 10.0,
            recent / 5.0,
            np.minimum(index, 10) / 5.0,
            np.minimum(count - index, 30) / 10.0,
            furthest * (until >= FAR),
        ],
        axis=-1,
    )


def onset_features(signals: Array) -> Array:
    """Numbers that tell whether an upset began in each cell.

    Args:
        signals: As `cells` gives them, shape (5, n), n at least 2.

    Returns:
        Shape (n, len(NAMES)).
    """
    spans = _spans(signals)
    return np.concatenate([spans.reshape(len(spans), -1), _extra(signals)], axis=1)
