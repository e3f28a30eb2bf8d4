"""Every coefficient of an airplane: the given ones, and estimates for the others."""

from __future__ import annotations

import dataclasses
import math
from typing import Literal

from neutralpoint.airplane.estimate import Estimate, within_amount, within_share
from neutralpoint.airplane.lateral import estimate_lateral
from neutralpoint.airplane.lift import surface_hinge_slopes
from neutralpoint.airplane.longitudinal import (
    estimate_longitudinal,
    induced_drag_factor,
    lift_of,
    oswald_factor,
    zero_alpha_downwash,
)
from neutralpoint.airplane.planform import Fuselage, Planform, Shape
from neutralpoint.airplane_file.document import AirplaneDocument
from neutralpoint.airplane_file.sections import Surface, Wing
from neutralpoint.airplane_file.sources import source_of
from neutralpoint.errors import NeutralPointError

STEEPEST = math.radians(70.0)  # sweep, analyst's: far beyond what the methods were made for
# Keys of an engine that only one with a propeller uses, and only one without.
_PROPELLER, _JET = ("power", "propeller_efficiency"), ("thrust", "mach_slope", "mach_curve")
# Longitudinal effects that come as a lift and a moment.
_PAIRS = ("0", "alpha", "q", "alphadot", "elevator", "stabilizer")


def shape_of(document: AirplaneDocument, surface: Literal["wing", "tail", "fin"] = "wing"):
    """One lifting surface of a document, as a planform."""
    return _planform(getattr(document, surface))


def _planform(surface: Surface) -> Planform:
    chord = surface.mean_chord if isinstance(surface, Wing) else None
    return Planform(
        area=surface.area.value,
        span=surface.span.value,
        taper=surface.taper.value,
        sweep=surface.sweep.value,
        chord_station=surface.chord_station.value,
        depth=surface.depth.value,
        section_slope_ratio=surface.section_slope_ratio.value,
        known_mean_chord=chord.value if chord else 0.0,
    )


def whole_shape(document: AirplaneDocument) -> Shape | None:
    """The geometry that estimates start from; None where a part is not described."""
    tail, fin, body = document.tail, document.fin, document.fuselage
    aileron, rudder, wing = document.aileron, document.rudder, document.wing
    if tail is None or fin is None or body is None or aileron is None or rudder is None:
        return None
    return Shape(
        wing=_planform(wing),
        tail=_planform(tail),
        fin=_planform(fin),
        fuselage=Fuselage(
            length=body.length.value,
            width=body.width.value,
            height=body.height.value,
            nose_station=body.nose_station.value,
        ),
        wing_incidence=wing.incidence.value,
        zero_lift_angle=wing.zero_lift_angle.value,
        section_moment=wing.section_moment.value,
        dihedral=wing.dihedral.value,
        elevator_chord_ratio=document.elevator.chord_ratio.value,
        rudder_chord_ratio=rudder.chord_ratio.value,
        aileron_chord_ratio=aileron.chord_ratio.value,
        aileron_inner=aileron.inner.value,
        aileron_outer=aileron.outer.value,
        tail_pressure_ratio=tail.pressure_ratio.value,
    )


def check_shape(document: AirplaneDocument, place: str) -> None:
    """Refuse a geometry that the estimates cannot mean anything for.

    Args:
        document: The file.
        place: What errors call it.

    Raises:
        NeutralPointError: A tail that is not behind the wing, a sweep or height out of scale.
    """
    surfaces = {"wing": document.wing, "tail": document.tail, "fin": document.fin}
    wing = _planform(document.wing)
    for name, surface in surfaces.items():
        if surface is None:
            continue
        behind = _planform(surface).aerodynamic_station - wing.aerodynamic_station
        if abs(surface.sweep.value) > STEEPEST:
            raise _refused(place, f"{name}.sweep", "is steeper than 70 degrees either way")
        if name != "wing" and behind <= 0.0:
            raise _refused(place, f"{name}.chord_station", "puts it ahead of the wing")
        if abs(surface.depth.value - wing.depth) >= wing.span:
            raise _refused(place, f"{name}.depth", "is more than a wing span off the wing")
    if not 0.0 <= document.aerodynamics.mach.value < 1.0:
        raise _refused(place, "aerodynamics.mach", "is not subsonic")


