"""Between heights above the ellipsoid and above the sea: the geoid height that a case names."""

from __future__ import annotations

from neutralpoint.case.case import Taken
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.errors import NeutralPointError
from neutralpoint.track import Track


def needs_geoid(track: Track) -> bool:
    """Whether heights of the track rest on the geoid: only geometric altitudes are there.

    Args:
        track: The joined track.

    Returns:
        True where a geoid height moves the results.
    """
    return track.pressure_altitude is None and track.geometric_altitude is not None


def geoid_taken(geoid: Uncertain | None, track: Track) -> tuple[Taken, ...]:
    """What is taken as the geoid height.

    Args:
        geoid: As the case names it, m.
        track: The joined track.

    Returns:
        One entry where the track needs it, else none.
    """
    if not needs_geoid(track):
        return ()
    return (
        Taken(
            "geoid height",
            "0 m +- 60 m" if geoid is None else geoid.text,
            "default: it lies within 60 m of the ellipsoid over most of the world"
            if geoid is None
            else "case file",
            "Heights above the sea, and through the pressure there airspeeds by about 0.5% a "
            "hundred meters.",
        ),
    )


def geoid_warnings(geoid: Uncertain | None, track: Track) -> tuple[NeutralPointError, ...]:
    """A warning where geometric altitudes stand alone and no geoid height is named.

    Args:
        geoid: As the case names it, m.
        track: The joined track.

    Returns:
        One warning, or none.
    """
    if geoid is not None or not needs_geoid(track):
        return ()
    return (
        NeutralPointError(
            "weather-invalid",
            "The track has geometric altitudes only, and no geoid height is named: heights above "
            "the sea may be off by 60 m, in places by 100 m.",
            where="case.toml: geoid_height",
            hint='Look the geoid height up and give `geoid_height = "48 m +- 2 m"`.',
        ),
    )
