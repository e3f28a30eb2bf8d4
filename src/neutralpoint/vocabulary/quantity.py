"""The quantities of a case: one entry each, from the reading to the printed column.

Every file, table, axis and check takes unit, title and limits from here. A quantity that is added
here is written to its NetCDF file, drawn and printed without another table.
"""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, INCH, KNOT, POUND_FORCE

DEGREE_SIGN = "\u00b0"
SINCE = "change since the last trimmed flight"
ALONE = "that by itself would produce this path"


@dataclass(frozen=True)
class ReaderUnit:
    """The unit in which people read a quantity.

    Attributes:
        symbol: As printed.
        factor: SI value of one.
        decimals: Digits after the point.
        second: Unit of the right-hand scale; empty where it would say nothing more.
        second_factor: Units of the right-hand scale in one unit.
        turn: Full turn in the unit for a direction; 0 for all others.
    """

    symbol: str
    factor: float = 1.0
    decimals: int = 2
    second: str = ""
    second_factor: float = 1.0
    turn: float = 0.0


FEET = ReaderUnit("ft", FOOT, 0, "m", FOOT)
KNOTS = ReaderUnit("kt", KNOT, 0, "m/s", KNOT)
FEET_PER_MINUTE = ReaderUnit("ft/min", FOOT_PER_MINUTE, 0, "m/s", FOOT_PER_MINUTE)
DEGREES = ReaderUnit(DEGREE_SIGN, DEGREE, 1)
DIRECTION = ReaderUnit(DEGREE_SIGN, DEGREE, 0, turn=360.0)
DEGREES_PER_SECOND = ReaderUnit(f"{DEGREE_SIGN}/s", DEGREE, 1)
POUNDS = ReaderUnit("lb", POUND_FORCE, 0, "N", POUND_FORCE)
INCHES = ReaderUnit("in", INCH, 1, "cm", 100.0 * INCH)
GEES = ReaderUnit("g")
NUMBER, THOUSANDTHS = ReaderUnit(""), ReaderUnit("", decimals=3)
# By SI unit, where a quantity does not say it.
SCALES = {
    "m": FEET,
    "m/s": KNOTS,
    "rad": DEGREES,
    "rad/s": DEGREES_PER_SECOND,
    "N": POUNDS,
    "1": THOUSANDTHS,
}
# SI units as UDUNITS spells them in NetCDF files.
UDUNITS = {"m/s": "m s-1", "rad": "radian", "rad/s": "radian s-1"}


@dataclass(frozen=True)
class Quantity:
    """One quantity.

    Attributes:
        name: Of the variable, the panel and the claim.
        unit: SI unit or rad.
        title: As a heading or axis has it.
        meaning: What it is, in words, where the title does not say all.
        standard_name: Of the CF standard name table (version 85, from memory); empty where the
            table has none.
        grain: Paths are kept to the nearest multiple, a power of two so that they compress; 0
            keeps every bit. Far below any band.
        scale: In which people read it; None: as its unit is read.
        circular: True for an angle that runs through a full turn.
        limit: Half width of the 90% band beyond which no value is shown; None: always shown.
            Analyst's choices, printed with the results.
        needs_lift: True where a stalled wing says nothing of it.
        sign: Departure from trimmed flight that shows; 0 where nobody watches for it.
            Analyst's choice.
        alike: Largest difference of copies of one transmission in print; 0 where none are sought.
            Speeds and angles that differ by less carry the same rounding of the airplane.
        bound: Size beyond which a reading is none; infinite where any will do.
        error: Standard deviation and time over which it changes, s, of what a track with a fix a
            second leaves on simulated flights; None where nobody asks.
        column_units: Units that a column of a track file may have it in.
        brief: Its name where there is little room; empty for the title.
        positive: What a positive value is, as `airplane.model` has it; empty where it goes without.
    """

    name: str
    unit: str
    title: str
    meaning: str = ""
    standard_name: str = ""
    grain: float = 0.0
    scale: ReaderUnit | None = None
    circular: bool = False
    limit: float | None = None
    needs_lift: bool = False
    sign: float = 0.0
    alike: float = 0.0
    bound: float = float("inf")
    error: tuple[float, float] | None = None
    column_units: tuple[str, ...] = ()
    brief: str = ""
    positive: str = ""

    @property
    def long_name(self) -> str:
        """What it is, in words."""
        return self.meaning or self.title

    @property
    def short(self) -> str:
        """What it is where there is little room."""
        return self.brief or self.title

    @property
    def udunits(self) -> str:
        """The unit as NetCDF files spell it."""
        return UDUNITS.get(self.unit, self.unit)

    @property
    def shown(self) -> ReaderUnit:
        """The unit in which people read it."""
        return self.scale or SCALES.get(self.unit, ReaderUnit(self.unit))


