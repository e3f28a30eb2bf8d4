"""The tables of an airplane file: geometry, controls, aerodynamics, engines, trim and load."""

from __future__ import annotations

import dataclasses
import difflib
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from neutralpoint.airplane.model import (
    EngineKind,
    LateralAerodynamics,
    LongitudinalAerodynamics,
    StopKind,
    TrimKind,
)
from neutralpoint.documents.fields import (
    Angle,
    AngleRate,
    Area,
    Duration,
    Force,
    ForcePerAngle,
    ForcePerAnglePressure,
    Gearing,
    Inertia,
    Kind,
    Mass,
    PitchingMoment,
    Power,
    Pure,
    Section,
    Speed,
    Station,
    Text,
    refused,
)
from neutralpoint.documents.quantity import Uncertain

# Names that [aerodynamics.given] may hold: every coefficient of the model but CD_0, which has its
# own key, and the hinge-moment and downwash slopes.
GIVABLE: tuple[str, ...] = (
    *(
        entry.name
        for kind in (LongitudinalAerodynamics, LateralAerodynamics)
        for entry in dataclasses.fields(kind)
        if entry.name.startswith(("CL_", "CD_", "Cm_", "CY_", "Cl_", "Cn_"))
        and entry.name != "CD_0"
    ),
    *("Ch_0", "Ch_alpha", "Ch_elevator", "Ch_tab", "downwash_alpha"),
)


NOTHING = Uncertain(0.0)
Frequency = Annotated[Uncertain, Kind("frequency")]


def _positive(value: Uncertain) -> Uncertain:
    if value.value <= 0.0:
        raise refused(
            "quantity-range", f"{value.text!r} is not above zero.", "Give a positive value."
        )
    return value


def _share(value: Uncertain) -> Uncertain:
    if not 0.0 < value.value <= 1.0:
        raise refused("quantity-range", f"{value.text!r} is not a share.", "Give a value up to 1.")
    return value


PositiveLength = Annotated[Station, AfterValidator(_positive)]
PositiveArea = Annotated[Area, AfterValidator(_positive)]
PositiveMass = Annotated[Mass, AfterValidator(_positive)]
PositiveAngle = Annotated[Angle, AfterValidator(_positive)]
PositiveNumber = Annotated[Pure, AfterValidator(_positive)]
PositiveSpeed = Annotated[Speed, AfterValidator(_positive)]
Share = Annotated[Pure, AfterValidator(_share)]


def _given(value: object) -> object:
    """Coefficients by name, each a pure number (per rad)."""
    if not isinstance(value, dict):
        return value
    unknown = [name for name in value if name not in GIVABLE]
    if unknown:
        near = difflib.get_close_matches(unknown[0], GIVABLE, n=1, cutoff=0.5)
        hint = f"Did you mean {near[0]}? " if near else ""
        raise refused(
            "airplane-invalid",
            f"{unknown[0]} is not a coefficient of the model.",
            f"{hint}Coefficients: {', '.join(GIVABLE)}.",
        )
    return {name: _pure(name, text) for name, text in value.items()}


def _pure(name: str, text: object) -> Uncertain:
    """A coefficient within the range of pure numbers."""
    try:
        return Kind("number").parsed(text)
    except PydanticCustomError as error:
        context = error.context or {}
        raise refused(error.type, f"{name}: {context['found']}", context["hint"]) from error


class Surface(Section):
    """A straight-tapered lifting surface; `chord_station` is the nose of its mean chord."""

    area: PositiveArea = Field(description="Both halves; of a fin the one half.")
    span: PositiveLength = Field(description="Tip to tip; of a fin root to tip.")
    taper: Share = Field(description="Tip chord over root chord.")
    sweep: Angle = Field(NOTHING, description="Of the quarter-chord line, aft positive.")
    chord_station: Station = Field(
        description="Nose of the mean aerodynamic chord, aft of the datum."
    )
    depth: Station = Field(NOTHING, description="Below the datum line.")
    section_slope_ratio: PositiveNumber = Field(
        Uncertain(0.95), description="Section lift slope over 2 pi."
    )


class Wing(Surface):
    """The wing; area, span and mean chord are the reference lengths."""

    mean_chord: PositiveLength | None = Field(
        None, description="Where a document states it; of the trapezoid where left out."
    )
    incidence: Angle = Field(NOTHING, description="Root chord above the datum line.")
    zero_lift_angle: Angle = Field(NOTHING, description="Of the section, from its chord.")
    section_moment: Pure = Field(
        NOTHING, description="Pitching moment coefficient of wing and body about the quarter chord."
    )
    dihedral: Angle = Field(NOTHING, description="Dihedral angle.")


