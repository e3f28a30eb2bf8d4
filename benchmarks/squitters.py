"""An invented flight as Mode S messages, encoded from its truth, to test readers with.

Source: RTCA DO-260B A.1.7 (compact positions), as in the open Mode S book (DOI 10.34641/mg.11).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from pyModeS.position._cpr import cprNL
from pyModeS.util import crc

from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT

LATITUDE, LONGITUDE = 46.0 * DEGREE, -36.0 * DEGREE  # an invented place in an ocean
RADIUS = 6.371e6  # m, of the sphere that the invented airplane flies on
CELLS = 2**17


@dataclass(frozen=True)
class Truth:
    """Latitude, longitude (rad), altitude (m), ground speed (m/s), track (rad), rate (m/s)."""

    latitude: np.ndarray
    longitude: np.ndarray
    altitude: np.ndarray
    speed: np.ndarray
    track: np.ndarray
    rate: np.ndarray


def truth(time: np.ndarray) -> Truth:
    """A climbing turn: 120 m/s, 0.01 rad/s, 8 m/s up from 3000 m."""
    time = np.asarray(time, dtype=np.float64)
    track = 0.8 + 0.01 * time
    north = 120.0 / 0.01 * (np.sin(track) - np.sin(0.8))
    east = -120.0 / 0.01 * (np.cos(track) - np.cos(0.8))
    latitude = LATITUDE + north / RADIUS
    return Truth(
        latitude,
        LONGITUDE + east / RADIUS / np.cos(LATITUDE),
        3000.0 + 8.0 * time,
        np.full(time.shape, 120.0),
        np.mod(track, 2.0 * np.pi),
        np.full(time.shape, 8.0),
    )


def _sealed(bits: int, size: int, overlay: int) -> str:
    """A message with its parity: the body shifted up by 24 bits and the remainder added."""
    body = f"{bits << 24:0{size // 4}X}"
    return f"{(bits << 24) | (crc(body) ^ overlay):0{size // 4}X}"


def squitter(address: str, message: int) -> str:
    """Format 17 around a 56-bit message."""
    return _sealed((0b10001_101 << 80) | (int(address, 16) << 56) | message, 112, 0)


def compact(latitude_deg: float, longitude_deg: float, odd: bool) -> tuple[int, int]:
    """The two 17-bit fields of a position."""
    zone = 360.0 / (59 if odd else 60)
    y = int(np.floor(CELLS * np.mod(latitude_deg, zone) / zone + 0.5))
    where = zone * (y / CELLS + np.floor(latitude_deg / zone))
    count = max(cprNL(where) - int(odd), 1)
    width = 360.0 / count
    x = int(np.floor(CELLS * np.mod(longitude_deg, width) / width + 0.5))
    return y % CELLS, x % CELLS


def position(address: str, latitude: float, longitude: float, altitude: float, odd: bool) -> str:
    """Type code 11 at a place."""
    n = round((altitude / FOOT + 1000.0) / 25.0)
    level = ((n >> 4) << 5) | 0x10 | (n & 0xF)
    y, x = compact(latitude / DEGREE, longitude / DEGREE, odd)
    return squitter(address, (11 << 51) | (level << 36) | (int(odd) << 34) | (y << 17) | x)


def velocity(address: str, east_kt: float, north_kt: float, rate_ftmin: float) -> str:
    """Type code 19, subtype 1, barometric rate."""
    x, y, r = round(abs(east_kt)) + 1, round(abs(north_kt)) + 1, round(abs(rate_ftmin) / 64) + 1
    message = (19 << 51) | (1 << 48)
    message |= (int(east_kt < 0) << 42) | (x << 32) | (int(north_kt < 0) << 31) | (y << 21)
    message |= (1 << 20) | (int(rate_ftmin < 0) << 19) | (r << 10)
    return squitter(address, message)


def _signed(value: float, step: float, bits: int) -> int:
    return round(value / step) & ((1 << bits) - 1)


def reply_50(
    address: str, *, roll_deg: float, track_deg: float, ground_speed_kt: float, airspeed_kt: float
) -> str:
    """Format 21 with register 5,0."""
    turned = (track_deg + 180.0) % 360.0 - 180.0
    payload = (1 << 55) | (_signed(roll_deg, 45 / 256, 10) << 45)
    payload |= (1 << 44) | (_signed(turned, 90 / 512, 11) << 33)
    payload |= (1 << 32) | (round(ground_speed_kt / 2) << 22)
    payload |= (1 << 21) | (1 << 10) | round(airspeed_kt / 2)
    return _sealed((0b10101_000 << 80) | payload, 112, int(address, 16))


def flight(address: str, seconds: int) -> list[tuple[float, str]]:
    """Times and messages: positions twice a second, even and odd in turn, velocities between."""
    found = []
    for k in range(2 * seconds):
        time = 0.5 * k + 0.013 * ((7 * k) % 11)
        now = truth(np.array(time))
        found.append(
            (
                time,
                position(
                    address, float(now.latitude), float(now.longitude), float(now.altitude), k % 2
                ),
            )
        )
        east = float(now.speed * np.sin(now.track)) / KNOT
        north = float(now.speed * np.cos(now.track)) / KNOT
        rate_ftmin = float(now.rate) / FOOT_PER_MINUTE
        found.append((time + 0.2, velocity(address, east, north, rate_ftmin)))
    return found


def status(address: str, nacp: int, sil: int, *, gva: int = 2, version: int = 2) -> str:
    """Type code 31, airborne operational status."""
    message = (31 << 51) | (version << 13) | (nacp << 8) | (gva << 6) | (sil << 4)
    return squitter(address, message)


def target(address: str, nacp: int, sil: int) -> str:
    """Type code 29, subtype 1, target state and status."""
    return squitter(address, (29 << 51) | (1 << 49) | (nacp << 13) | (sil << 10))
