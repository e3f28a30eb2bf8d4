"""An airliner's positions alone against its own replies. Needs recorded flights kept elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("pyModeS", reason="needs the optional extra `modes`")
import airliner_commb as airliner

from neutralpoint.quantities import DEGREE


@pytest.mark.slow  # a whole flight of an airliner, ten seconds
@pytest.mark.recorded
def test_bank_from_positions(recorded_flights):
    """208 replies of register 5,0; benchmarks/results/airliner_commb.md holds the whole table.

    Source: the airliner's own replies, register 5,0, beside the project.
    """
    track, report = airliner.load(recorded_flights)
    seen = airliner.positions_only(track)
    weather = airliner.own_weather(track, report, np.array([0.5, -0.5, 0.5]))
    motion = airliner.reconstruct(seen, weather)
    found = airliner.score(motion, seen, report.onboard["roll"], "bank_angle", DEGREE, 45.0 / 256.0)
    # Measured 0.6 deg, where bank is sent in steps of 0.18 deg; the plain way is off by 0.87 deg.
    assert found.rms < 0.8
    assert found.rms < found.plain
    assert 0.85 < found.coverage < 0.99  # of a 90 % band; neighbouring replies go together
    assert found.observable > 0.95
