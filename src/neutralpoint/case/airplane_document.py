"""The airplane file: what an analyst may write, section by section, and how it is refused.

Quantities are strings with a unit and an optional +- value, which is the half-width of a 95 %
interval; a number without +- counts as certain. Section by section the keys are those of
docs/reference/airplane-file.md, which a test compares with this module.
"""

from __future__ import annotations

import dataclasses
import difflib
import tomllib
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError

from neutralpoint.airplane.inertia import AirplaneClass
from neutralpoint.airplane.model import (
    EngineKind,
    LateralAerodynamics,
    LongitudinalAerodynamics,
    StopKind,
    TrimKind,
)
from neutralpoint.case.document import Section, quantity
from neutralpoint.case.quantity import Uncertain, parse_quantity
from neutralpoint.case.refusal import refusal
from neutralpoint.errors import NeutralPointError

SCHEMA = 1
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
CATALOGUE = resources.files("neutralpoint.airplane") / "catalogue"


Length = quantity("m")
Area = quantity("m2")
Mass = quantity("kg")
Inertia = quantity("kg m2")
Angle = quantity("rad")
AngleRate = quantity("rad/s")
Gearing = quantity("rad/m")
Force = quantity("N")
ForcePerAngle = quantity("N/rad")
ForcePerAnglePressure = quantity("N/rad/Pa")
Moment = quantity("N m")
Speed = quantity("m/s")
Duration = quantity("s")
Pure = quantity("")


def _given(value: object) -> object:
    """Coefficients by name, each a pure number (per rad)."""
    if not isinstance(value, dict):
        return value
    unknown = [name for name in value if name not in GIVABLE]
    if unknown:
        near = difflib.get_close_matches(unknown[0], GIVABLE, n=1, cutoff=0.5)
        hint = f"Did you mean {near[0]}? " if near else ""
        raise ValueError(
            f"airplane-invalid|{unknown[0]} is not a coefficient of the model."
            f"|{hint}Coefficients: {', '.join(GIVABLE)}."
        )
    return {name: _pure(name, text) for name, text in value.items()}


def _pure(name: str, text: object) -> Uncertain:
    if isinstance(text, Uncertain):
        return text
    try:
        return parse_quantity(text, "")
    except NeutralPointError as error:
        raise ValueError(f"{error.code}|{name}: {error.message}|{error.hint}") from error


class Surface(Section):
    """A straight-tapered lifting surface; `chord_station` is the nose of its mean chord."""

    area: Area
    span: Length
    taper: Pure
    sweep: Angle = Uncertain(0.0, 0.0)
    chord_station: Length
    depth: Length = Uncertain(0.0, 0.0)
    section_slope_ratio: Pure = Uncertain(0.95, 0.0)


class Wing(Surface):
    """The wing; area, span and mean chord are the reference lengths."""

    mean_chord: Length | None = None
    incidence: Angle = Uncertain(0.0, 0.0)
    zero_lift_angle: Angle = Uncertain(0.0, 0.0)
    section_moment: Pure = Uncertain(0.0, 0.0)
    dihedral: Angle = Uncertain(0.0, 0.0)


class Tail(Surface):
    """The horizontal tail; downwash at zero incidence is estimated when not given."""

    pressure_ratio: Pure = Uncertain(0.95, 0.0)
    downwash_0: Angle | None = None
    downwash_flap: Angle = Uncertain(0.0, 0.0)


class Body(Section):
    """The fuselage."""

    length: Length
    width: Length
    height: Length
    nose_station: Length = Uncertain(0.0, 0.0)


class Aileron(Section):
    """Where the ailerons are: chord over wing chord, ends as fractions of the half span."""

    chord_ratio: Pure
    inner: Pure
    outer: Pure


class Elevator(Section):
    """The elevator aft of its hinge; `balance` is what balance leaves of the hinge moments."""

    chord_ratio: Pure
    area: Area
    chord: Length
    up: Angle
    down: Angle
    balance: Pure = Uncertain(1.0, 0.0)


class Rudder(Section):
    """The rudder."""

    chord_ratio: Pure


class Column(Section):
    """Column to elevator, and what else the hand feels."""

    reversible: bool = True
    gearing: Gearing
    spring: Force = Uncertain(0.0, 0.0)
    spring_rate: ForcePerAngle = Uncertain(0.0, 0.0)
    feel_rate: ForcePerAnglePressure = Uncertain(0.0, 0.0)
    bobweight: Force = Uncertain(0.0, 0.0)
    friction: Force = Uncertain(0.0, 0.0)


class Aerodynamics(Section):
    """Condition the derivatives hold at, stall, drag, and any derivative that is given.

    `neutral_point_shift` (chords, aft positive) is what nacelles and running propellers do to an
    estimated neutral point. `given` takes every coefficient of the model by name; what is not given
    is estimated.
    """

    mach: Pure = Uncertain(0.0, 0.0)
    lift_coefficient: Pure = Uncertain(0.4, 0.0)
    CD_0: Pure
    oswald: Pure | None = None
    critical_mach: Pure = Uncertain(2.0, 0.0)
    moment_point: Pure = Uncertain(0.25, 0.0)
    neutral_point_shift: Pure = Uncertain(0.0, 0.0)
    stall_angle: Angle
    stall_width: Angle = Uncertain(0.05, 0.0)
    negative_stall_angle: Angle
    stall_angle_flap: Angle = Uncertain(0.0, 0.0)
    given: Annotated[dict[str, Uncertain], BeforeValidator(_given)] = Field(default_factory=dict)


