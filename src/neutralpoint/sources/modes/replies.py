"""Replies of the airplane's own registers 4,0, 5,0 and 6,0: which one, and what it says.

A reply does not name its register. Ordinary rules guess it from ranges, and so throw away what an
upset sends: bank beyond 50 degrees, speeds and rates out of the usual. Here every reply is judged
twice, by the ordinary rules and by whether it continues the flight that the squitters show.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from pyModeS.decoder.bds import bds10, bds17, bds20, bds30, bds40, bds50, bds60
from pyModeS.decoder.bds._helpers import wrong_status

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.numerics.arrays import Floats
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, HECTOPASCAL, KNOT

# Status bit, first bit and width of each guarded field (ICAO Doc 9871, tables A-2-64, 80, 96).
GUARDED = {
    "4,0": ((0, 1, 12), (13, 14, 12), (26, 27, 12), (47, 48, 3), (53, 54, 2)),
    "5,0": ((0, 1, 10), (11, 12, 11), (23, 24, 10), (34, 35, 10), (45, 46, 10)),
    "6,0": ((0, 1, 11), (12, 13, 10), (23, 24, 10), (34, 35, 10), (45, 46, 10)),
}
DECODE = {"4,0": bds40.decode_bds40, "5,0": bds50.decode_bds50, "6,0": bds60.decode_bds60}
ORDINARY = {"4,0": bds40.is_bds40, "5,0": bds50.is_bds50, "6,0": bds60.is_bds60}
# Registers with a mark of their own, which none of the three carries.
MARKED = (
    (0x10, bds10.is_bds10),
    (0x20, bds20.is_bds20),
    (0x30, bds30.is_bds30),
    (None, bds17.is_bds17),
)
# Name, SI factor of each field that is kept.
FIELDS = {
    "roll": ("roll", DEGREE),
    "true_track": ("true_track", DEGREE),
    "groundspeed": ("replied_ground_speed", KNOT),
    "track_rate": ("track_rate", DEGREE),
    "true_airspeed": ("true_airspeed", KNOT),
    "magnetic_heading": ("magnetic_heading", DEGREE),
    "indicated_airspeed": ("indicated_airspeed", KNOT),
    "mach": ("mach", 1.0),
    "baro_vertical_rate": ("baro_vertical_rate", FOOT_PER_MINUTE),
    "inertial_vertical_rate": ("inertial_vertical_rate", FOOT_PER_MINUTE),
    "selected_altitude_mcp": ("selected_altitude", FOOT),
    "baro_pressure_setting": ("pressure_setting", HECTOPASCAL),
}
# Largest difference from the squitters nearest in time at which a reply continues the flight:
# analyst's choice, several times what one second of an upset changes.
SPEED_APART, TRACK_APART = 30.0 * KNOT, 15.0 * DEGREE
WIND_MOST = 200.0 * KNOT  # between true airspeed and ground speed, as the ordinary rules have it
CAS_APART = 15.0 * KNOT  # instrument and position error between Mach number and airspeed
HEADING_APART = 75.0 * DEGREE  # drift and magnetic variation together, in common latitudes
RATE_APART = 4000.0 * FOOT_PER_MINUTE
NEAR = 5.0  # s within which a squitter is compared
STEEP = 50.0 * DEGREE  # bank beyond which published rules refuse a reply
SCALE_END = 511 * 32  # ft/min, the last step of the rates of register 6,0


@dataclass
class SquitteredFlight:
    """What the squitters show of the flight, to compare replies with.

    Attributes:
        time: Times of the velocities, s, shape (n,).
        speed: Ground speed, m/s, shape (n,).
        track: Track, rad, shape (n,).
        rate: Vertical rate, m/s, NaN where absent, shape (n,).
        altitude_time: Times of the pressure altitudes, s, shape (k,).
        altitude: Pressure altitude, m, shape (k,).
    """

    time: Floats = field(default_factory=lambda: np.zeros(0))
    speed: Floats = field(default_factory=lambda: np.zeros(0))
    track: Floats = field(default_factory=lambda: np.zeros(0))
    rate: Floats = field(default_factory=lambda: np.zeros(0))
    altitude_time: Floats = field(default_factory=lambda: np.zeros(0))
    altitude: Floats = field(default_factory=lambda: np.zeros(0))

    def at(self, time: float) -> tuple[float, float, float, float]:
        """Ground speed, track, vertical rate and pressure altitude nearest to a time.

        Args:
            time: s.

        Returns:
            NaN where nothing is near.
        """
        nan = float("nan")
        speed = track = rate = altitude = nan
        k = _nearest(self.time, time)
        if k is not None:
            speed, track, rate = (float(x[k]) for x in (self.speed, self.track, self.rate))
        k = _nearest(self.altitude_time, time)
        if k is not None:
            altitude = float(self.altitude[k])
        return speed, track, rate, altitude


@dataclass(frozen=True)
class Reply:
    """A register as it was recognised.

    Attributes:
        register: `4,0`, `5,0` or `6,0`.
        values: SI by name.
        doubt: Why the reply is doubtful; empty for an ordinary one.
    """

    register: str
    values: dict[str, float]
    doubt: str


def recognise(payload: int, time: float, flight: SquitteredFlight) -> Reply | None:
    """The register of a reply.

    Args:
        payload: The 56 bits of the reply.
        time: s after the epoch.
        flight: What the squitters show.

    Returns:
        The reply; None where it is another register or fits none.

    Source: fields of ICAO Doc 9871 through the decoder; the ordinary rules are the decoder's.
    Checked against: tests/against/test_sources_messages.py.
    """
    if payload == 0 or any(
        (mark is None or payload >> 48 == mark) and rule(payload) for mark, rule in MARKED
    ):
        return None
    state = flight.at(time)
    judged = []
    for register, guards in GUARDED.items():
        if any(wrong_status(payload, *guard) for guard in guards):
            continue
        values = _si(DECODE[register](payload))
        passed, failed = _continues(register, values, state)
        judged.append((register, values, bool(ORDINARY[register](payload)), passed, failed))
    plain = [j for j in judged if j[2] and not j[4]]
    if plain:
        best = max(plain, key=lambda j: (j[3], j[0] == "4,0"))
        tied = [j for j in plain if j[3] == best[3]]
        if len(tied) == 1 or best[3] > 0 or best[0] == "4,0":
            return Reply(best[0], best[1], _scale_end(best[1]))
        return None
    rescued = [j for j in judged if not j[2] and not j[4] and j[3] >= 2]
    if len(rescued) == 1:
        return Reply(rescued[0][0], rescued[0][1], _why(rescued[0][1]))
    strange = [j for j in judged if j[2] and j[0] != "4,0"]
    if len(judged) == 1 and strange:
        return Reply(judged[0][0], judged[0][1], "the reply does not continue the squitters")
    return None


def _si(decoded: dict[str, float]) -> dict[str, float]:
    return {FIELDS[k][0]: v * FIELDS[k][1] for k, v in decoded.items() if k in FIELDS}


def _continues(register: str, values: dict[str, float], state) -> tuple[int, int]:
    """How many comparisons with the squitters hold, and how many fail."""
    speed, track, rate, altitude = state
    checks = []
    if register == "5,0":
        checks = [
            abs(values.get("replied_ground_speed", np.nan) - speed) / SPEED_APART,
            abs(_turn(values.get("true_track", np.nan) - track)) / TRACK_APART,
            abs(values.get("true_airspeed", np.nan) - speed) / WIND_MOST,
        ]
    if register == "6,0":
        cas = float("nan")
        if "mach" in values and values["mach"] < 1.5 and np.isfinite(altitude):
            pressure = atmosphere.pressure(altitude)
            cas = float(airspeed.cas_from_mach(values["mach"], pressure))
        checks = [
            abs(values.get("indicated_airspeed", np.nan) - cas) / CAS_APART,
            abs(_turn(values.get("magnetic_heading", np.nan) - track)) / HEADING_APART,
            abs(values.get("inertial_vertical_rate", np.nan) - rate) / RATE_APART,
        ]
    known = [check for check in checks if np.isfinite(check)]
    return sum(check <= 1.0 for check in known), sum(check > 1.0 for check in known)


def _turn(angle: float) -> float:
    return float(np.mod(angle + np.pi, 2.0 * np.pi) - np.pi)


def _why(values: dict[str, float]) -> str:
    if abs(values.get("roll", 0.0)) > STEEP:
        return "bank beyond 50 deg, which ordinary rules refuse"
    return _scale_end(values) or "beyond the ordinary range rules, but continues the squitters"


def _scale_end(values: dict[str, float]) -> str:
    names = ("baro_vertical_rate", "inertial_vertical_rate")
    rates = [abs(values.get(name, 0.0)) for name in names]
    return "a rate at the end of its scale" if max(rates) >= SCALE_END * FOOT_PER_MINUTE else ""


def _nearest(times: Floats, time: float) -> int | None:
    if not times.size:
        return None
    k = int(np.clip(np.searchsorted(times, time), 1, times.size)) - 1
    if k + 1 < times.size and times[k + 1] - time < time - times[k]:
        k += 1
    return k if abs(times[k] - time) <= NEAR else None
