"""Quantities as an analyst writes them: `"10 900 lb +- 150 lb"`, `"235 kt"`, `"5 degC ± 1"`.

The value after `+-` is the half-width of a 95% interval (expanded uncertainty with k = 2, JCGM
100:2008, GUM, 6.2 and G.6.6), so the standard deviation is half of it.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from neutralpoint.errors import NeutralPointError

if TYPE_CHECKING:
    import pint

LONGEST = 100  # characters
BLANKS = "\u00a0\u2009\u202f\u2007"
GROUPED = r"\d{1,3}(?:[ ,'\u2019]\d{3})+(?!\d)(?:\.\d+)?"
UNIT = r"(?:1\s*/)?[A-Za-zµ°%/][^+±]*?"
NUMBER = rf"[+-]?(?:{GROUPED}|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{{1,3}})?)"
PATTERN = re.compile(
    rf"\s*({NUMBER})\s*({UNIT})?\s*(?:(?:\+-|\+/-|±)\s*({NUMBER})\s*({UNIT})?\s*)?"
)
FLIGHT_LEVEL = re.compile(r"\s*FL\s?(\d{1,3})\s*(?:(?:\+-|\+/-|±)\s*(.+))?")
FACTOR = re.compile(r"([A-Za-zµ°%Ω_]+?)(?:\*\*|\^)?(-?[1-9])?")
SUPERSCRIPTS = str.maketrans("⁻¹²³⁴", "-1234")
# Spellings of the trade that pint does not know or reads as something else (mb, NM, g).
SPELLINGS = {
    "°": "degree",
    "fpm": "foot/minute",
    "kmh": "km/hour",
    "kph": "km/hour",
    "kts": "knot",
    "lbs": "pound",
    "mb": "millibar",
    "nm": "nautical_mile",
    "NM": "nautical_mile",
    "sm": "mile",
    "min": "minute",
    "s": "second",
}
COMMON = (
    "m", "ft", "in", "nmi", "km", "m/s", "kt", "km/h", "mph", "ft/min", "kg", "lb", "slug", "N",
    "lbf", "Pa", "hPa", "inHg", "mbar", "psi", "K", "degC", "degF", "deg", "rad", "deg/s", "s",
    "min", "h", "W", "kW", "hp", "m2", "ft2", "kg m2", "slug ft2", "lb ft2", "1/rad", "1/deg", "%",
)  # fmt: skip


@dataclass(frozen=True)
class Uncertain:
    """A value with its standard deviation, SI units and radians.

    Attributes:
        value: Most likely value.
        sigma: Standard deviation; 0 where no +- was given.
        text: As the analyst wrote it.
    """

    value: float
    sigma: float = 0.0
    text: str = ""


def parse_quantity(
    text: object, unit: str, where: str = "quantity", *, difference: bool = False
) -> Uncertain:
    """Read a quantity.

    Args:
        text: As written; a bare number is taken only where no unit is needed.
        unit: SI unit it is wanted in, such as `m/s`, `kg m2` or `rad`; empty for a pure number.
        where: Case key, for errors.
        difference: Whether the zero of the unit does not count: `2 degC` is 2 K then.

    Returns:
        Value and standard deviation in `unit`, and the text.

    Raises:
        NeutralPointError: `quantity-invalid` where it is no quantity, `quantity-unit` where its
            dimension is not that of `unit`.
    """
    if isinstance(text, int | float) and not isinstance(text, bool):
        return _bare(text, unit, where)
    if not isinstance(text, str):
        raise _invalid(repr(text)[:40], unit, where)
    clean = _cleaned(text)
    level = FLIGHT_LEVEL.fullmatch(clean)
    if level is not None:
        spread = f" +- {level[2]}" if level[2] else ""
        clean = f"{100 * int(level[1])} ft{spread}"
    match = PATTERN.fullmatch(clean) if len(text) <= LONGEST else None
    if match is None:
        raise _invalid(repr(text[:40]), unit, where)
    number, name, spread, spread_name = match.groups()
    value = _to_si(_number(number), name or "", unit, text, where)
    if difference:
        value -= _to_si(0.0, name or "", unit, text, where)
    if spread is None:
        return Uncertain(value, 0.0, text)
    half = _half_width(value, name or "", _number(spread), spread_name or "", unit, text, where)
    return Uncertain(value, 0.5 * abs(half), text)


def _cleaned(text: str) -> str:
    for blank in BLANKS:
        text = text.replace(blank, " ")
    return text.replace("\u2212", "-").translate(SUPERSCRIPTS)


def _number(text: str) -> float:
    return float(re.sub(r"[ ,'\u2019]", "", text))


def _half_width(
    value: float, name: str, spread: float, spread_name: str, unit: str, text: str, where: str
) -> float:
    """Half-width in the SI unit: with its own unit, the value's, or as a percentage of it."""
    if spread_name == "%" and name != "%":
        return value * spread / 100.0
    own = spread_name or name
    return _to_si(spread, own, unit, text, where) - _to_si(0.0, own, unit, text, where)


