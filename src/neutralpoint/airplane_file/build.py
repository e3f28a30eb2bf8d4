"""From an airplane file to the airplane, its loading and its uncertainty."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from pathlib import Path

from neutralpoint.airplane.envelope import Envelope
from neutralpoint.airplane.estimate import Estimate
from neutralpoint.airplane.loading import Loading, mass_properties
from neutralpoint.airplane.model import (
    Airplane,
    Engine,
    Geometry,
    LateralAerodynamics,
    Limits,
    LongitudinalAerodynamics,
    PitchControl,
    StopDevice,
    TrimDrive,
)
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.airplane_file.document import AirplaneDocument, read_airplane
from neutralpoint.airplane_file.loading import (
    build_envelopes,
    build_loading,
    loading_uncertainty,
)
from neutralpoint.airplane_file.numbers import check_shape, check_unused, collect_numbers, shape_of
from neutralpoint.airplane_file.sections import EngineSection
from neutralpoint.airplane_file.sources import check_sources
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import SEA_LEVEL_DENSITY

# Loss of elevator effect per unit of dynamic pressure beyond the limit: a fifth at 1.25 times the
# never-exceed speed, by bending of tail and linkage. Analyst's estimate.
FADE = 0.45


@dataclass(frozen=True)
class DescribedAirplane:
    """An airplane with everything its file says about it.

    Args:
        document: The file.
        airplane: As one set of numbers, with the loading of the file.
        uncertainty: Standard deviations that `Multipliers` are drawn with.
        loading: What is on board.
        envelopes: Centre-of-gravity limits.
        numbers: Every coefficient by name with its band and source.
        given: Names in `numbers` that the file gives; the others are estimates.
    """

    document: AirplaneDocument
    airplane: Airplane
    uncertainty: Uncertainty
    loading: Loading
    envelopes: tuple[Envelope, ...]
    numbers: dict[str, Estimate]
    given: frozenset[str]

    def loaded(self, loading: Loading) -> DescribedAirplane:
        """The same airplane with something else on board; its load is taken as known exactly
        where the file's was, and with the same standard deviations otherwise."""
        airplane = dataclasses.replace(self.airplane, mass=mass_properties(loading))
        return dataclasses.replace(self, airplane=airplane, loading=loading)


def load_airplane(file: str | Path) -> DescribedAirplane:
    """The airplane in a file, or one of the catalogue by its name.

    Args:
        file: Path, or a name of `catalogue_names`.

    Raises:
        NeutralPointError: The file is missing or refused, or a number is neither given nor
            estimable.
    """
    return build_airplane(read_airplane(file), str(file))


def build_airplane(document: AirplaneDocument, place: str) -> DescribedAirplane:
    """The airplane that a document describes.

    Args:
        document: The file.
        place: What errors call it.

    Raises:
        NeutralPointError: A number is neither given nor estimable, a source speaks of no key, or
            the numbers do not make an airplane.
    """
    check_sources(document, place)
    check_shape(document, place)
    check_unused(document, place)
    try:
        found = _build(document, place)
    except (ArithmeticError, ValueError) as error:
        raise _impossible(f"the estimates fail ({error})", place) from error
    odd = [name for name, number in found.numbers.items() if not math.isfinite(number.value)]
    if odd or not 0.0 < found.airplane.mass.mass < math.inf:
        raise _impossible(f"{odd[0] if odd else 'the mass'} is no finite number", place)
    return found


def _impossible(what: str, place: str) -> NeutralPointError:
    return NeutralPointError(
        "airplane-invalid",
        f"The numbers do not make an airplane: {what}.",
        where=place,
        hint="Look for a number that is out of scale, or a wrong unit.",
    )


def _build(document: AirplaneDocument, place: str) -> DescribedAirplane:
    numbers, given = collect_numbers(document)
    loading = build_loading(document)
    airplane = Airplane(
        name=document.name,
        geometry=_geometry(document, numbers),
        mass=mass_properties(loading),
        longitudinal=_longitudinal(document, numbers, place),
        lateral=_fill(LateralAerodynamics, numbers, place),
        engines=tuple(_engine(engine, place, i) for i, engine in enumerate(document.engines)),
        pitch_control=_pitch_control(document, numbers, place),
        trim_drive=_trim_drive(document),
        limits=_limits(document),
    )
    uncertainty = _uncertainty(document, airplane, numbers, loading)
    return DescribedAirplane(
        document, airplane, uncertainty, loading, build_envelopes(document), numbers, given
    )


def _geometry(document: AirplaneDocument, numbers: dict[str, Estimate]) -> Geometry:
    shape = shape_of(document)
    wing, aero = document.wing, document.aerodynamics
    chord = shape.mean_chord
    if document.tail is None:
        arm = -numbers["Cm_stabilizer"].value / numbers["CL_stabilizer"].value * chord
    else:
        nose = document.tail.chord_station.value
        quarter = 0.25 * shape_of(document, "tail").mean_chord
        arm = nose + quarter - wing.chord_station.value - aero.moment_point.value * chord
    return Geometry(
        wing_area=wing.area.value,
        mean_chord=chord,
        span=wing.span.value,
        chord_station=wing.chord_station.value,
        moment_station=wing.chord_station.value + aero.moment_point.value * chord,
        moment_depth=wing.depth.value,
        tail_arm=arm,
    )


def _fill(kind: type, numbers: dict[str, Estimate], place: str, **known: object):
    """A coefficient class from the numbers of its names; a missing one without default refuses."""
    values = dict(known)
    for entry in dataclasses.fields(kind):
        if entry.name in numbers and entry.name not in values:
            values[entry.name] = numbers[entry.name].value
        elif entry.name not in values and entry.default is dataclasses.MISSING:
            raise NeutralPointError(
                "airplane-invalid",
                f"{entry.name} is neither given nor can it be estimated.",
                where=f"{place}: aerodynamics.given.{entry.name}",
                hint="Give it, or describe wing, tail, fin, fuselage, aileron and rudder.",
            )
    return kind(**values)


