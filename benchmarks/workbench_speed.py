"""How fast the notebook is in a browser: paint, slider, cursor, a dropped file, tabs, memory.

    python benchmarks/workbench_speed.py CASE > benchmarks/results/workbench_speed.md
    python benchmarks/workbench_speed.py CASE drop    # the dropped file alone

CASE has results of its motion and an airplane, so that causes can be flown. Everything is taken
in a headless Chromium of the real server; the frames are those that the browser reports.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from playwright.sync_api import sync_playwright
from workbench_tabs import TABS, first_paints, memory, saves

HOURS, RATE, PATHS = 6.0, 1.0, 40  # of the long track; times a second; sample paths
SLIDER = 40  # moves of a slider
WIDTHS = ((1280, 900), (1920, 1080))
PAINTS = 5  # loads, of which the median is given
ROWS = 20_000  # of the dropped file
DROP = """([name, text]) => {
    const data = new DataTransfer();
    data.items.add(new File([text], name, { type: "text/csv" }));
    const begun = performance.now();
    document.body.dispatchEvent(
        new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
    return begun;
}"""

# Findings of stages that the long case does not have.
LATER = (
    *("moments", "physics", "weighing", "signatures", "evidence", "response", "judgement"),
    *("limits", "history", "wreckage", "worded"),
)
# Each frame one act; what is kept is the time from frame to frame, in ms.
FRAMES = """async ([acts, count]) => {
    const bar = document.querySelector('[data-strips=motion] .time-bar');
    const frame = () => new Promise(done => requestAnimationFrame(done));
    const seen = [];
    let last = await frame();
    for (let k = 0; k < count; k++) {
        bar.querySelector(`[data-act=${acts[k % acts.length]}]`).click();
        const now = await frame();
        seen.push(now - last);
        last = now;
    }
    return seen;
}"""


def long_case(source: Path, folder: Path) -> None:
    """A case with six hours of results: the saved motion, repeated with noise, whole."""
    shutil.copytree(source, folder, ignore=shutil.ignore_patterns("results"))
    results = folder / "results"
    results.mkdir()
    motion = xr.load_dataset(source / "results/motion.nc", engine="h5netcdf", decode_times=False)
    track = xr.load_dataset(source / "results/track.nc", engine="h5netcdf", decode_times=False)
    rng = np.random.default_rng(3)
    start = float(motion["time"][0])
    time = start + np.arange(0.0, HOURS * 3600.0, 1.0 / RATE)
    names = [str(n) for n in motion.variables if motion[n].dims == ("sample", "time")]
    data: dict[str, Any] = {}
    for name in names:
        values = motion[name].values[:PATHS].astype("f4")
        pick = (np.arange(time.size) * 3) % values.shape[1]
        noise = 0.01 * np.nanstd(values) * rng.normal(size=time.size)
        data[name] = (("sample", "time"), (values[:, pick] + noise).astype("f4"))
        flag = f"observable_{name}"
        if flag in motion:
            data[flag] = ("time", motion[flag].values[pick])
    xr.Dataset(data, {"time": ("time", time, motion["time"].attrs)}).to_netcdf(
        results / "motion.nc", engine="h5netcdf"
    )
    _readings(track, time).to_netcdf(results / "track.nc", engine="h5netcdf")
    findings = json.loads((source / "results/findings.json").read_text())
    findings = {k: v for k, v in findings.items() if k not in LATER}
    findings |= {"key_times": [], "flagged": [], "results": []}
    (results / "findings.json").write_text(json.dumps(findings))


def _readings(track: xr.Dataset, time: np.ndarray) -> xr.Dataset:
    """One reading a second of each channel, as long as the motion."""
    data: dict[str, Any] = {}
    for name in track.variables:
        (along,) = track[name].dims
        values = track[name].values
        if str(name).endswith("_time"):
            data[str(name)] = (along, time)
        else:
            data[str(name)] = (along, values[np.arange(time.size) % values.size], track[name].attrs)
    return xr.Dataset(data)


@dataclass(frozen=True)
class Served:
    """A server, when its command was given, and how long it took to tell its address, s."""

    address: str
    begun: float
    told: float
    process: int


@contextmanager
def served(folder: Path) -> Iterator[Served]:
    """A server of a folder of cases."""
    begun = time.monotonic()
    command = [sys.executable, "-m", "neutralpoint", "serve", str(folder), "--no-open", "--json"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as run:
        said = ""
        while run.stdout is not None and not said.rstrip().endswith("}"):
            said += run.stdout.readline()
        try:
            told = time.monotonic() - begun
            yield Served(json.loads(said)["address"].rstrip("/"), begun, told, run.pid)
        finally:
            os.killpg(run.pid, signal.SIGTERM)


def paint(browser: Any, address: str, size: tuple[int, int]) -> float:
    """s from asking for a page until its strip charts are drawn."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]})
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector("html[data-drawn=yes]", timeout=120_000)
    seconds = page.evaluate(
        "() => new Promise(done => requestAnimationFrame(() => done(performance.now() / 1000)))"
    )
    context.close()
    return float(seconds)


def opened(browser: Any, address: str) -> Any:
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.goto(address)
    page.wait_for_selector("html[data-ready=yes]", timeout=300_000)
    page.locator("#motion").evaluate("entry => entry.scrollIntoView()")
    page.wait_for_timeout(1500)
    return page


def cursor_frames(page: Any) -> np.ndarray:
    """ms between frames while the cursor plays over the strip charts."""
    slider = page.locator("[data-strips=motion] input[type=range]")
    slider.press("0")
    slider.press("Home")
    slider.press("p")
    page.wait_for_timeout(5000)
    slider.press("p")
    return 1e3 * np.array(page.evaluate("notebook.cursor.frames"))


class Work:
    """CPU time of the page's main thread, which the load of the machine hardly changes."""

    def __init__(self, page: Any) -> None:
        self._session = page.context.new_cdp_session(page)
        self._session.send("Performance.enable", {"timeDomain": "threadTicks"})
        self._before = self._now()

    def _now(self) -> float:
        told = self._session.send("Performance.getMetrics")["metrics"]
        return next(1e3 * one["value"] for one in told if one["name"] == "TaskDuration")

    def per(self, count: int) -> np.ndarray:
        """ms since the last question, for each of so many."""
        now = self._now()
        spent, self._before = now - self._before, now
        return np.array([spent / count])


def slider_lags(page: Any) -> tuple[np.ndarray, np.ndarray]:
    """ms from a slider's move to its curves, in all and of the flight alone."""
    box = page.locator("#cause-list input[type=checkbox]:not(:disabled)").nth(1)
    box.check()
    page.locator("[data-flown]").wait_for(timeout=300_000)
    knob = page.locator("#cause-list details[open] .knob input[type=range]").first
    page.evaluate("notebook.flyer.lags.length = 0")
    for k in range(SLIDER):
        knob.press("ArrowRight" if k % 4 < 2 else "ArrowLeft")
        page.wait_for_timeout(250)
    lags = page.evaluate("notebook.flyer.lags")
    return np.array([lag["all"] for lag in lags]), np.array([lag["flight"] for lag in lags])


def long_file(source: Path) -> str:
    """A track of `ROWS` rows: the file of the case again and again, its clock going on."""
    lines = (source / "track.csv").read_text(encoding="utf-8").splitlines()
    at = next(k for k, name in enumerate(lines[0].split(",")) if "time" in name)
    cells = [line.split(",") for line in lines[1:]]
    first = datetime.fromisoformat(cells[0][at])
    made = [lines[0]]
    for k in range(ROWS):
        row_of = list(cells[k % len(cells)])
        row_of[at] = (first + timedelta(seconds=k)).isoformat(timespec="milliseconds")
        made.append(",".join(row_of))
    return "\n".join(made) + "\n"


def drops(browser: Any, address: str, text: str) -> np.ndarray:
    """s from a file dropped on the notebook of an empty case to its first picture and to its whole.

    Returns:
        (n, 2); the first picture may show one row in so many of a long file.
    """
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.goto(f"{address}/c/empty/")
    page.wait_for_selector("html[data-ready=yes]", timeout=120_000)
    seen = []
    for number in range(PAINTS):
        begun = page.evaluate(DROP, [f"track-{number}.csv", text])
        whole = f"html[data-picture='track-{number}.csv'][data-readings=all]"
        page.wait_for_selector(whole, timeout=120_000)
        marks = "performance.getEntriesByName('np-picture').map(mark => mark.startTime)"
        after = [mark for mark in page.evaluate(marks) if mark > begun]
        seen.append([1e-3 * (after[0] - begun), 1e-3 * (after[-1] - begun)])
    page.context.close()
    return np.array(seen)


def row(name: str, values: np.ndarray, unit: str = "ms", asked: str = "") -> str:
    """A line of the table, with the load of the machine as it was taken."""
    told = (np.median(values), np.percentile(values, 95), values.max())
    digits = 2 if unit == "s" else 1
    cells = " | ".join(f"{one:.{digits}f} {unit}" for one in told)
    return f"| {name} | {asked} | {cells} | {values.size} | {os.getloadavg()[0]:.1f} |"


def main() -> None:
    source = Path(sys.argv[1])
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        folder = Path(place)
        shutil.copytree(source, folder / "short")
        (folder / "empty").mkdir()
        (folder / "empty" / "case.toml").write_text("schema = 1\n", encoding="utf-8")
        alone = sys.argv[2:] == ["drop"]
        if not alone:
            long_case(source, folder / "long")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        print("# Speed of the notebook in a browser\n")
        with served(folder) as server:
            address = server.address
            cold = paint(browser, f"{address}/c/short/", WIDTHS[0])
            started = time.monotonic() - server.begun
            fresh = drops(browser, address, long_file(source))
            dropped = [
                row(f"dropped file of {ROWS:,} rows to its first picture", fresh[:, 0], "s", "1 s"),
                row("the same to all of its readings", fresh[:, 1], "s"),
            ]
            if alone:
                print("\n".join([*dropped, f"load {os.getloadavg()[0]:.1f}"]))
                return
            rows = [
                row("start of the server to its address", np.array([server.told]), "s"),
                row("start of the server to the first page painted", np.array([started]), "s"),
                row("first page of a fresh server, to paint", np.array([cold]), "s"),
                *dropped,
            ]
            for size in WIDTHS:
                again = [paint(browser, f"{address}/c/short/", size) for _ in range(PAINTS)]
                rows.append(row(f"page to paint, {size[0]} x {size[1]}", np.array(again), "s"))
            again = [paint(browser, f"{address}/c/long/", WIDTHS[0]) for _ in range(PAINTS)]
            rows.append(row(f"page to paint, {HOURS:.0f} h of track", np.array(again[1:]), "s"))
            shown = {"the list of cases": "/", "a case": "/c/short/", "six hours": "/c/long/"}
            for name, place in shown.items():
                seen = first_paints(browser, f"{address}{place}", PAINTS)
                rows.append(row(f"first paint, {name}", seen, "s", "0.5 s"))
            six = np.array([memory(server.process)["server"]])
            rows.append(row(f"memory of the server after {HOURS:.0f} h", six, "MB", "600 MB"))
            saved = saves(browser, f"{address}/c/short/")
            rows.append(row(f"save while {TABS} tabs show the case", saved, "s", "1 s"))
            page = opened(browser, f"{address}/c/short/")
            work = Work(page)
            frames = cursor_frames(page)
            spent = work.per(frames.size)
            rows.append(row("frame while the cursor plays", frames, asked="25 ms, 95%"))
            rows.append(row("of it work of the page, cursor", spent))
            every, flight = slider_lags(page)
            rows.append(row("slider to curves", every, asked="120 ms"))
            rows.append(row("slider to curves, the flight alone", flight))
            rows.append(row("slider to curves, beyond the flight", every - flight))
            page.close()
            page = opened(browser, f"{address}/c/long/")
            back_and_forth = {
                "pan": 8 * ["later"] + 8 * ["earlier"],
                "zoom": ["in", "in", "out", "out"],
            }
            for name, acts in back_and_forth.items():
                page.evaluate(FRAMES, [["all", "in", "in", "in"], 4])
                page.wait_for_timeout(2000)
                work = Work(page)
                frames = np.array(page.evaluate(FRAMES, [acts, 60]))
                spent = work.per(60)
                rows.append(row(f"frame of a {name}, {HOURS:.0f} h of track", frames))
                rows.append(row(f"of it work of the page, {name}", spent))
            frames = cursor_frames(page)
            name = f"frame while the cursor plays, {HOURS:.0f} h"
            rows.append(row(name, frames, asked="25 ms, 95%"))
            held = memory(server.process)
            rows.append(row("memory of the server at the end", np.array([held["server"]]), "MB"))
            rows.append(row("of its process of flights", np.array([held["flights"]]), "MB"))
        version = browser.version
        browser.close()
    print(
        f"Headless Chromium {version} and the server on the same {os.cpu_count()} cores, ", end=""
    )
    print(
        "drawing without a graphics card; the load average is that of the moment, its own with it."
    )
    if before := os.getpriority(os.PRIO_PROCESS, 0):
        print(f"Priority of browser and server above others on the machine: nice {before}.")
    print("A frame cannot come sooner than after 16.7 ms.\n")
    print("| | asked | median | 95% under | largest | counted | load |")
    print("|---|---|---|---|---|---|---|")
    print("\n".join(rows))


if __name__ == "__main__":
    main()
