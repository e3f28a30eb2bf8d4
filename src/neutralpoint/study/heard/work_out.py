"""The recordings of a case: their lines followed, and traced to the source from the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.case import Case, track_seconds
from neutralpoint.case.clocks import read_clocks
from neutralpoint.case.files import read_source
from neutralpoint.case.recording_entry import RecordingEntry
from neutralpoint.earth import atmosphere
from neutralpoint.errors import NeutralPointError
from neutralpoint.hearing import Pass, Ridge, Spectra, fit_pass, follow, source_rate, spectra_of
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.sources.recording import read_recording
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.wreckage.work_out import PlaneFrame

TURN = 2.0 * np.pi
# Doppler of 120 m/s away from and toward the microphone, by the speed of sound; analyst's.
GOING, COMING = 0.74, 1.55
HARMONICS = 5.2  # times the highest blade rate that spectra reach
NEAR = 20.0  # s before and after the onset that are compared; analyst's
SETTLED = 3.0  # s after the onset that are left out: a governor answers within them; analyst's
STEP = 0.02  # change of rotation that counts, a share; analyst's
HEARD = 0.5  # chance of a line from which its frequency is taken
FEWEST = 8  # frames on either side of the onset
PATHS = 60  # sample paths that the sound is traced to
# Error of a followed frequency beyond its band: of the model of the line, a share. Analyst's.
FLOOR = 0.003


@dataclass(frozen=True)
class HeardLine:
    """One recording that could be read; times in s after the epoch.

    Attributes:
        entry: Of the case.
        spectra: Its frames.
        time: Middle of each frame, shape (m,).
        ridge: The line.
        known: Where there is one, shape (m,).
        rate: Blade rate at the source by path, Hz, shape (S, m); one row in the airplane.
        passed: A pass of the microphone; None without one.
        clipped: Share of the samples at full scale.
    """

    entry: RecordingEntry
    spectra: Spectra
    time: Array
    ridge: Ridge
    known: Flags
    rate: Array
    passed: Pass | None
    clipped: float


@dataclass(frozen=True)
class HeardAll:
    """All recordings, and when the onset was.

    Attributes:
        lines: Those that could be read.
        refused: Those that could not, and why.
        onset: s after the epoch; None where none is known.
    """

    lines: list[HeardLine]
    refused: list[tuple[RecordingEntry, NeutralPointError]]
    onset: float | None


def without_recordings(case: Case) -> str:
    """Why a case has nothing to be heard; empty where it has."""
    if case.document.recordings:
        return ""
    return "The case names no recordings: add `[[recordings]]` to hear the propellers."


def hear(case: Case, motion: KeptMotion) -> HeardAll:
    """Follow the blade rate in every recording of a case.

    Args:
        case: The case.
        motion: Its motion.

    Returns:
        What was heard; a recording that cannot be read stops no other.
    """
    lines, refused = [], []
    for number, entry in enumerate(case.document.recordings, start=1):
        try:
            lines.append(_line(case, motion, entry, f"case.toml: recordings[{number}].file"))
        except NeutralPointError as error:
            refused.append((entry, error))
    onset = case.analysis.onset
    if onset is None and motion.onsets.found:
        onset = motion.onsets.median
    return HeardAll(lines, refused, onset)


def _start(case: Case, entry: RecordingEntry) -> float:
    clock = None if entry.clock is None else read_clocks(case.document)[entry.clock]
    return track_seconds(entry.start, case.track) - (0.0 if clock is None else clock.offset)


def _line(case: Case, motion: KeptMotion, entry: RecordingEntry, key: str) -> HeardLine:
    file = read_source(case.folder, entry.file, key)
    recording = read_recording(file.data, entry.file)
    lowest, highest = (entry.blades * q.value / TURN for q in (entry.slowest, entry.fastest))
    if entry.kind == "ground":  # what comes is heard higher, what goes lower
        lowest, highest = lowest * GOING, highest * COMING
    spectra = spectra_of(recording.samples, recording.rate, HARMONICS * highest)
    if spectra.time.size < FEWEST or 2.0 * highest > 0.5 * recording.rate:
        raise NeutralPointError(
            "file-format",
            f"{len(recording.samples) / recording.rate:.1f} s of sound up to "
            f"{0.5 * recording.rate:.0f} Hz do not hold a blade rate of {lowest:.0f} to "
            f"{highest:.0f} Hz.",
            where=key,
            hint="Give some seconds of sound with at least four samples a blade passing.",
        )
    ridge = follow(spectra, lowest, highest)
    time, known = _start(case, entry) + spectra.time, ridge.present > HEARD
    rate, passed = ridge.frequency[1][None], None
    if entry.kind == "ground":
        rate, passed = _at_source(motion, entry, ridge, time, known)
        # What cannot be this propeller at the source is another line, or half of this one.
        turning = np.median(rate, axis=0) * TURN / entry.blades
        known = known & (turning >= entry.slowest.value) & (turning <= entry.fastest.value)
    return HeardLine(entry, spectra, time, ridge, known, rate, passed, recording.clipped)


def _at_source(
    motion: KeptMotion, entry: RecordingEntry, ridge: Ridge, time: Array, known: Flags
) -> tuple[Array, Pass | None]:
    """The rate at the source along the paths, and the pass without them."""
    if entry.latitude is None or entry.longitude is None or entry.height is None:
        raise ValueError("a microphone on the ground has a place")
    grid = ~motion.is_fix
    chosen = slice(None, None, max(1, len(motion.paths["altitude"]) // PATHS))
    names = ("latitude", "longitude", "altitude", "air_temperature", "wind_north", "wind_east")
    paths = {name: motion.paths[name][chosen][:, grid].astype(float) for name in names}
    frame = PlaneFrame(entry.latitude.value, entry.longitude.value)
    north, east = frame.flat(paths["latitude"], paths["longitude"])
    sound = float(atmosphere.speed_of_sound(np.median(paths["air_temperature"])))
    # Half of the wind aloft: the way of the sound lies between it and a calm ground. Analyst's.
    wind = 0.5 * np.stack([paths["wind_north"].mean(axis=1), paths["wind_east"].mean(axis=1)])
    rate = source_rate(
        time, ridge.frequency[1], known,
        path_time=motion.time[grid], place=np.stack([north, east, paths["altitude"]]),
        microphone=np.array([0.0, 0.0, entry.height.value]), sound=sound, wind=wind,
    )  # fmt: skip
    width = ridge.frequency[2] - ridge.frequency[0]
    sigma = np.hypot(width / 3.3, FLOOR * ridge.frequency[1])
    return rate, fit_pass(time[known], ridge.frequency[1][known], sigma[known], sound)


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
    if onset is None or not line.time[0] < onset < line.time[-1]:
        return "not-then"
    known = line.known & np.isfinite(line.rate).all(axis=0)
    earlier = known & (line.time < onset) & (line.time >= onset - NEAR)
    later = known & (line.time > onset + SETTLED) & (line.time <= onset + SETTLED + NEAR)
    if min(earlier.sum(), later.sum()) < FEWEST:
        return "no-line"
    rng = np.random.default_rng(len(line.time))
    drawn = []
    for part in (earlier, later):
        middle = np.median(line.rate[:, part], axis=1)
        width = (line.ridge.frequency[2] - line.ridge.frequency[0])[part] / 3.3
        sigma = np.hypot(np.median(width), FLOOR * np.median(middle))
        drawn.append(np.repeat(middle, 40) + sigma * rng.standard_normal(40 * middle.size))
    changed = float((np.abs(np.log(drawn[1] / drawn[0])) > STEP).mean())
    return AboutOnset(drawn[0], drawn[1], changed)


def telling(found: HeardAll | None) -> tuple[tuple[str, float], ...]:
    """Recordings that tell of the propellers at the onset.

    Args:
        found: All of them; None where there are none.

    Returns:
        File of each and the probability that the blade rate changed.
    """
    lines = [] if found is None else found.lines
    onset = None if found is None else found.onset
    told = [(line.entry.file, about_onset(line, onset)) for line in lines]
    return tuple((name, one.changed) for name, one in told if isinstance(one, AboutOnset))
