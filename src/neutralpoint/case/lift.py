"""The airplane that a case names, and mass and lift line from it or from the case."""

from __future__ import annotations

import dataclasses
import hashlib
import math
from pathlib import Path

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane_file.build import DescribedAirplane, build_airplane, load_airplane
from neutralpoint.airplane_file.catalogue import CATALOGUE, catalogue_names
from neutralpoint.airplane_file.document import parse_airplane
from neutralpoint.case.case import LoadedSource, Taken
from neutralpoint.case.document import LIFT_KEYS, AirplaneEntry
from neutralpoint.case.files import read_source
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.dynamics.aerodynamics import Flow, lift_and_moment
from neutralpoint.dynamics.state import make_inputs
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import LiftData
from neutralpoint.motion.lift import compressible_slope_ratio
from neutralpoint.quantities import DEGREE

# Where the airplane file does not say: the line that pitch is read from against the datum line, one
# standard deviation. On recorded flights of a type whose lift line was taken from a document, pitch
# was off by +1.1 to +1.7 deg. Analyst's.
REFERENCE_LINE = 1.25 * DEGREE
# What the load on the tail, which the centre of gravity and the trim decide, adds to the angle of
# attack at a lift coefficient: a tail that carries 5% of the weight either way. Analyst's.
TAIL_LOAD = 0.3 * DEGREE
EFFECTS = {
    "mass": "Lift coefficient, angle of attack, pitch.",
    "cg_station": "What a moment of the wing's lift is counted about.",
    "wing_area": "Lift coefficient, angle of attack, pitch.",
    "lift_slope": "Angle of attack and pitch.",
    "zero_lift_angle": "Angle of attack and pitch, by the same amount.",
    "maximum_lift": "Where the airplane is stated to be near its stall.",
    "fuel_flow": "Mass late in the track.",
}


def read_described(
    folder: Path, entry: AirplaneEntry, place: str
) -> tuple[DescribedAirplane | None, tuple[LoadedSource, ...]]:
    """The airplane file of a case, or the catalogue airplane that it names.

    Args:
        folder: The case folder.
        entry: What the case says of the airplane.
        place: Case key that names the file, for errors.

    Returns:
        The airplane, loaded as the case says where it does, and the file; None and nothing
        where no file is named.

    Raises:
        NeutralPointError: The file is missing or refused.
    """
    if entry.file is None:
        return None, ()
    if entry.file in catalogue_names():
        data, name = (CATALOGUE / f"{entry.file}.toml").read_bytes(), f"catalogue: {entry.file}"
        described = load_airplane(entry.file)
    else:
        file = read_source(folder, entry.file, place)
        data, name = file.data, file.path
        described = build_airplane(parse_airplane(_text(data, name), name), name)
    source = LoadedSource("airplane", name, hashlib.sha256(data).hexdigest(), len(data))
    return _loaded(described, entry), (source,)


