"""How quantities are shown: title, the analyst's unit, the SI unit beside it, decimals."""

from __future__ import annotations

import math
from dataclasses import dataclass

from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, INCH, KNOT, POUND_FORCE

NARROW = "\u202f"  # thin space that does not break
DEGREE_SIGN = "\u00b0"


@dataclass(frozen=True)
class Shown:
    """How one quantity is shown.

    Attributes:
        title: What it is, in words.
        unit: Unit shown.
        factor: SI value of one unit shown.
        decimals: Digits after the point.
        second_unit: Unit of the right-hand scale; empty where it would say nothing more.
        second_factor: Units of the right-hand scale in one unit shown.
        wrap: Full turn in the unit shown for a direction; 0 for all others.
    """

    title: str
    unit: str
    factor: float
    decimals: int
    second_unit: str = ""
    second_factor: float = 1.0
    wrap: float = 0.0

    def number(self, value: float) -> str:
        """A value in SI, printed in the unit shown, without the unit.

        Args:
            value: SI.

        Returns:
            The number with a true minus sign and thin spaces between thousands.
        """
        scaled = value / self.factor
        if self.wrap:
            scaled = math.fmod(math.fmod(scaled, self.wrap) + self.wrap, self.wrap)
        return printed(scaled, self.decimals)

    def with_unit(self, number: str) -> str:
        """A printed number with the unit behind it: a thin space, none before a degree sign."""
        if not self.unit:
            return number
        return f"{number}{'' if self.unit.startswith(DEGREE_SIGN) else NARROW}{self.unit}"


def printed(value: float, decimals: int) -> str:
    """A number with a true minus sign and no-break thin spaces between thousands."""
    rounded = round(value, decimals) + 0.0  # + 0.0 turns -0.0 into 0.0
    return f"{rounded:,.{decimals}f}".replace(",", NARROW).replace("-", "\u2212")


def _feet(title: str) -> Shown:
    return Shown(title, "ft", FOOT, 0, "m", FOOT)


def _knots(title: str) -> Shown:
    return Shown(title, "kt", KNOT, 0, "m/s", KNOT)


def _degrees(title: str, wrap: float = 0.0) -> Shown:
    return Shown(title, DEGREE_SIGN, DEGREE, 1 if not wrap else 0, wrap=wrap)


SHOWN: dict[str, Shown] = {
    "pressure_altitude": _feet("Pressure altitude"),
    "geometric_altitude": _feet("Height above the ellipsoid"),
    "altitude": _feet("Height above mean sea level"),
    "specific_energy_height": _feet("Energy height"),
    "ground_speed": _knots("Ground speed"),
    "calibrated_airspeed": _knots("Calibrated airspeed"),
    "true_airspeed": _knots("True airspeed"),
    "mach": Shown("Mach number", "", 1.0, 3),
    "vertical_speed": Shown("Vertical speed", "ft/min", FOOT_PER_MINUTE, 0, "m/s", FOOT_PER_MINUTE),
    "flight_path_angle": _degrees("Flight path angle"),
    "pitch_angle": _degrees("Pitch angle"),
    "angle_of_attack": _degrees("Angle of attack"),
    "bank_angle": _degrees("Bank angle"),
    "track_angle": _degrees("Track over the ground", wrap=360.0),
    "normal_load_factor": Shown("Normal load factor", "g", 1.0, 2),
    "longitudinal_load_factor": Shown("Along-path load factor", "g", 1.0, 2),
    "lift_coefficient": Shown("Lift coefficient", "", 1.0, 2),
}

# SI unit of a stage's panel -> how it is shown.
BY_UNIT: dict[str, Shown] = {
    "rad": _degrees(""),
    "radian": _degrees(""),
    "rad/s": Shown("", f"{DEGREE_SIGN}/s", DEGREE, 1),
    "m": _feet(""),
    "m/s": _knots(""),
    "N": Shown("", "lbf", POUND_FORCE, 0, "N", POUND_FORCE),
    "1": Shown("", "", 1.0, 3),
}


# Panels of a stage whose SI unit alone does not say how they are read.
BY_NAME: dict[str, Shown] = {
    "needed_cg_shift": Shown("", "in", INCH, 1, "cm", 100.0 * INCH),
}


def si_unit(name: str) -> str:
    """SI unit in which a variable of `SHOWN` is saved."""
    units = {"ft": "m", "kt": "m/s", "ft/min": "m/s", DEGREE_SIGN: "rad"}
    return units.get(SHOWN[name].unit, "")


def shown_unit(unit: str, name: str = "") -> Shown:
    """How a quantity of a stage is shown, from its name or SI unit; unknown units stay as they are.

    Args:
        unit: SI unit in which it is saved.
        name: Of the variable.

    Returns:
        How it is shown.
    """
    return BY_NAME.get(name) or BY_UNIT.get(unit, Shown("", unit, 1.0, 2))


def clock(seconds: float) -> str:
    """UTC clock of a time in seconds after midnight."""
    whole = round(seconds) % 86400
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"