METRE, SPEED, ANGLE, RATIO = 2.0**-6, 2.0**-9, 2.0**-15, 2.0**-13
ALTITUDE_UNITS, ANGLE_UNITS = ("ft", "m", "FL"), ("deg", "rad")
# Beyond what any airplane flew (a zoom to 37.6 km, some 1 km/s; from memory) and what a transponder
# can say (38.6 km, 166 m/s up or down). Analyst's.
HIGHEST, FASTEST, STEEPEST = 4e4, 1.5e3, 5e2  # m, m/s, m/s

# In the order in which `motion.nc` holds them.
MOTION = (
    Quantity("latitude", "rad", "Latitude", "Geodetic latitude, WGS-84", "latitude",
             bound=90.0 * DEGREE, column_units=ANGLE_UNITS),
    # Longitudes up to 360 degrees are in use.
    Quantity("longitude", "rad", "Longitude", "Geodetic longitude, WGS-84", "longitude",
             circular=True, bound=360.0 * DEGREE, column_units=ANGLE_UNITS),
    Quantity("altitude", "m", "Height above mean sea level", "", "altitude", METRE,
             error=(2.5, 10.0), brief="Altitude"),
    Quantity("pressure_altitude", "m", "Pressure altitude", "Altitude in the standard atmosphere",
             "barometric_altitude", METRE, alike=1.0, bound=HIGHEST, column_units=ALTITUDE_UNITS),
    Quantity("ground_speed", "m/s", "Ground speed", "", "platform_speed_wrt_ground", SPEED,
             limit=20.0 * KNOT, alike=0.1, bound=FASTEST,
             column_units=("kt", "m/s", "km/h", "mph")),
    Quantity("track_angle", "rad", "Track over the ground",
             "Direction of the ground velocity from true north", "platform_course", ANGLE,
             DIRECTION, circular=True, limit=20.0 * DEGREE, alike=0.002,
             column_units=ANGLE_UNITS),
    Quantity("vertical_speed", "m/s", "Vertical speed", "Rate of climb", "", SPEED,
             FEET_PER_MINUTE, limit=1500.0 * FOOT_PER_MINUTE, sign=2.5),
    Quantity("wind_north", "m/s", "Wind toward north", "", "northward_wind", SPEED),
    Quantity("wind_east", "m/s", "Wind toward east", "", "eastward_wind", SPEED),
    Quantity("air_temperature", "K", "Static air temperature", "", "air_temperature", SPEED),
    Quantity("true_airspeed", "m/s", "True airspeed", "", "platform_speed_wrt_air", SPEED,
             limit=25.0 * KNOT, sign=5.0, error=(1.8, 60.0)),
    Quantity("calibrated_airspeed", "m/s", "Calibrated airspeed", "", "", SPEED,
             limit=25.0 * KNOT),
    Quantity("mach", "1", "Mach number", "", "", RATIO, limit=0.05),
    Quantity("dynamic_pressure", "Pa", "Dynamic pressure",
             "Dynamic pressure, density times speed squared / 2"),
    Quantity("heading_of_air_velocity", "rad", "Direction of the air velocity",
             "Direction of the air velocity from true north", "", ANGLE, DIRECTION, circular=True),
    Quantity("flight_path_angle", "rad", "Flight path angle", "Climb angle of the air velocity",
             "", ANGLE, limit=5.0 * DEGREE, error=(0.005, 5.0)),
    Quantity("bank_angle", "rad", "Bank angle",
             "Bank angle, right wing down positive, without sideslip",
             "platform_roll_starboard_down", ANGLE, circular=True, limit=15.0 * DEGREE,
             sign=5.0 * DEGREE, error=(0.015, 3.0), brief="Bank"),
    Quantity("pitch_angle", "rad", "Pitch angle", "Pitch angle, nose up positive",
             "platform_pitch_fore_up", ANGLE, limit=8.0 * DEGREE, sign=3.0 * DEGREE,
             brief="Pitch"),
    Quantity("angle_of_attack", "rad", "Angle of attack", "", "", ANGLE, limit=5.0 * DEGREE),
    Quantity("lift_coefficient", "1", "Lift coefficient", "Lift coefficient of the airplane", "",
             RATIO, NUMBER, limit=0.4),
    Quantity("normal_load_factor", "1", "Normal load factor",
             "Lift over weight, up along the lift direction", "", RATIO, GEES, limit=0.5, sign=0.1,
             error=(0.04, 2.0)),
    Quantity("longitudinal_load_factor", "1", "Along-path load factor",
             "Thrust less drag over weight, along the air velocity", "", RATIO, GEES, limit=0.15,
             error=(0.015, 3.0)),
    Quantity("specific_energy_height", "m", "Energy height",
             "Height above the sea plus true airspeed squared / 2 g", "", METRE, limit=150.0),
)  # fmt: skip

