"""The business jet of the recorded flights as an airplane: eight numbers fitted on one flight.

Lift, elevator against incidence and pitch rate, and stick force against tail incidence and elevator
are fitted by least squares; wing, chord, tail arm and elevator power are nominal and only scale
what is fitted. What one flight of a type tells of another is the analyst's position. Pull is
positive.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import numpy as np

from neutralpoint.airplane import model
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.quantities import DEGREE, GRAVITY, KNOT, POUND

AREA, CHORD, ARM = 30.0, 2.06, 5.5  # m2, m, m: nominal, they only scale what is fitted
POD_HEIGHT, RATING = 0.6, 22e3  # m, N: rear pods, nominal, analyst's
ELEVATOR_POWER = -1.2  # nominal: only ratios to it are fitted
STOP = 290.0  # N: beyond it the sensor of flight 4 stands at its stop
# How far one flight of a type may be from another, one standard deviation: as the two fits below
# differ among themselves, other load and speed. Analyst's.
SIGMA = {
    "lift_slope": 0.04,
    "neutral_point": 0.015,
    "pitch_damping": 0.15,
    "elevator_power": 0.08,
    "hinge_alpha": 0.4,
    "hinge_elevator": 0.08,
    "drag": 0.1,
    "mass": 0.015,
    "pitch_inertia": 0.2,
}
UNCERTAINTY = Uncertainty(SIGMA)
# Where the airplane is fitted: hands on, tab fixed, hills and pulls.
FITTED = {
    "bizjet_01": [(3630.0, 3680.0), (4165.0, 4206.0)],
    "bizjet_04": [(3076.0, 3127.0), (3158.0, 3203.0)],
}


def read(folder: Path, name: str) -> dict[str, np.ndarray]:
    """Columns of a recording by name."""
    with gzip.open(folder / f"{name}.csv.gz", "rt") as file:
        names = file.readline().strip().split(",")
        table = np.genfromtxt(file, delimiter=",")
    return dict(zip(names, table.T, strict=True))


def full_mass(folder: Path, name: str) -> float:
    """Mass before the first fuel was burnt, kg."""
    note = json.loads((folder / "bizjet_weights_and_points.json").read_text())[name]
    return (9165.0 + note["block_fuel_lb"]) * POUND + note["occupants_total_kg"]


def samples(flight: dict, full: float, windows: list[tuple[float, float]]) -> dict:
    """Parts of a recording as coefficients and angles."""
    t = flight["t_s"]
    pick = np.any([(t > a) & (t < b) for a, b in windows], axis=0)
    f = {k: v[pick] for k, v in flight.items()}
    q = 0.5 * 1.225 * (f["cas_kt"] * KNOT) ** 2  # compressibility left out, below 1 %
    speed = f["tas_kt"] * KNOT
    mass = full - (f["fuel_used_left_lb"] + f["fuel_used_right_lb"]) * POUND
    angular = np.convolve(np.gradient(flight["q_dps"], 0.1), np.ones(5) / 5, "same")[pick]
    return {
        "q": q,
        "mass": mass,
        "n": f["nz_minus1_g"] + 1.0,
        "alpha": f["aoa_vane_deg"] * DEGREE,
        "elevator": f["elevator_deg"] * DEGREE,
        "rate": f["q_dps"] * DEGREE * CHORD / (2.0 * speed),
        "tail_rate": f["q_dps"] * DEGREE * ARM / speed,
        "angular": angular * DEGREE / (q * AREA * CHORD),
        "force": -f["stick_force_N"],
    }


def slopes(columns: list[np.ndarray], target: np.ndarray) -> np.ndarray:
    """Least squares with an offset; the offset comes first."""
    matrix = np.column_stack([np.ones(len(target)), *columns])
    return np.linalg.lstsq(matrix, target, rcond=None)[0]


def fit(folder: Path, name: str) -> model.Airplane:
    """The airplane that one flight shows."""
    x = samples(read(folder, name), full_mass(folder, name), FITTED[name])
    CL_0, CL_alpha = slopes([x["alpha"]], x["n"] * x["mass"] * GRAVITY / (x["q"] * AREA))
    zero, alpha, rate, angular = slopes([x["alpha"], x["rate"], x["angular"]], x["elevator"])
    held = np.abs(x["force"]) < STOP
    _, Ch_alpha, Ch_elevator = slopes(
        [(x["alpha"] + x["tail_rate"])[held], x["elevator"][held]], (x["force"] / x["q"])[held]
    )
    return assemble(
        f"business jet, fitted on {name}",
        lift=(CL_0, CL_alpha),
        elevator=(zero, alpha, rate),
        hinge=(Ch_alpha, Ch_elevator),
        pitch_inertia=ELEVATOR_POWER * angular,
    )


def assemble(
    name: str,
    *,
    lift: tuple[float, float],
    elevator: tuple[float, float, float],
    hinge: tuple[float, float],
    pitch_inertia: float,
) -> model.Airplane:
    """The airplane of fitted numbers, everything else nominal.

    `lift` is CL at zero and its slope; `elevator` its angle at zero and by incidence and pitch
    rate; `hinge` the coefficients by tail incidence and elevator.
    """
    zero, alpha, rate = elevator
    return model.Airplane(
        name=name,
        geometry=model.Geometry(wing_area=AREA, mean_chord=CHORD, span=16.0, tail_arm=ARM),
        mass=model.MassProperties(
            mass=5500.0,
            roll_inertia=2e4,
            pitch_inertia=pitch_inertia,
            yaw_inertia=5e4,
        ),
        longitudinal=model.LongitudinalAerodynamics(
            CL_0=lift[0],
            CL_alpha=lift[1],
            CD_0=0.024,
            CD_lift=0.05,
            Cm_0=-ELEVATOR_POWER * zero,
            Cm_alpha=-ELEVATOR_POWER * alpha,
            Cm_q=-ELEVATOR_POWER * rate,
            Cm_elevator=ELEVATOR_POWER,
        ),
        lateral=model.LateralAerodynamics(
            CY_beta=-0.7, Cl_beta=-0.1, Cl_p=-0.5, Cl_r=0.1, Cn_beta=0.1, Cn_p=0.0, Cn_r=-0.15
        ),
        engines=(
            model.Engine(kind="turbofan", rating=RATING, altitude_exponent=0.0, depth=-POD_HEIGHT),
        ),
        pitch_control=model.PitchControl(Ch_alpha=hinge[0], Ch_elevator=hinge[1], Ch_tab=1.0),
        trim_drive=model.TrimDrive(kind="tab", travel_min=-1.0, travel_max=1.0),
    )
