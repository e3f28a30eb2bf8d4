"""Settle the unit of every column: named first, then the header, then physics."""

from __future__ import annotations

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, EARTH_RADIUS
from neutralpoint.sources.column_map import ColumnMap
from neutralpoint.sources.units import (
    UNITS,
    Floats,
    Settled,
    fit_pair,
    fit_unit,
    header_unit,
    height_ratio,
    lattice_unit,
    named_unit,
    speed_ratio,
)

# Misfit of ln(ratio) beyond which a named unit is doubted; vertical rates lag and are noisy.
SPEED_DISAGREES, RATE_DISAGREES = 0.10, 0.30
TURNED = 3.0 * DEGREE  # median difference from the movement beyond which a track is doubted


def settle_units(
    time: Floats, raw: dict[str, Floats], columns: ColumnMap, where: str
) -> tuple[dict[str, Settled], tuple[str, ...], tuple[NeutralPointError, ...]]:
    """Units of all value columns.

    Args:
        time: Row times, s, shape (n,).
        raw: Values by role in the file's units, shape (n,) each, NaN where absent.
        columns: Column map with the units named.
        where: Name of the file, for errors.

    Returns:
        Unit of each role, what was found in sentences, and warnings where physics disagrees.

    Raises:
        NeutralPointError: `quantity-unit` for a unit of the wrong dimension, `column-unit` where
            a unit stays open.
    """
    settled = {
        role: found for role in raw if (found := _told(role, raw[role], columns, where)) is not None
    }
    warnings: list[NeutralPointError] = []
    place = _place(raw, settled)
    _settle_speed(time, raw, place, settled, warnings, where)
    for role in ("pressure_altitude", "geometric_altitude"):
        if role in raw:
            _settle_height(role, time, raw, settled, warnings, where)
    if "vertical_rate" in raw and "vertical_rate" not in settled:
        raise _open("vertical_rate", "it does not follow any altitude of the track", where)
    _check_direction(time, raw, place, settled, warnings, where)
    said = tuple(f"{role}: {settled[role].unit}, {settled[role].said}." for role in raw)
    return settled, said, tuple(warnings)


def _told(role: str, values: Floats, columns: ColumnMap, where: str) -> Settled | None:
    """The unit as named in the case, as written in the header, or plain for an angle."""
    column = columns.columns[role]
    if column.unit is not None:
        unit = named_unit(role, column.unit, f"{where}: column map, {role}")
        return Settled(unit, UNITS[role][unit], column.origin)
    if (
        unit := header_unit(role, column.name if isinstance(column.name, str) else None)
    ) is not None:
        return Settled(unit, UNITS[role][unit], "from the header")
    if role in ("latitude", "longitude"):
        return Settled("deg", DEGREE, "assumed")
    if role == "track_angle":
        known = values[np.isfinite(values)]
        turn = float(np.abs(known).max()) if known.size else 0.0
        if turn > 2.0 * np.pi + 0.01:
            return Settled("deg", DEGREE, f"as it reaches {turn:.0f}")
        if known.size and known.min() < 0.0 and turn <= np.pi + 0.01:
            return Settled("rad", 1.0, "as it stays within one half turn of 0")
        return Settled("deg", DEGREE, "assumed")
    return None


def _place(raw: dict[str, Floats], settled: dict[str, Settled]) -> Floats | None:
    if "latitude" not in raw or "longitude" not in raw:
        return None
    latitude = raw["latitude"] * settled["latitude"].factor
    longitude = raw["longitude"] * settled["longitude"].factor
    if not np.isfinite(latitude + longitude).any():
        return None
    origin = longitude[np.isfinite(longitude)][0]
    turn = np.mod(longitude - origin + np.pi, 2.0 * np.pi) - np.pi
    middle = np.nanmedian(latitude)
    return EARTH_RADIUS * np.column_stack([latitude - middle, turn * np.cos(middle)])


def _settle_speed(time, raw, place, settled, warnings, where) -> None:
    if "ground_speed" not in raw:
        return
    ratio = None
    if place is not None:
        both = np.isfinite(raw["ground_speed"]) & np.isfinite(place).all(axis=1)
        ratio = speed_ratio(time[both], place[both], raw["ground_speed"][both])
    found = fit_unit("ground_speed", ratio)
    if "ground_speed" not in settled:
        if found is None:
            reason = (
                "too little was flown between positions to tell"
                if ratio is None
                else f"the positions move {ratio:.3f} m for each unit and second, which fits none"
            )
            raise _open("ground_speed", reason, where)
        settled["ground_speed"] = Settled(
            found[0],
            UNITS["ground_speed"][found[0]],
            f"as it fits the distance flown within {100 * found[1]:.1f}%",
        )
    elif ratio is not None:
        _doubt("ground_speed", ratio, settled, "the distance flown", warnings, where)


