"""Recorded flights as ordinary ones: few are called unusual. They lie beside the project only."""

from __future__ import annotations

import gzip

import numpy as np
import pytest
from history_right import recorded_pieces

from neutralpoint.history.compare import kept_by_rate, place_in

pytestmark = pytest.mark.recorded


def test_pieces_of_recorded_flights_are_seldom_unusual_among_themselves(recorded_flights):
    """25 pieces of 8 min, each against the others, all measures: at most 5 % below 1 %.

    They are flights for measuring, with stalls in some pieces; of 298 comparisons 10 are below
    1 % (benchmarks/results/history.md), and the control of false discoveries names few pieces.
    """
    values = recorded_pieces(recorded_flights)
    chances = {}
    for name, each in values.items():
        known = np.isfinite(each[0])
        if known.sum() < 12 or np.unique(each[0][known]).size < 10:
            continue
        chances[name] = np.array(
            [
                place_in(name, np.delete(each[0], k), x, 0.0, 0.0).chance if ok else np.nan
                for k, (x, ok) in enumerate(zip(each[0], known, strict=True))
            ]
        )
    table = np.stack(list(chances.values()))
    assert table.shape[0] >= 12 and table.shape[1] == 25
    assert np.mean(table[np.isfinite(table)] < 0.01) < 0.05
    assert np.mean(table[np.isfinite(table)] < 0.05) < 0.08
    named = [kept_by_rate(table[:, k]).any() for k in range(table.shape[1])]
    assert np.mean(named) <= 0.3


def test_a_recorded_airliner_is_read_from_its_messages(recorded_flights, tmp_path):
    """Half an hour of Mode S: one airplane in a climb, flown gently, no departure."""
    pytest.importorskip("polars")
    pytest.importorskip("pyModeS")
    from neutralpoint.history.running import Manner, run_history

    packed = (recorded_flights / "airliner_modes_msgs.csv.gz").read_bytes()
    (tmp_path / "2030-01-01.modes").write_bytes(gzip.decompress(packed))
    found = run_history(tmp_path, tmp_path / ".s", Manner(), lambda text, share: None)
    assert found.count == 1
    assert found.length[0] > 900.0
    # It climbs to 33,000 ft as its own altitudes say, and is flown gently.
    gained = found.curve_height[np.isfinite(found.curve_height)]
    assert np.ptp(gained) > 9000.0
    assert 5.0 < found.values["climb_power"][0, 0] < 25.0
    assert 0.85 < found.values["load_low"][0, 0] < 1.0 < found.values["load_high"][0, 0] < 1.2
    assert found.values["event_rate"][0, 0] == 0.0
