"""A small results folder with a made-up motion: for tests and benchmarks of pictures and films."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import xarray as xr

from neutralpoint.findings import CAUTIONS, Event, Findings, Subject, write_findings


def make_results(
    folder: Path, *, peak: float = 60.0, place: tuple[float, float] = (0.8, -0.6)
) -> Path:
    """A minute of a made-up motion with one event after 20 s.

    Args:
        folder: Where to; it is made.
        place: Latitude and longitude of its first place, rad.
        peak: By how much it is fastest after 40 s, m/s.

    Returns:
        The folder.
    """
    at = np.arange(0.0, 60.0, 0.5)
    rng = np.random.default_rng(4)

    def paths(curve: np.ndarray, sigma: float):
        return ("sample", "time"), curve + sigma * rng.normal(size=(20, 1))

    folder.mkdir(parents=True, exist_ok=True)
    hump = np.exp(-(((at - 40.0) / 6.0) ** 2))
    xr.Dataset(
        {
            "latitude": paths(place[0] + 1e-5 * at, 1e-7),
            "longitude": paths(place[1] + 2e-5 * at, 1e-7),
            "pressure_altitude": paths(2000.0 - 5.0 * at, 5.0),
            "calibrated_airspeed": paths(80.0 + peak * hump, 2.0),
            "normal_load_factor": paths(1.0 + hump, 0.1),
            "pitch_angle": paths(-0.05 - 0.3 * hump, 0.02),
            "bank_angle": paths(0.4 * hump, 0.05),
            "heading_of_air_velocity": paths(1.0 + 0.0 * at, 0.01),
        },
        {"time": ("time", at)},
    ).to_netcdf(folder / "motion.nc", engine="h5netcdf")
    document = Findings(
        program_version="0",
        seed=1,
        cut_off="2031-05-01",
        epoch=datetime(2031, 4, 14, 18, tzinfo=UTC),
        subject=Subject(title="t", question="q", airplane="a", invented=True),
        cautions=list(CAUTIONS),
        sources=[],
        assumptions=[],
        events=[Event(time=20.0, half_width=2.0, kind="voice", text="a call")],
    )
    write_findings(folder, document)
    return folder
