"""The propellers in one recording: lines, beats, changes, traced to the source from the ground."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.signal import resample_poly

from neutralpoint.case.recording_entry import RecordingEntry
from neutralpoint.earth import atmosphere
from neutralpoint.errors import NeutralPointError
from neutralpoint.hearing import (
    LineEvent,
    Pass,
    Ridge,
    Spectra,
    beat_of,
    fit_pass,
    follow,
    follow_second,
    line_events,
    source_rate,
    spectra_of,
)
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.wreckage.work_out import PlaneFrame

TURN = 2.0 * np.pi
LOW = 2000.0  # samples a second: five harmonics of a blade rate fit below 1 kHz
# Doppler of 120 m/s away from and toward the microphone, by the speed of sound; analyst's estimate.
GOING, COMING = 0.74, 1.55
HARMONICS = 5.2  # times the highest blade rate that spectra reach
NEAR = 20.0  # s before and after the onset that are compared; analyst's
SETTLED = 3.0  # s after the onset that are left out: a governor answers within them; analyst's
STEP = 0.02  # change of rotation that counts, a share; analyst's
HEARD = 0.5  # chance of a line from which its frequency is taken
FEWEST = 8  # frames on either side of the onset
PATHS = 60  # sample paths that the sound is traced to
# Error of a followed frequency beyond its band: of the model of the line, a share. Analyst's
# estimate.
FLOOR = 0.003
# Change of the rate, a share, below which a microphone on the ground tells none: a clock that is a
# second off bends the curve of a pass by as much. Analyst's, seen in examples/orlembeck.
LEAST_ON_GROUND = 0.05
HALF_WIDTH = 1.96  # standard deviations of a 95% half-width


@dataclass(frozen=True)
class HeardLine:
    """The propellers in one recording; times in s after the epoch.

    Attributes:
        entry: Of the case.
        spectra: Its frames.
        time: Middle of each frame, shape (m,).
        ridge: The line as it was heard.
        known: Where there is one, shape (m,).
        rate: Blade rate at the source by path, Hz, shape (S, m); one row in the airplane.
        emitted: When what is in a frame left the airplane, shape (m,).
        passed: A pass of the microphone; None without one.
        second: Line of another propeller; None where one alone may sound.
        beat: Difference of two blade rates; None where one propeller alone may sound.
        events: Begins, ends and changes of the rate at the source.
    """

    entry: RecordingEntry
    spectra: Spectra
    time: Array
    ridge: Ridge
    known: Flags
    rate: Array
    emitted: Array
    passed: Pass | None
    second: Ridge | None
    beat: Ridge | None
    events: list[LineEvent]


def propellers(
    motion: KeptMotion, entry: RecordingEntry, samples: Array, rate: float, start: float, key: str
) -> HeardLine:
    """Follow the propellers through a recording.

    Args:
        motion: Of the case.
        entry: The recording.
        samples: Shape (n,).
        rate: Samples a second.
        start: Of the first sample, s after the epoch.
        key: What errors call it.

    Returns:
        The lines.

    Raises:
        NeutralPointError: `file-format` where the recording does not hold such a rate.
    """
    every = max(1, int(rate // LOW))
    samples, rate = resample_poly(samples.astype(float), 1, every), rate / every
    lowest, highest = (entry.blades * q.value / TURN for q in (entry.slowest, entry.fastest))
    if entry.kind == "ground":  # what comes is heard higher, what goes lower
        lowest, highest = lowest * GOING, highest * COMING
    spectra = spectra_of(samples, rate, HARMONICS * highest)
    if spectra.time.size < FEWEST or 2.0 * highest > 0.5 * rate:
        raise NeutralPointError(
            "file-format",
            f"{len(samples) / rate:.1f} s of sound up to {0.5 * rate:.0f} Hz do not hold a blade "
            f"rate of {lowest:.0f} to {highest:.0f} Hz.",
            where=key,
            hint="Give some seconds of sound with at least four samples a blade passing.",
        )
    ridge = follow(spectra, lowest, highest)
    time, known = start + spectra.time, ridge.present > HEARD
    at_source, emitted, passed = ridge.frequency[1][None], time, None
    if entry.kind == "ground":
        at_source, emitted, passed = _at_source(motion, entry, ridge, time, known)
        # What cannot be this propeller at the source is another line, or half of this one.
        turning = np.median(at_source, axis=0) * TURN / entry.blades
        known = known & (turning >= entry.slowest.value) & (turning <= entry.fastest.value)
    two = entry.propellers > 1
    events = line_events(_source_ridge(ridge, at_source, known))
    least = LEAST_ON_GROUND if entry.kind == "ground" else 0.0
    return HeardLine(
        entry, spectra, time, ridge, known, at_source, emitted, passed,
        follow_second(spectra, ridge, lowest, highest) if two else None,
        beat_of(samples, rate, ridge) if two else None,
        [one for one in events if not one.share or abs(one.share) > least],
    )  # fmt: skip


def _source_ridge(ridge: Ridge, rate: Array, known: Flags) -> Ridge:
    """The line as it left the airplane."""
    middle = np.where(known, np.median(rate, axis=0), ridge.frequency[1])
    return replace(
        ridge,
        frequency=ridge.frequency * (middle / ridge.frequency[1]),
        present=np.where(known, ridge.present, 0.0),
    )


def _at_source(
    motion: KeptMotion, entry: RecordingEntry, ridge: Ridge, time: Array, known: Flags
) -> tuple[Array, Array, Pass | None]:
    """The rate at the source along the paths, when it was sent, and the pass without them."""
    if entry.latitude is None or entry.longitude is None or entry.height is None:
        raise ValueError("a microphone on the ground has a place")
    grid = ~motion.is_fix
    chosen = slice(None, None, max(1, len(motion.paths["altitude"]) // PATHS))
    names = ("latitude", "longitude", "altitude", "air_temperature", "wind_north", "wind_east")
    paths = {name: motion.paths[name][chosen][:, grid].astype(float) for name in names}
    frame = PlaneFrame(entry.latitude.value, entry.longitude.value)
    north, east = frame.flat(paths["latitude"], paths["longitude"])
    sound = float(atmosphere.speed_of_sound(np.median(paths["air_temperature"])))
    # Half of the wind aloft: the way of the sound lies between it and a calm ground. Analyst's
    # estimate.
    wind = 0.5 * np.stack([paths["wind_north"].mean(axis=1), paths["wind_east"].mean(axis=1)])
    rng = np.random.default_rng(len(time))
    clock = entry.error.value / HALF_WIDTH * rng.standard_normal(len(north))
    place = np.stack([north, east, paths["altitude"]])
    rate, emitted = source_rate(
        time, ridge.frequency[1], known,
        path_time=motion.time[grid], place=place,
        microphone=np.array([0.0, 0.0, entry.height.value]), sound=sound, wind=wind, clock=clock,
    )  # fmt: skip
    width = ridge.frequency[2] - ridge.frequency[0]
    sigma = np.hypot(width / 3.3, FLOOR * ridge.frequency[1])
    passed = fit_pass(
        time[known], ridge.frequency[1][known], sigma[known], sound, _tail(place, wind)
    )
    return rate, np.median(emitted, axis=0), passed


def _tail(place: Array, wind: Array) -> float:
    """Wind from behind where the paths come nearest to the microphone, m/s."""
    middle = np.median(place, axis=1)
    at = int(np.clip(np.argmin((middle**2).sum(axis=0)), 1, middle.shape[1] - 2))
    along = middle[:2, at + 1] - middle[:2, at - 1]
    return float(along @ wind.mean(axis=1) / max(float(np.hypot(*along)), 1e-6))


@dataclass(frozen=True)
class AboutOnset:
    """Blade rates before and after the onset, Hz, one a sample; and what they say.

    Attributes:
        before: Shape (n,).
        after: Shape (n,).
        changed: Probability of a change of more than `STEP`.
    """

    before: Array
    after: Array
    changed: float


def about_onset(line: HeardLine, onset: float | None) -> AboutOnset | str:
    """Whether the blade rate changed at the onset.

    Args:
        line: Of one recording.
        onset: s after the epoch.

    Returns:
        Rates before and after; or why nothing can be said: `not-then` where it was not recorded
        then, `no-line` where no line was followed.
    """
    time, error = line.emitted, line.entry.error.value
    if onset is None or not time[0] < onset < time[-1]:
        return "not-then"
    known = line.known & np.isfinite(line.rate).all(axis=0)
    begin, end = onset - error, onset + error + SETTLED
    earlier = known & (time < begin) & (time >= begin - NEAR)
    later = known & (time > end) & (time <= end + NEAR)
    if min(earlier.sum(), later.sum()) < FEWEST:
        return "no-line"
    rng = np.random.default_rng(len(time))
    drawn = []
    for part in (earlier, later):
        middle = np.median(line.rate[:, part], axis=1)
        width = (line.ridge.frequency[2] - line.ridge.frequency[0])[part] / 3.3
        sigma = np.hypot(np.median(width), FLOOR * np.median(middle))
        drawn.append(np.repeat(middle, 40) + sigma * rng.standard_normal(40 * middle.size))
    changed = float((np.abs(np.log(drawn[1] / drawn[0])) > STEP).mean())
    return AboutOnset(drawn[0], drawn[1], changed)