def _bare(number: float, unit: str, where: str) -> Uncertain:
    try:
        value = float(number)
    except OverflowError as large:
        raise _invalid("A number of hundreds of digits", unit, where) from large
    if unit or not math.isfinite(value):
        raise _invalid(f"{value:g}", unit, where)
    return Uncertain(value, 0.0, f"{value:g}")


def _to_si(value: float, name: str, unit: str, text: str, where: str) -> float:
    found, wanted = _unit(name, text, where), _unit(unit, unit, where)
    if not _fits(found, wanted):
        raise NeutralPointError(
            "quantity-unit",
            f"{text!r} has {f'the unit {name!r}' if name else 'no unit'}, "
            f"but {unit or 'a pure number'} is wanted.",
            where=where,
            hint=f"Allowed are units such as {', '.join(_like(wanted)) or unit}.",
        )
    registry = _registry()
    converted = registry.Quantity(value, found).to_base_units().magnitude
    if not math.isfinite(converted):
        raise _invalid(repr(text[:40]), unit, where)
    scale = registry.Quantity(1.0, wanted).to_base_units().magnitude
    return float(converted if wanted == registry.kelvin else converted / scale)


@cache
def _registry() -> pint.UnitRegistry:
    import pint  # slow to load, and not needed before the first quantity

    return pint.UnitRegistry(cache_folder=None, autoconvert_offset_to_baseunit=True)


# Measured against pint's own parser of units: it does not know `kg m2`, takes `(m)`, fails on `m*`
# with an assertion and does not come back from `9**9**9`. So the factors are split here.
@cache
def _known(name: str) -> pint.Unit | None:
    """A unit from its text; None where a part of it is no unit."""
    registry = _registry()
    unit = registry.Unit("")
    power = 1
    for part in re.findall(r"[^\s/*·]+(?:\*\*-?\d)?|/", name):
        if part == "/":
            power = -1
            continue
        if part == "1":
            continue
        match = FACTOR.fullmatch(part)
        if match is None:
            return None
        factor = _named(SPELLINGS.get(match[1], match[1]))
        if factor is None:
            return None
        unit = unit * factor ** (power * int(match[2] or 1))
    return unit


def _named(name: str) -> pint.Unit | None:
    import pint

    try:
        return _registry().Unit(name)
    except (pint.errors.PintError, ValueError, TypeError, AttributeError, KeyError):
        return None


def _unit(name: str, text: str, where: str) -> pint.Unit:
    found = _known(name.strip()) if len(name) <= LONGEST else None
    if found is None:
        near = difflib.get_close_matches(name.strip(), COMMON, n=2, cutoff=0.4)
        raise NeutralPointError(
            "quantity-invalid",
            f"{text[:60]!r} has the unknown unit {name.strip()[:30]!r}.",
            where=where,
            hint=f"Did you mean {' or '.join(near)}?"
            if near
            else f"Units are written like {', '.join(COMMON[:12])}.",
        )
    return found


def _fits(found: pint.Unit, wanted: pint.Unit) -> bool:
    """Same dimension and same power of the angle; a pure number may also be given per angle."""
    if found.dimensionality != wanted.dimensionality:
        return False
    pure = wanted.dimensionless and _angle(wanted) == 0
    return _angle(found) == _angle(wanted) or (pure and _angle(found) == -1)


@cache
def _angle(unit: pint.Unit) -> float:
    """Power of the radian in a unit, which pint leaves out of dimensions."""
    powers: dict[str, Any] = dict(_registry().Quantity(1.0, unit).to_base_units().unit_items())
    return float(powers.get("radian", 0))


def _like(wanted: pint.Unit) -> list[str]:
    return [name for name in COMMON if (unit := _known(name)) is not None and _fits(unit, wanted)]


def _invalid(found: str, unit: str, where: str) -> NeutralPointError:
    example = f"`10.5 {unit} +- 0.2 {unit}`" if unit else "`0.5 +- 0.1`"
    return NeutralPointError(
        "quantity-invalid",
        f"{found} is not a quantity.",
        where=where,
        hint=f"Write text with a number, a unit and an optional +-, like {example}; "
        "the decimal mark is a point.",
    )
