"""A results folder made by hand, with everything a report must cope with, and a browser."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint.findings import (
    CAUTIONS,
    Assumption,
    CauseOdds,
    CauseVerdict,
    DataGap,
    Event,
    Findings,
    FlaggedRow,
    Limit,
    PanelRequest,
    ReadingStep,
    ResolutionRow,
    ResultFile,
    Score,
    SectionTable,
    Settling,
    Source,
    StageSection,
    Statement,
    Subject,
    Worded,
    write_findings,
)
from neutralpoint.report import write_report
from neutralpoint.study.motion.key_times import key_times

HOSTILE = "</script><script>document.title='taken'</script><img src=x onerror=alert(1)>"
START = 68_000.0  # s after midnight
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


def _paths(time: np.ndarray, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Sample paths of an invented turn through north with a dip of the load factor."""
    since = time - START
    dip = np.exp(-(((since - 80.0) / 8.0) ** 2))
    middle = {
        "latitude": 0.8 + 1e-5 * since,
        "longitude": -0.6 + 2e-6 * since,
        "altitude": 2000.0 - 500.0 * dip,
        "pressure_altitude": 2000.0 - 500.0 * dip,
        "ground_speed": 90.0 + 0.1 * since,
        "track_angle": np.mod(-0.4 + 0.01 * since, 2 * np.pi),
        "vertical_speed": np.gradient(-500.0 * dip, time),
        "true_airspeed": 95.0 + 0.1 * since,
        "calibrated_airspeed": 85.0 + 0.1 * since,
        "mach": 0.28 + 0.0 * since,
        "flight_path_angle": -0.2 * dip,
        "bank_angle": 0.1 + 0.0 * since,
        "pitch_angle": 0.05 - 0.2 * dip,
        "angle_of_attack": 0.05 + 0.0 * since,
        "normal_load_factor": 1.0 - 0.9 * dip,
        "longitudinal_load_factor": 0.02 + 0.0 * since,
        "specific_energy_height": 2400.0 + 0.0 * since,
    }
    return {
        name: curve + 0.01 * (np.ptp(curve) or 1.0) * rng.normal(size=(40, 1))
        if name not in ("latitude", "longitude")
        else curve + 1e-6 * rng.normal(size=(40, 1))
        for name, curve in middle.items()
    }


def _motion(time: np.ndarray, paths: dict[str, np.ndarray], hidden: np.ndarray) -> xr.Dataset:
    data = {name: (("sample", "time"), values) for name, values in paths.items()}
    for name in paths:
        flag = ~hidden if name == "bank_angle" else np.ones(time.size, bool)
        data[f"observable_{name}"] = ("time", flag.astype(np.int8))
    return xr.Dataset(data, {"time": ("time", time, {"units": "seconds since 2031-04-14"})})


def _track(rng: np.random.Generator, time: np.ndarray, paths: dict[str, np.ndarray]) -> xr.Dataset:
    data = {}
    named = {
        "position": ("latitude", "longitude"),
        "pressure_altitude": ("pressure_altitude",),
        "track_angle": ("track_angle",),
    }
    for channel, names in named.items():
        along = f"{channel}_reading"
        seen = np.arange(time[0], time[-1], 1.0)
        data[f"{channel}_time"] = (along, seen)
        data[f"{channel}_suspect"] = (along, (rng.random(seen.size) < 0.02).astype(np.int8))
        for name in names:
            value = np.interp(seen, time, np.median(paths[name], axis=0))
            data[name] = (along, value, {"quantization_step": 7.62})
    return xr.Dataset(data)