class EngineSection(Section):
    """One engine; a pair is two entries."""

    kind: EngineKind
    power: quantity("W") | None = None
    thrust: Force | None = None
    flat_rating: Pure = Uncertain(1.0, 0.0)
    altitude_exponent: Pure = Uncertain(0.7, 0.0)
    mach_slope: Pure = Uncertain(0.0, 0.0)
    mach_curve: Pure = Uncertain(0.0, 0.0)
    propeller_efficiency: Pure = Uncertain(0.85, 0.0)
    diameter: Length
    windmill_drag: Pure = Uncertain(0.0, 0.0)
    feather_drag: Pure = Uncertain(0.0, 0.0)
    lag: Duration = Uncertain(1.0, 0.0)
    station: Length
    side: Length = Uncertain(0.0, 0.0)
    depth: Length = Uncertain(0.0, 0.0)
    incidence: Angle = Uncertain(0.0, 0.0)


class Stop(Section):
    """One way to stop the trim."""

    name: str
    kind: StopKind
    reach_time: Duration
    hands: Literal[0, 1, 2]
    release_restarts: bool


class Trim(Section):
    """What moves the pitch trim; angles nose-up and nose-down are those of the airplane."""

    kind: TrimKind
    travel_min: Angle = Uncertain(0.0, 0.0)
    travel_max: Angle = Uncertain(0.0, 0.0)
    rate: AngleRate = Uncertain(0.0, 0.0)
    loaded_rate: AngleRate | None = None
    load_moment: Moment | None = None
    stall_moment: Moment | None = None
    autopilot_rate: AngleRate = Uncertain(0.0, 0.0)
    manual_rate: AngleRate = Uncertain(0.0, 0.0)
    stops: tuple[Stop, ...] = ()


class Limits(Section):
    """What the airplane is cleared for."""

    never_exceed_speed: Speed
    never_exceed_mach: Pure | None = None
    load_factor_max: Pure
    load_factor_min: Pure


class Empty(Section):
    """The airplane as weighed; inertias are estimated from the class when not given."""

    mass: Mass
    station: Length
    depth: Length = Uncertain(0.0, 0.0)
    roll_inertia: Inertia | None = None
    pitch_inertia: Inertia | None = None
    yaw_inertia: Inertia | None = None
    cross_inertia: Inertia = Uncertain(0.0, 0.0)


class ItemSection(Section):
    """Something carried."""

    name: str
    mass: Mass
    station: Length
    side: Length = Uncertain(0.0, 0.0)
    depth: Length = Uncertain(0.0, 0.0)
    loose: bool = False


class TankSection(Section):
    """A tank; `table` gives its station against contents when it moves."""

    name: str
    capacity: Mass
    contents: Mass
    station: Length | None = None
    table: tuple[tuple[Mass, Length], ...] = ()
    side: Length = Uncertain(0.0, 0.0)
    depth: Length = Uncertain(0.0, 0.0)


class EnvelopeSection(Section):
    """Centre-of-gravity limits: corners (station, mass) in order round the polygon."""

    name: str
    corners: tuple[tuple[Length, Mass], ...] = Field(min_length=3)


class AirplaneDocument(Section):
    """A whole airplane file.

    Estimates need wing, tail, fin, fuselage, aileron and rudder; a file without one of them gives
    its derivatives instead.
    """

    schema_version: Literal[1] = Field(alias="schema")
    name: str
    description: str = ""
    airplane_class: AirplaneClass = Field(alias="class")
    wing: Wing
    tail: Tail | None = None
    fin: Surface | None = None
    fuselage: Body | None = None
    aileron: Aileron | None = None
    elevator: Elevator
    rudder: Rudder | None = None
    column: Column
    aerodynamics: Aerodynamics
    engines: tuple[EngineSection, ...]
    trim: Trim
    limits: Limits
    empty: Empty
    items: tuple[ItemSection, ...] = ()
    tanks: tuple[TankSection, ...] = ()
    envelopes: tuple[EnvelopeSection, ...] = ()
    sources: dict[str, Any] = Field(default_factory=dict)


def catalogue_names() -> tuple[str, ...]:
    """Names of the airplanes that come with the package."""
    files = (entry.name for entry in CATALOGUE.iterdir())
    return tuple(sorted(name[:-5] for name in files if name.endswith(".toml")))


def read_airplane(file: str | Path) -> AirplaneDocument:
    """An airplane file, or one of the catalogue by its name.

    Args:
        file: Path, or a name of `catalogue_names`.

    Raises:
        NeutralPointError: No such file, not TOML, or a key or value that the schema refuses.
    """
    if str(file) in catalogue_names():
        place = f"catalogue {file}"
        text = (CATALOGUE / f"{file}.toml").read_text(encoding="utf-8")
    else:
        place, text = str(file), _text(Path(file))
    return parse_airplane(text, place)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise NeutralPointError(
            "file-missing",
            f"There is no airplane file {path}.",
            where=str(path),
            hint=f"Give a path, or a catalogue name: {', '.join(catalogue_names())}.",
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise NeutralPointError(
            "file-format",
            f"{path} cannot be read as text: {error}.",
            where=str(path),
            hint="An airplane file is TOML in UTF-8.",
        ) from error


def parse_airplane(text: str, place: str) -> AirplaneDocument:
    """The document in a TOML text.

    Args:
        text: TOML.
        place: What errors call it.

    Raises:
        NeutralPointError: Not TOML, or a key or value that the schema refuses (the first one).
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise NeutralPointError(
            "airplane-invalid",
            f"The file is not valid TOML: {error}.",
            where=place,
            hint='Strings need quotes: area = "28.0 m2 +- 0.1 m2".',
        ) from error
    try:
        return AirplaneDocument.model_validate(table)
    except ValidationError as error:
        raise refusal(error, AirplaneDocument, text, place, kind="airplane") from error
