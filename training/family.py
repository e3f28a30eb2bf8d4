"""Airplanes to learn on: those of the catalogue and a broad family drawn at random around them.

Every one is an airplane file with other numbers, so that the handbook estimates keep it consistent:
a longer tail gives more damping, a larger elevator more force. All spreads are the analyst's.
"""

from __future__ import annotations

import copy
import re
import tomllib

import numpy as np
from places import Kind

from neutralpoint.airplane_file.build import DescribedAirplane, build_airplane
from neutralpoint.airplane_file.catalogue import CATALOGUE
from neutralpoint.airplane_file.document import AirplaneDocument
from neutralpoint.errors import NeutralPointError

NUMBER = re.compile(r"(?<![\w.])[-+]?\d[\d,]*\.?\d*(?![\w.])")
LENGTHS = (
    *("span", "chord_station", "depth", "length", "width", "height", "chord", "diameter"),
    *("station", "side", "pivot_arm", "elevator_pivot_arm"),
)
MOMENTS = ("load_moment", "stall_moment")
HAND_TRIMMED = 0.4  # of light singles, trimmed by a wheel alone


def _scaled(text: str, factor: float) -> str:
    """A quantity with its band, times a factor."""
    return NUMBER.sub(lambda m: f"{float(m[0].replace(',', '')) * factor:.6g}", text)


def _moved(text: str, by: float) -> str:
    """A quantity with something in its own unit added; the band stays."""
    return NUMBER.sub(lambda m: f"{float(m[0].replace(',', '')) + by:.6g}", text, count=1)


def _size(part: object, length: float, mass: float) -> object:
    """Everything with a length, area or mass in it, larger or smaller."""
    if isinstance(part, list):
        return [_size(entry, length, mass) for entry in part]
    if isinstance(part, str):
        if part.endswith("kg"):
            return _scaled(part, mass)
        return _scaled(part, length) if part.endswith(" m") else part
    if not isinstance(part, dict):
        return part
    found = {}
    for name, value in part.items():
        if isinstance(value, str) and name == "area":
            found[name] = _scaled(value, length**2)
        elif isinstance(value, str) and name in MOMENTS:
            found[name] = _scaled(value, length * mass)
        elif isinstance(value, str) and name in LENGTHS:
            found[name] = _scaled(value, length)
        elif isinstance(value, str) and name == "mass":
            found[name] = _scaled(value, mass)
        else:
            found[name] = _size(value, length, mass)
    return found


def _as_kind(table: dict, kind: Kind) -> None:
    """Engines, trim and column of a kind."""
    first = table["engines"][0]
    if kind.engine == "turboprop" and first["kind"] == "piston":
        first |= {"kind": "turboprop", "flat_rating": "1.3", "lag": "1.5 s"}
        first["power"] = _scaled(first["power"], 1.5)
        table["limits"]["never_exceed_speed"] = "190 kt"
    if kind.engines == 2 and len(table["engines"]) == 1:
        first["power"] = _scaled(first["power"], 0.75)
        first |= {"side": "-1.9 m", "feather_drag": "0.02", "station": "1.7 m"}
        table["engines"] = [first, first | {"side": "1.9 m"}]
    trim = table["trim"]
    if kind.trim == "tab" and trim["kind"] == "stabilizer":
        for name in ("pivot_arm", "elevator_pivot_arm", "load_moment", "stall_moment"):
            trim.pop(name, None)
        trim |= {"kind": "tab", "travel_min": "-12 deg", "travel_max": "16 deg"}
        trim |= {"rate": "1.5 deg/s", "loaded_rate": "1.4 deg/s", "autopilot_rate": "0.6 deg/s"}
        table["aerodynamics"]["given"] |= {
            "Ch_tab": "-0.25 +- 0.07", "CL_tab": "0.03", "Cm_tab": "-0.10"
        }  # fmt: skip
    elif trim["kind"] == "tab":
        trim |= {"rate": "1.5 deg/s", "loaded_rate": "1.5 deg/s", "autopilot_rate": "0.7 deg/s"}
    if not kind.reversible:
        table["column"] |= {
            "reversible": False, "spring_rate": "-150 N/rad", "feel_rate": "-0.12 N/rad/Pa"
        }  # fmt: skip