def _findings(time: np.ndarray, paths: dict[str, np.ndarray], hidden: np.ndarray) -> Findings:
    events = [
        Event(time=START + 70.0, half_width=2.0, kind="voice", text=HOSTILE, source="tape"),
        Event(
            time=START + 90.0,
            half_width=3.0,
            kind="witness",
            text="a sound of engines",
            source="witness at the mill",
            clock_offset=-12.0,
            clock_half_width=2.5,
            clock_basis="church bell of 18:50",
        ),
    ]
    flags = {name: np.ones(time.size, bool) for name in paths} | {"bank_angle": ~hidden}
    names = (
        *("altitude", "normal_load_factor", "bank_angle", "flight_path_angle", "pitch_angle"),
        *("calibrated_airspeed", "ground_speed", "vertical_speed"),
    )
    return Findings(
        program_version="0.1.0",
        seed=7,
        cut_off="2031-05-01",
        epoch=datetime(2031, 4, 14, tzinfo=UTC),
        subject=Subject(title=HOSTILE, question="What was it?", airplane="A & B", invented=True),
        cautions=list(CAUTIONS),
        sources=[
            Source(
                role="track",
                path="track.csv",
                sha256="ab" * 32,
                size=12345,
                rows_read=180,
                first=time[0],
                last=time[-1],
                interval=1.0,
                clock="stamps in steps of 0.01 s",
                steps=[ReadingStep(quantity="pressure_altitude", step=7.62, unit="m")],
                gaps=[DataGap(start=START + 40.0, end=START + 47.0)],
                assumed=[HOSTILE],
            )
        ],
        assumptions=[Assumption(name="mass", value="5 900 kg +- 150 kg", source="case file")],
        resolution=[ResolutionRow(origin="altitudes", window=4.0, sigma=0.2, usable=False)],
        flagged=[
            FlaggedRow(
                source="track.csv", row=9, time=START + 9, quantity="position", reason="stale"
            )
        ],
        events=events,
        key_times=key_times(time, paths, flags, names=names, events=events),
        worded=Worded(
            statements=[Statement(kind="fact", text="The track holds 179 fixes.")],
            undetermined=[Statement(kind="inferred", text="Sideslip leaves no mark in a track.")],
            sections=[
                StageSection(
                    stage="moments",
                    title="What it took",
                    statements=[Statement(kind="derived", text="The moment changed.")],
                    verdicts=[
                        CauseVerdict(
                            cause="trim",
                            word="can if",
                            probability=0.31,
                            condition="rate above 0.4 deg/s",
                            sentence="Reaches the path.",
                        ),
                        CauseVerdict(
                            cause="gust", word="cannot", probability=0.0, sentence="Misses it."
                        ),
                        CauseVerdict(
                            cause="birds", word="not judged", sentence="No times are known."
                        ),
                    ],
                    cautions=["The trim drive is estimated."],
                    tables=[
                        SectionTable(
                            caption="Reach", kind="derived", columns=["a", "b"], rows=[["1", "2"]]
                        )
                    ],
                    panels=[
                        PanelRequest(
                            file="moments.nc",
                            variable="column_force",
                            label="Column force needed",
                            unit="N",
                            limits=[Limit(value=333.6, label="two hands, short")],
                        )
                    ],
                ),
                StageSection(
                    stage="weighing",
                    title="How likely each cause is",
                    odds=[
                        CauseOdds(
                            cause="trim",
                            probability=0.72,
                            lowest=0.55,
                            highest=0.84,
                            sentence="So.",
                        ),
                        CauseOdds(
                            cause="unlisted", probability=0.1, lowest=0, highest=0.3, listed=False
                        ),
                    ],
                    scores=[
                        Score(
                            name="Brier score", value=0.14, cases=240, sentence="Lower is better."
                        ),
                        Score(
                            name="coverage of the 90% band",
                            value=0.88,
                            low90=0.84,
                            high90=0.92,
                            cases=240,
                            sentence="0.90 is right.",
                        ),
                    ],
                    settling=[
                        Settling(
                            item="length of the actuator",
                            gain=0.8,
                            lowest=0.5,
                            highest=1.0,
                            effort="wreckage",
                            outcomes=["At its stop: trim 0.97.", "Near neutral: trim 0.05."],
                        ),
                        Settling(item="load sheet", gain=0.05),
                    ],
                ),
            ],
        ),
        results=[ResultFile(stage="motion", path="motion.nc", sha256="cd" * 32)],
    )


