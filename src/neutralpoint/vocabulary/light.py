"""What light there was, and whether there was a horizon to see, by name."""

from __future__ import annotations

from enum import StrEnum


class Light(StrEnum):
    """Light of the sun, by its depth below the horizon."""

    DAY = "day"
    CIVIL = "civil-twilight"
    NAUTICAL = "nautical-twilight"
    ASTRONOMICAL = "astronomical-twilight"
    NIGHT = "night"


class HorizonSeen(StrEnum):
    """Whether a natural horizon could be seen; the values are outcomes of an item of evidence."""

    IN_SIGHT = "in sight"
    NOT = "not in sight"
    UNKNOWN = "cannot be determined"


class HorizonReason(StrEnum):
    """Why."""

    NO_REPORT = "no-report"
    OLD_REPORT = "old-report"
    FAR_FROM_REPORT = "far-from-report"
    NO_VISIBILITY = "no-visibility"
    NO_CLOUDS = "no-clouds"
    HAZE = "haze"
    BROKEN_OFF = "above-or-in-cloud"
    BELOW_CLOUD = "below-cloud"
    DARK = "dark"
    MOONLIT = "moonlit"
    DUSK = "dusk"
