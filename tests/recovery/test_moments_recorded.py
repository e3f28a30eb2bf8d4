"""Recorded flights as surveillance tracks: elevator and stick force as recorded come back.

The recordings are not part of the project; without them these tests are skipped. The limits leave
room beyond benchmarks/results/moments_on_recorded_flights.md for another draw of the errors.
"""

from __future__ import annotations

import numpy as np
import pytest
import recorded_airplane as jet
from moments_chain import WINDOW
from moments_on_recorded_flights import compare, lag_of, sister, work_out
from recorded import DATA, recordings

from neutralpoint.moments import energy, judge_causes, judged_part
from neutralpoint.moments.question import Question
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

pytestmark = [
    pytest.mark.recorded,
    pytest.mark.skipif(
        not DATA.is_dir(), reason=f"no recorded flights beside the project ({DATA})"
    ),
]


@pytest.fixture(scope="module")
def flights():
    found = {flight.name: flight for flight in recordings()}
    for name in ("bizjet_01", "bizjet_04", "bizjet_05"):
        if name not in found:
            pytest.skip(f"{name} is not among the recorded flights")
    return found


@pytest.mark.parametrize(
    ("name", "start", "end", "degrees", "newtons"),
    [
        ("bizjet_01", 4177.0, 4206.0, 0.8, 45.0),  # a hill: measured 0.5 deg, 27 N
        pytest.param(  # a parabola through zero g: 0.7 deg, 49 N
            "bizjet_05", 3853.0, 3898.0, 1.0, 65.0, marks=pytest.mark.slow
        ),
    ],
)
def test_elevator_and_stick_force_come_back(flights, name, start, end, degrees, newtons):
    kin = sister(name)
    columns, airplane = jet.read(DATA, name), jet.fit(DATA, kin)
    worked = work_out(flights[name], airplane, flights[kin], start, end, seed=10, before=60.0)
    required = worked.required
    lag = lag_of(columns, [required], start, end)
    for quantity, unit, limit in (
        ("elevator", DEGREE, degrees),
        ("column_force", 1.0, newtons),
    ):
        found = compare(columns, required, quantity, start, end, lag)
        rms = np.sqrt(np.mean(found.error**2)) / unit
        assert rms < limit, quantity
        assert np.corrcoef(found.true, found.true + found.error)[0, 1] > 0.9, quantity
        # One manoeuvre is one draw of the airplane: only a gross fault of the bands shows.
        assert found.covered(0.9).mean() > 0.6, quantity

    # Nothing failed in it, and that is not excluded; the wings stayed level.
    part = judged_part(worked.drawn, worked.flight, required, window=WINDOW, onset=start)
    found = judge_causes(
        Question(worked.loaded, part, np.random.default_rng(10)),
        energy(worked.drawn, worked.flight, required),
        bank=np.zeros_like(required.elevator),
        bank_known=np.ones(required.elevator.shape[1], bool),
    )
    words = {judged.cause: judged.word for judged in found}
    assert words[CauseName.NO_FAILURE] in ("can", "can if")