class Tail(Surface):
    """The horizontal tail; downwash at zero incidence is estimated when not given."""

    pressure_ratio: PositiveNumber = Field(
        Uncertain(0.95), description="Dynamic pressure at the tail over free stream."
    )
    downwash_0: Angle | None = Field(
        None, description="At zero angle of attack; estimated where left out."
    )
    downwash_flap: Angle = Field(NOTHING, description="Change with full flap.")


class Body(Section):
    """The fuselage."""

    length: PositiveLength = Field(description="Nose to tail.")
    width: PositiveLength = Field(description="Greatest.")
    height: PositiveLength = Field(description="Greatest.")
    nose_station: Station = Field(NOTHING, description="Aft of the datum.")
    seat_station: Station | None = Field(
        None,
        description="Head of the pilot, aft of the datum; a fifth of the length behind the nose, "
        "with an error, where left out.",
    )
    reference_angle: Angle | None = Field(
        None,
        description="Line that pitch is read from, nose-up above the datum line; "
        "0 deg +- 2.5 deg where left out.",
    )


class Aileron(Section):
    """Where the ailerons are: chord over wing chord, ends as fractions of the half span."""

    chord_ratio: Share = Field(description="Chord over wing chord.")
    inner: Pure = Field(description="Inner end, fraction of the half span.")
    outer: Share = Field(description="Outer end, fraction of the half span.")


class Elevator(Section):
    """The elevator aft of its hinge; `balance` is what balance leaves of the hinge moments."""

    chord_ratio: Share = Field(description="Chord aft of the hinge over tail chord.")
    area: PositiveArea = Field(description="Aft of the hinge, both sides.")
    chord: PositiveLength = Field(description="Mean, aft of the hinge.")
    up: PositiveAngle = Field(description="Trailing edge up to its stop, positive.")
    down: PositiveAngle = Field(description="Trailing edge down to its stop, positive.")
    balance: Share = Field(
        Uncertain(1.0),
        description="What aerodynamic balance leaves of the estimated hinge moments; 1 is plain.",
    )


class Rudder(Section):
    """The rudder."""

    chord_ratio: Share = Field(description="Chord aft of the hinge over fin chord.")


class ColumnSection(Section):
    """Column to elevator, and what else the hand feels."""

    reversible: bool = Field(True, description="False where air loads do not reach the column.")
    gearing: Annotated[Gearing, AfterValidator(_positive)] = Field(
        description="Elevator angle per column travel."
    )
    spring: Force = Field(NOTHING, description="Pull at zero elevator.")
    spring_rate: ForcePerAngle = Field(
        NOTHING, description="Pull per elevator angle; negative centers."
    )
    feel_rate: ForcePerAnglePressure = Field(
        NOTHING,
        description="Pull per elevator angle and dynamic pressure; negative centers.",
    )
    bobweight: Force = Field(NOTHING, description="Pull per unit load factor.")
    friction: Force = Field(NOTHING, description="Half-width of the friction band.")


class Aerodynamics(Section):
    """Condition the derivatives hold at, stall, drag, and any derivative that is given.

    `neutral_point_shift` (chords, aft positive) is what nacelles and running propellers do to an
    estimated neutral point. `given` takes every coefficient of the model by name; what is not given
    is estimated.
    """

    mach: Pure = Field(NOTHING, description="At which the derivatives hold.")
    lift_coefficient: Pure = Field(
        Uncertain(0.4), description="At which the lateral derivatives hold."
    )
    CD_0: PositiveNumber = Field(description="Drag coefficient without lift, flaps and gear up.")
    oswald: PositiveNumber | None = Field(
        None, description="Span efficiency; estimated where left out."
    )
    critical_mach: Pure = Field(Uncertain(2.0), description="From which wave drag grows.")
    moment_point: Pure = Field(
        Uncertain(0.25), description="Point of the mean chord that given moments hold at, fraction."
    )
    neutral_point_shift: Pure = Field(
        NOTHING,
        description="Of the estimated one, by nacelles and propellers; chords, aft positive.",
    )
    stall_angle: PositiveAngle = Field(description="Angle of attack of half separation, flaps up.")
    stall_width: PositiveAngle = Field(Uncertain(0.05), description="Half-width of the transition.")
    negative_stall_angle: Angle = Field(description="The same for negative lift, negative.")
    stall_angle_flap: Angle = Field(NOTHING, description="Change of `stall_angle` with full flap.")
    given: Annotated[dict[str, Uncertain], BeforeValidator(_given)] = Field(
        default_factory=dict,
        description="Any coefficient by name, per radian; what is not given is estimated.",
    )