# Readings that the motion has no variable of the same name for.
READINGS = (
    Quantity("position", "rad", "Position", scale=ReaderUnit("deg", DEGREE), alike=3.0),
    Quantity("geometric_altitude", "m", "Height above the ellipsoid", alike=1.0, bound=HIGHEST,
             column_units=ALTITUDE_UNITS),
    Quantity("vertical_rate", "m/s", "Vertical rate", scale=FEET_PER_MINUTE, alike=0.05,
             bound=STEEPEST, column_units=("ft/min", "m/s", "ft/s")),
)  # fmt: skip

# In the order in which `moments.nc` holds them.
MOMENTS = (
    Quantity("moment", "N m", "Pitching moment",
             f"Pitching moment of all controls together, {SINCE}"),
    Quantity("moment_coefficient", "1", "Pitching-moment coefficient",
             f"Coefficient of that moment, {SINCE}", limit=0.05, needs_lift=True),
    Quantity("standing_coefficient", "1", "Unexplained pitching-moment coefficient, controls free",
             f"Unexplained pitching-moment coefficient, controls free, {SINCE}", limit=0.05,
             needs_lift=True),
    Quantity("needed_stabilizer", "rad", f"Stabilizer angle {ALONE}",
             f"Stabilizer angle {ALONE}, {SINCE}", limit=1.5 * DEGREE, needs_lift=True,
             brief="Stabilizer", positive="change, leading edge up"),
    Quantity("needed_tab", "rad", f"Tab angle {ALONE}",
             f"Tab angle {ALONE}, {SINCE}", limit=6.0 * DEGREE, needs_lift=True,
             brief="Trim tab", positive="change, trailing edge down"),
    Quantity("needed_elevator", "rad", f"Elevator angle {ALONE}",
             f"Elevator angle {ALONE}, {SINCE}", limit=3.0 * DEGREE, needs_lift=True,
             brief="Elevator", positive="trailing edge down"),
    Quantity("needed_column_force", "N", f"Column force {ALONE}",
             f"Column pull {ALONE}, trim unchanged", limit=200.0, needs_lift=True,
             brief="Column pull", positive="pull"),
    Quantity("needed_cg_shift", "m", f"Aft CG shift {ALONE}",
             f"Aft CG shift {ALONE}, {SINCE}", scale=INCHES, limit=0.2, needs_lift=True,
             brief="CG shift aft", positive="aft"),
    Quantity("needed_thrust", "N", "Thrust along the path", brief="Thrust", positive="forward"),
    Quantity("power_needed", "W", "Power along the path",
             "Thrust along the path times true airspeed"),
    Quantity("full_thrust", "N", "Thrust at full lever"),
    Quantity("idle_thrust", "N", "Thrust at idle"),
    Quantity("stall_margin", "rad", "Angle of attack left to the stall"),
)  # fmt: skip