def _text(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as broken:
        raise NeutralPointError(
            "file-format",
            f"{name} is not UTF-8 at byte {broken.start}.",
            where=name,
            hint="An airplane file is TOML in UTF-8.",
        ) from broken


def _loaded(described: DescribedAirplane, entry: AirplaneEntry) -> DescribedAirplane:
    """Mass, with the inertia in proportion, and centre of gravity as the case gives them."""
    mass, sigma = described.airplane.mass, dict(described.uncertainty.sigma)
    if entry.mass is not None:
        _positive("mass", entry.mass)
        ratio = entry.mass.value / float(mass.mass)
        names = ("mass", "roll_inertia", "pitch_inertia", "yaw_inertia", "cross_inertia")
        scaled = {name: getattr(mass, name) * ratio for name in names}
        mass = dataclasses.replace(mass, **scaled)
        sigma["mass"] = entry.mass.sigma / entry.mass.value
    if entry.cg_station is not None:
        mass = dataclasses.replace(mass, cg_station=entry.cg_station.value)
        sigma["cg_station"] = entry.cg_station.sigma
    return dataclasses.replace(
        described,
        airplane=dataclasses.replace(described.airplane, mass=mass),
        uncertainty=dataclasses.replace(described.uncertainty, sigma=sigma),
    )


def largest_lift(airplane: Airplane) -> float:
    """Largest lift coefficient, flaps up, at the Mach number of the derivatives.

    Args:
        airplane: The airplane.

    Returns:
        The coefficient, surfaces neutral.
    """
    lon = airplane.longitudinal
    alpha = np.linspace(0.0, float(lon.stall_angle) + 2.0 * float(lon.stall_width), 200)
    one, none = np.ones_like(alpha), np.zeros_like(alpha)
    flow = Flow(
        speed=one,
        plane_speed=one,
        alpha=alpha,
        sin_alpha=np.sin(alpha),
        cos_alpha=np.cos(alpha),
        sin_beta=none,
        density=one,
        mach=float(lon.mach) * one,
        pressure=one,
        rates=(none, none, none),
    )
    return float(np.max(np.asarray(lift_and_moment(airplane, flow, make_inputs(airplane))[0].base)))


def lift_data(entry: AirplaneEntry, described: DescribedAirplane | None) -> LiftData:
    """Mass and lift line: from the case where it gives them, else from the airplane.

    Args:
        entry: What the case says of the airplane.
        described: The airplane file; None where the case names none.

    Returns:
        The lift data.

    Raises:
        NeutralPointError: `quantity-range` for a value that cannot be.
    """
    known = {} if described is None else _from_airplane(described)
    known |= {k: getattr(entry, k) for k in LIFT_KEYS if getattr(entry, k) is not None}
    for key in ("mass", "wing_area", "lift_slope", "maximum_lift"):
        _positive(key, known[key])
    ratio = entry.aspect_ratio or known.get("aspect_ratio")
    return LiftData(
        mass=known["mass"].value,
        wing_area=known["wing_area"].value,
        lift_slope=known["lift_slope"].value,
        zero_lift_angle=known["zero_lift_angle"].value,
        maximum_lift=known["maximum_lift"].value,
        mass_flow=entry.fuel_flow.value,
        aspect_ratio=None if ratio is None else ratio.value,
        mass_sigma=known["mass"].sigma,
        lift_slope_sigma=known["lift_slope"].sigma,
        zero_lift_angle_sigma=known["zero_lift_angle"].sigma,
    )


def _from_airplane(described: DescribedAirplane) -> dict[str, Uncertain]:
    """Mass and lift line of the airplane file, the slope brought down to low Mach number."""
    airplane, sigma = described.airplane, described.uncertainty.sigma
    lon, mass = airplane.longitudinal, float(airplane.mass.mass)
    ratio = float(lon.compressibility_aspect_ratio)
    low = float(lon.CL_alpha) / float(compressible_slope_ratio(np.asarray(float(lon.mach)), ratio))
    line = _reference_line(described)
    parts = (described.numbers["CL_0"].sigma / float(lon.CL_alpha), line.sigma, TAIL_LOAD)
    zero = line.value - float(lon.CL_0) / float(lon.CL_alpha)
    return {
        "mass": Uncertain(mass, mass * sigma["mass"]),
        "wing_area": Uncertain(float(airplane.geometry.wing_area)),
        "lift_slope": Uncertain(low, low * sigma["lift_slope"]),
        "zero_lift_angle": Uncertain(zero, math.hypot(*parts)),
        "maximum_lift": Uncertain(largest_lift(airplane)),
        "aspect_ratio": Uncertain(ratio),
    }


def _reference_line(described: DescribedAirplane) -> Uncertain:
    """The line that pitch is read from above the datum line, rad."""
    body = described.document.fuselage
    stated = None if body is None else body.reference_angle
    return Uncertain(0.0, REFERENCE_LINE) if stated is None else stated


def _positive(key: str, found: Uncertain) -> None:
    """Refuse what is not positive with its whole interval."""
    if found.value <= 0.0 or found.value < 2.0 * found.sigma:
        raise NeutralPointError(
            "quantity-range",
            f"airplane.{key} is {found.text!r}.",
            where=f"case.toml: airplane.{key}",
            hint="It must be positive, the whole +- interval included.",
        )


def airplane_taken(entry: AirplaneEntry) -> tuple[Taken, ...]:
    """What the case gives of the airplane, and what it leaves to the airplane file.

    Args:
        entry: What the case says of the airplane.

    Returns:
        Assumptions with their sources.
    """
    told = [
        Taken(key.replace("_", " "), getattr(entry, key).text, "case file", effect)
        for key, effect in EFFECTS.items()
        if getattr(entry, key) is not None and key in entry.model_fields_set
    ]
    left = [key.replace("_", " ") for key in LIFT_KEYS if getattr(entry, key) is None]
    if entry.file is not None:
        told.append(
            Taken(
                "airplane",
                entry.file,
                "airplane file",
                f"Required moment, forces{', ' if left else ''}{', '.join(left)}.",
            )
        )
    return tuple(told)