class EngineSection(Section):
    """One engine; a pair is two entries."""

    kind: EngineKind = Field(description="What it is.")
    power: Power | None = Field(
        None, description="Shaft power of a piston engine or turboprop, sea level, standing still."
    )
    thrust: Force | None = Field(None, description="Of a turbofan, sea level, standing still.")
    flat_rating: Pure = Field(Uncertain(1.0), description="Thermodynamic over rated output.")
    altitude_exponent: Pure = Field(
        Uncertain(0.7), description="Output follows density ratio to this power."
    )
    mach_slope: Pure = Field(
        NOTHING, description="Thrust varies as 1 + mach_slope M + mach_curve M^2."
    )
    mach_curve: Pure = Field(NOTHING, description="See `mach_slope`.")
    propeller_efficiency: Share = Field(
        Uncertain(0.85), description="Share of shaft power that reaches the ideal disc."
    )
    diameter: PositiveLength = Field(description="Of the propeller or fan.")
    windmill_drag: Pure = Field(NOTHING, description="Drag area over disc area with no power.")
    feather_drag: Pure = Field(
        NOTHING, description="Drag area over disc area, feathered or stopped."
    )
    lag: Annotated[Duration, AfterValidator(_positive)] = Field(
        Uncertain(1.0), description="Time constant of output behind the lever."
    )
    station: Station = Field(description="Where the thrust acts, aft of the datum.")
    side: Station = Field(NOTHING, description="To the right of the center line.")
    depth: Station = Field(NOTHING, description="Below the datum line.")
    incidence: Angle = Field(NOTHING, description="Thrust line above the datum line.")


class Stop(Section):
    """One way to stop the trim."""

    name: str = Field(description="What the crew calls it.")
    kind: StopKind = Field(description="How it works.")
    reach_time: Duration = Field(description="From decision to action.")
    hands: Literal[0, 1, 2] = Field(description="Hands it takes off the column.")
    release_restarts: bool = Field(
        description="Whether the trim may run again once the device is released."
    )


class Trim(Section):
    """What moves the pitch trim; angles nose-up and nose-down are those of the airplane."""

    kind: TrimKind = Field(description="Which surface moves.")
    travel_min: Angle = Field(
        NOTHING,
        description="Stabilizer: leading edge down (nose up). Tab: trailing edge up (nose down).",
    )
    travel_max: Angle = Field(NOTHING, description="The other end.")
    rate: AngleRate = Field(
        NOTHING, description="Of the motor without load; 0 where there is none."
    )
    loaded_rate: AngleRate | None = Field(
        None, description="At `load_moment`; as `rate` where left out."
    )
    load_moment: PitchingMoment | None = Field(
        None, description="Surface moment against the motor."
    )
    stall_moment: PitchingMoment | None = Field(
        None, description="Surface moment that stops the motor."
    )
    pivot_arm: Station = Field(
        NOTHING, description="From the stabilizer's pivot back to the lift of its incidence."
    )
    elevator_pivot_arm: Station = Field(
        NOTHING, description="From the stabilizer's pivot back to the lift of the elevator."
    )
    autopilot_rate: AngleRate = Field(NOTHING, description="When the autopilot drives.")
    manual_rate: AngleRate = Field(NOTHING, description="By hand wheel; 0 where there is none.")
    stops: tuple[Stop, ...] = Field((), description="Ways to stop it.")

    @model_validator(mode="after")
    def _runs(self) -> Trim:
        if self.travel_min.value > self.travel_max.value:
            raise refused(
                "quantity-range",
                f"the travel runs from {self.travel_min.text!r} to {self.travel_max.text!r}.",
                "Give the lower angle as travel_min.",
            )
        return self


class ToneSection(Section):
    """A tone that the airplane makes, for recordings."""

    name: Text = Field(description="What it is called.")
    kind: Literal["trim", "stall", "overspeed", "gear", "altitude", "autopilot"] = Field(
        description="What it tells; `trim` sounds while the trim moves."
    )
    frequency: Frequency = Field(description="With +- by how much it may be off.")


