"""Airplanes that changed are named with measure and flight; those that did not are not."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.findings import HistoryChange, HistoryTurn
from neutralpoint.history.changed import changed_tails
from neutralpoint.report.words.history import TURN_HEADS, turn_cells
from neutralpoint.vocabulary.measure import MEASURES

TAILS, FLIGHTS = 20, 30


@pytest.fixture
def fleet():
    """Twenty airplanes of thirty flights; in two of them something changes. Seed 5."""
    rng = np.random.default_rng(5)
    count = TAILS * FLIGHTS
    values = {name: np.full((2, count), np.nan) for name in MEASURES}
    for name in ("load_high", "rate_bias", "altitude_hunting", "descent_power"):
        values[name][0] = 10.0 + rng.normal(0.0, 1.0, count)
    values["rate_bias"][0, 3 * FLIGHTS + 18 : 4 * FLIGHTS] += 3.0
    values["altitude_hunting"][0, 7 * FLIGHTS + 10 : 8 * FLIGHTS] *= 2.0
    values["end_rate"][0] = rng.integers(0, 2, count)
    values["event_rate"][0] = 0.0
    values["event_rate"][0, 2 * FLIGHTS + 5] = 1.0
    values["rate_bias"][0, 3 * FLIGHTS + 4] = np.nan
    address = np.repeat([f"a{number:02d}" for number in range(TAILS)], FLIGHTS)
    return SimpleNamespace(address=address, values=values)


def test_the_two_that_changed_are_named_and_no_other(fleet):
    found = {one.flight // FLIGHTS: one for one in changed_tails(fleet)}
    assert set(found) == {3, 7}
    assert found[3].measures == ("rate_bias",) and found[7].measures == ("altitude_hunting",)
    assert found[3].changes[0].by == pytest.approx(3.0, abs=0.8)
    assert found[7].changes[0].by == pytest.approx(np.log(2.0), abs=0.1)
    for tail, since in ((3, 18), (7, 10)):
        at, low, high = found[tail].at[0] - tail * FLIGHTS
        assert low <= since <= high and abs(at - since) <= 2


def test_a_row_says_measure_date_and_how_sure():
    change = HistoryChange(
        probability=0.97, at="2030-02-03T00:00:00Z", low90="2030-02-01T00:00:00Z",
        high90="2030-02-05T00:00:00Z", by=0.254,
    )  # fmt: skip
    one = HistoryTurn(address="a03", measures=["rate_bias", "creep"], changes=[change, change])
    cells = turn_cells(one)
    assert len(cells) == len(TURN_HEADS)
    assert cells == [
        "a03", "vertical rate less the rate of the altitude (ft/min) and 1 more", "+50",
        "2030-02-03", "0.97",
    ]  # fmt: skip
