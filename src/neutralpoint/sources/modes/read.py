"""Raw 1090 MHz Mode S with times: squitters, altitudes and replies of one airplane.

Needs the optional extra `modes`. What ordinary rules discard is kept and labelled; the labels are
listed in docs/how-to/read-mode-s.md.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np
from pyModeS._altcode import altcode_to_altitude
from pyModeS.decoder.bds.bds05 import decode_bds05

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE
from neutralpoint.sources.accuracy import SLOWEST, height_sigma
from neutralpoint.sources.assembly import Assembly, place
from neutralpoint.sources.clock import ClockSettings
from neutralpoint.sources.modes.clocks import common_clock
from neutralpoint.sources.modes.frame import (
    ADDRESSED,
    REPAIRED,
    SQUITTERS,
    Frame,
    format_of,
    remainder,
    repaired,
)
from neutralpoint.sources.modes.lines import Raw, read_lines
from neutralpoint.sources.modes.position import Report, resolve
from neutralpoint.sources.modes.replies import SquitteredFlight, recognise
from neutralpoint.sources.modes.status import STATUS, TARGET, Accuracy, stated
from neutralpoint.sources.modes.velocity import velocity
from neutralpoint.sources.report import Refusals, SourceReport
from neutralpoint.track import Track, VerticalRateSource

STEP, COARSE = 25.0 * FOOT, 100.0 * FOOT  # of altitudes with and without the Q bit
RATE_STEP = 64.0 * FOOT_PER_MINUTE
COARSE_SHARE = 0.1  # of altitudes without the Q bit from which their step stands for all
HEIGHT_WITHIN = 2.0  # s between a height difference and the pressure altitude it is added to
VELOCITY = 19  # type code
BARO_POSITION, HEIGHT_POSITION = range(9, 19), range(20, 23)  # type codes of airborne positions
PADDING = (11,)  # formats without a reading: all-call replies


@dataclass
class Decoded:
    """What is gathered while the messages of one airplane are gone through.

    Attributes:
        readings: Readings by channel.
        positions: Position reports.
        frames: Message of each position report, by its key.
        rate_sources: How many vertical rates are of which kind.
        coarse: Altitudes without the Q bit.
        heights: Times and differences of geometric height minus pressure altitude.
        registers: How many replies of each register.
        accuracy: What the airplane states of its accuracy.
    """

    readings: Assembly
    positions: list[Report] = field(default_factory=list)
    frames: dict[int, Frame] = field(default_factory=dict)
    rate_sources: Counter[VerticalRateSource] = field(default_factory=Counter)
    coarse: int = 0
    heights: list[tuple[float, float, Frame]] = field(default_factory=list)
    registers: Counter[str] = field(default_factory=Counter)
    accuracy: Accuracy = field(default_factory=Accuracy)


def read_modes(
    text: str, clock: ClockSettings, address: str | None, where: str
) -> tuple[Track, SourceReport]:
    """A track from raw messages.

    Args:
        text: Lines of a time, hexadecimal digits and perhaps a receiver.
        clock: What is known of the times.
        address: 24-bit address of the airplane, six hexadecimal digits; None for the only one.
        where: Name of the file, for errors.

    Returns:
        The track, doubtful readings marked, and the report with the airplane's own replies.

    Raises:
        NeutralPointError: `file-empty`, `file-too-large`, `time-unclear`, or `case-invalid` where
            the file holds several airplanes and none is named.
    """
    found = Decoded(Assembly())
    epoch, messages, names, said = read_lines(text, clock, found.readings.refusals, where)
    rows_read = len(messages)
    messages, clocks, shared = common_clock(messages, names)
    wanted = _wanted(messages, address, where)
    frames = _frames(messages, wanted, found.readings.refusals)
    _squitters(frames, found)
    _places(found)
    _heights(found)
    _replies(frames, found)
    kinds = found.rate_sources
    kind: VerticalRateSource = kinds.most_common(1)[0][0] if kinds else "unknown"
    track, report = found.readings.finish(
        epoch,
        "Mode S messages",
        rows_read,
        where,
        steps=_steps(found),
        vertical_rate_source=kind,
        assumed=(*said, *clocks, *_said(found, wanted, frames)),
    )
    track = replace(track, time_sigma=shared)
    return track, replace(report, onboard=found.readings.others())


def _wanted(messages: list[Raw], address: str | None, where: str) -> str:
    """The address asked for, or the only one that whole squitters carry."""
    heard: Counter[str] = Counter()
    for message in messages:
        if format_of(message.text) in SQUITTERS and remainder(message.text) == 0:
            heard[message.text[2:8]] += 1
    shown = ", ".join(a for a, _ in heard.most_common(8))
    if address is not None:
        return address.strip().upper()
    if len(heard) == 1:
        return next(iter(heard))
    if not heard:
        raise NeutralPointError(
            "file-empty",
            "No squitter of the file has whole parity, so that no airplane can be told.",
            where=where,
            hint='Name the airplane with `only = "..."`, its 24-bit address.',
        )
    raise NeutralPointError(
        "case-invalid",
        f"The file holds {len(heard)} airplanes: {shown}.",
        where=where,
        hint='Say which with `only = "..."`, its 24-bit address.',
    )


def _frames(messages: list[Raw], wanted: str, refusals: Refusals) -> list[Frame]:
    """Messages of one airplane; those with a single wrong bit are repaired and marked."""
    frames = []
    for m in messages:
        kind = format_of(m.text)
        if kind is None or kind not in (*SQUITTERS, *ADDRESSED):
            if kind not in PADDING:
                refusals.add("the format holds no reading", m.row)
            continue
        left = remainder(m.text)
        if kind in SQUITTERS:
            text = m.text if left == 0 else repaired(m.text, left)
            mine = text is not None and text[2:8] == wanted
        else:
            # The parity is overlaid with the address: what differs from it is the fault.
            fault = left ^ int(wanted, 16)
            text = m.text if fault == 0 else repaired(m.text, fault)
            mine = text is not None
        if not mine or text is None:
            refusals.add("another airplane, or parity that fails by more than one bit", m.row)
            continue
        frames.append(Frame(m.time, text, m.row, m.receiver, kind, wanted, text != m.text))
    return frames


def _doubt(frame: Frame, more: str = "") -> str:
    return "; ".join(x for x in (REPAIRED if frame.repaired else "", more) if x)


def _take(
    found: Decoded,
    channel: str,
    frame: Frame,
    value: float | tuple[float, float],
    more: str = "",
    *,
    sigma: float = float("nan"),
    step: float = float("nan"),
) -> None:
    found.readings.add(
        channel,
        frame.time,
        value,
        frame.row,
        source=frame.receiver,
        doubt=_doubt(frame, more),
        sigma=sigma,
        step=step,
    )


def _squitters(frames: list[Frame], found: Decoded) -> None:
    for frame in frames:
        if frame.format in SQUITTERS:
            code = frame.bits(33, 37)
            if code == VELOCITY:
                _velocity(frame, found)
            elif code in BARO_POSITION or code in HEIGHT_POSITION:
                _position(frame, code, found)
            elif code in (STATUS, TARGET):
                said = None if frame.repaired else stated(frame)
                if said is not None:
                    found.accuracy.every.append(said)
            elif 5 <= code <= 8:
                found.readings.refusals.add("a position on the ground is not used", frame.row)
        elif frame.format in (0, 4, 16, 20):
            code = frame.bits(20, 32)
            altitude = altcode_to_altitude(code)
            if altitude is None:
                found.readings.refusals.add("the message holds no altitude", frame.row)
                continue
            found.coarse += not code & 0x10
            step = STEP if code & 0x10 else COARSE
            _take(found, "pressure_altitude", frame, altitude * FOOT, step=step)


def _velocity(frame: Frame, found: Decoded) -> None:
    said = velocity(frame)
    doubt, sigma = said.speed_doubt, said.speed_sigma
    if said.ground_speed is not None:
        _take(found, "ground_speed", frame, said.ground_speed, doubt, sigma=sigma)
        if said.track_angle is not None:
            turned = sigma / max(said.ground_speed, SLOWEST)
            _take(found, "track_angle", frame, said.track_angle, doubt, sigma=turned)
    for name in ("true_airspeed", "indicated_airspeed", "heading"):
        if (value := getattr(said, name)) is not None:
            _take(found, f"squitter_{name}", frame, value)
    if said.vertical_rate is not None:
        sigma = said.geometric_rate_sigma if said.rate_source == "geometric" else np.nan
        _take(found, "vertical_rate", frame, said.vertical_rate, said.rate_doubt, sigma=sigma)
        found.rate_sources[said.rate_source] += 1
    if said.height_difference is not None:
        found.heights.append((frame.time, said.height_difference, frame))
        _take(found, "height_difference", frame, said.height_difference)


def _position(frame: Frame, code: int, found: Decoded) -> None:
    said = decode_bds05(frame.bits(33, 88), tc=code)
    if code in HEIGHT_POSITION:
        height = frame.bits(41, 52)  # metres above the ellipsoid (RTCA DO-260B 2.2.3.2.3.4)
        if height:
            now = found.accuracy.at(frame.time)
            sigma = height_sigma(None if now is None else now.height)
            _take(found, "geometric_altitude", frame, float(height), sigma=sigma)
    elif said.get("altitude") is not None:
        found.coarse += not frame.bits(41, 52) & 0x10
        step = STEP if frame.bits(41, 52) & 0x10 else COARSE
        _take(found, "pressure_altitude", frame, said["altitude"] * FOOT, step=step)
    key = len(found.positions)
    found.frames[key] = frame
    found.positions.append(
        Report(
            frame.time,
            bool(said["cpr_format"]),
            said["cpr_lat"],
            said["cpr_lon"],
            key,
            frame.repaired,
        )
    )


def _places(found: Decoded) -> None:
    places = resolve(found.positions)
    for key, frame in found.frames.items():
        if key in places:
            sigma = found.accuracy.of_position(frame.time, frame.bits(33, 37))
            _take(found, "position", frame, place(*places[key]), sigma=sigma)
        else:
            found.readings.refusals.add(
                "no even and odd position close enough in time to place it", frame.row
            )


def _heights(found: Decoded) -> None:
    """Geometric height as the sum of pressure altitude and the difference that is sent."""
    if "pressure_altitude" not in found.readings.channels:
        return
    altitude = found.readings.channels["pressure_altitude"].observations(STEP)
    good = ~altitude.suspect
    time, value = altitude.time[good], altitude.value[good]
    for when, difference, frame in found.heights:
        k = int(np.searchsorted(time, when))
        near = [i for i in (k - 1, k) if 0 <= i < time.size and abs(time[i] - when) < HEIGHT_WITHIN]
        if near:
            pressure = float(np.interp(when, time[near], value[near]))
            _take(found, "geometric_altitude", frame, pressure + difference)


def _flight(found: Decoded) -> SquitteredFlight:
    channels = found.readings.channels
    flight = SquitteredFlight()
    if "ground_speed" in channels and "track_angle" in channels:
        speed = channels["ground_speed"].observations(0.0)
        track = channels["track_angle"].observations(0.0)
        flight.time, flight.speed = speed.time, speed.value
        angle = np.unwrap(track.value)
        flight.track = np.interp(speed.time, track.time, angle)
        flight.rate = np.full(speed.time.size, np.nan)
        if "vertical_rate" in channels:
            rate = channels["vertical_rate"].observations(0.0)
            flight.rate = np.interp(speed.time, rate.time, rate.value)
    if "pressure_altitude" in channels:
        altitude = channels["pressure_altitude"].observations(STEP)
        flight.altitude_time, flight.altitude = altitude.time, altitude.value
    return flight


def _replies(frames: list[Frame], found: Decoded) -> None:
    flight = _flight(found)
    for frame in frames:
        if frame.format not in (20, 21):
            continue
        reply = recognise(frame.bits(33, 88), frame.time, flight)
        if reply is None:
            found.registers["not recognized, or another register"] += 1
            continue
        label = f"register {reply.register}"
        found.registers[f"{label}, rescued" if reply.doubt else label] += 1
        for name, value in reply.values.items():
            _take(found, name, frame, value, reply.doubt)


def _steps(found: Decoded) -> dict[str, float]:
    """Steps that the formats define; speeds and tracks come from whole knots in two directions."""
    altitude = found.readings.channels.get("pressure_altitude")
    count = len(altitude.time) if altitude else 0
    coarse = found.coarse > COARSE_SHARE * count
    return {
        "position": 0.0,
        "ground_speed": 0.0,
        "track_angle": 0.0,
        "vertical_rate": RATE_STEP,
        "pressure_altitude": COARSE if coarse else STEP,
        "geometric_altitude": STEP,
    }


def _said(found: Decoded, wanted: str, frames: list[Frame]) -> tuple[str, ...]:
    said = [
        f"{len(frames)} messages carry the address {wanted}; "
        f"{sum(f.repaired for f in frames)} of them with one bit repaired.",
        "Times are times of reception; an airplane computes its position up to 2 s before "
        "(14 CFR 91.227 allows 2.0 s, of which 0.6 s uncompensated).",
        "Altitudes are pressure altitudes to 1013.25 hPa; ground speed and track come from whole "
        "knots north and east.",
    ]
    said += found.accuracy.said()
    if found.heights:
        said.append("Geometric height is pressure altitude plus the difference sent (25 ft steps).")
    if found.coarse:
        said.append(f"{found.coarse} altitudes are in steps of 100 ft, the others of 25 ft.")
    if found.rate_sources:
        kinds = ", ".join(f"{n} {kind}" for kind, n in found.rate_sources.most_common())
        said.append(f"Vertical rates: {kinds}.")
    said += [f"{n} replies: {name}." for name, n in found.registers.most_common()]
    if found.readings.doubts():
        said.append(
            "Readings rescued from messages that ordinary rules discard are marked, and count "
            "with a ten-thousandth of the weight of the others."
        )
    return tuple(said)
