"""Dates and clocks as exports write them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources import ClockSettings
from neutralpoint.sources.clock import read_times

FIRST = datetime(2031, 4, 14, 18, 59, 10, tzinfo=UTC)


def seconds(cells, **settings):
    epoch, time, said = read_times(cells, ClockSettings(**settings), "track.csv: column 'time'")
    return [(epoch.timestamp() + t) - FIRST.timestamp() for t in time], said


@pytest.mark.parametrize(
    "cells",
    [
        ["14/04/2031 18:59:10", "14/04/2031 18:59:11.5"],
        ["14.4.2031 18:59:10", "14.4.2031 18:59:11.5"],
        ["04/14/2031 6:59:10 PM", "04/14/2031 6:59:11.5 PM"],
        ["2031-04-14 06:59:10 pm", "2031-04-14 06:59:11.5 pm"],
        ["2031/4/14 18:59:10", "2031/4/14 18:59:11.5"],
        ["4-14-2031, 18:59:10Z", "4-14-2031, 18:59:11.5Z"],
    ],
)
def test_one_moment_however_it_is_written(cells):
    assert seconds(cells)[0] == pytest.approx([0.0, 1.5], abs=1e-3)


def test_day_or_month_first_is_asked_where_both_could_be():
    cells = ["04/05/2031 18:59:10", "04/05/2031 18:59:11"]
    with pytest.raises(NeutralPointError) as refused:
        seconds(cells)
    assert refused.value.code == "time-unclear"
    assert "day month year" in refused.value.hint
    days = {form: seconds(cells, form=form)[0][0] / 86400.0 for form in ORDERS}
    assert days == pytest.approx({"day month year": 20.0, "month day year": -9.0})


ORDERS = ("day month year", "month day year")


def test_noon_and_midnight_of_twice_twelve_hours():
    cells = ["12:30:00 AM", "11:30:00 AM", "12:00:01 PM", "1:00:00 PM"]
    day = datetime(2031, 4, 14, tzinfo=UTC).date()
    epoch, time, _ = read_times(cells, ClockSettings(day=day), "x")
    assert epoch.hour == 0
    assert time.tolist() == [1800.0, 41400.0, 43201.0, 46800.0]


def test_a_date_that_is_none_is_no_time():
    (first, second), _ = seconds(["31/02/2031 10:00:00", "14/04/2031 18:59:10"])
    assert first != first
    assert second == pytest.approx(0.0)
