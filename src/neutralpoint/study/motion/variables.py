"""The variables of `motion.nc`: unit, names, and how finely the paths are kept."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Variable:
    """One variable.

    Attributes:
        unit: SI unit or radian, as UDUNITS spells it.
        long_name: What it is, in words.
        standard_name: Of the CF standard name table (version 85, from memory); empty where the
            table has none.
        grain: Paths are kept to the nearest multiple, a power of two so that they compress; 0
            keeps every bit. Far below any band.
    """

    unit: str
    long_name: str
    standard_name: str = ""
    grain: float = 0.0


METRE, SPEED, ANGLE, RATIO = 2.0**-6, 2.0**-9, 2.0**-15, 2.0**-13

VARIABLES: dict[str, Variable] = {
    "latitude": Variable("radian", "Geodetic latitude, WGS-84", "latitude"),
    "longitude": Variable("radian", "Geodetic longitude, WGS-84", "longitude"),
    "altitude": Variable("m", "Height above mean sea level", "altitude", METRE),
    "pressure_altitude": Variable(
        "m", "Altitude in the standard atmosphere", "barometric_altitude", METRE
    ),
    "ground_speed": Variable("m s-1", "Ground speed", "platform_speed_wrt_ground", SPEED),
    "track_angle": Variable(
        "radian", "Direction of the ground velocity from true north", "platform_course", ANGLE
    ),
    "vertical_speed": Variable("m s-1", "Rate of climb", "", SPEED),
    "wind_north": Variable("m s-1", "Wind towards north", "northward_wind", SPEED),
    "wind_east": Variable("m s-1", "Wind towards east", "eastward_wind", SPEED),
    "air_temperature": Variable("K", "Static air temperature", "air_temperature", SPEED),
    "true_airspeed": Variable("m s-1", "True airspeed", "platform_speed_wrt_air", SPEED),
    "calibrated_airspeed": Variable("m s-1", "Calibrated airspeed", "", SPEED),
    "mach": Variable("1", "Mach number", "", RATIO),
    "dynamic_pressure": Variable("Pa", "Dynamic pressure, density times speed squared / 2"),
    "heading_of_air_velocity": Variable(
        "radian", "Direction of the air velocity from true north", "", ANGLE
    ),
    "flight_path_angle": Variable("radian", "Climb angle of the air velocity", "", ANGLE),
    "bank_angle": Variable(
        "radian",
        "Bank angle, right wing down positive, without sideslip",
        "platform_roll_starboard_down",
        ANGLE,
    ),
    "pitch_angle": Variable(
        "radian", "Pitch angle, nose up positive", "platform_pitch_fore_up", ANGLE
    ),
    "angle_of_attack": Variable("radian", "Angle of attack", "", ANGLE),
    "lift_coefficient": Variable("1", "Lift coefficient of the airplane", "", RATIO),
    "normal_load_factor": Variable("1", "Lift over weight, up along the lift direction", "", RATIO),
    "longitudinal_load_factor": Variable(
        "1", "Thrust less drag over weight, along the air velocity", "", RATIO
    ),
    "specific_energy_height": Variable(
        "m", "Height above the sea plus true airspeed squared / 2 g", "", METRE
    ),
}
