"""Pressure altitude against geometric height: the weather moves them apart slowly, faults fast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.track.record import Floats, Track

WITHIN = 2.5  # s between the two readings of a difference
FEWEST = 10  # differences
MAD = 1.4826  # of a Gaussian: sigma over the median absolute deviation
# A departure is said where it passes this many sigma and this height: half the altitude that
# static-port errors of some tens of metres would show (analyst's choice).
SIGMAS, LEAST = 4.0, 40.0  # -, m


@dataclass(frozen=True)
class Heights:
    """Geometric height minus pressure altitude.

    Attributes:
        time: s, shape (n,).
        difference: m, shape (n,).
        departure: What is left of it after a straight line in altitude, m, shape (n,).
        sigma: Robust spread of the departure, m.
    """

    time: Floats
    difference: Floats
    departure: Floats
    sigma: float


def compare_heights(track: Track) -> Heights | None:
    """The difference of the two altitudes of a record.

    Warm or cold air moves the difference with altitude, pressure at the ground moves all of it:
    a straight line in altitude holds both. What departs from it is noise, or an error of the
    static ports, the encoder or the satellite height.

    Args:
        track: The record.

    Returns:
        The comparison; None where the record holds too little of either.
    """
    pressure, geometric = track.pressure_altitude, track.geometric_altitude
    if pressure is None or geometric is None:
        return None
    keep_p, keep_g = ~pressure.suspect, ~geometric.suspect
    time, value = pressure.time[keep_p], pressure.value[keep_p]
    when, height = geometric.time[keep_g], geometric.value[keep_g]
    if time.size < 2 or when.size < FEWEST:
        return None
    after = np.clip(np.searchsorted(time, when), 1, time.size - 1)
    near = np.minimum(np.abs(time[after] - when), np.abs(time[after - 1] - when)) <= WITHIN
    if near.sum() < FEWEST:
        return None
    altitude = np.interp(when[near], time, value)
    difference = height[near] - altitude
    scale = max(float(np.ptp(altitude)), 1.0)
    design = np.column_stack([np.ones(altitude.size), (altitude - altitude.mean()) / scale])
    weight = np.ones(altitude.size)
    departure, spread = difference - np.median(difference), 0.0
    for _ in range(20):
        root = np.sqrt(weight)
        line = np.linalg.lstsq(design * root[:, None], difference * root, rcond=None)[0]
        departure = difference - design @ line
        spread = max(MAD * float(np.median(np.abs(departure))), 1e-6)
        weight = np.minimum(1.0, 1.5 * spread / np.maximum(np.abs(departure), 1e-12))
    return Heights(when[near], difference, departure, spread)


def watch_heights(track: Track) -> tuple[str, ...]:
    """What the two altitudes of a record say of each other.

    Args:
        track: The record.

    Returns:
        Sentences; none where the record holds one altitude only.
    """
    found = compare_heights(track)
    if found is None:
        return ()
    low, high = np.quantile(found.difference, [0.05, 0.95])
    said = [
        f"Geometric height minus pressure altitude: {low:.0f} to {high:.0f} m (5 to 95%), of "
        f"which {found.sigma:.0f} m (one sigma) do not go with altitude."
    ]
    far = np.abs(found.departure) > max(SIGMAS * found.sigma, LEAST)
    if far.any():
        worst = int(np.argmax(np.abs(found.departure)))
        said.append(
            f"At {int(far.sum())} time(s) the two depart from each other, most by "
            f"{found.departure[worst]:.0f} m at {found.time[worst]:.1f} s: an error of static "
            "ports (sideslip, angle of attack), of the encoder (lag in a dive) or of the "
            "satellite height."
        )
    return tuple(said)
