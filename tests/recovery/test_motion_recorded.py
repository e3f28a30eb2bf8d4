"""Recorded flights, degraded to a surveillance track: what was measured on board comes back.

The recordings are not part of the project; without them these tests are skipped.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from motion_on_recorded_flights import VARIABLES, reconstruct, score
from recorded import DATA, SURVEILLANCE, lift_line, recordings

from neutralpoint.quantities import DEGREE

pytestmark = [
    pytest.mark.recorded,
    pytest.mark.skipif(
        not DATA.is_dir(), reason=f"no recorded flights beside the project ({DATA})"
    ),
]


@pytest.fixture(scope="module")
def flights():
    return {flight.name: flight for flight in recordings()}


def part(flights, name, start, end, kin=None, how=SURVEILLANCE[0]):
    """Motion of a part of a recording, with the lift line of a sister flight."""
    if name not in flights:
        pytest.skip(f"{name} is not among the recorded flights")
    flight = replace(flights[name], airborne=(start, end))
    line = lift_line(flights[kin if kin in flights else name])
    return flight, reconstruct(flight, how, line, seed=1)


def seen(motion, name, start, end):
    """Median path and flags between two times."""
    keep = ~motion.is_fix & (motion.time >= start) & (motion.time <= end)
    return np.median(motion.paths[name][:, keep], axis=0), motion.observable[name][keep]


def test_ordinary_flight(flights):
    """A quarter of an hour of climbs, turns to 40 degrees and speed changes at 1 Hz and 25 ft."""
    flight, motion = part(flights, "bizjet_01", 2300.0, 3200.0, kin="bizjet_04")
    scores = {name: score(flight, motion, name, unit) for name, _, unit in VARIABLES}
    aims = {
        "calibrated_airspeed": 4.0,
        "pitch_angle": 2.0,
        "bank_angle": 2.5,
        "normal_load_factor": 0.08,
    }
    for name, aim in aims.items():
        assert scores[name].rms <= aim, name
        assert scores[name].observable > 0.98
    for name in ("bank_angle", "normal_load_factor"):
        assert 0.85 <= scores[name].coverage <= 0.98
    # Wind and wing are one draw in a quarter of an hour: the coverage of a single flight says
    # little, so only a gross fault is caught here; the benchmark has the figures of all flights.
    for name in ("calibrated_airspeed", "pitch_angle"):
        assert scores[name].coverage > 0.6


@pytest.fixture(scope="module")
def parabolas(flights):
    return part(flights, "bizjet_04", 2700.0, 3400.0, kin="bizjet_01")


@pytest.mark.parametrize(("start", "end"), [(3070.0, 3130.0), (3150.0, 3205.0)])
def test_parabolas(parabolas, start, end):
    """From 2.2 g through 0 g and back, pitch from 54 degrees up to 50 down."""
    flight, motion = parabolas
    load, _ = seen(motion, "normal_load_factor", start, end)
    pitch, _ = seen(motion, "pitch_angle", start, end)
    inside = (flight.time > start) & (flight.time < end)
    assert load.max() == pytest.approx(flight.load_factor[inside].max(), abs=0.25)
    assert load.min() == pytest.approx(flight.load_factor[inside].min(), abs=0.15)
    assert pitch.max() == pytest.approx(flight.pitch[inside].max(), abs=5.0 * DEGREE)
    assert pitch.min() == pytest.approx(flight.pitch[inside].min(), abs=5.0 * DEGREE)
    # The wings stayed level; near zero lift the bank is not to be had, and that is said.
    bank, known = seen(motion, "bank_angle", start, end)
    assert np.abs(bank[known]).max() < 15.0 * DEGREE
    assert not known[np.abs(load) < 0.15].any()


def test_rolls_hide_the_bank(flights):
    _, motion = part(flights, "light_aerobatic_01", 600.0, 1200.0)
    for moment in (799.0, 826.0, 849.0, 960.0, 986.0):
        _, known = seen(motion, "bank_angle", moment - 1.0, moment + 1.0)
        assert not known.all(), f"bank called observable all through the roll at {moment:.0f} s"
    _, known = seen(motion, "bank_angle", 600.0, 780.0)
    assert known.mean() > 0.95
