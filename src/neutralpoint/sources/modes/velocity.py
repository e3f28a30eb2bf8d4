"""Velocity squitters (type code 19), to the resolution that is sent."""

from __future__ import annotations

import math
from dataclasses import dataclass

from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, KNOT
from neutralpoint.sources.accuracy import velocity_sigmas
from neutralpoint.sources.modes.frame import Frame
from neutralpoint.track import VerticalRateSource

RATE_END = 511  # last step of the vertical rate
SPEED_END = 1023  # last step of a velocity component
RATE_STEP = 64.0 * FOOT_PER_MINUTE
DIFFERENCE_STEP = 25.0 * FOOT


@dataclass
class VelocityReport:
    """What a velocity squitter says; None for what is not sent.

    Attributes:
        ground_speed: m/s.
        track_angle: rad.
        true_airspeed: m/s.
        indicated_airspeed: m/s.
        heading: rad.
        vertical_rate: m/s.
        rate_source: What the vertical rate is the rate of.
        height_difference: Geometric minus pressure altitude, m.
        speed_sigma: Of the ground speed, m/s; NaN where no accuracy is stated.
        geometric_rate_sigma: Of a geometric vertical rate, m/s; likewise.
        speed_doubt: Why the speed is doubtful; empty where it is not.
        rate_doubt: Why the vertical rate is.
    """

    ground_speed: float | None = None
    track_angle: float | None = None
    true_airspeed: float | None = None
    indicated_airspeed: float | None = None
    heading: float | None = None
    vertical_rate: float | None = None
    rate_source: VerticalRateSource = "unknown"
    height_difference: float | None = None
    speed_sigma: float = math.nan
    geometric_rate_sigma: float = math.nan
    speed_doubt: str = ""
    rate_doubt: str = ""


def velocity(frame: Frame) -> VelocityReport:
    """What a velocity squitter says.

    Args:
        frame: A squitter of type code 19.

    Returns:
        Its content; of the two airspeeds only the one that is sent.

    Source: RTCA DO-260B 2.2.3.2.6, as in the open Mode S book, ch. 5 (DOI 10.34641/mg.11).
    Checked against: tests/against/test_sources_messages.py.
    """
    subtype = frame.bits(38, 40)
    found = VelocityReport()
    found.speed_sigma, found.geometric_rate_sigma = velocity_sigmas(frame.bits(43, 45))
    scale = 4.0 * KNOT if subtype in (2, 4) else KNOT
    if subtype in (1, 2):
        _ground(frame, scale, found)
    elif subtype in (3, 4):
        _air(frame, scale, found)
    else:
        return found
    rate = frame.bits(70, 78)
    if rate:
        found.vertical_rate = RATE_STEP * (rate - 1) * (-1.0 if frame.bits(69, 69) else 1.0)
        found.rate_source = "baro" if frame.bits(68, 68) else "geometric"
        if rate == RATE_END:
            found.rate_doubt = "the vertical rate is at the end of its scale"
    difference = frame.bits(82, 88)
    if difference:
        sign = -1.0 if frame.bits(81, 81) else 1.0
        found.height_difference = sign * DIFFERENCE_STEP * (difference - 1)
    return found


def _ground(frame: Frame, scale: float, found: VelocityReport) -> None:
    east, north = frame.bits(47, 56), frame.bits(58, 67)
    if not east or not north:
        return
    x = scale * (east - 1) * (-1.0 if frame.bits(46, 46) else 1.0)
    y = scale * (north - 1) * (-1.0 if frame.bits(57, 57) else 1.0)
    found.ground_speed = math.hypot(x, y)
    if x or y:
        found.track_angle = math.atan2(x, y) % (2.0 * math.pi)
    if SPEED_END in (east, north):
        found.speed_doubt = "a velocity component is at the end of its scale"


def _air(frame: Frame, scale: float, found: VelocityReport) -> None:
    if frame.bits(46, 46):
        found.heading = frame.bits(47, 56) * 2.0 * math.pi / 1024.0
    speed = frame.bits(58, 67)
    if speed and frame.bits(57, 57):
        found.true_airspeed = scale * (speed - 1)
    elif speed:
        found.indicated_airspeed = scale * (speed - 1)
