"""Legal tracks that are unkind: the motion is finite, without warnings, and near the truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from motion_synthetic import LIFT, PLAIN, STEP, WEATHER, Faults, constant, eased, fly, observe
from recorded import Degradation

from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import ONSET_SIGNALS, estimate_motion, upset_onsets
from neutralpoint.numerics import banded
from neutralpoint.numerics.intervals import half_width
from neutralpoint.quantities import FOOT


def climb(time):
    return 0.05 * eased(time, 10.0, 8.0) - 0.05 * eased(time, 45.0, 8.0)


def turn(time):
    return 0.3 + np.cumsum(0.05 * (eased(time, 25.0, 5.0) - eased(time, 45.0, 5.0))) * STEP


def seen(place=(0.8, 0.3), how=PLAIN, duration=80.0, heading=turn):
    truth = fly(duration, climb=climb, heading=heading, place=place)
    return observe(truth, np.random.default_rng(1), how)


def every(track, change):
    """The track with a change made to each of its channels."""
    return replace(track, **{name: change(c) for name, c in track.channels().items()})


def first(channel, count):
    names = ("time", "value", "row", "source", "suspect")
    return replace(channel, **{name: getattr(channel, name)[:count] for name in names})


def parked(channel):
    """The first 30 readings all alike, as before take-off."""
    value = channel.value.copy()
    value[:30] = value[30]
    return replace(channel, value=value)


def altitude_astray(track):
    value = track.pressure_altitude.value.copy()
    value[40:50] += 9000.0
    return replace(track, pressure_altitude=replace(track.pressure_altitude, value=value))


EN_ROUTE = Degradation("en route", 12.0, 100.0 * FOOT, position_sigma=60.0, velocity=False)
TRACK = seen()
TRACKS = {
    "geometric altitude only": replace(
        TRACK,
        geometric_altitude=TRACK.pressure_altitude,
        pressure_altitude=None,
        vertical_rate_source="geometric",
    ),
    "no velocities": replace(TRACK, ground_speed=None, track_angle=None, vertical_rate=None),
    "ground speed only": replace(TRACK, track_angle=None, vertical_rate=None),
    "across the antimeridian": seen(place=(0.5, 3.1415)),
    "near the pole": seen(place=(1.53, 0.2)),
    "track angle through north": seen(heading=lambda time: 6.28 + 0.05 * np.sin(time / 5.0)),
    "a fix in 12 s": seen(how=EN_ROUTE, duration=300.0),
    "eight fixes": every(TRACK, lambda channel: first(channel, 8)),
    "times in pairs": every(TRACK, lambda c: replace(c, time=np.floor(c.time / 2.0) * 2.0)),
    "parked at first": every(TRACK, parked),
    "all suspect": every(TRACK, lambda c: c.marked(np.ones(len(c), dtype=bool))),
    "altitudes astray": altitude_astray(TRACK),
}


@pytest.mark.parametrize("name", TRACKS)
def test_finite_and_sane(name):
    motion = estimate_motion(
        TRACKS[name], weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1), samples=16
    )
    for variable, values in motion.paths.items():
        assert np.isfinite(values).all(), variable
    load = np.median(motion.paths["normal_load_factor"], axis=0)
    assert np.median(load) == pytest.approx(1.0, abs=0.06)
    grid = ~motion.is_fix
    paths = {name: motion.paths[name][:, grid] for name in ONSET_SIGNALS}
    assert 0.0 <= upset_onsets(motion.time[grid], paths).none <= 1.0


def test_ten_minutes_without_a_fix():
    """The height between is unknown by more than a hundred metres, and nothing breaks."""
    truth = fly(720.0, climb=constant(0.0), heading=constant(0.4))
    faults = Faults(gap=(60.0, 660.0))
    track = observe(truth, np.random.default_rng(1), PLAIN, faults=faults)
    motion = estimate_motion(
        track, weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1), samples=16
    )
    assert all(np.isfinite(values).all() for values in motion.paths.values())
    middle = motion.paths["pressure_altitude"][:, motion.time.size // 2]
    assert middle.std() > 100.0


def test_what_rounding_leaves_no_motion_of_is_refused_in_words(monkeypatch):
    monkeypatch.setattr("neutralpoint.motion.chain.factorise", lambda diagonal, coupling: None)
    with pytest.raises(NeutralPointError) as refused:
        estimate_motion(TRACK, weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1))
    assert refused.value.code == "motion-not-resolved"


@pytest.mark.parametrize("name", ["altitudes astray", "all suspect"])
def test_rounding_moves_no_band(name, monkeypatch):
    """Matrices disturbed by as much as another processor rounds them give the same motion."""
    plain, rng = banded.assemble, np.random.default_rng(5)

    def disturbed(diagonal, coupling):
        matrix = plain(diagonal, coupling)
        return matrix * (1.0 + 1e-15 * rng.standard_normal(matrix.shape))

    seen = {"weather": WEATHER, "lift": LIFT, "samples": 32}
    one = estimate_motion(TRACKS[name], rng=np.random.default_rng(1), **seen)
    monkeypatch.setattr("neutralpoint.numerics.banded.assemble", disturbed)
    other = estimate_motion(TRACKS[name], rng=np.random.default_rng(1), **seen)
    for variable in ("normal_load_factor", "true_airspeed", "pressure_altitude"):
        half = half_width(one.paths[variable])
        moved = np.abs(np.median(other.paths[variable] - one.paths[variable], axis=0))
        assert (moved < 0.05 * half + 1e-6).all()