def _longitudinal(
    document: AirplaneDocument, numbers: dict[str, Estimate], place: str
) -> LongitudinalAerodynamics:
    aero, wing, limits = document.aerodynamics, shape_of(document), document.limits
    return _fill(
        LongitudinalAerodynamics,
        numbers,
        place,
        mach=aero.mach.value,
        critical_mach=aero.critical_mach.value,
        compressibility_aspect_ratio=wing.aspect_ratio,
        stall_angle=aero.stall_angle.value,
        stall_width=aero.stall_width.value,
        negative_stall_angle=aero.negative_stall_angle.value,
        stall_angle_flap=aero.stall_angle_flap.value,
        # The never-exceed speed counts as an equivalent airspeed.
        fast_pressure=0.5 * SEA_LEVEL_DENSITY * limits.never_exceed_speed.value**2,
        fast_mach=limits.never_exceed_mach.value if limits.never_exceed_mach else math.inf,
        fade=FADE,
    )


def _engine(section: EngineSection, place: str, index: int) -> Engine:
    rating = section.thrust if section.kind == "turbofan" else section.power
    if rating is None:
        wanted = "thrust" if section.kind == "turbofan" else "power"
        raise NeutralPointError(
            "airplane-invalid",
            f"A {section.kind} needs its {wanted}.",
            where=f"{place}: engines.{index}.{wanted}",
            hint="Give the rating at sea level, standing still.",
        )
    plain = (
        "flat_rating altitude_exponent mach_slope mach_curve propeller_efficiency windmill_drag "
        "feather_drag lag station side depth incidence"
    )
    values = {name: getattr(section, name).value for name in plain.split()}
    area = math.pi / 4.0 * section.diameter.value**2
    return Engine(kind=section.kind, rating=rating.value, disc_area=area, **values)


def _pitch_control(
    document: AirplaneDocument, numbers: dict[str, Estimate], place: str
) -> PitchControl:
    column, elevator = document.column, document.elevator
    plain = "gearing spring spring_rate feel_rate bobweight friction"
    values = {name: getattr(column, name).value for name in plain.split()}
    return _fill(
        PitchControl,
        numbers,
        place,
        reversible=column.reversible,
        elevator_area=elevator.area.value,
        elevator_chord=elevator.chord.value,
        elevator_min=-elevator.up.value,
        elevator_max=elevator.down.value,
        tail_pressure_ratio=document.tail.pressure_ratio.value if document.tail else 1.0,
        **values,
    )


def _trim_drive(document: AirplaneDocument) -> TrimDrive:
    trim = document.trim
    loaded = trim.rate if trim.loaded_rate is None else trim.loaded_rate
    return TrimDrive(
        kind=trim.kind,
        travel_min=trim.travel_min.value,
        travel_max=trim.travel_max.value,
        rate=trim.rate.value,
        loaded_rate=loaded.value,
        load_moment=trim.load_moment.value if trim.load_moment else 1.0,
        stall_moment=trim.stall_moment.value if trim.stall_moment else math.inf,
        pivot_arm=trim.pivot_arm.value,
        elevator_pivot_arm=trim.elevator_pivot_arm.value,
        autopilot_rate=trim.autopilot_rate.value,
        manual_rate=trim.manual_rate.value,
        stops=tuple(
            StopDevice(
                name=stop.name,
                kind=stop.kind,
                reach_time=stop.reach_time.value,
                hands=stop.hands,
                release_restarts=stop.release_restarts,
            )
            for stop in trim.stops
        ),
    )


def _limits(document: AirplaneDocument) -> Limits:
    limits = document.limits
    return Limits(
        never_exceed_speed=limits.never_exceed_speed.value,
        never_exceed_mach=limits.never_exceed_mach.value if limits.never_exceed_mach else math.inf,
        load_factor_max=limits.load_factor_max.value,
        load_factor_min=limits.load_factor_min.value,
    )


def _uncertainty(
    document: AirplaneDocument, airplane: Airplane, numbers: dict[str, Estimate], loading: Loading
) -> Uncertainty:
    """Standard deviations of the multipliers from those of the numbers they multiply."""

    def share(*names: str) -> float:
        """Root mean square of the relative deviations."""
        return math.sqrt(sum(numbers[n].relative ** 2 for n in names if n in numbers) / len(names))

    rating = [engine.power or engine.thrust for engine in document.engines]
    gearing, stall = document.column.gearing, document.aerodynamics.stall_angle
    sigma = {
        "lift_slope": share("CL_alpha"),
        "neutral_point": numbers["Cm_alpha"].sigma / numbers["CL_alpha"].value,
        "pitch_damping": share("Cm_q"),
        "moment_offset": numbers["Cm_0"].sigma,
        "elevator_power": share("Cm_elevator"),
        "stabilizer_power": share("Cm_stabilizer"),
        "tab_power": share("Ch_tab"),
        "drag": share("CD_0"),
        "induced_drag": share("CD_lift"),
        "thrust": max((r.sigma / r.value for r in rating if r), default=0.0),
        "hinge_alpha": share("Ch_alpha"),
        "hinge_elevator": share("Ch_elevator"),
        "column_gearing": gearing.sigma / gearing.value,
        "roll_yaw": share("Cl_beta", "Cl_p", "Cn_beta", "Cn_r"),
        "stall_angle": stall.sigma / stall.value,
    }
    return Uncertainty(sigma | loading_uncertainty(document, airplane, loading))