@pytest.fixture(scope="session")
def results_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Results with hostile text, a stretch without bank, a course through north, a stage."""
    folder = tmp_path_factory.mktemp("results")
    rng = np.random.default_rng(11)
    time = START + np.arange(0.0, 180.0, 0.25)
    paths = _paths(time, rng)
    hidden = np.abs(time - START - 80.0) < 6.0
    _motion(time, paths, hidden).to_netcdf(folder / "motion.nc", engine="h5netcdf")
    _track(rng, time, paths).to_netcdf(folder / "track.nc", engine="h5netcdf")
    force = 100.0 + 50.0 * rng.normal(size=(40, 1)) + 0.0 * time
    xr.Dataset({"column_force": (("sample", "time"), force)}, {"time": ("time", time)}).to_netcdf(
        folder / "moments.nc", engine="h5netcdf"
    )
    write_findings(folder, _findings(time, paths, hidden))
    return folder


@pytest.fixture(scope="session")
def report_file(results_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of these results, alone in its folder. Not to be changed."""
    out = tmp_path_factory.mktemp("report") / "report.html"
    assert write_report(results_folder, out) == out
    return out


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """Headless Chromium, where the machine has one."""
    if CHROMIUM is None:
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def served_case(tmp_path: Path, repository: Path, results_folder: Path) -> Path:
    """A case to change: the files of an example, beside the hand-made results."""
    case = tmp_path / "cases" / "hollow"
    shutil.copytree(
        repository / "examples" / "quorleigh", case, ignore=shutil.ignore_patterns("results")
    )
    shutil.copytree(results_folder, case / "results")
    return case


@pytest.fixture
def workbench(served_case: Path) -> Iterator[object]:
    """A client of the workbench, with what a page of it sends; and the case folder."""
    from starlette.testclient import TestClient

    import neutralpoint.study  # loaded later by the server, in a thread  # noqa: F401
    from neutralpoint.app.workbench import make_app

    app = make_app(served_case.parent, hosts=frozenset({"127.0.0.1:8000"}), upload_limit=50_000)
    base = "http://127.0.0.1:8000"
    headers = {"Origin": base, "X-NP-Token": app.state.workbench.access.token}
    with TestClient(app, base_url=base, headers=headers) as client:
        yield client


FRESH_CASE = """# A case to be filled from the page; this line must live.
schema = 1
title = "A case to fill"
question = "What did it do?"
cut_off = 2031-05-01
invented = true

[airplane]
name = "An invented airplane"   # and this remark
mass = "5 000 kg +- 150 kg"
wing_area = "28 m2"
lift_slope = "5.4 1/rad +- 0.4 1/rad"
zero_lift_angle = "-2.5 deg +- 0.6 deg"
maximum_lift = "1.6 +- 0.1"

[[weather]]
kind = "constant"
wind_from = "270 deg"
wind_speed = "15 kt"
wind_error = "15 kt"
warmer_than_standard = "0 K"
"""


@pytest.fixture(scope="session")
def notebooks(
    tmp_path_factory: pytest.TempPathFactory, repository: Path, results_folder: Path
) -> Iterator[tuple[str, Path]]:
    """A server in a process of its own: its address, and its folder of cases.

    `fresh` has a case file alone, `slow` is an example without results, `made` and `tabs` have the
    hand-made results, and `made` a title that tries to act.
    """
    folder = tmp_path_factory.mktemp("notebooks")
    example = repository / "examples" / "quorleigh"
    (folder / "fresh").mkdir()
    (folder / "fresh" / "case.toml").write_text(FRESH_CASE, encoding="utf-8")
    for name in ("slow", "made", "tabs"):
        shutil.copytree(example, folder / name, ignore=shutil.ignore_patterns("results"))
    for name in ("made", "tabs"):
        shutil.copytree(results_folder, folder / name / "results")
    case = folder / "made" / "case.toml"
    text = case.read_text(encoding="utf-8").replace(
        '"Quorleigh: a descent that turned into a climb"', f"'''{HOSTILE}'''"
    )
    case.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "neutralpoint", "serve", str(folder), "--no-open", "--json"]
    # Its own group: what it starts ends with it.
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as run:
        said = ""
        while run.stdout is not None and not said.rstrip().endswith("}"):
            line = run.stdout.readline()
            if not line:
                raise RuntimeError(f"the server ended: {said}")
            said += line
        yield json.loads(said)["address"], folder
        os.killpg(run.pid, signal.SIGTERM)