# In the order in which `limits.nc` holds them, beside those above.
LIMITS = (
    Quantity("equivalent_airspeed", "m/s", "Equivalent airspeed"),
    Quantity("excess_power", "m/s", "Specific excess power",
             "Rate of energy height along the path", scale=FEET_PER_MINUTE),
    Quantity("excess_power_full", "m/s", "Specific excess power at full lever",
             "Rate of energy height at full lever", scale=FEET_PER_MINUTE),
    Quantity("excess_power_idle", "m/s", "Specific excess power at idle",
             "Rate of energy height at idle", scale=FEET_PER_MINUTE),
)  # fmt: skip

# In the order in which `felt.nc` holds them, beside the pitch of the motion.
FELT = (
    Quantity("seat_load", "1", "Specific force at the pilot's seat", "Size of the specific force "
             "at the pilot's seat over standard gravity", scale=GEES, brief="Seat force"),
    Quantity("seat_tilt", "rad", "Tilt of the force at the seat", "Pitch at which a seat at rest "
             "would be pressed the same way", brief="Force tilt"),
    Quantity("perceived_pitch", "rad", "Pitch perceived by two models",
             "Pitch that models of the vestibular organs perceive without outside view"),
    Quantity("wings_bank", "rad", "Bank of the wings", "Angle of the wings about the body from "
             "level, right wing down positive"),
    Quantity("perceived_bank", "rad", "Bank perceived by two models",
             "Bank that models of the vestibular organs perceive without outside view"),
    Quantity("turn_rate", "rad/s", "Rate of turn", "Rate of turn about the vertical"),
    Quantity("perceived_turn", "rad/s", "Turn perceived by two models",
             "Rate of turn that models of the vestibular organs perceive without outside view"),
)  # fmt: skip

# What a simulated flight has beside the quantities of the motion.
FLOWN = (
    Quantity("height", "m", "Height", "Height above the ellipsoid's sea level"),
    Quantity("elevator", "rad", "Elevator", "Elevator, trailing edge down positive"),
    Quantity("trim", "rad", "Stabilizer or tab"),
    Quantity("column_force", "N", "Column force", "Column force applied, pull positive"),
    Quantity("pull_to_hold", "N", "Column force to hold",
             "Column force needed to hold unaccelerated flight, pull positive"),
    Quantity("strength_left", "1", "Strength left", "Strength left, share of fresh"),
)  # fmt: skip

# Of the recoveries that simulated pilots fly.
RECOVERY = (
    Quantity("height_lost", "m", "Height lost"),
    Quantity("speed_at_lowest", "m/s", "Equivalent airspeed at the lowest point"),
    Quantity("load_factor_highest", "1", "Largest load factor", scale=GEES),
    Quantity("pull_highest", "N", "Largest column force"),
)

# Of what a cause would have needed, beside those above.
NEEDED = (Quantity("trim_rate", "rad/s", "Trim rate"),)

ALL = (*MOTION, *READINGS, *MOMENTS, *NEEDED, *LIMITS, *FELT, *FLOWN, *RECOVERY)
QUANTITIES = {q.name: q for q in ALL}
CIRCULAR = frozenset(name for name, q in QUANTITIES.items() if q.circular)
