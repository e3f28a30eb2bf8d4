"""What is known of a flight beside its track that a cause can depend on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Facts:
    """Facts of one flight; None wherever nothing is known, which excludes nothing.

    Args:
        coldest: Lowest temperature that the air can have had along the flight, K: two standard
            deviations below the profile.
        dew_point_spread: Smallest temperature less dew point along the flight, K.
        daylight: Whether it was day.
        in_cloud: Whether any of the flight was in cloud or without a horizon.
        crew: How many people could fly the airplane.
        autopilot: Whether an autopilot was fitted and working.
        load_moves: Which way load on board could have moved.
        fuel: Usable fuel on board when the upset began, kg.
        trimmed_for: How long the airplane is known to have flown since takeoff before the upset, s.
    """

    coldest: float | None = None
    dew_point_spread: float | None = None
    daylight: bool | None = None
    in_cloud: bool | None = None
    crew: int | None = None
    autopilot: bool | None = None
    load_moves: Literal["no", "aft", "forward", "either"] | None = None
    fuel: float | None = None
    trimmed_for: float | None = None


NOTHING_KNOWN = Facts()
