"""The limits of an airplane that a flight can pass, by name."""

from __future__ import annotations

from enum import StrEnum


class LimitName(StrEnum):
    """A limit, as files and findings call it."""

    SPEED = "never-exceed-speed"
    DIVE = "dive-speed"
    MACH = "mach"
    LOAD = "load-factor"
    LOAD_NEGATIVE = "negative-load-factor"
    ULTIMATE = "ultimate-load"
    ULTIMATE_NEGATIVE = "negative-ultimate-load"
    FLAP = "flap-speed"
    GEAR = "gear-speed"
    STALL = "stall"


# Past these an airplane is not proven to be whole.
STRENGTHS = (LimitName.ULTIMATE, LimitName.ULTIMATE_NEGATIVE)
# Ultimate over limit load: 14 CFR 23.303 and 25.303.
ULTIMATE = 1.5
