"""What the files of the catalogue come to: every coefficient, loading, margin and draw."""

from __future__ import annotations

from typing import Any

import numpy as np

from neutralpoint.airplane.envelope import (
    effect_of_move,
    mass_to_move,
    move_item,
    percent_mac_limits,
    within,
)
from neutralpoint.airplane.inertia import estimate_inertia
from neutralpoint.airplane.lift import (
    body_lift_factor,
    downwash_gradient,
    flap_effectiveness,
    prandtl_glauert,
    section_hinge_slopes,
    surface_hinge_slopes,
    surface_lift_slope,
)
from neutralpoint.airplane.loading import (
    mass_properties,
    percent_mac,
    station_of_percent_mac,
)
from neutralpoint.airplane.longitudinal import induced_drag_factor, oswald_factor
from neutralpoint.airplane.model import apply_multipliers
from neutralpoint.airplane.planform import Planform
from neutralpoint.airplane.stability import (
    free_elevator_factor,
    neutral_point,
    neutral_point_free,
    static_margin,
)
from neutralpoint.airplane.uncertainty import correlation_matrix
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.errors import NeutralPointError

WING = Planform(area=28.0, span=16.5, taper=0.5, sweep=0.07, chord_station=5.2, depth=0.4)
TAIL = Planform(area=6.5, span=6.0, taper=0.6, sweep=0.12, chord_station=12.9, depth=-0.8)
MACHS = (0.0, 0.3, 0.62)


def known() -> dict[str, Any]:
    """Everything, by the name of the airplane; formulas of one wing and tail beside."""
    rng = np.random.default_rng(606)
    found: dict[str, Any] = {name: _of(name, rng) for name in catalogue_names()}
    found["surfaces"] = [_surfaces(mach) for mach in MACHS]
    found["hinges"] = [
        (flap_effectiveness(share), section_hinge_slopes(share)) for share in (0.15, 0.3, 0.5)
    ]
    found["balanced"] = surface_hinge_slopes(TAIL, 0.35, balance=0.6)
    found["body"] = [body_lift_factor(1.7, 16.5), body_lift_factor(3.0, 16.5)]
    found["oswald"] = [(oswald_factor(a, s), induced_drag_factor(a, 0.8))
                       for a, s in ((6.0, 0.0), (9.7, 0.1), (11.0, 0.5))]  # fmt: skip
    found["correlations"] = correlation_matrix()
    found["free"] = free_elevator_factor(0.4, 0.8, -0.1, -0.3)
    return found


def _surfaces(mach: float) -> dict[str, Any]:
    return {
        "compressible": prandtl_glauert(mach),
        "slope": surface_lift_slope(WING, mach),
        "downwash": downwash_gradient(WING, TAIL, mach),
        "edges": [WING.tangent_of_sweep(x) for x in (0.0, 0.25, 0.5, 1.0)],
        "chords": (WING.aspect_ratio, WING.root_chord, WING.mean_chord, WING.aerodynamic_station),
    }


def _of(name: str, rng: np.random.Generator) -> dict[str, Any]:
    described = load_airplane(name)
    airplane, loading = described.airplane, described.loading
    drawn = described.uncertainty.flown().draw(rng, 40)
    mass = mass_properties(loading)
    point = float(neutral_point(airplane))
    chord = float(airplane.geometry.mean_chord)
    edge = float(airplane.geometry.moment_station) - 0.25 * chord
    item = loading.items[-1].name
    moved = move_item(loading, item, (point, 0.1, -0.2))
    return {
        "airplane": airplane,
        "sigma": dict(described.uncertainty.sigma),
        "numbers": described.numbers,
        "given": sorted(described.given),
        "drawn": drawn,
        "scaled": apply_multipliers(airplane, drawn),
        "points": (point, float(neutral_point_free(airplane)), float(static_margin(airplane))),
        "mass": mass,
        "moved": mass_properties(moved),
        "effect": effect_of_move(
            loading, item, (point, 0.0, 0.0), neutral_point=point, chord=chord,
            envelopes=described.envelopes, mass=0.5 * float(loading.items[-1].mass),
        ),
        "enough": _shift(mass),
        "within": within(loading, described.envelopes),
        "limits": [
            (envelope.margins(mass), envelope.mass_limits(),
             percent_mac_limits(envelope, float(mass.mass), edge, chord))
            for envelope in described.envelopes
        ],
        "percent": (
            percent_mac(mass.cg_station, edge, chord), station_of_percent_mac(22.0, edge, chord)
        ),
        "inertia": estimate_inertia(
            described.document.airplane_class, mass=float(mass.mass), span=16.0, length=12.0
        ),
    }  # fmt: skip


def _shift(mass: Any) -> float | str:
    try:
        return mass_to_move(mass, target=float(mass.cg_station) + 0.05, start=2.0, end=6.0)
    except NeutralPointError as refused:
        return refused.code
