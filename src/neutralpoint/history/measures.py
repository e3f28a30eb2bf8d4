"""What is measured in each flight, with its error, for all flights of a part at once.

Every function takes the flights on their grid and returns one value and one standard deviation a
flight. The definitions stand in `docs/reference/history-measures.md`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.history import spectra
from neutralpoint.history.cutting import GRID, Flights
from neutralpoint.history.onsets import event_onsets
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.quantities import GRAVITY, LAPSE_RATE, SEA_LEVEL_TEMPERATURE, TROPOPAUSE
from neutralpoint.vocabulary.measure import MEASURES, PHASES

# Vertical speed beyond which an airplane climbs or descends, m/s (300 ft/min); common practice,
# no source.
CLIMBS = 1.5
# Trimmed: over 32 s the vertical speed spreads by no more than this, m/s, and the speed changes no
# faster, m/s^2; for at least so long, s. Analyst's choice.
STEADY_SPAN, STEADY_RATE, STEADY_SPEED, STEADY_LEAST = 16, 0.75, 0.2, 60.0
# An onset-like event: after trimmed level flight the vertical speed departs by this, m/s, within
# `SOON` s, and the height comes back to within `BACK` m of the level before `LATER` s. Analyst's
# choice.
DEPARTS, SOON, BACK, LATER = 4.0, 46.0, 75.0, 180.0
SLOPE = 5  # grid points over which a rate of change is fitted
END = 60.0  # s at the end of the record; analyst's
EXTREME = 3  # grid points that an extreme of load factor must last, a median; analyst's
ABOVE = 300.0  # m above the lowest point, below which nothing of a climb is counted; analyst's
SPAN = 1500.0  # m between its lowest and highest point that show it; analyst's
MEMORY = 60.0  # s after which excess power is a new reading; analyst's
TERMS = 4  # of the climb: one, speed, height, temperature less that of the standard atmosphere
HALF_NORMAL = 0.6745  # median of the size of a normal value over its deviation
EVENT = 5  # numbers of an event
SUMS = TERMS * TERMS + TERMS + 2


@dataclass(frozen=True)
class Steps:
    """Quantization steps of the readings, SI.

    Attributes:
        altitude: m; 0 where continuous.
        rate: m/s of the vertical rate; 0 where continuous, NaN where none is sent.
        speed: m/s.
    """

    altitude: float
    rate: float
    speed: float


@dataclass(frozen=True)
class Measured:
    """What was measured in each flight.

    Attributes:
        values: By measure, value and standard deviation, NaN where nothing is known, (2, F).
        climb: Sums for the regression of the climb, (F, SUMS).
        events: Flight, time in s after its start and greatest vertical speed, m/s, of every
            onset-like event; then the probability of an onset about it, and when, s, (k, EVENT).
    """

    values: dict[str, Array]
    climb: Array
    events: Array


def measure(flights: Flights, steps: Steps) -> Measured:
    """Measure flights.

    Args:
        flights: On their grid.
        steps: Of their readings.

    Returns:
        One value a measure and flight.
    """
    if not flights.count:
        nothing = np.zeros((2, 0))
        return Measured(dict.fromkeys(MEASURES, nothing), np.zeros((0, SUMS)), np.zeros((0, EVENT)))
    grid = _Grid(flights, steps)
    found = _trim(grid) | _oscillating(grid) | _loads(grid) | _ends(grid) | _power(grid)
    happened = _events(grid)
    happened = np.hstack([happened, event_onsets(flights, grid.rate, happened)])
    length = np.bincount(grid.owner, grid.seen, grid.count) * GRID
    number = np.bincount(happened[:, 0].astype(np.intp), minlength=grid.count)
    found["event_rate"] = np.stack([number / length, np.sqrt(np.maximum(number, 1.0)) / length])
    climb = _climb_sums(grid)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = climb[:, TERMS * TERMS] / climb[:, 0]  # until the family's regression is known
    found["climb_rate"] = np.stack([mean, np.full(grid.count, np.nan)])
    return Measured({name: found[name] for name in MEASURES}, climb, happened)


class _Grid:
    """The flights with what several measures need.

    Args:
        flights: On their grid.
        steps: Of their readings.
    """

    def __init__(self, flights: Flights, steps: Steps) -> None:
        self.flights, self.steps, self.count = flights, steps, flights.count
        self.owner, self.seen, self.first = flights.owner, flights.seen, flights.first
        self.height = flights.values["pressure_altitude"]
        self.sent = flights.values["vertical_rate"]
        self.derived = self.slope(self.height, 4)
        self.has_rate = np.isfinite(self.mean(self.sent))
        self.rate = np.where(self.has_rate[self.owner], self.sent, self.derived)
        self.speed = flights.values["ground_speed"]
        self.speed_rate = self.slope(self.speed, 2 * SLOPE)
        lowest = np.minimum.reduceat(self.height, self.first[:-1])
        highest = np.maximum.reduceat(self.height, self.first[:-1])
        # A record that never comes near the ground is counted whole.
        whole = highest - lowest < SPAN
        self.above = self.height - np.where(whole, lowest - 2.0 * ABOVE, lowest)[self.owner]
        span = 2 * STEADY_SPAN // 2
        mean = self.smooth(self.rate, span)
        self.spread = np.sqrt(np.maximum(self.smooth(self.rate**2, span) - mean**2, 0.0))
        self.mean_rate = mean
        change = np.abs(np.nan_to_num(self.smooth(self.speed_rate, span)))
        self.steady = (
            (self.spread < max(STEADY_RATE, 0.6 * np.nan_to_num(steps.rate)))
            & (change < STEADY_SPEED)
            & self.seen
            & (self.above > ABOVE)
        )

    @property
    def rate_step(self) -> Array:
        """Step of the vertical speed that is used, m/s, (F,): sent, or made from altitudes."""
        made = self.steps.altitude * np.sqrt(2.0) / (8.0 * GRID)
        return np.where(self.has_rate, np.nan_to_num(self.steps.rate), made)

    def slope(self, column: Array, reach: int) -> Array:
        """Rate of change over `reach` grid points, within flights."""
        half = max(reach // 2, 1)
        point = np.arange(column.size)
        low = np.maximum(point - half, self.first[:-1][self.owner])
        high = np.minimum(point + half, self.first[1:][self.owner] - 1)
        return (column[high] - column[low]) / (GRID * np.maximum(high - low, 1))

    def smooth(self, column: Array, span: int) -> Array:
        """Running mean over `span` points, within flights."""
        point, half = np.arange(column.size), span // 2
        low = np.maximum(point - half, self.first[:-1][self.owner])
        high = np.minimum(point + half, self.first[1:][self.owner])
        sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(column))])
        return (sums[high] - sums[low]) / np.maximum(high - low, 1)

    def mean(self, column: Array, where: Flags | None = None) -> Array:
        """Mean of a column by flight, NaN where there is nothing."""
        good = np.isfinite(column) if where is None else where & np.isfinite(column)
        weight = np.bincount(self.owner, good, self.count)
        total = np.bincount(self.owner, np.where(good, column, 0.0), self.count)
        with np.errstate(invalid="ignore", divide="ignore"):
            return total / weight


def _runs(marks: Flags, owner: Index) -> tuple[Index, Index]:
    """First and last-plus-one point of each stretch that is marked, within flights."""
    before = np.concatenate([[False], marks[:-1] & (owner[1:] == owner[:-1])])
    after = np.concatenate([marks[1:] & (owner[1:] == owner[:-1]), [False]])
    return np.flatnonzero(marks & ~before), np.flatnonzero(marks & ~after) + 1


def _trim(grid: _Grid) -> dict[str, Array]:
    begin, end = _runs(grid.steady, grid.owner)
    long = GRID * (end - begin) >= STEADY_LEAST
    begin, end = begin[long], end[long]
    marks = np.zeros(grid.owner.size + 1)
    np.add.at(marks, begin, 1.0)
    np.add.at(marks, end, -1.0)
    trimmed = np.cumsum(marks)[:-1] > 0.5
    whose, number = grid.owner[begin], np.bincount(grid.owner[begin], minlength=grid.count)
    share = grid.mean(trimmed.astype(float), grid.seen)
    longest = np.zeros(grid.count)
    np.maximum.at(longest, whose, GRID * (end - begin))
    speed = grid.mean(grid.speed, trimmed)
    spread = np.sqrt(np.maximum(grid.mean(grid.speed**2, trimmed) - speed**2, 0.0))
    few = np.sqrt(np.maximum(number, 1))
    edge = GRID * STEADY_SPAN / np.sqrt(12.0)  # where a stretch ends is known to a window
    seen = np.bincount(grid.owner, grid.seen, grid.count) * GRID
    return {
        "trimmed_share": np.stack([share, edge * np.sqrt(2.0 * np.maximum(number, 1)) / seen]),
        "trimmed_longest": np.stack(
            [np.where(longest > 0.0, longest, np.nan), np.full(grid.count, edge * np.sqrt(2.0))]
        ),
        "trim_speed": np.stack([speed, np.hypot(spread / few, grid.steps.speed / np.sqrt(12.0))]),
    }


def _windows(grid: _Grid) -> tuple[Index, Index, Index]:
    """Starts of the windows, and flight and phase of each; windows across phases are left out."""
    points = np.diff(grid.first)
    number = np.maximum((points - spectra.LENGTH) // spectra.HOP + 1, 0)
    whose = np.repeat(np.arange(grid.count), number)
    within = np.arange(whose.size) - np.repeat(np.cumsum(number) - number, number)
    start = grid.first[:-1][whose] + spectra.HOP * within
    sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(grid.rate))])
    quarter = spectra.LENGTH // 4
    edges = start[:, None] + quarter * np.arange(5)
    rates = np.diff(sums[edges], axis=1) / quarter
    unseen = np.concatenate([[0], np.cumsum(~grid.seen)])
    low = np.concatenate([[0], np.cumsum(grid.above < ABOVE)])
    whole = unseen[edges[:, -1]] - unseen[start] + low[edges[:, -1]] - low[start] == 0
    phase = np.full(start.size, -1)
    phase[(rates > CLIMBS).all(axis=1)] = 0
    phase[(np.abs(rates) < CLIMBS).all(axis=1)] = 1
    phase[(rates < -CLIMBS).all(axis=1)] = 2
    kept = whole & (phase >= 0)
    return start[kept], whose[kept], phase[kept]


def _taken(column: Array, start: Index) -> Array:
    """Windows of a column, (k, LENGTH)."""
    return np.lib.stride_tricks.sliding_window_view(column, spectra.LENGTH)[start]


def _oscillating(grid: _Grid) -> dict[str, Array]:
    """Oscillation by phase, hunting, creep, and how the vertical rate goes with the altitude."""
    start, whose, phase = _windows(grid)
    order = np.argsort(3 * whose + phase, kind="stable")
    start, whose, phase = start[order], whose[order], phase[order]
    found = _beside_altitude(grid, start, whose)
    groups = 3 * grid.count
    if not start.size:
        for name in PHASES:
            for part in ("excess", "amplitude", "period", "damping"):
                found[f"{name}_{part}"] = np.full((2, grid.count), np.nan)
        for name in ("altitude_hunting", "creep"):
            found[name] = np.full((2, grid.count), np.nan)
        return found
    rate = spectra.trend_free(_taken(grid.rate, start))
    each, group = spectra.periodograms(rate), 3 * whose + phase
    mean, count = spectra.grouped_mean(each, group, groups)
    lag = np.clip(np.nan_to_num(found["rate_lag"][0]), 0.0, 5.0)
    interval = np.nan_to_num(grid.flights.interval, nan=GRID)
    # Steps alone: their variance spread evenly over the frequencies that the rows show.
    # Source: Bennett, Bell Syst. Tech. J. 27 (1948) 446-472: variance step^2 / 12, white.
    white = grid.rate_step**2 / 12.0 * 2.0 * np.maximum(interval, 0.1)
    floor = np.broadcast_to(np.repeat(white, 3)[:, None], mean.shape)
    slowest = np.repeat(np.maximum(3.0 * GRID, 4.0 * interval), 3)
    seen = spectra.oscillations(mean, count, floor, np.repeat(lag, 3), slowest)
    for number, name in enumerate(PHASES):
        for part in ("excess", "amplitude", "period", "damping"):
            found[f"{name}_{part}"] = getattr(seen, part)[:, number::3]
    return found | _level(grid, start[phase == 1], whose[phase == 1])


def _level(grid: _Grid, start: Index, whose: Index) -> dict[str, Array]:
    """Height about the level held, and drift of the vertical speed, in level windows."""
    height = spectra.trend_free(_taken(grid.height, start))
    step = grid.steps.altitude**2 / 12.0
    variance = np.mean(height**2, axis=1)
    mean, error = _over_windows(np.maximum(variance - step, 0.0), whose, grid.count)
    hunting = np.sqrt(np.maximum(mean, 0.04 * step + 1e-4))
    half = spectra.LENGTH // 2
    ramp = np.arange(half) - 0.5 * (half - 1)
    rate = _taken(grid.rate, start)[:, :half]
    slope = (rate @ ramp) / (np.sum(ramp**2) * GRID)
    # The middle window, not the mean: one that begins while the climb still ends would decide it.
    own, own_error = _middle_window(np.abs(slope), whose, grid.count)
    # What steps alone make of it; a flight that shows no more is given that.
    least = HALF_NORMAL * grid.rate_step / np.sqrt(12.0 * np.sum(ramp**2)) / GRID
    creep = np.sqrt(np.maximum(own**2 - least**2, 0.25 * least**2 + 1e-10))
    return {
        "altitude_hunting": np.stack([hunting, 0.5 * np.hypot(error, 0.2 * step) / hunting]),
        "creep": np.stack([creep, np.hypot(own * own_error, 0.5 * least**2) / creep]),
    }


def _over_windows(values: Array, whose: Index, count: int) -> tuple[Array, Array]:
    """Mean by flight and its standard deviation; windows overlap by three quarters."""
    number = np.bincount(whose, minlength=count).astype(float)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.bincount(whose, values, count) / number
        square = np.bincount(whose, values**2, count) / number
        free = np.maximum(number * spectra.HOP / spectra.LENGTH, 1.0)
        return mean, np.sqrt(np.maximum(square - mean**2, 0.0) / free)


def _middle_window(values: Array, whose: Index, count: int) -> tuple[Array, Array]:
    """Median by flight and its standard deviation; windows overlap by three quarters.

    Source: of n normal values, the median has sqrt(pi / 2) times the error of the mean (Kendall and
        Stuart, The Advanced Theory of Statistics, vol. 1 (1969), section 10.10).
    """
    mean, error = _over_windows(values, whose, count)
    ordered = values[np.lexsort((values, whose))]
    number = np.bincount(whose, minlength=count)
    first = np.cumsum(number) - number
    middle = np.full(count, np.nan)
    there = number > 0
    low, high = first[there] + (number[there] - 1) // 2, first[there] + number[there] // 2
    middle[there] = 0.5 * (ordered[low] + ordered[high])
    return np.where(np.isfinite(mean), middle, np.nan), np.sqrt(0.5 * np.pi) * error


def _beside_altitude(grid: _Grid, start: Index, whose: Index) -> dict[str, Array]:
    """Bias and lag of the vertical rate that is sent, by the altitude."""
    unknown = np.full((2, grid.count), np.nan)
    have = grid.has_rate[whose] if start.size else np.zeros(0, bool)
    start, whose = start[have], whose[have]
    if not start.size:
        return {"rate_bias": unknown, "rate_lag": unknown}
    height, sent = _taken(grid.height, start), _taken(grid.sent, start)
    span = GRID * (spectra.LENGTH - 1)
    gained = np.concatenate(
        [np.zeros((start.size, 1)), np.cumsum(0.5 * GRID * (sent[:, 1:] + sent[:, :-1]), axis=1)],
        axis=1,
    )
    off = gained - height
    bias = (off[:, -8:].mean(axis=1) - off[:, :8].mean(axis=1)) / (span - 7 * GRID)
    value, error = _over_windows(bias, whose, grid.count)
    step = grid.steps.altitude / np.sqrt(12.0) * np.sqrt(2.0 / 8.0) / span
    # h(t) - integral of a rate that lags by tau is tau times the rate.
    flat, rate = spectra.trend_free(-off), spectra.trend_free(sent)
    own = np.bincount(whose, np.sum(flat * rate, axis=1), grid.count)
    power = np.bincount(whose, np.sum(rate**2, axis=1), grid.count)
    with np.errstate(invalid="ignore", divide="ignore"):
        lag = own / power
        left = np.bincount(whose, np.sum((flat - lag[whose, None] * rate) ** 2, axis=1), grid.count)
        number = np.bincount(whose, minlength=grid.count) * spectra.HOP
        lag_error = np.sqrt(left / np.maximum(number, 1) / power * 10.0)
    return {
        "rate_bias": np.stack([value, np.hypot(error, step)]),
        "rate_lag": np.stack([lag, lag_error]),
    }


def _loads(grid: _Grid) -> dict[str, Array]:
    """Extremes of the load factor from the path, over windows of 8 s.

    Source: kinematics of the path without sideslip: n^2 = (1 + dw/dt / g)^2 + (V dchi/dt / g)^2;
        error of a slope of five readings, step / sqrt(12) / (sqrt(10) interval).
    """
    lift = 1.0 + grid.slope(grid.rate, SLOPE - 1) / GRAVITY
    north = grid.flights.values["north_part"]
    east = grid.flights.values["east_part"]
    with np.errstate(invalid="ignore"):
        size = np.maximum(north**2 + east**2, 1e-6)
        turning = (north * grid.slope(east, 2 * SLOPE) - east * grid.slope(north, 2 * SLOPE)) / size
        load = np.hypot(lift, np.nan_to_num(grid.speed * turning) / GRAVITY)
    inside = grid.seen & (grid.above > ABOVE)
    for edge in (grid.first[:-1], grid.first[1:] - 1):
        inside[edge] = False  # the median there would be over two flights
    shifted = np.stack([np.roll(load, k) for k in range(-(EXTREME // 2), EXTREME // 2 + 1)])
    middle = np.sort(shifted, axis=0)[EXTREME // 2]
    signed = np.where(lift < 0.0, -middle, middle)
    high = np.maximum.reduceat(np.where(inside, middle, -np.inf), grid.first[:-1])
    low = np.minimum.reduceat(np.where(inside, signed, np.inf), grid.first[:-1])
    error = grid.rate_step / np.sqrt(12.0) / (np.sqrt(10.0) * GRID * GRAVITY)
    error = np.hypot(error, 0.005)  # of the straight line over 8 s in a curved path; analyst's
    return {
        "load_high": np.stack([np.where(np.isfinite(high), high, np.nan), error]),
        "load_low": np.stack([np.where(np.isfinite(low), low, np.nan), error]),
    }


def _ends(grid: _Grid) -> dict[str, Array]:
    """The last minute of each record."""
    last = grid.first[1:] - 1
    back = np.maximum(last - round(END / GRID), grid.first[:-1])
    span = np.maximum(GRID * (last - back), GRID)
    rate = (grid.height[last] - grid.height[back]) / span
    speed = (grid.speed[last] - grid.speed[back]) / span
    one = np.sqrt(2.0 / 12.0) / span
    return {
        "end_rate": np.stack([rate, one * grid.steps.altitude]),
        "end_speed_change": np.stack([speed, one * grid.steps.speed]),
    }


def _power(grid: _Grid) -> dict[str, Array]:
    """Specific excess power: rate of climb and what the speed gains.

    Source: energy height h + V^2 / (2 g) and its rate (Rutowski, J. Aeronaut. Sci. 21 (1954)
        187-195); here with ground speed, so that a changing wind stands in it.
    """
    power = grid.rate + grid.speed * grid.speed_rate / GRAVITY
    inside = grid.seen & (grid.above > ABOVE)
    found = {}
    for name, where in (
        ("climb_power", grid.mean_rate > CLIMBS),
        ("descent_power", grid.mean_rate < -CLIMBS),
    ):
        use = inside & where & np.isfinite(power)
        mean = grid.mean(power, use)
        spread = np.sqrt(np.maximum(grid.mean(power**2, use) - mean**2, 0.0))
        free = np.bincount(grid.owner, use, grid.count) * GRID / MEMORY
        found[name] = np.stack([mean, spread / np.sqrt(np.maximum(free, 1.0))])
    return found


def _climb_sums(grid: _Grid) -> Array:
    """Sums for the regression of the rate of climb on speed, height and temperature."""
    use = grid.seen & (grid.above > ABOVE) & (grid.mean_rate > CLIMBS) & np.isfinite(grid.speed)
    at = np.flatnonzero(use)
    whose = grid.owner[at]
    height = grid.height[at]
    standard = SEA_LEVEL_TEMPERATURE - LAPSE_RATE * np.minimum(height, TROPOPAUSE)
    warm = np.nan_to_num(grid.flights.values["temperature"][at] - standard)
    terms = [np.ones(at.size), grid.speed[at] / 100.0, height / 1000.0, warm / 10.0]
    rate = grid.rate[at]
    columns = [a * b for a in terms for b in terms] + [a * rate for a in terms]
    columns += [rate**2, np.ones(at.size)]
    sums = [np.bincount(whose, c, grid.count) for c in columns]
    return np.stack(sums, axis=1).astype(float)


def climb_against(sums: Array, family: Array) -> Array:
    """Rate of climb of flights less what a family of flights does at the same conditions.

    Args:
        sums: Of the flights, (F, SUMS).
        family: Of all flights of the family together, (SUMS,).

    Returns:
        m/s and its standard deviation, (2, F).

    Source: least squares by normal equations; a condition that does not vary has no weight.
    """
    square = family[: TERMS * TERMS].reshape(TERMS, TERMS)
    side = family[TERMS * TERMS : TERMS * TERMS + TERMS]
    weights = np.linalg.pinv(square, rcond=1e-10, hermitian=True) @ side
    count = np.maximum(family[-1], 1.0)
    left = max(float(family[-2] - weights @ side), 0.0) / count
    number = sums[:, -1]
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = sums[:, TERMS * TERMS] / number - sums[:, :TERMS] @ weights / number
        error = np.sqrt(left / np.maximum(number * GRID / MEMORY, 1.0))
    return np.where(number > 0, np.stack([mean, error]), np.nan)


def _events(grid: _Grid) -> Array:
    """Departures from a level that is held, with a return to it."""
    level = grid.steady & (np.abs(grid.mean_rate) < CLIMBS)
    begin, end = _runs(level, grid.owner)
    long = GRID * (end - begin) >= STEADY_LEAST
    begin, end = begin[long], end[long]
    if not end.size:
        return np.zeros((0, 3))
    # The running mean ends a stretch before the departure is seen; the level is taken before it.
    sums = np.concatenate([[0.0], np.cumsum(grid.height)])
    held = (sums[end] - sums[begin]) / (end - begin)
    reach = round(LATER / GRID)
    ahead = end[:, None] + np.arange(reach)
    inside = ahead < grid.first[1:][grid.owner[begin]][:, None]
    ahead = np.minimum(ahead, grid.owner.size - 1)
    inside &= grid.seen[ahead]
    rate = np.where(inside, grid.rate[ahead], 0.0)
    away = np.abs(grid.height[ahead] - held[:, None])
    soon = round(SOON / GRID)
    peak = np.abs(rate[:, :soon]).max(axis=1)
    at = np.abs(rate[:, :soon]).argmax(axis=1)
    later = np.arange(reach)[None] > at[:, None] + round(10.0 / GRID)
    back = (inside & later & (away < BACK) & (np.abs(rate) < CLIMBS)).any(axis=1)
    found = (peak >= DEPARTS) & back
    time = GRID * (ahead[np.arange(end.size), at] - grid.first[:-1][grid.owner[begin]])
    worst = rate[np.arange(end.size), at]
    return np.stack([grid.owner[begin].astype(float), time, worst], axis=1)[found]
