"""How fast the workbench answers: pages, figures of six hours of track, and a slider that flies.

    python benchmarks/workbench.py CASE > benchmarks/results/workbench.md

CASE has results. Every time is taken by a client of the real server, over the loopback, so it
holds sending and reading. `beyond the simulation` is what a slider waits for besides the flight.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

import numpy as np
import xarray as xr

from neutralpoint.report import load_results

HOURS, RATE = 6.0, 2.0  # of the long track; times a second
SLIDER, BURST = 40, 12  # flights one after the other, and at once


class Client:
    """A page of the workbench, as far as addresses go."""

    def __init__(self, folder: Path) -> None:
        command = [
            sys.executable,
            "-m",
            "neutralpoint",
            "serve",
            str(folder),
            "--no-open",
            "--json",
        ]
        begun = time.perf_counter()
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE)
        text = ""
        while not text.rstrip().endswith("}"):
            text += self.process.stdout.readline().decode()
        self.base = json.loads(text)["address"].rstrip("/")
        self.up = 1e3 * (time.perf_counter() - begun)
        self.token = ""

    def get(self, path: str, body: object = None) -> tuple[bytes, float]:
        """The answer, and how many milliseconds it took."""
        data = None if body is None else json.dumps(body).encode()
        headers = {"X-NP-Token": self.token, "Origin": self.base}
        request = urllib.request.Request(self.base + path, data=data, headers=headers)
        begun = time.perf_counter()
        with urllib.request.urlopen(request) as answer:
            content = answer.read()
        return content, 1e3 * (time.perf_counter() - begun)


def lengthen(source: Path, target: Path) -> None:
    """A case whose saved motion is as long as six hours, by repeating what is there."""
    shutil.copytree(source, target)
    for name in ("track.nc", "moments.nc"):
        (target / "results" / name).unlink(missing_ok=True)
    with xr.open_dataset(target / "results" / "motion.nc", decode_times=False) as saved:
        motion = saved.load()
    count = int(HOURS * 3600 * RATE)
    picked = np.arange(count) % motion.sizes["time"]
    long = motion.isel(time=picked)
    long["time"] = ("time", float(motion["time"][0]) + np.arange(count) / RATE, motion.time.attrs)
    long.to_netcdf(target / "results" / "motion.nc", engine="h5netcdf")
    path = target / "results" / "findings.json"
    findings = json.loads(path.read_text()) | {"sections": []}
    path.write_text(json.dumps(findings))
    load_results(target / "results")  # as the report does at the end of every study


def header(data: bytes) -> dict:
    """The JSON in front of raw numbers; of any other answer the JSON itself."""
    if data.startswith(b"{"):
        return json.loads(data)
    size = int.from_bytes(data[:4], "little")
    return json.loads(data[4 : 4 + size])


def row(what: str, *values: float) -> str:
    """A row of the table, ms."""
    return f"| {what} | " + " | ".join(f"{value:.1f}" for value in values) + " |"


def pages(client: Client, case: str) -> list[str]:
    """First and second answer of what a page asks for."""
    api = f"/c/{case}/api"
    page, first = client.get(f"/c/{case}/")
    client.token = re.search(rb'np-token" content="([^"]+)"', page)[1].decode()
    lines = [row("page of the notebook", first, client.get(f"/c/{case}/")[1])]
    for what in ("state", "figure/motion?points=1600", "figure/moments?points=1600", "path3d",
                 "form", "causes"):  # fmt: skip
        lines.append(row(what, client.get(f"{api}/{what}")[1], client.get(f"{api}/{what}")[1]))
    return lines


def slider(client: Client, case: str) -> list[str]:
    """One flight after the other, as a slider asks for them, then many at once."""
    api, times, flown, quiet = f"/c/{case}/api", [], [], []

    def ask(number: int) -> tuple[dict, float]:
        body = {
            "cause": "stabilizer-runaway",
            "values": {"rate_share": 0.5 + 0.01 * number},
            "duration": 60.0,
            "ticket": number,
        }
        data, took = client.get(f"{api}/fly", body)
        return header(data), took

    first = ask(0)[1]
    for number in range(SLIDER):
        found, took = ask(number)
        times.append(took)
        flown.append(1e3 * found["seconds"])
        quiet.append(took - flown[-1])
    answers: list[dict] = []
    threads = [threading.Thread(target=lambda n=n: answers.append(ask(n)[0])) for n in range(BURST)]
    for thread in threads:
        thread.start()
        time.sleep(0.005)
    for thread in threads:
        thread.join()
    overtaken = sum(bool(answer.get("superseded")) for answer in answers)
    newest = max(answer["ticket"] for answer in answers if not answer.get("superseded"))
    return [
        "| a slider, 60 s of flight | median, ms | 95%, ms |",
        "|---|---|---|",
        *(
            f"| {what} | {np.median(v):.1f} | {np.quantile(v, 0.95):.1f} |"
            for what, v in (
                ("from asking to the answer", times),
                ("of it the simulation", flown),
                ("beyond the simulation", quiet),
            )
        ),
        "",
        f"First flight of a session, with start of the process and compilation or its cache: "
        f"{first / 1e3:.1f} s after the list of causes was asked for. Of {BURST} flights asked "
        f"for 5 ms apart {overtaken} were overtaken; the last one asked for was number "
        f"{BURST - 1}, the newest one flown number {newest}.",
    ]


def long_track(client: Client, case: str) -> list[str]:
    """Six hours of track: the whole, and stretches of it."""
    api = f"/c/{case}/api/figure/motion?points=1600"
    rng = np.random.default_rng(1)
    first = client.get(api)[1]
    again = client.get(api)[1]
    zooms = []
    for start in rng.uniform(0, HOURS * 3600 - 1200, 20):
        zooms.append(
            client.get(f"{api}&from={start:.1f}&to={start + rng.uniform(20, 1200):.1f}")[1]
        )
    return [
        row("six hours, the whole", first, again),
        row("six hours, a stretch (median, 95%)", np.median(zooms), np.quantile(zooms, 0.95)),
    ]


def main(source: Path) -> None:
    """Measure, and print a page of Markdown."""
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch) / "cases"
        root.mkdir()
        shutil.copytree(source, root / "case")
        lengthen(source, root / "long")
        client = Client(root)
        try:
            lines = pages(client, "case")
            fly = slider(client, "case")
            lines += long_track(client, "long")
        finally:
            client.process.terminate()
            client.process.wait(20)
    print("# The workbench: how fast it answers\n")
    print(f"Made by `benchmarks/workbench.py` with `{source.name}`; load of the machine "
          f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores. From the start of the program to "
          f"the address {client.up / 1e3:.1f} s.\n")  # fmt: skip
    print("| asked for | first, ms | again, ms |\n|---|---|---|")
    print("\n".join(lines), "\n", sep="")
    print("\n".join(fly))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