def check_unused(document: AirplaneDocument, place: str) -> None:
    """Refuse a number that another one makes idle: who writes it believes that it counts.

    Args:
        document: The file.
        place: What errors call it.

    Raises:
        NeutralPointError: A rating of the other kind of engine, or what only an estimate would use
            beside the given number.
    """
    given, aero = set(document.aerodynamics.given), document.aerodynamics
    idle = [
        (f"engines.{k}.{key}", f"the engine is a {engine.kind}")
        for k, engine in enumerate(document.engines)
        for key in (_PROPELLER if engine.kind == "turbofan" else _JET)
        if key in engine.model_fields_set
    ]
    if "balance" in document.elevator.model_fields_set and {"Ch_alpha", "Ch_elevator"} <= given:
        idle.append(("elevator.balance", "Ch_alpha and Ch_elevator are given"))
    if "neutral_point_shift" in aero.model_fields_set and "Cm_alpha" in given:
        idle.append(("aerodynamics.neutral_point_shift", "Cm_alpha is given"))
    if "feel_rate" in document.column.model_fields_set and document.column.reversible:
        idle.append(("column.feel_rate", "the control is reversible"))
    for key, why in idle:
        raise NeutralPointError(
            "airplane-invalid",
            f"{key} would have no effect: {why}.",
            where=f"{place}: {key}",
            hint="Leave one of the two out.",
        )


def _refused(place: str, key: str, what: str) -> NeutralPointError:
    return NeutralPointError(
        "quantity-range",
        f"{key} {what}.",
        where=f"{place}: {key}",
        hint="The estimates hold for a tail behind the wing at subsonic speed.",
    )


def collect_numbers(document: AirplaneDocument) -> tuple[dict[str, Estimate], frozenset[str]]:
    """Every coefficient by name, and which of them the file gives."""
    aero = document.aerodynamics
    given = {
        name: Estimate(value.value, value.sigma, source_of(document, "aerodynamics.given", name))
        for name, value in aero.given.items()
    }
    source = source_of(document, "aerodynamics", "CD_0")
    given["CD_0"] = Estimate(aero.CD_0.value, aero.CD_0.sigma, source)
    tail = document.tail
    angles = {"downwash_0": tail.downwash_0, "downwash_flap": tail.downwash_flap} if tail else {}
    for name, value in angles.items():
        if value is not None:
            given[name] = Estimate(value.value, value.sigma, source_of(document, "tail", name))
    return _estimates(document) | given, frozenset(given)


def _estimates(document: AirplaneDocument) -> dict[str, Estimate]:
    aero, shape = document.aerodynamics, whole_shape(document)
    drag = _induced_drag(document)
    if shape is None:
        return drag
    mach, elevator = aero.mach.value, document.elevator
    lift = lift_of(shape, mach)
    by_incidence, by_elevator = surface_hinge_slopes(
        shape.tail, elevator.chord_ratio.value, balance=elevator.balance.value
    )
    hinge = "thin airfoil, DATCOM 6.1.6"
    return (
        _about(_longitudinal(document, shape), aero.moment_point.value)
        | estimate_lateral(shape, mach, aero.lift_coefficient.value)
        | drag
        | {
            "Ch_alpha": within_share(by_incidence, 0.4, hinge),
            "Ch_elevator": within_share(by_elevator, 0.3, hinge),
            "downwash_alpha": within_share(lift.downwash, 0.15, "DATCOM 4.4.1"),
            "downwash_0": within_amount(
                zero_alpha_downwash(shape, lift), 0.01, "DATCOM 4.4.1, wing setting"
            ),
        }
    )


def _longitudinal(document: AirplaneDocument, shape: Shape) -> dict[str, Estimate]:
    """Estimates, with the neutral point moved by nacelles and propellers.

    Source: Etkin and Reid (1996), sec. 2.5 (running propellers move the neutral point forward);
        the amount is the file's.
    """
    aero = document.aerodynamics
    found, shift = estimate_longitudinal(shape, aero.mach.value), aero.neutral_point_shift
    moment, slope = found["Cm_alpha"], found["CL_alpha"].value
    moved = Estimate(
        moment.value - shift.value * slope,
        math.hypot(moment.sigma, shift.sigma * slope),
        moment.source,
    )
    return found | {"Cm_alpha": moved}


def _induced_drag(document: AirplaneDocument) -> dict[str, Estimate]:
    wing = shape_of(document)
    oswald = document.aerodynamics.oswald
    if oswald is None:
        efficiency = oswald_factor(wing.aspect_ratio, wing.sweep)
    else:
        source = source_of(document, "aerodynamics", "oswald")
        efficiency = Estimate(oswald.value, oswald.sigma, source)
    factor = induced_drag_factor(wing.aspect_ratio, efficiency.value)
    return {"CD_lift": Estimate(factor, factor * efficiency.relative, efficiency.source)}


def _about(estimates: dict[str, Estimate], point: float) -> dict[str, Estimate]:
    """Moments about another point of the mean chord than its quarter.

    Source: Cm(h) = Cm(1/4) + (h - 1/4) CL, statics.
    """
    moved = dict(estimates)
    for name in _PAIRS:
        moment, lift = estimates[f"Cm_{name}"], estimates[f"CL_{name}"]
        value = moment.value + (point - 0.25) * lift.value
        moved[f"Cm_{name}"] = dataclasses.replace(moment, value=value)
    return moved