def _settle_height(role, time, raw, settled, warnings, where) -> None:
    ratio = None
    if "vertical_rate" in raw:
        both = np.isfinite(raw[role]) & np.isfinite(raw["vertical_rate"])
        ratio = height_ratio(time[both], raw[role][both], raw["vertical_rate"][both])
    if role not in settled:
        settled[role] = _height_unit(role, ratio, raw[role], settled, where)
    if "vertical_rate" not in raw:
        return
    factor = settled[role].factor
    if "vertical_rate" not in settled:
        found = fit_unit("vertical_rate", None if ratio is None else ratio * factor)
        if found is not None:
            settled["vertical_rate"] = Settled(
                found[0],
                UNITS["vertical_rate"][found[0]],
                f"as it fits the {role.replace('_', ' ')} within {100 * found[1]:.1f}%",
            )
    elif ratio is not None:
        told = settled["vertical_rate"].factor / ratio  # of the altitude, were the rate right
        _doubt(
            "vertical_rate", ratio * factor, settled, f"the {role}", warnings, where, (role, told)
        )


def _height_unit(role, ratio, values, settled, where) -> Settled:
    units = UNITS[role]
    if ratio is not None and "vertical_rate" in settled:
        found = fit_unit(role, settled["vertical_rate"].factor / ratio)
        if found is not None:
            return Settled(found[0], units[found[0]], "as it fits the vertical rate")
    lattice = lattice_unit(values)
    pair = fit_pair(role, ratio) if "vertical_rate" not in settled else None
    if pair is not None and lattice in (None, pair[0]):
        return Settled(pair[0], units[pair[0]], f"as it fits a vertical rate in {pair[1]}")
    if lattice is not None:
        return Settled(lattice, units[lattice], "as it moves in the steps of an encoder")
    raise _open(role, "neither its steps nor a vertical rate settle it", where)


def _doubt(role, ratio, settled, against, warnings, where, other=None) -> None:
    """Warn where a unit told differs from what physics says; note where they agree."""
    told = settled[role]
    off = abs(float(np.log(ratio / told.factor))) if ratio > 0.0 else np.inf
    if off <= (SPEED_DISAGREES if role == "ground_speed" else RATE_DISAGREES):
        said = f"{told.said}; {against} agrees within {100 * off:.1f}%"
        settled[role] = Settled(told.unit, told.factor, said)
        return
    fitting = [(role, fit_unit(role, ratio)), *([(other[0], fit_unit(*other))] if other else [])]
    better = " or ".join(f"{found[0]} for {name}" for name, found in fitting if found)
    warnings.append(
        NeutralPointError(
            "column-unit",
            f"{role} is read in {told.unit} ({told.said}), but {against} gives "
            f"{ratio / told.factor:.3f} of it.",
            where=where,
            hint=f"The unit {better} would fit." if better else "No known unit fits better.",
        )
    )


def _check_direction(time, raw, place, settled, warnings, where) -> None:
    """Warn where the track angle does not point along the movement: heading or magnetic?"""
    if "track_angle" not in raw or place is None:
        return
    both = np.isfinite(raw["track_angle"]) & np.isfinite(place).all(axis=1)
    stamp, spot = time[both], place[both]
    angle = raw["track_angle"][both] * settled["track_angle"].factor
    if stamp.size < 8:
        return
    lapse = stamp[2:] - stamp[:-2]
    move = spot[2:] - spot[:-2]
    usable = (lapse > 0.5) & (lapse < 20.0) & (np.linalg.norm(move, axis=1) > 100.0)
    if usable.sum() < 8:
        return
    off = np.arctan2(move[:, 1], move[:, 0]) - angle[1:-1]
    off = np.mod(off[usable] + np.pi, 2.0 * np.pi) - np.pi
    middle = float(np.median(off))
    if abs(middle) > TURNED:
        warnings.append(
            NeutralPointError(
                "column-unit",
                f"The track angle differs from the movement by {middle / DEGREE:.1f} degrees.",
                where=where,
                hint="It may be a heading or a magnetic direction; leave the column out if so.",
            )
        )


def _open(role: str, reason: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "column-unit",
        f"The unit of {role} is not named, and {reason}.",
        where=where,
        hint=f"Name it in the column map: one of {', '.join(UNITS[role])}.",
    )
