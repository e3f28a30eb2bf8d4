"""The airplane that a case names, and mass and lift line from it or from the case."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.case.case import LoadedSource, Taken
from neutralpoint.case.described import check_positive, described_airplane
from neutralpoint.case.document import LIFT_KEYS, AirplaneEntry
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.dynamics.aerodynamics import Flow, lift_and_moment
from neutralpoint.dynamics.state import make_inputs
from neutralpoint.motion import LiftData
from neutralpoint.motion.lift import compressible_slope_ratio
from neutralpoint.quantities import DEGREE

# Where the airplane file does not say: the line that pitch is read from against the datum line, one
# standard deviation. On recorded flights of a type whose lift line was taken from a document, pitch
# was off by +1.1 to +1.7 deg. Analyst's estimate.
REFERENCE_LINE = 1.25 * DEGREE
# What the load on the tail, which the centre of gravity and the trim decide, adds to the angle of
# attack at a lift coefficient: a tail that carries 5% of the weight either way. Analyst's estimate.
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
    found = described_airplane(folder, entry, place)
    if found is None:
        return None, ()
    described, name, data = found
    source = LoadedSource("airplane", name, hashlib.sha256(data).hexdigest(), len(data))
    return described, (source,)


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
        check_positive(key, known[key])
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
