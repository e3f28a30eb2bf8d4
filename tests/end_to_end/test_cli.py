"""The command line on a small case: results appear whole, errors come in four fields."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint.cli.entry import run

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"
ROWS = 70  # of the example's track: enough to estimate a motion from, quick to smooth
NEEDED = [
    "latitude",
    "longitude",
    "altitude",
    "pressure_altitude",
    "ground_speed",
    "track_angle",
    "vertical_speed",
    "true_airspeed",
    "calibrated_airspeed",
    "mach",
    "flight_path_angle",
    "bank_angle",
    "pitch_angle",
    "angle_of_attack",
    "normal_load_factor",
    "longitudinal_load_factor",
    "specific_energy_height",
]


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    folder = tmp_path_factory.mktemp("small") / "case"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("results"))
    case = (folder / "case.toml").read_text(encoding="utf-8")
    kept = [line for line in case.splitlines() if not line.startswith("onset")]
    (folder / "case.toml").write_text("\n".join(kept) + "\n", encoding="utf-8")  # cut off below
    rows = (folder / "track.csv").read_text(encoding="utf-8").splitlines()[: ROWS + 9]
    del rows[40:48]  # a gap of eight seconds
    (folder / "track.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def motion(small):
    assert run(["motion", str(small)]) == 0
    return xr.load_dataset(small / "results" / "motion.nc", engine="h5netcdf", decode_times=False)


def digests(folder: Path) -> dict[str, str]:
    return {
        p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.iterdir() if p.is_file()
    }


def test_the_motion_file_follows_the_conventions(motion):
    assert motion.attrs["Conventions"] == "CF-1.11"
    assert motion.attrs["featureType"] == "trajectory"
    assert motion.sizes["sample"] >= 200
    assert motion["time"].attrs["units"] == "seconds since 2031-04-14 00:00:00"
    for name in NEEDED:
        variable = motion[name]
        assert variable.dims == ("sample", "time")
        assert variable.attrs["units"] and variable.attrs["long_name"]
        assert np.isfinite(variable.values).all()
        assert motion[f"observable_{name}"].dims == ("time",)
        assert motion[f"observable_{name}"].dtype == np.int8
    assert motion["latitude"].dtype == np.float64
    assert motion["latitude"].attrs["standard_name"] == "latitude"


def test_times_are_the_fixes_and_a_quarter_second_grid(motion):
    time_ = motion["time"].values
    fix = motion["is_fix"].values.astype(bool)
    assert (np.diff(time_) >= 0.0).all()
    assert np.diff(time_[~fix]) == pytest.approx(0.25)
    assert fix.sum() >= ROWS - 2


def test_the_same_case_gives_the_same_bits(small, motion):
    before = digests(small / "results")
    assert run(["motion", str(small), "--fresh"]) == 0
    assert digests(small / "results")["motion.nc"] == before["motion.nc"]


def test_the_case_files_are_not_touched(small, motion):
    original = digests(EXAMPLE)
    now = digests(small)
    assert {k: v for k, v in now.items() if k not in ("track.csv", "case.toml")} == {
        k: original[k] for k in now if k not in ("track.csv", "case.toml")
    }
    assert not [p for p in (small / "results").iterdir() if p.name.startswith(".")]


def test_check_prints_one_json_document(small, capsys):
    assert run(["check", str(small), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    track = next(s for s in found["sources"] if s["path"] == "track.csv")
    assert track["rows_read"] == ROWS
    assert track["sha256"] == digests(small)["track.csv"]
    assert track["steps"] and track["assumed"]


def test_check_prints_what_an_analyst_asks(small, capsys):
    assert run(["check", str(small)]) == 0
    text = capsys.readouterr().out
    for word in ("SHA-256", "rate", "clock", "step", "gap", "assumed", "Suspect readings", "25 ft"):
        assert word in text


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["check", "nowhere"], "case-missing"),
        (["motion", "nowhere"], "case-missing"),
        (["study", "nowhere"], "case-missing"),
        (["chek"], "argument-invalid"),
        (["check"], "argument-invalid"),
        (["check", "x", "--jsn"], "argument-invalid"),
    ],
)
def test_errors_have_four_fields_and_exit_code_2(arguments, code, capsys):
    assert run([*arguments, "--json"]) == 2
    out = capsys.readouterr().out
    assert set(json.loads(out)["error"]) == {"code", "message", "where", "hint"}
    assert json.loads(out)["error"]["code"] == code
    assert run(arguments) == 2
    printed = capsys.readouterr()
    assert code in printed.err and "hint" in printed.err
    assert printed.out == ""


def test_a_fault_of_the_program_has_four_fields_too(small, monkeypatch, capsys):
    def broken(*_, **__):
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr("neutralpoint.study.check.check_case", broken)
    assert run(["check", str(small), "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["code"] == "program-fault"
    assert "broken on purpose" in error["message"]


def test_new_writes_a_case_that_parses_and_overwrites_nothing(tmp_path, capsys):
    from neutralpoint.case import parse_case

    target = tmp_path / "fresh"
    assert run(["new", str(target)]) == 0
    parse_case((target / "case.toml").read_text(encoding="utf-8"))
    before = digests(target)
    assert run(["new", str(target)]) == 2
    assert digests(target) == before
    assert run(["check", str(target), "--json"]) == 2
    assert "file-missing" in capsys.readouterr().out


def test_help_and_version_load_nothing_slow():
    script = (
        "import sys; from neutralpoint.cli.entry import run; code = run(['--help']);"
        "slow = {'jax', 'xarray', 'scipy', 'pydantic', 'pint', 'numpy'} & set(sys.modules);"
        "sys.exit(f'loaded {slow}' if slow else code)"
    )
    started = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False, env=os.environ
    )
    assert done.returncode == 0, done.stderr
    assert time.monotonic() - started < 5.0  # 0.1 s on an idle machine
    assert "study" in done.stdout


def test_progress_goes_to_standard_error(small, motion, capsys):
    assert run(["motion", str(small), "--json"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["motion"].endswith("motion.nc")
    assert "The motion (from the saved results)" in printed.err


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
@pytest.mark.parametrize(
    ("number", "code"),
    [(signal.SIGTERM, 143), pytest.param(signal.SIGINT, 130, marks=pytest.mark.slow)],
)
def test_a_study_that_is_stopped_tidies_up(small, motion, tmp_path, number, code):
    folder = shutil.copytree(small, tmp_path / "case", ignore=shutil.ignore_patterns("results"))
    command = [sys.executable, "-m", "neutralpoint", "study", str(folder), "--progress-json"]
    before = signal.signal(number, signal.SIG_DFL)  # what is ignored here would be there too
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        signal.signal(number, before)
        while json.loads(process.stdout.readline())["stage"] != "motion":
            pass
        process.send_signal(number)
        process.communicate()
    assert process.returncode == code
    assert not [p.name for p in (folder / "results").iterdir() if p.name.startswith(".")]
