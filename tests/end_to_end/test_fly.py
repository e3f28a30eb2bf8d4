"""`neutralpoint fly` on the shipped case, and what it refuses."""

from __future__ import annotations

import shutil

import pytest
import xarray as xr

from neutralpoint.case import load_case
from neutralpoint.cli.entry import run
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.flying.fly import FLY
from neutralpoint.study.flying.flyer import Flyer


@pytest.fixture(scope="module")
def case(studied, tmp_path_factory):
    """A copy of the studied case."""
    return shutil.copytree(studied, tmp_path_factory.mktemp("fly") / "case")


def test_a_cause_is_flown_beside_the_motion(case, capsys):
    arguments = ["--set", "rate_share=0.9", "--set", "start=2", "--duration", "10", "--batch", "2"]
    assert run(["fly", str(case), "--cause", "stabilizer-runaway", *arguments]) == 0
    flown = xr.load_dataset(case / "results" / "fly-stabilizer-runaway.nc", decode_times=False)
    assert flown.sizes["flight"] == 2
    assert (flown["parameter_rate_share"] == 0.9).all()
    assert set(flown["parameter_direction"].values) == {-1.0, 1.0}
    assert abs(flown["true_airspeed"][:, 0] - flown["motion_true_airspeed"][0]).max() < 5.0
    assert float(abs(flown["pull_to_hold"]).max()) > 10.0
    assert "No blame" in flown.attrs["comment"]
    printed = " ".join(capsys.readouterr().out.split())
    assert "First sign" in printed and "70 lb" in printed and "Not for flight" in printed
    assert "does not make it the cause" in printed


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--cause", "gremlins"], "no cause called"),
        (["--cause", "tab-runaway"], "no tab"),
        (["--cause", "spiral-dive", "--set", "speed=1"], "no parameter speed"),
        (["--cause", "spiral-dive", "--set", "lean"], "no parameter with a number"),
        (["--cause", "spiral-dive", "--from", "1e9"], "no moment"),
    ],
)
def test_what_cannot_be_flown_is_refused(case, capsys, arguments, words):
    assert run(["fly", str(case), *arguments]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.slow  # a flight of its own; ten seconds
def test_a_second_flight_takes_only_the_simulation(case):
    """One program for all causes, values and procedures."""
    flyer = Flyer(load_case(case))
    first = flyer.fly("stabilizer-runaway", {"rate_share": 0.9})
    programs = FLY._cache_size()
    asked = ("spiral-dive", {"lean": 0.01}, {"procedure": "fly by the attitude instruments"})
    for name, values, how in (
        asked,
        ("intermittent-runaway", {}, {"reaction": 1.0, "duration": 20.0}),
    ):
        flown = flyer.fly(name, values, **how)
        assert flown.values.items() >= values.items()
        assert all(len(curve) == len(flown.time) for curve in flown.curves.values())
    assert FLY._cache_size() == programs
    assert flown.time[-1] - flown.time[0] < 20.1 < first.time[-1] - first.time[0]
    assert first.misfit.overall > 0.0 and first.misfit.channels["vertical_speed"] > 0.0
    with pytest.raises(NeutralPointError, match="no procedure"):
        flyer.fly("spiral-dive", {}, procedure="breaker")
