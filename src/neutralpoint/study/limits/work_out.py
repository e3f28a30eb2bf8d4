"""The sample paths of a case against the limits of its airplane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane_file.sections import LimitsSection
from neutralpoint.airplane_file.sources import source_of
from neutralpoint.case import Case
from neutralpoint.findings.limits import LimitQuantity, NotLookedAt
from neutralpoint.limits import Design, Diagram, Excess, Margin, load_diagram, specific_excess
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY, SEA_LEVEL_DENSITY
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.vocabulary.limit import ULTIMATE, LimitName

RULE = "14 CFR 23.303 and 25.303: 1.5 times limit load"
STALL_RULE = "stall angle of the airplane file"


@dataclass(frozen=True)
class ComparedLimit:
    """A limit with its quantity and source."""

    margin: Margin
    quantity: LimitQuantity
    source: str


@dataclass(frozen=True)
class LimitsPassed:
    """What the stage works with and finds; times in s after the track's epoch.

    Attributes:
        time: Times in the air that are looked at, shape (m,).
        step: Of their grid, s.
        window: Over which load factors are averaged, s.
        paths: Sample paths by quantity, SI, shape (S, m).
        asked: One entry a limit.
        left_out: Limits that were not looked at, and why.
        design: The airplane of the diagram.
        diagram: At its weight.
        excess: Rates of energy height.
        energy_height: m, shape (S, m).
    """

    time: Array
    step: float
    window: float
    paths: dict[str, Array]
    asked: list[ComparedLimit]
    left_out: list[tuple[LimitName, NotLookedAt]]
    design: Design
    diagram: Diagram
    excess: Excess
    energy_height: Array


def work_out_limits(case: Case, motion: KeptMotion, moments: Moments) -> LimitsPassed:
    """Compare the sample paths with every limit that the case knows.

    Args:
        case: The case; its airplane is known.
        motion: Its motion.
        moments: Gives the smoothed flight, thrust and stall margin.

    Returns:
        What was found.
    """
    flight, energy = moments.flight, moments.energy
    airborne = _airborne(motion, flight.time)
    paths = _paths(motion, moments, airborne)
    design = _design(case, moments, airborne)
    asked, left_out = _asked(case, paths)
    weight = design.mass * GRAVITY
    return LimitsPassed(
        time=flight.time[airborne],
        step=flight.step,
        window=moments.window,
        paths=paths,
        asked=asked,
        left_out=left_out,
        design=design,
        diagram=load_diagram(design),
        excess=specific_excess(
            flight.longitudinal_load_factor[:, airborne],
            flight.true_airspeed[:, airborne],
            thrust=energy.thrust[:, airborne],
            full=energy.full[:, airborne],
            idle=energy.idle[:, airborne],
            weight=np.array([[weight]]),
        ),
        energy_height=_on(motion, "specific_energy_height", flight.time[airborne]),
    )


def _airborne(motion: KeptMotion, time: Array) -> Flags:
    ground = np.interp(time, motion.time, motion.ground.astype(float)) > 0.0
    return ~ground if not ground.all() else np.ones_like(ground)


def _on(motion: KeptMotion, name: str, time: Array) -> Array:
    """Sample paths of the motion at times of its uniform grid."""
    grid = ~motion.is_fix
    at = np.searchsorted(motion.time[grid], time - 1e-6)
    return motion.paths[name][:, grid][:, at].astype(float)


def _paths(motion: KeptMotion, moments: Moments, airborne: Flags) -> dict[str, Array]:
    flight = moments.flight
    return {
        "calibrated_airspeed": _on(motion, "calibrated_airspeed", flight.time[airborne]),
        "equivalent_airspeed": np.sqrt(
            2.0 * flight.dynamic_pressure[:, airborne] / SEA_LEVEL_DENSITY
        ),
        "mach": flight.mach[:, airborne],
        "normal_load_factor": flight.normal_load_factor[:, airborne],
        "stall_margin": moments.required.stall_margin[:, airborne],
    }


def _design(case: Case, moments: Moments, airborne: Flags) -> Design:
    """The airplane at the weight and the median height of the stretch."""
    airplane, flight = moments.airplane.airplane, moments.flight
    lon, geometry = airplane.longitudinal, airplane.geometry
    limits = case.described.document.limits
    burnt = case.lift.mass_flow * float(flight.time[airborne].mean() - case.track.span()[0])
    speed, mach = flight.true_airspeed[:, airborne], flight.mach[:, airborne]
    density = float(np.median(flight.density[:, airborne]))
    return Design(
        mass=float(airplane.mass.mass) - burnt,
        wing_area=float(geometry.wing_area),
        mean_chord=float(geometry.mean_chord),
        aspect_ratio=float(geometry.span) ** 2 / float(geometry.wing_area),
        lift_slope=float(lon.CL_alpha),
        lift_highest=case.lift.maximum_lift,
        lift_lowest=float(lon.CL_0 + lon.CL_alpha * lon.negative_stall_angle),
        load_highest=limits.load_factor_max.value,
        load_lowest=limits.load_factor_min.value,
        cruise_speed=limits.cruise,
        dive_speed=limits.dive,
        altitude=float(np.median(_standard_height(density))),
        density=density,
        sound=float(np.median(speed / mach)),
    )


def _standard_height(density: float) -> Array:
    """Height of the standard atmosphere with a density, m; for the gust of the rule alone.

    Source: US Standard Atmosphere 1976 below the tropopause, density exponent 4.2559.
    """
    return np.asarray(44330.8 * (1.0 - (density / SEA_LEVEL_DENSITY) ** (1.0 / 4.2559)))


def _asked(
    case: Case, paths: dict[str, Array]
) -> tuple[list[ComparedLimit], list[tuple[LimitName, NotLookedAt]]]:
    """Every limit of the airplane file that applies, and why others do not."""
    document = case.described.document
    limits = document.limits
    asked: list[ComparedLimit] = []
    left_out: list[tuple[LimitName, NotLookedAt]] = []

    def ask(
        name: LimitName, quantity: LimitQuantity, value: float, source: str, *, above: bool = True
    ) -> None:
        asked.append(ComparedLimit(Margin(name, value, paths[quantity], above), quantity, source))

    def said(key: str) -> str:
        return source_of(document, "limits", key)

    ask(
        LimitName.SPEED,
        "calibrated_airspeed",
        limits.never_exceed_speed.value,
        said("never_exceed_speed"),
    )
    dive = "VNE / 0.9, 14 CFR 23.1505(a)" if limits.dive_speed is None else said("dive_speed")
    ask(LimitName.DIVE, "equivalent_airspeed", limits.dive, dive)
    if limits.never_exceed_mach is None:
        left_out.append((LimitName.MACH, "not-stated"))
    else:
        ask(LimitName.MACH, "mach", limits.never_exceed_mach.value, said("never_exceed_mach"))
    high, low = limits.load_factor_max.value, limits.load_factor_min.value
    load: LimitQuantity = "normal_load_factor"
    ask(LimitName.LOAD, load, high, said("load_factor_max"))
    ask(LimitName.LOAD_NEGATIVE, load, low, said("load_factor_min"), above=False)
    ask(LimitName.ULTIMATE, load, ULTIMATE * high, RULE)
    ask(LimitName.ULTIMATE_NEGATIVE, load, ULTIMATE * low, RULE, above=False)
    for name, key in ((LimitName.FLAP, "flap_speed"), (LimitName.GEAR, "gear_speed")):
        reason = _lowered(case, limits, name)
        if reason is None:
            ask(name, "calibrated_airspeed", getattr(limits, key).value, said(key))
        else:
            left_out.append((name, reason))
    if np.isfinite(paths["stall_margin"]).any():
        ask(LimitName.STALL, "stall_margin", 0.0, STALL_RULE, above=False)
    return asked, left_out


def _lowered(case: Case, limits: LimitsSection, name: LimitName) -> NotLookedAt | None:
    """Why the speed with flaps or gear out is not asked; None where it is."""
    entry = case.document.analysis
    given, out = (
        (limits.flap_speed, entry.flap)
        if name is LimitName.FLAP
        else (limits.gear_speed, entry.gear)
    )
    if given is None:
        return "not-stated"
    if out is None:
        return "configuration-unknown"
    return None if out > 0.0 else "up"
