"""Airframes of the judge: the numbers of an airplane file, each off by what no analyst knows.

Arrays of shape (N,), one entry a flight, SI and radians, signs of the airplane file. The tail is
taken out of the derivatives and stands by itself, with a downwash that lags, so that it can be
lost, iced or shifted.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from neutralpoint.airplane_file.build import DescribedAirplane, load_airplane
from neutralpoint.quantities import DEGREE

Array = np.ndarray
CATALOGUE = ("velmar-c7", "ostrel-7", "tarnley-180")
# Half-width of the even spread of each factor about 1; analyst's estimate of what the methods of an
# airplane file miss by, a tenth to a fifth, lift slope a twentieth.
SHARES = {
    "CL_alpha": 0.07,
    "CD_0": 0.12,
    "CD_lift": 0.10,
    "Cm_stabilizer": 0.12,
    "Cm_elevator": 0.18,
    "damping": 0.25,
    "roll_inertia": 0.12,
    "pitch_inertia": 0.18,
    "yaw_inertia": 0.12,
    "mass": 0.03,
    "stall_angle": 0.07,
    "Ch_alpha": 0.4,
    "Ch_elevator": 0.22,
    "rating": 0.04,
    "Cl_beta": 0.3,
    "Cl_p": 0.18,
    "Cl_r": 0.3,
    "Cl_aileron": 0.2,
    "Cn_beta": 0.2,
    "Cn_p": 0.3,
    "Cn_r": 0.2,
    "Cn_aileron": 0.4,
    "Cn_rudder": 0.15,
    "CY_beta": 0.25,
}


def load(names: tuple[str, ...] = CATALOGUE) -> dict[str, DescribedAirplane]:
    """The described airplanes, by name."""
    return {name: load_airplane(name) for name in names}


def _plain(described: DescribedAirplane) -> dict[str, object]:
    """One airplane file as plain numbers."""
    plane = described.airplane
    found: dict[str, object] = {}
    for part in (plane.geometry, plane.mass, plane.longitudinal, plane.lateral):
        found.update(vars(part))
    found.update(vars(plane.pitch_control))
    found.update({f"trim_{key}": value for key, value in vars(plane.trim_drive).items()})
    found.update(vars(plane.limits))
    engine, count = plane.engines[0], len(plane.engines)
    found.update(vars(engine))
    found.update(
        engine_station=engine.station,
        engine_depth=engine.depth,
        engine_side=abs(float(engine.side)) if count > 1 else 0.0,
        twin=count > 1,
        fan=engine.kind == "turbofan",
        piston=engine.kind == "piston",
        moving_tail=plane.trim_drive.kind == "stabilizer",
    )
    return {
        key: value
        for key, value in found.items()
        if isinstance(value, (int, float)) or (np.ndim(value) == 0 and not isinstance(value, str))
    }


def documented(which: list[str], described: dict[str, DescribedAirplane]) -> SimpleNamespace:
    """One airframe a flight as its file has it.

    Args:
        which: Name of the airplane of each flight, N of them.
        described: The airplane files.

    Returns:
        Arrays (N,) by the names of the file, with those of wing and body apart from the tail.
    """
    n = len(which)
    plain = {name: _plain(each) for name, each in described.items()}
    keys = plain[which[0]].keys()
    a = _split(SimpleNamespace(**{k: np.array([plain[name][k] for name in which]) for k in keys}))
    for name in ("Cm_stall", "drop", "lean", "flap", "gear", "warmer"):
        setattr(a, name, np.zeros(n))
    a.aileron_limit, a.rudder_limit = np.full(n, 20.0 * DEGREE), np.full(n, 25.0 * DEGREE)
    return a


def airframes(
    which: list[str], described: dict[str, DescribedAirplane], rng: np.random.Generator
) -> SimpleNamespace:
    """One airframe a flight, as built and loaded, not as documented; `rng` draws the errors."""
    n, a = len(which), documented(which, described)
    for name, share in SHARES.items():
        factor = 1.0 + share * rng.uniform(-1.0, 1.0, n)
        if name == "damping":
            a.Cm_q_body = a.Cm_q_body + (factor - 1.0) * a.Cm_q
        else:
            setattr(a, name, getattr(a, name) * factor)
    chord = a.mean_chord
    a.CL_0 = a.CL_0 + rng.uniform(-0.05, 0.05, n)
    a.Cm_0_body = a.Cm_0_body + rng.uniform(-0.025, 0.025, n)
    a.Cm_alpha_body = a.Cm_alpha_body - a.CL_alpha * rng.uniform(-0.06, 0.06, n)
    a.cg_station = a.cg_station + chord * rng.uniform(-0.02, 0.02, n)
    a.engine_depth = a.engine_depth + chord * rng.uniform(-0.06, 0.06, n)
    a.Cm_stall = rng.uniform(-0.25, 0.02, n)
    a.drop = rng.normal(0.0, 0.02, n)
    a.lean = rng.normal(0.0, 0.0012, n)  # rolling moment of a rigging that is never quite even
    a.aileron_limit = rng.uniform(16.0, 22.0, n) * DEGREE
    a.rudder_limit = rng.uniform(20.0, 27.0, n) * DEGREE
    return a


def _split(a: SimpleNamespace) -> SimpleNamespace:
    """Wing and body without the tail.

    Source: Etkin and Reid (1996), sec. 2.3 and 5.4: moment of the tail = Cm_stabilizer times its
    angle of attack, alpha - downwash + incidence + q arm / V.
    """
    a.Cm_0_body = a.Cm_0 + a.Cm_stabilizer * a.downwash_0
    a.Cm_alpha_body = a.Cm_alpha - a.Cm_stabilizer * (1.0 - a.downwash_alpha)
    a.Cm_q_body = a.Cm_q - 2.0 * a.Cm_stabilizer * a.tail_arm / a.mean_chord
    return a


def take(a: SimpleNamespace, rows: Array) -> SimpleNamespace:
    """Some flights of a batch, in any order."""
    return SimpleNamespace(**{key: value[..., rows] for key, value in vars(a).items()})
