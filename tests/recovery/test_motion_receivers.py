"""Two receivers of one flight, one of them 0.8 s late: what they give together, within its bands.

Both hear most of the same transmissions, each with the jitter of its own clock, so that the error
of a position is common to them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from motion_synthetic import LIFT, PLAIN, WEATHER, Habits, eased, fly, observe
from recorded import Degradation

from neutralpoint.motion import estimate_motion
from neutralpoint.numerics.intervals import band, coverage, half_width
from neutralpoint.quantities import FOOT
from neutralpoint.track import align_tracks, join_tracks

FLIGHTS = 10
LATE, JITTERS = 0.8, (0.05, 0.15)  # s
HEARD = 0.8  # share of the transmissions that each receiver hears


def climb(time):
    return 0.2 * np.sin(2.0 * np.pi * time / 30.0) * eased(time, 12.0, 10.0)


def heading(time):
    return 0.3 + 0.5 * eased(time, 20.0, 15.0) - 0.4 * eased(time, 55.0, 15.0)


def heard(track, rng, late, jitter):
    """The record of one receiver of the transmissions of a track."""
    count = len(track.position)
    stamp = track.position.time + late + jitter * rng.standard_normal(count)
    kept = np.flatnonzero(rng.random(count) < HEARD)
    kept = kept[np.argsort(stamp[kept])]
    channels = {
        name: replace(channel.taken(kept), time=stamp[kept])
        for name, channel in track.channels().items()
    }
    return replace(track, **channels)


@pytest.fixture(scope="module")
def flown():
    """Flights with winds, delays and noise of their own, seen by both receivers."""
    found = []
    for seed in range(FLIGHTS):
        rng = np.random.default_rng([77, seed])
        truth = fly(80.0, climb=climb, heading=heading, rng=rng, gusts=0.02)
        habits = Habits(
            position_age=0.1 + 0.15 * rng.standard_normal(),
            altitude_age=0.4 + 0.6 * rng.standard_normal(),
        )
        sent = observe(truth, rng, replace(PLAIN, jitter=0.0, drop=0.0), habits)
        pair = [heard(sent, rng, late, j) for late, j in zip((0.0, LATE), JITTERS, strict=True)]
        tracks, clocks = align_tracks(pair)
        motion = estimate_motion(
            join_tracks(tracks),
            weather=WEATHER,
            lift=LIFT,
            rng=np.random.default_rng(seed),
            samples=80,
        )
        found.append((truth, clocks[1].fit, motion))
    return found


def share(flown, name, truth_of):
    shares = []
    for truth, _, motion in flown:
        grid = ~motion.is_fix
        lower, upper = band(motion.paths[name][:, grid], 0.9)
        shares.append(coverage(lower, upper, truth_of(truth, motion.time[grid])))
    return float(np.mean(shares))


def test_the_late_clock_is_found(flown):
    off = [(fit.offset - LATE) / fit.offset_sigma for _, fit, _ in flown]
    assert np.sqrt(np.mean(np.square(off))) < 1.8  # 1 expected; ten flights know it to 0.2


@pytest.mark.parametrize(
    "name", ["calibrated_airspeed", "pitch_angle", "bank_angle", "normal_load_factor"]
)
def test_bands_hold_what_they_say(flown, name):
    held = share(flown, name, lambda truth, time: truth.at(name, time))
    # Wind, wing and delays are one draw a flight; the least jerk level is that of real air, and
    # these flights move as smoothly as none does.
    assert 0.8 <= held <= 0.998, held


def test_positions_are_covered_although_their_error_lasts(flown):
    """Mostly the age of the positions, one draw a flight: ten flights know 0.9 to 0.1."""
    held = share(flown, "latitude", lambda truth, time: np.interp(time, truth.time, truth.latitude))
    assert held >= 0.7, held


def test_two_receivers_do_not_halve_what_they_share(flown):
    """Two copies of each position give bands no narrower than the better clock alone would."""
    _, _, motion = flown[0]
    assert half_width(motion.paths["latitude"], 0.9).min() * 6.371e6 > 3.3


def test_a_coarse_source_beside_a_fine_one_takes_nothing_away():
    """A radar of 100 ft beside squitters of 25 ft in a slow climb: each run by its own step."""
    rng = np.random.default_rng(3)
    truth = fly(60.0, climb=lambda t: np.full_like(t, 0.03), heading=lambda t: 0.3 + 0.0 * t)
    fine = observe(truth, rng, replace(PLAIN, velocity=False))
    radar = Degradation("radar", 4.8, 100.0 * FOOT, position_sigma=30.0, velocity=False)
    both = join_tracks([fine, observe(truth, rng, radar)])
    widths = [
        np.median(
            half_width(
                estimate_motion(
                    track, weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1), samples=60
                ).paths["pressure_altitude"]
            )
        )
        for track in (fine, both)
    ]
    assert widths[1] < 1.1 * widths[0], widths
