"""Facts of a case that exclude causes, from what the case states and from its weather."""

from __future__ import annotations

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.case import Case
from neutralpoint.case.stretch import track_seconds
from neutralpoint.explanations import CAUSES, Facts, why_not
from neutralpoint.vocabulary import CauseName


def facts_of(case: Case, upset: float | None = None) -> Facts:
    """What is known of a flight beside its track.

    Args:
        case: The case.
        upset: When the upset began, s after the track's epoch; what the case states where None.

    Returns:
        The facts.
    """
    entry = case.document.facts
    begun = _upset(case) if upset is None else upset
    since = None
    if entry.takeoff is not None and begun is not None:
        since = begun - track_seconds(entry.takeoff, case.track)
    return Facts(
        coldest=_coldest(case),
        dew_point_spread=None if entry.dew_point_spread is None else entry.dew_point_spread.value,
        daylight=None if entry.light is None else entry.light == "day",
        in_cloud=None if entry.sky is None else entry.sky == "cloud",
        crew=entry.crew,
        autopilot=None if entry.autopilot is None else entry.autopilot == "working",
        load_moves=entry.load_moves,
        fuel=None if entry.fuel is None else entry.fuel.value,
        trimmed_for=since,
    )


def _upset(case: Case) -> float | None:
    if case.analysis.onset is not None:
        return case.analysis.onset
    return None if case.analysis.reference is None else case.analysis.reference[1]


def _coldest(case: Case) -> float | None:
    """Lowest temperature less two standard deviations along the track, K."""
    heights = case.track.pressure_altitude or case.track.geometric_altitude
    if heights is None or not (~heights.suspect).any():
        return None
    flown = heights.value[~heights.suspect]
    levels = np.linspace(flown.min(), flown.max(), 30)
    weather = case.weather
    shape = weather.altitude.shape
    sigma = np.interp(
        levels, weather.altitude, np.broadcast_to(np.asarray(weather.sigma_temperature), shape)
    )
    return float(np.min(weather.at(levels)[2] - 2.0 * sigma))


def gated(airplane: Airplane, facts: Facts) -> tuple[tuple[str, str], ...]:
    """Causes that airplane or facts exclude before the track is looked at.

    Args:
        airplane: The airplane.
        facts: Of the flight.

    Returns:
        Title and reason of each, in the order of the list.
    """
    rows = [(c.title, why_not(c, airplane, facts)) for c in CAUSES.values()]
    return tuple(row for row in rows if row[1] and row[0] != CauseName.UNLISTED.title)
