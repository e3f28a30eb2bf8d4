"""One airplane as numbers: geometry, mass, aerodynamics, engines, controls, pitch trim, limits.

Every class is a frozen dataclass and describes ONE airplane; a batch is the same class with a
leading axis on its leaves and `jax.vmap` outside: `neutralpoint.dynamics` makes JAX pytrees of
them. All values are SI and radians. Fields marked static are plain Python and select code at
compile time. Nothing here loads JAX, so that a fault of an airplane file is told at once.

Axes and signs, used everywhere in `airplane` and `dynamics`:

* A point of the airplane is (`station`, `side`, `depth`): metres aft of the datum, to the right,
  and downwards. Body axes are FRD (forward, right, down) through the centre of gravity.
* Elevator and tab are positive trailing edge down, the stabilizer leading edge up: positive
  elevator and positive stabilizer both turn the nose down.
* `aileron` positive is right aileron down (rolls left), `rudder` positive is trailing edge left
  (nose left), as in the data of Etkin and Reid, Dynamics of Flight, 3rd ed. (1996).
* Column force is positive for a PULL; hinge moment is positive when the air pushes the trailing
  edge down. So force = gearing * hinge moment holds with a plus sign.

The coefficients follow Etkin and Reid (1996), chapters 2 to 5: lift and drag along and across the
wind, moments about the moment reference point, rates made dimensionless by chord / 2V or span / 2V.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from jax import Array

# One number, or a batch of them: JAX inside, NumPy where draws and tables come in.
Scalar: TypeAlias = "Array | np.ndarray | float"

EngineKind = Literal["piston", "turboprop", "turbofan"]
TrimKind = Literal["stabilizer", "tab", "none"]
StopKind = Literal[
    "momentary_hold", "latching_disconnect", "opposing_switch", "breaker", "manual_wheel"
]


STATIC = {"static": True}


TRACED: list[type] = []  # the classes below, for JAX


def _pytree(cls):
    TRACED.append(cls)
    return cls


@_pytree
@dataclass(frozen=True, kw_only=True)
class Geometry:
    """Reference lengths and the point that moments are taken about.

    Args:
        wing_area: Reference area S, m2.
        mean_chord: Mean aerodynamic chord, m.
        span: Wing span, m.
        chord_station: Station of the leading edge of the mean aerodynamic chord, m aft of datum.
        moment_station: Station at which the moment derivatives hold, m aft of datum. The forces
            act there, so a CG elsewhere changes the moments of itself.
        moment_depth: Depth of that point, m below the datum line.
        tail_arm: From the moment reference to the tail's aerodynamic center, m, positive aft.
    """

    wing_area: Scalar
    mean_chord: Scalar
    span: Scalar
    chord_station: Scalar = 0.0
    moment_station: Scalar = 0.0
    moment_depth: Scalar = 0.0
    tail_arm: Scalar = 1.0


@_pytree
@dataclass(frozen=True, kw_only=True)
class MassProperties:
    """Mass, where its centre is, and how it is spread about that centre.

    Args:
        mass: kg.
        cg_station: Centre of gravity, m aft of datum.
        cg_depth: Centre of gravity, m below the datum line.
        roll_inertia: Ixx, kg m2, body axes through the CG.
        pitch_inertia: Iyy, kg m2.
        yaw_inertia: Izz, kg m2.
        cross_inertia: Ixz = integral of x z dm, kg m2.
    """

    mass: Scalar
    cg_station: Scalar = 0.0
    cg_depth: Scalar = 0.0
    roll_inertia: Scalar
    pitch_inertia: Scalar
    yaw_inertia: Scalar
    cross_inertia: Scalar = 0.0


@_pytree
@dataclass(frozen=True, kw_only=True)
class LongitudinalAerodynamics:
    """Lift, drag and pitching moment.

    Below the stall, with `f` the compressibility factor (see `dynamics.aerodynamics`)::

        CL = f (CL_0 + CL_alpha a + CL_q q c/2V + CL_alphadot a' c/2V + CL_elevator de
                + CL_stabilizer ih + CL_tab dt + CL_flap flap) + CL_mach (M - mach)
        Cm = the same with Cm_*, + Cm_gear gear
        CD = CD_0 + CD_lift (CL - CL_min_drag)^2 + CD_flap flap + CD_gear gear
             + CD_mach (M - mach) + 20 max(M - critical_mach, 0)^4

    Beyond the never-exceed speed or Mach number, by b = max(q / fast_pressure, (M / fast_mach)^2)
    less 1, Cm gains tuck b and the elevator keeps 1 / (1 + fade b) of its effect.

    `flap` and `gear` run from 0 (up) to 1 (full). Beyond the stall angles lift and moment go
    smoothly over to those of a plate at that incidence.

    Args:
        mach: Mach number at which the derivatives hold.
        compressibility_aspect_ratio: Aspect ratio in the lift-slope formula; 0 = no effect of Mach.
        stall_angle: Angle of attack of half separation, clean, rad, positive. Lift there is the
            mean of the attached and the plate value; it peaks a little before.
        negative_stall_angle: The same for negative lift, rad, negative.
        stall_width: Half-width of the smooth transition, rad; lift is exactly linear outside it.
        stall_angle_flap: Change of `stall_angle` with full flap, rad.
        Cm_stall: Moment coefficient added by full separation of the wing (nose-down negative).
        fast_pressure: Dynamic pressure at the never-exceed speed, Pa.
        fast_mach: Never-exceed Mach number.
        tuck: Moment coefficient per unit beyond them (nose-down negative).
        fade: Loss of elevator effect per unit beyond them.
        CL_plate: Separated lift is CL_plate sin 2a. Default from memory of Sheldahl and Klimas,
            SAND80-2114 (1981): symmetric sections reach about 1.05 at 45 deg, wings less.
        CD_plate: Separated drag is CD_plate sin^2 a. Default 1.11 + 0.018 x aspect ratio 8, from
            memory of Viterna and Corrigan, NASA CP-2230 (1982).
    """

    CL_0: Scalar
    CL_alpha: Scalar
    CL_q: Scalar = 0.0
    CL_alphadot: Scalar = 0.0
    CL_elevator: Scalar = 0.0
    CL_stabilizer: Scalar = 0.0
    CL_tab: Scalar = 0.0
    CL_flap: Scalar = 0.0
    CL_mach: Scalar = 0.0
    CD_0: Scalar
    CD_lift: Scalar
    CL_min_drag: Scalar = 0.0
    CD_flap: Scalar = 0.0
    CD_gear: Scalar = 0.0
    CD_mach: Scalar = 0.0
    critical_mach: Scalar = 2.0
    Cm_0: Scalar
    Cm_alpha: Scalar
    Cm_q: Scalar = 0.0
    Cm_alphadot: Scalar = 0.0
    Cm_elevator: Scalar = 0.0
    Cm_stabilizer: Scalar = 0.0
    Cm_tab: Scalar = 0.0
    Cm_flap: Scalar = 0.0
    Cm_gear: Scalar = 0.0
    Cm_mach: Scalar = 0.0
    mach: Scalar = 0.0
    compressibility_aspect_ratio: Scalar = 0.0
    stall_angle: Scalar = 0.30
    negative_stall_angle: Scalar = -0.30
    stall_width: Scalar = 0.02
    stall_angle_flap: Scalar = 0.0
    Cm_stall: Scalar = 0.0
    fast_pressure: Scalar = float("inf")
    fast_mach: Scalar = float("inf")
    tuck: Scalar = 0.0
    fade: Scalar = 0.0
    CL_plate: Scalar = 0.9
    CD_plate: Scalar = 1.25


@_pytree
@dataclass(frozen=True, kw_only=True)
class LateralAerodynamics:
    """Side force, rolling and yawing moment: linear in sideslip, rates, aileron and rudder."""

    CY_beta: Scalar
    CY_p: Scalar = 0.0
    CY_r: Scalar = 0.0
    CY_aileron: Scalar = 0.0
    CY_rudder: Scalar = 0.0
    Cl_beta: Scalar
    Cl_p: Scalar
    Cl_r: Scalar
    Cl_aileron: Scalar = 0.0
    Cl_rudder: Scalar = 0.0
    Cn_beta: Scalar
    Cn_p: Scalar
    Cn_r: Scalar
    Cn_aileron: Scalar = 0.0
    Cn_rudder: Scalar = 0.0


@_pytree
@dataclass(frozen=True, kw_only=True)
class Engine:
    """One engine, with its propeller or fan, where it sits and how it answers the lever.

    Output at full lever is `rating` times the altitude law of its kind; see `dynamics.propulsion`.

    Args:
        kind: "piston", "turboprop" (both: rating is shaft power) or "turbofan" (thrust). Static.
        rating: W or N, sea level, standing still.
        flat_rating: Thermodynamic over rated output (>= 1); output holds up to the height where
            the altitude law reaches 1 / flat_rating.
        altitude_exponent: Output follows density ratio to this power (piston: not used).
        mach_slope: Turbofan thrust varies as 1 + mach_slope M + mach_curve M^2.
        mach_curve: See `mach_slope`.
        propeller_efficiency: Share of shaft power that reaches the ideal disc; 0..1.
        disc_area: Propeller disc or fan face, m2.
        windmill_drag: Drag area over disc area with no power, propeller turning.
        windmill_power: Share of the rating at which that drag has gone (linear between). The
            default is common practice, no source.
        feather_drag: Drag area over disc area, feathered or stopped.
        lag: Time constant of output behind the lever, s.
        station: Where the thrust acts, m aft of datum.
        side: m to the right of the centre line.
        depth: m below the datum line.
        incidence: Thrust line above the body x axis (nose-up), rad.
    """

    kind: EngineKind = field(metadata=STATIC)
    rating: Scalar
    flat_rating: Scalar = 1.0
    altitude_exponent: Scalar = 0.7
    mach_slope: Scalar = 0.0
    mach_curve: Scalar = 0.0
    propeller_efficiency: Scalar = 0.85
    disc_area: Scalar = 1.0
    windmill_drag: Scalar = 0.0
    windmill_power: Scalar = 0.1
    feather_drag: Scalar = 0.0
    lag: Scalar = 1.0
    station: Scalar = 0.0
    side: Scalar = 0.0
    depth: Scalar = 0.0
    incidence: Scalar = 0.0


@_pytree
@dataclass(frozen=True, kw_only=True)
class PitchControl:
    """Column to elevator, and what the hand feels.

    Pull = gearing S_e c_e q (Ch_0 + Ch_alpha a_t + Ch_elevator de + Ch_tab dt)
           + spring + spring_rate de + bobweight n            (reversible)
    Pull = spring + (spring_rate + feel_rate q) de + bobweight n     (irreversible)

    with a_t the angle of attack of the tailplane and q the dynamic pressure there.

    Args:
        reversible: Whether air loads on the elevator reach the column. Static.
        gearing: Elevator angle per column travel, rad/m, positive; pulling moves trailing edge up.
        elevator_area: Aft of the hinge, S_e, m2 (both sides).
        elevator_chord: Aft of the hinge, c_e, m.
        elevator_min: Trailing edge up stop, rad (negative).
        elevator_max: Trailing edge down stop, rad.
        spring: Force of springs at zero elevator, N (pull needed positive).
        spring_rate: N per rad of elevator (negative = centring).
        feel_rate: N per rad of elevator per Pa, irreversible systems only (negative = centring).
        bobweight: Pull needed per unit load factor, N.
        friction: Half-width of the friction band at the column, N.
        downwash_0: Downwash at the tail at zero angle of attack, rad.
        downwash_alpha: Change of downwash with angle of attack.
        downwash_flap: Change of downwash with full flap, rad.
        tail_pressure_ratio: Dynamic pressure at the tail over free stream.
    """

    reversible: bool = field(metadata=STATIC, default=True)
    gearing: Scalar = 1.0
    elevator_area: Scalar = 1.0
    elevator_chord: Scalar = 1.0
    Ch_0: Scalar = 0.0
    Ch_alpha: Scalar = 0.0
    Ch_elevator: Scalar = -0.5
    Ch_tab: Scalar = 0.0
    elevator_min: Scalar = -0.5
    elevator_max: Scalar = 0.5
    spring: Scalar = 0.0
    spring_rate: Scalar = 0.0
    feel_rate: Scalar = 0.0
    bobweight: Scalar = 0.0
    friction: Scalar = 0.0
    downwash_0: Scalar = 0.0
    downwash_alpha: Scalar = 0.0
    downwash_flap: Scalar = 0.0
    tail_pressure_ratio: Scalar = 1.0


@_pytree
@dataclass(frozen=True, kw_only=True)
class StopDevice:
    """One way to stop the trim. All fields static.

    Args:
        name: What the crew calls it.
        kind: How it works: holds only while pressed, opens once and stays, drives the other way,
            takes the power off, or is turned by hand.
        reach_time: From decision to action, s.
        hands: Hands it takes away from the column: 0 (thumb switch on the wheel), 1 or 2.
        release_restarts: Whether letting go lets the fault move the trim again.
    """

    name: str = field(metadata=STATIC)
    kind: StopKind = field(metadata=STATIC)
    reach_time: float = field(metadata=STATIC)
    hands: int = field(metadata=STATIC)
    release_restarts: bool = field(metadata=STATIC)


@_pytree
@dataclass(frozen=True, kw_only=True)
class TrimDrive:
    """What moves the pitch trim: hardware, not the steady state.

    Args:
        kind: Which surface moves: "stabilizer", "tab" or "none". Static.
        travel_min: Lower end of `stabilizer` or `tab` angle, rad.
        travel_max: Upper end, rad.
        rate: Angle rate of the motor without load, rad/s, positive.
        loaded_rate: Angle rate at `load_moment`, rad/s.
        load_moment: Surface moment against the motor at which `loaded_rate` holds, N m.
        stall_moment: Surface moment that stops the motor, N m.
        pivot_arm: From the stabilizer's pivot back to where the lift of its incidence acts, m;
            0 = the air does not load the motor.
        elevator_pivot_arm: From the pivot back to where the lift of the elevator acts, m.
        autopilot_rate: Angle rate when the autopilot servo drives, rad/s.
        manual_rate: Angle rate by hand wheel, rad/s; 0 = no wheel.
        stops: Ways to stop it. Static.
    """

    kind: TrimKind = field(metadata=STATIC)
    travel_min: Scalar = 0.0
    travel_max: Scalar = 0.0
    rate: Scalar = 0.0
    loaded_rate: Scalar = 0.0
    load_moment: Scalar = 1.0
    stall_moment: Scalar = float("inf")
    pivot_arm: Scalar = 0.0
    elevator_pivot_arm: Scalar = 0.0
    autopilot_rate: Scalar = 0.0
    manual_rate: Scalar = 0.0
    stops: tuple[StopDevice, ...] = field(metadata=STATIC, default=())


@_pytree
@dataclass(frozen=True, kw_only=True)
class Limits:
    """What the airplane is cleared for.

    Args:
        never_exceed_speed: VNE, VMO or VD as stated by the document, m/s calibrated.
        never_exceed_mach: MMO; infinity where none is set.
        load_factor_max: Positive limit load factor.
        load_factor_min: Negative limit load factor.
    """

    never_exceed_speed: Scalar = float("inf")
    never_exceed_mach: Scalar = float("inf")
    load_factor_max: Scalar = 3.8
    load_factor_min: Scalar = -1.52


@_pytree
@dataclass(frozen=True, kw_only=True)
class Airplane:
    """One airplane, loaded as it is."""

    name: str = field(metadata=STATIC)
    geometry: Geometry
    mass: MassProperties
    longitudinal: LongitudinalAerodynamics
    lateral: LateralAerodynamics
    engines: tuple[Engine, ...]
    pitch_control: PitchControl
    trim_drive: TrimDrive
    limits: Limits = field(default_factory=Limits)


@_pytree
@dataclass(frozen=True, kw_only=True)
class Multipliers:
    """Uncertainty of an airplane model: factors (1 = as given) and offsets (0 = as given).

    Drawn jointly outside, applied by `apply_multipliers`, so the airplane itself stays one set of
    numbers.

    Args:
        lift_slope: Factor on CL_alpha.
        neutral_point: Offset of the stick-fixed neutral point, in chords, positive aft.
        pitch_damping: Factor on Cm_q and Cm_alphadot.
        moment_offset: Offset of Cm_0.
        elevator_power: Factor on CL_elevator and Cm_elevator.
        stabilizer_power: Factor on CL_stabilizer and Cm_stabilizer.
        tab_power: Factor on CL_tab, Cm_tab and Ch_tab.
        drag: Factor on CD_0.
        induced_drag: Factor on CD_lift.
        thrust: Factor on every engine's rating.
        hinge_alpha: Factor on Ch_alpha.
        hinge_elevator: Factor on Ch_elevator.
        column_gearing: Factor on the gearing.
        roll_yaw: Factor on every rolling and yawing moment derivative.
        stall_angle: Factor on both stall angles.
        mass: Factor on mass and inertia.
        pitch_inertia: Further factor on pitch inertia.
        cg_station: Offset of the CG, m aft.
        thrust_arm: Offset of every thrust line, in chords below: what the slipstream does to the
            moment beyond the thrust's own line.
        tuck: Offset of the moment coefficient per unit beyond the never-exceed speed.
        fade: Factor on the loss of elevator effect there.
    """

    lift_slope: Scalar = 1.0
    neutral_point: Scalar = 0.0
    pitch_damping: Scalar = 1.0
    moment_offset: Scalar = 0.0
    elevator_power: Scalar = 1.0
    stabilizer_power: Scalar = 1.0
    tab_power: Scalar = 1.0
    drag: Scalar = 1.0
    induced_drag: Scalar = 1.0
    thrust: Scalar = 1.0
    hinge_alpha: Scalar = 1.0
    hinge_elevator: Scalar = 1.0
    column_gearing: Scalar = 1.0
    roll_yaw: Scalar = 1.0
    stall_angle: Scalar = 1.0
    mass: Scalar = 1.0
    pitch_inertia: Scalar = 1.0
    cg_station: Scalar = 0.0
    thrust_arm: Scalar = 0.0
    tuck: Scalar = 0.0
    fade: Scalar = 1.0


def _scaled(part, factor: Scalar, *names: str):
    return dataclasses.replace(part, **{name: getattr(part, name) * factor for name in names})


def apply_multipliers(airplane: Airplane, multipliers: Multipliers) -> Airplane:
    """The airplane with one draw of its uncertainty applied.

    The neutral point moves by `neutral_point` chords because d Cm / d CL at the moment reference
    is minus the distance to it: Etkin and Reid (1996), eq. 2.3,5.

    Args:
        airplane: As described by its document.
        multipliers: One joint draw.

    Returns:
        A new airplane of the same structure.
    """
    m = multipliers
    lon = _scaled(airplane.longitudinal, m.lift_slope, "CL_alpha", "Cm_alpha")
    lon = _scaled(lon, m.pitch_damping, "Cm_q", "Cm_alphadot")
    lon = _scaled(lon, m.elevator_power, "CL_elevator", "Cm_elevator")
    lon = _scaled(lon, m.stabilizer_power, "CL_stabilizer", "Cm_stabilizer")
    lon = _scaled(lon, m.tab_power, "CL_tab", "Cm_tab")
    lon = _scaled(lon, m.stall_angle, "stall_angle", "negative_stall_angle")
    lon = dataclasses.replace(
        lon,
        Cm_0=lon.Cm_0 + m.moment_offset,
        Cm_alpha=lon.Cm_alpha - lon.CL_alpha * m.neutral_point,
        CD_0=lon.CD_0 * m.drag,
        CD_lift=lon.CD_lift * m.induced_drag,
        tuck=lon.tuck + m.tuck,
        fade=lon.fade * m.fade,
    )
    lower = m.thrust_arm * airplane.geometry.mean_chord
    moments = [f"{c}_{x}" for c in ("Cl", "Cn") for x in ("beta", "p", "r", "aileron", "rudder")]
    control = _scaled(airplane.pitch_control, m.hinge_alpha, "Ch_alpha")
    control = _scaled(control, m.hinge_elevator, "Ch_elevator")
    control = _scaled(control, m.tab_power, "Ch_tab")
    inertia = ("mass", "roll_inertia", "pitch_inertia", "yaw_inertia", "cross_inertia")
    mass = _scaled(_scaled(airplane.mass, m.mass, *inertia), m.pitch_inertia, "pitch_inertia")
    return dataclasses.replace(
        airplane,
        mass=dataclasses.replace(mass, cg_station=mass.cg_station + m.cg_station),
        longitudinal=lon,
        lateral=_scaled(airplane.lateral, m.roll_yaw, *moments),
        engines=tuple(
            dataclasses.replace(engine, rating=engine.rating * m.thrust, depth=engine.depth + lower)
            for engine in airplane.engines
        ),
        pitch_control=_scaled(control, m.column_gearing, "gearing"),
    )
