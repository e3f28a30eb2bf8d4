"""What a column most likely holds, by the words of its name."""

from __future__ import annotations

import re

# Words of a column's name, and what the column then most likely holds. The longest match wins.
WORDS: tuple[tuple[str, str], ...] = (
    ("position time", "position_time"),
    ("time position", "position_time"),
    ("timestamp", "time"),
    ("datetime", "time"),
    ("time", "time"),
    ("utc", "time"),
    ("date", "date"),
    ("latitude", "latitude"),
    ("lat", "latitude"),
    ("longitude", "longitude"),
    ("lon", "longitude"),
    ("lng", "longitude"),
    ("long", "longitude"),
    ("geometric altitude", "geometric_altitude"),
    ("geo altitude", "geometric_altitude"),
    ("geoaltitude", "geometric_altitude"),
    ("gnss altitude", "geometric_altitude"),
    ("gps altitude", "geometric_altitude"),
    ("alt wgs84", "geometric_altitude"),
    ("height", "geometric_altitude"),
    ("pressure altitude", "pressure_altitude"),
    ("baro altitude", "pressure_altitude"),
    ("baroaltitude", "pressure_altitude"),
    ("altitude", "pressure_altitude"),
    ("alt", "pressure_altitude"),
    ("mode c", "pressure_altitude"),
    ("flight level", "pressure_altitude"),
    ("ground speed", "ground_speed"),
    ("groundspeed", "ground_speed"),
    ("speed", "ground_speed"),
    ("gs", "ground_speed"),
    ("velocity", "ground_speed"),
    ("track angle", "track_angle"),
    ("track", "track_angle"),
    ("course", "track_angle"),
    ("vertical rate", "vertical_rate"),
    ("vertical speed", "vertical_rate"),
    ("vertrate", "vertical_rate"),
    ("climb", "vertical_rate"),
    ("roc", "vertical_rate"),
    ("vs", "vertical_rate"),
    ("address", "address"),
    ("icao24", "address"),
    ("hex", "address"),
)


def role_of_name(name: str) -> str:
    """What a column most likely holds.

    Args:
        name: Of the column, as in the header.

    Returns:
        A role of the column map; empty where the name says nothing of a track.
    """
    words = " ".join(re.split(r"[\W_]+", name.strip().lower()))
    found = [
        (len(key), quantity)
        for key, quantity in WORDS
        if re.search(rf"(?:^| ){re.escape(key)}(?: |$|s$)", words)
    ]
    return max(found)[1] if found else ""