class LimitsSection(Section):
    """What the airplane is cleared for."""

    never_exceed_speed: PositiveSpeed = Field(description="VNE or VMO, calibrated.")
    never_exceed_mach: Pure | None = Field(None, description="MMO.")
    load_factor_max: Pure = Field(description="Positive limit load factor.")
    load_factor_min: Pure = Field(description="Negative limit load factor.")
    cruise_speed: PositiveSpeed | None = Field(
        None, description="Design cruise speed VC, equivalent; 0.89 VNE where left out."
    )
    dive_speed: PositiveSpeed | None = Field(
        None, description="Design dive speed VD, equivalent; VNE / 0.9 where left out."
    )
    flap_speed: PositiveSpeed | None = Field(
        None, description="VFE with full flap, calibrated; not examined where left out."
    )
    gear_speed: PositiveSpeed | None = Field(
        None, description="VLE, gear down, calibrated; not examined where left out."
    )

    @model_validator(mode="after")
    def _ordered(self) -> LimitsSection:
        if self.dive <= self.cruise:
            raise refused(
                "quantity-range",
                f"the dive speed, {self.dive:.0f} m/s, is not above the cruise speed, "
                f"{self.cruise:.0f} m/s.",
                "Give a dive_speed above cruise_speed; either may be left out.",
            )
        return self

    @property
    def cruise(self) -> float:
        """Design cruise speed, m/s. Source of the default: VNO <= 0.89 VNE, 14 CFR 23.1505(b)."""
        given = self.cruise_speed
        return 0.89 * self.never_exceed_speed.value if given is None else given.value

    @property
    def dive(self) -> float:
        """Design dive speed, m/s. Source of the default: VNE <= 0.9 VD, 14 CFR 23.1505(a)."""
        given = self.dive_speed
        return self.never_exceed_speed.value / 0.9 if given is None else given.value


class Empty(Section):
    """The airplane as weighed; inertias are estimated from the class when not given."""

    mass: PositiveMass = Field(description="As weighed.")
    station: Station = Field(description="Center of gravity, aft of the datum.")
    depth: Station = Field(NOTHING, description="Center of gravity, below the datum line.")
    roll_inertia: Inertia | None = Field(
        None,
        description="About its own center of gravity; estimated from the class where left out.",
    )
    pitch_inertia: Inertia | None = Field(None, description="Likewise.")
    yaw_inertia: Inertia | None = Field(None, description="Likewise.")
    cross_inertia: Inertia = Field(NOTHING, description="Integral of x z dm, body axes.")


class ItemSection(Section):
    """Something carried."""

    name: str = Field(description="What it is.")
    mass: PositiveMass = Field(description="Mass.")
    station: Station = Field(description="Aft of the datum.")
    side: Station = Field(NOTHING, description="To the right.")
    depth: Station = Field(NOTHING, description="Below the datum line.")
    loose: bool = Field(False, description="True where it could move in flight.")


class TankSection(Section):
    """A tank; `table` gives its station against contents when it moves."""

    name: str = Field(description="What it is.")
    capacity: PositiveMass = Field(description="Usable fuel.")
    contents: Mass = Field(description="Fuel in it.")
    station: Station | None = Field(None, description="Where it does not depend on contents.")
    table: tuple[tuple[Mass, Station], ...] = Field(
        (), description="Pairs of contents and station, contents rising, where it does."
    )
    side: Station = Field(NOTHING, description="To the right; 0 for a pair used alike.")
    depth: Station = Field(NOTHING, description="Below the datum line.")

    @model_validator(mode="after")
    def _holds(self) -> TankSection:
        if (self.station is None) == (not self.table):
            raise refused(
                "airplane-invalid",
                f"tank {self.name!r} has no place, or two.",
                "Give either station or table.",
            )
        if not 0.0 <= self.contents.value <= self.capacity.value:
            raise refused(
                "quantity-range",
                f"tank {self.name!r} holds {self.contents.text!r}.",
                f"Give contents up to the capacity, {self.capacity.text}.",
            )
        return self


class EnvelopeSection(Section):
    """Center-of-gravity limits: corners (station, mass) in order round the polygon."""

    name: str = Field(description="For which operation.")
    corners: tuple[tuple[Station, Mass], ...] = Field(
        min_length=3, description="Pairs of station and mass in order round the polygon."
    )