def varied(kind: Kind, rng: np.random.Generator, wide: float = 1.0) -> dict:
    """An airplane file of a kind with other numbers.

    Args:
        kind: Which.
        rng: Source of chance.
        wide: Factor on the spread of everything; 0 for the middle of the kind.

    Returns:
        As read from TOML.
    """
    table = tomllib.loads((CATALOGUE / f"{kind.base}.toml").read_text("utf-8"))
    table = copy.deepcopy({name: part for name, part in table.items() if name != "sources"})
    _as_kind(table, kind)

    def factor(spread: float) -> float:
        return float(np.exp(wide * spread * rng.standard_normal()))

    def by(spread: float) -> float:
        return float(wide * spread * rng.standard_normal())

    length = kind.size * factor(kind.spread)
    mass = length**2.3 * factor(0.12)  # wing loading grows with size
    table = _size(table, length, mass)
    _change(table, factor, by, mass, length)
    wheel_only = kind.engine == "piston" and kind.engines == 1
    if wheel_only and (wide == 0.0 or rng.random() < HAND_TRIMMED):
        for name in ("rate", "loaded_rate", "autopilot_rate"):
            table["trim"].pop(name, None)
    return table


def _change(table: dict, factor, by, mass: float, length: float) -> None:
    """Draw what size does not settle."""
    wing, tail, aero, trim = (table[n] for n in ("wing", "tail", "aerodynamics", "trim"))
    wing["span"] = _scaled(wing["span"], factor(0.06))
    tail["area"] = _scaled(tail["area"], factor(0.12))
    tail["chord_station"] = _moved(tail["chord_station"], by(0.35) * length)
    elevator, column = table["elevator"], table["column"]
    elevator["area"] = _scaled(elevator["area"], factor(0.12))
    elevator["chord"] = _scaled(elevator["chord"], factor(0.08))
    elevator["up"] = _scaled(elevator["up"], factor(0.12))
    elevator["down"] = _scaled(elevator["down"], factor(0.12))
    column["gearing"] = _scaled(column["gearing"], factor(0.15) / length)
    for name in ("bobweight", "spring"):
        if name in column:
            column[name] = _scaled(column[name], factor(0.5))
    for name in ("spring_rate", "feel_rate"):
        if name in column:
            column[name] = _scaled(column[name], factor(0.4))
    for name, spread in (("CD_0", 0.15), ("oswald", 0.05), ("stall_angle", 0.08)):
        aero[name] = _scaled(aero[name], factor(spread))
    aero["neutral_point_shift"] = _moved(aero["neutral_point_shift"], by(0.03))
    for name in aero["given"]:
        spread = 0.25 if name.startswith("Ch") else 0.15
        aero["given"][name] = _scaled(aero["given"][name], factor(spread))
    power = mass * factor(0.2)
    for engine in table["engines"]:
        for name in ("power", "thrust"):
            if name in engine:
                engine[name] = _scaled(engine[name], power)
    motor = factor(0.4)
    for name in ("rate", "loaded_rate", "autopilot_rate"):
        if name in trim:
            trim[name] = _scaled(trim[name], motor)
    for name in ("travel_min", "travel_max"):
        trim[name] = _scaled(trim[name], factor(0.2))
    table["limits"]["never_exceed_speed"] = _scaled(
        table["limits"]["never_exceed_speed"], factor(0.08) * (mass / length**2) ** 0.5
    )


def draw_family(
    kind: Kind, rng: np.random.Generator, count: int, wide: float = 1.0
) -> list[DescribedAirplane]:
    """Airplanes of a kind that the program takes for airplanes.

    Args:
        kind: Which.
        rng: Source of chance.
        count: How many; the first is the middle of the kind, for three of them the catalogue's own.
        wide: Factor on all spreads.

    Returns:
        The airplanes.
    """
    found: list[DescribedAirplane] = []
    while len(found) < count:
        table = varied(kind, rng, wide if found else 0.0)
        try:
            document = AirplaneDocument.model_validate(table)
            found.append(build_airplane(document, kind.base))
        except (NeutralPointError, ValueError):
            if not found:
                raise
    return found
