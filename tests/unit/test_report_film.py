"""The film: frames of the right size that move, an end that stops short, an encoder or a reason."""

from __future__ import annotations

import itertools
import stat
import time
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.report import load_results
from neutralpoint.report.film import encoder
from neutralpoint.report.film import write as film

RATE = 25.0  # frames in a second of film


@pytest.fixture(scope="module")
def results(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory):
    """A minute of a made-up motion with one event."""
    from datetime import UTC, datetime

    from neutralpoint.findings import CAUTIONS, Event, Findings, Subject, write_findings

    folder = tmp_path_factory.mktemp("film")
    at = np.arange(0.0, 60.0, 0.25)
    rng = np.random.default_rng(4)

    def paths(curve: np.ndarray, sigma: float):
        return ("sample", "time"), curve + sigma * rng.normal(size=(30, 1))

    xr.Dataset(
        {
            "latitude": paths(0.8 + 1e-5 * at, 1e-7),
            "longitude": paths(-0.6 + 2e-5 * at, 1e-7),
            "pressure_altitude": paths(2000.0 - 5.0 * at, 5.0),
            "calibrated_airspeed": paths(80.0 + at, 2.0),
            "normal_load_factor": paths(np.cos(at / 9.0), 0.1),
        },
        {"time": ("time", at)},
    ).to_netcdf(folder / "motion.nc", engine="h5netcdf")
    write_findings(
        folder,
        Findings(
            program_version="0",
            seed=1,
            cut_off="2031-05-01",
            epoch=datetime(2031, 4, 14, 18, tzinfo=UTC),
            subject=Subject(title="t", question="q", airplane="a", invented=True),
            cautions=list(CAUTIONS),
            sources=[],
            assumptions=[],
            events=[Event(time=20.0, half_width=2.0, kind="voice", text="a call")],
        ),
    )
    return load_results(folder)


def test_it_stops_short_unless_told_otherwise(results) -> None:
    assert film.cut_of(results).last == pytest.approx(59.75 - 10.0)
    assert film.cut_of(results, until_end=True).last == pytest.approx(59.75)
    assert film.cut_of(results, stop_short=20.0, last=5.0).first == pytest.approx(34.75)
    no = float("nan")
    for wrong in (
        {"stop_short": 70.0}, {"rate": 0.0}, {"speed": -1.0}, {"stop_short": -1.0}, {"last": 0.0},
        {"stop_short": no}, {"rate": no}, {"speed": no}, {"last": no},
        {"rate": float("inf")}, {"rate": 1e9}, {"speed": 1e-9}, {"last": float("inf")},
    ):  # fmt: skip
        with pytest.raises(NeutralPointError) as refused:
            film.cut_of(results, **wrong)
        assert refused.value.code == "argument-invalid"


def test_frames_move_and_leave_no_trace(results) -> None:
    cut = film.cut_of(results, rate=0.5)
    pictures = [picture.copy() for picture in film.frames(results, cut)]
    assert pictures[0].shape == (1080, 1920, 3)
    assert all((a != b).any() for a, b in itertools.pairwise(pictures))
    # The moving parts are taken off again: the same moment gives the same picture.
    scene = film.Scene(results, cut.first, cut.last, cut.left_out)
    first = scene.picture(5.0).copy()
    scene.picture(21.0)
    np.testing.assert_array_equal(scene.picture(5.0), first)


def test_frames_come_faster_than_real_time(results) -> None:
    scene = film.Scene(results, 0.0, 49.75, 10.0)
    began = time.perf_counter()
    for at in np.arange(0.0, 4.0, 1.0 / RATE):
        scene.picture(float(at))
    assert time.perf_counter() - began < 4.0  # s; about 1 s alone


def test_numbered_frames_need_no_encoder(results, tmp_path: Path) -> None:
    cut = film.cut_of(results, rate=1.0, last=2.0)
    made = film.write_frames(results, cut, tmp_path / "frames")
    assert [p.name for p in sorted(made.path.iterdir())] == [
        f"frame-{k:06d}.png" for k in range(made.frames)
    ]
    assert made.left_out == 10.0
    with pytest.raises(NeutralPointError, match="not empty"):
        film.write_frames(results, cut, tmp_path / "frames")


def test_without_an_encoder_the_reason_is_given(
    results, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(encoder, "find_encoder", lambda: None)
    with pytest.raises(NeutralPointError, match="--frames") as refused:
        film.write_film(results, film.cut_of(results, last=1.0), tmp_path / "film.mp4")
    assert refused.value.code == "encoder-missing"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("body", "made"),
    [('cat > "$out"', True), ('echo "no such codec" >&2; exit 3', False)],
)
def test_the_encoder_gets_every_picture_or_its_failure_is_said(
    results, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, body: str, made: bool
) -> None:
    """A stand-in that keeps what it is given: its size tells the number of pictures."""
    stand_in = tmp_path / "encoder"
    stand_in.write_text(f'#!/bin/sh\nfor out in "$@"; do :; done\n{body}\n')
    stand_in.chmod(stand_in.stat().st_mode | stat.S_IEXEC)
    monkeypatch.setattr(encoder, "find_encoder", lambda: str(stand_in))
    out = tmp_path / "film.mp4"
    cut = film.cut_of(results, rate=2.0, last=2.0)
    if made:
        shot = film.write_film(results, cut, out)
        assert out.stat().st_size == shot.frames * 1080 * 1920 * 3
    else:
        with pytest.raises(NeutralPointError, match="no such codec"):
            film.write_film(results, cut, out)
    assert [p.name for p in tmp_path.iterdir() if p.name != "encoder"] == (["film.mp4"] * made)
