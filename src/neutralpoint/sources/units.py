"""Units of track columns: named, read off the header, or settled by the physics of the flight."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Floats
from neutralpoint.quantities import (
    DEGREE,
    FOOT,
    FOOT_PER_MINUTE,
    HOUR,
    KNOT,
    STATUTE_MILE,
)
from neutralpoint.track import quantization_step
from neutralpoint.vocabulary import QUANTITIES

KMH, MPH = 1000.0 / HOUR, STATUTE_MILE / HOUR

# Factor to SI of each unit that a column may have.
FACTORS = {
    "ft": FOOT, "m": 1.0, "FL": 100.0 * FOOT, "deg": DEGREE, "rad": 1.0, "kt": KNOT, "m/s": 1.0,
    "km/h": KMH, "mph": MPH, "ft/min": FOOT_PER_MINUTE, "ft/s": FOOT,
}  # fmt: skip
UNITS: dict[str, dict[str, float]] = {
    q.name: {unit: FACTORS[unit] for unit in q.column_units}
    for q in QUANTITIES.values()
    if q.column_units
}
ALTITUDE = UNITS["pressure_altitude"]
HEADER_WORDS = {
    "ft": "ft", "feet": "ft", "foot": "ft", "m": "m", "meters": "m", "metres": "m", "meter": "m",
    "metre": "m", "fl": "FL", "kt": "kt", "kts": "kt", "knot": "kt", "knots": "kt", "mps": "m/s",
    "ms": "m/s", "m/s": "m/s", "kmh": "km/h", "kph": "km/h", "km/h": "km/h", "mph": "mph",
    "fpm": "ft/min", "ftmin": "ft/min", "ft/min": "ft/min", "ftpm": "ft/min", "ft/s": "ft/s",
    "fps": "ft/s", "deg": "deg", "degree": "deg", "degrees": "deg", "rad": "rad",
}  # fmt: skip
# Misfit of ln(ratio) at which a unit fits, and which the next best must exceed. Knots and mph lie
# 0.14 apart, heights and vertical rates at least 1.2; a lagged rate may miss its height by 0.2.
CLOSE = {"ground_speed": 0.06}
APART = {"ground_speed": 0.08}
CLOSE_HEIGHT, APART_HEIGHT = 0.3, 0.6
WINDOW = 8.0  # s over which positions and heights are compared with rates
LONGEST_WINDOW = 60.0
FEWEST_WINDOWS = 4
ENCODER_STEPS_FT = (12.5, 25.0, 50.0, 100.0)  # ft: Mode C is 100 ft, Mode S 25 ft


@dataclass(frozen=True)
class Settled:
    """The unit of a column and how it is known.

    Attributes:
        unit: One of the units of `UNITS` for the role.
        factor: To SI.
        said: The reason, in a sentence.
    """

    unit: str
    factor: float
    said: str


def named_unit(role: str, unit: str, where: str) -> str:
    """A unit that the case names, as it is spelled here.

    Args:
        role: Key of `UNITS`.
        unit: As written in the case.
        where: Case key, for errors.

    Returns:
        The unit's key in `UNITS[role]`.

    Raises:
        NeutralPointError: `quantity-unit` where the role cannot have that unit.
    """
    known = HEADER_WORDS.get(unit.strip().lower(), unit.strip())
    if known in UNITS[role]:
        return known
    raise NeutralPointError(
        "quantity-unit",
        f"The unit {unit!r} was given for {role}.",
        where=where,
        hint=f"Allowed: {', '.join(UNITS[role])}; or leave it out to have it found.",
    )


def header_unit(role: str, header: str | None) -> str | None:
    """The unit that a column's name says, such as `altitude_ft` or `Speed (kt)`.

    Args:
        role: Key of `UNITS`.
        header: Name of the column; None in a file without a header.

    Returns:
        The unit; None where the name says none, or several.
    """
    if header is None:
        return None
    words = re.split(r"[\s_()\[\],.:-]+", header.strip().lower())
    found = {HEADER_WORDS[w] for w in words[1:] if HEADER_WORDS.get(w) in UNITS[role]}
    return found.pop() if len(found) == 1 else None


def windows(time: Floats) -> list[tuple[int, int]]:
    """Stretches over which a change is compared with a rate.

    Args:
        time: s, shape (n,).

    Returns:
        Index pairs at least `WINDOW` and at most `LONGEST_WINDOW` apart, one after the other.
    """
    pairs, first = [], 0
    for k in range(1, time.size):
        lapse = time[k] - time[first]
        if lapse >= WINDOW:
            if lapse <= LONGEST_WINDOW:
                pairs.append((first, k))
            first = k
    return pairs


def speed_ratio(time: Floats, place: Floats, speed: Floats) -> float | None:
    """Metres flown for each unit of speed and second.

    Args:
        time: s, shape (n,).
        place: Metres north and east, shape (n, 2).
        speed: Ground speed in the unit looked for, shape (n,).

    Returns:
        The ratio; None where too little was flown to tell.
    """
    ratios = []
    for first, last in windows(time):
        flown = float(np.linalg.norm(place[last] - place[first]))
        said = float(np.trapezoid(speed[first : last + 1], time[first : last + 1]))
        if flown > 100.0 and said > 0.0:
            ratios.append(flown / said)
    return float(np.median(ratios)) if len(ratios) >= FEWEST_WINDOWS else None


def height_ratio(time: Floats, altitude: Floats, rate: Floats) -> float | None:
    """Units of altitude gained for each unit of vertical rate and second.

    Args:
        time: s, shape (n,).
        altitude: In the unit looked for, shape (n,).
        rate: In the unit looked for, shape (n,).

    Returns:
        The ratio, by which noise in either does not pull; None where the airplane hardly climbed
        or the two do not go together.
    """
    pairs = windows(time)
    if len(pairs) < FEWEST_WINDOWS:
        return None
    gained = np.array([altitude[b] - altitude[a] for a, b in pairs])
    said = np.array([np.trapezoid(rate[a : b + 1], time[a : b + 1]) for a, b in pairs])
    moved = (gained**2).sum() * (said**2).sum()
    together = float((gained * said).sum())
    if moved <= 0.0 or together / np.sqrt(moved) < 0.8:
        return None
    return float(np.sqrt((gained**2).sum() / (said**2).sum()))


def fit_unit(role: str, ratio: float | None) -> tuple[str, float] | None:
    """The unit whose factor fits a measured ratio, and the misfit of it.

    Args:
        role: Key of `UNITS`.
        ratio: SI units for each unit of the column.

    Returns:
        Unit and ln(ratio / factor); None where none fits or two do.
    """
    if ratio is None or ratio <= 0.0:
        return None
    off = sorted((abs(np.log(ratio / f)), u) for u, f in UNITS[role].items())
    close, apart = CLOSE.get(role, CLOSE_HEIGHT), APART.get(role, APART_HEIGHT)
    if off[0][0] > close or off[1][0] < apart:
        return None
    return off[0][1], float(off[0][0])


def fit_pair(altitude_role: str, ratio: float | None) -> tuple[str, str] | None:
    """Units of altitude and vertical rate that go together.

    Args:
        altitude_role: Key of `UNITS` of the altitude.
        ratio: Units of altitude for each unit of rate and second.

    Returns:
        Unit of the altitude and of the rate; None where none fits or two pairs do.
    """
    if ratio is None or ratio <= 0.0:
        return None
    off = sorted(
        (abs(np.log(ratio * a / r)), ua, ur)
        for ua, a in UNITS[altitude_role].items()
        for ur, r in UNITS["vertical_rate"].items()
        if (ua, ur) not in {("ft", "ft/s"), ("FL", "ft/s")}  # no source writes these pairs
    )
    if off[0][0] > CLOSE_HEIGHT or off[1][0] < APART_HEIGHT:
        return None
    return off[0][1], off[0][2]


def lattice_unit(values: Floats) -> str | None:
    """The altitude unit that an encoder's step shows: 25 or 100 ft whatever it is printed in.

    Args:
        values: Altitudes in the unit looked for, shape (n,), NaN where absent.

    Returns:
        The unit; None where no such step is visible.
    """
    step = quantization_step(values)
    if step == 0.0:
        return None
    for unit, factor in ALTITUDE.items():
        in_feet = step * factor / FOOT
        if any(abs(in_feet / known - 1.0) < 0.004 for known in ENCODER_STEPS_FT) and (
            unit != "FL" or np.nanmax(values) < 700.0
        ):
            return unit
    return None
