"""How fast earlier flights are measured, beside plain pandas on the same rows.

    python benchmarks/history.py speed --rows 10000000 --folder /tmp/fleet    both, on the same rows
    python benchmarks/history.py large --rows 100000000 --folder /tmp/fleet   ours alone

The fleet is made by the shipped generator, 10,000 rows a flight, and stays in the folder.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import threading
import time
from pathlib import Path

import numpy as np

from neutralpoint.history.generated import fleet_of
from neutralpoint.history.generated_files import write_fleet
from neutralpoint.history.running import Manner, run_history
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT

FLIGHT = 10_000  # rows
TAIL = 50  # flights of an airplane
FAULTS = {3: ("hunting", 25), 7: ("creep", 30), 11: ("rate-bias", 20), 15: ("weak-climb", 25)}


def make(folder: Path, rows: int, seed: int = 41) -> int:
    """Write the fleet, unless it is there."""
    tails = fleet_of(max(rows // FLIGHT // TAIL, 1), min(TAIL, rows // FLIGHT), FAULTS)
    missing = [t for t in tails if not (folder / f"{t.address}.parquet").is_file()]
    write_fleet(folder, missing, seed, rows=FLIGHT)
    return len(tails) * TAIL


class Watched:
    """Wall and CPU time of this process and its children, and the most memory they hold at once."""

    def __enter__(self):
        self.most, self.over = 0, threading.Event()
        self.thread = threading.Thread(target=self._watch, daemon=True)
        self.thread.start()
        self.wall, self.cpu = time.perf_counter(), self._cpu()
        return self

    def __exit__(self, *_):
        self.wall, self.cpu = time.perf_counter() - self.wall, self._cpu() - self.cpu
        self.over.set()
        self.thread.join()

    @staticmethod
    def _cpu() -> float:
        spent = os.times()
        return spent.user + spent.system + spent.children_user + spent.children_system

    def _watch(self) -> None:
        page = os.sysconf("SC_PAGE_SIZE")
        while not self.over.wait(0.2):
            total = 0
            for pid in self._family(os.getpid()):
                try:
                    total += int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * page
                except (OSError, IndexError):
                    continue
            self.most = max(self.most, total)

    def _family(self, pid: int) -> list[int]:
        found = [pid]
        for task in Path(f"/proc/{pid}/task").glob("*/children"):
            try:
                found += [p for c in task.read_text().split() for p in self._family(int(c))]
            except OSError:
                continue
        return found


def ours(folder: Path, workers: int):
    scratch = folder.parent / f"{folder.name}-parts"
    shutil.rmtree(scratch, ignore_errors=True)
    with Watched() as spent:
        fleet = run_history(folder, scratch, Manner(workers), lambda text, share: None)
    shutil.rmtree(scratch, ignore_errors=True)
    return fleet, spent


def one_flight(flight):
    """The same measures as a user of pandas writes them: resample, rolling, SciPy by window."""
    import pandas as pd
    from scipy.signal import welch

    grid = flight.set_index("when")[["height", "rate", "speed", "north", "east"]]
    grid = grid.resample("2s").mean().interpolate(limit=5)
    rate, height, speed = grid["rate"], grid["height"], grid["speed"]
    above = height - height.min() > 300.0
    mean, spread = rate.rolling(16, center=True).mean(), rate.rolling(16, center=True).std()
    gain = speed.diff(10) / 20.0
    steady = (spread < 0.75) & (gain.rolling(16, center=True).mean().abs() < 0.2) & above
    run = (steady != steady.shift()).cumsum()
    stretches = steady.groupby(run).agg(["first", "size"])
    long = stretches[stretches["first"] & (stretches["size"] >= 30)]["size"]
    found = {
        "trimmed_share": 2.0 * long.sum() / (2.0 * len(grid)),
        "trimmed_longest": 2.0 * long.max() if len(long) else np.nan,
        "trim_speed": speed[steady].mean(),
    }
    power = rate + speed * gain / GRAVITY
    found["climb_power"] = power[above & (mean > 1.5)].mean()
    found["descent_power"] = power[above & (mean < -1.5)].mean()
    climb = grid[above & (mean > 1.5)]
    if len(climb) > 10:
        columns = np.column_stack([np.ones(len(climb)), climb["speed"], climb["height"]])
        found["climb_rate"] = np.linalg.lstsq(columns, climb["rate"], rcond=None)[0][0]
    phases = {"climb": [], "cruise": [], "descent": []}
    hunting, creep, bias, lags = [], [], [], []
    sent = rate.to_numpy()
    for start in range(0, len(grid) - 127, 32):
        window = grid.iloc[start : start + 128]
        if window.isna().to_numpy().any() or not above.iloc[start : start + 128].all():
            continue
        quarters = window["rate"].to_numpy().reshape(4, 32).mean(axis=1)
        phase = ("climb" if (quarters > 1.5).all() else "descent" if (quarters < -1.5).all()
                 else "cruise" if (np.abs(quarters) < 1.5).all() else "")  # fmt: skip
        if not phase:
            continue
        _, power = welch(window["rate"].to_numpy(), 0.5, nperseg=128, detrend="linear")
        phases[phase].append(power)
        line = np.polyfit(np.arange(128), window["height"], 1)
        off = sent[start : start + 128].cumsum() * 2.0 - window["height"].to_numpy()
        bias.append((off[-8:].mean() - off[:8].mean()) / 240.0)
        hp = -off - np.polyval(np.polyfit(np.arange(128), -off, 1), np.arange(128))
        r = window["rate"] - np.polyval(np.polyfit(np.arange(128), window["rate"], 1),
                                        np.arange(128))  # fmt: skip
        lags.append(((hp * r).sum(), (r**2).sum()))
        if phase == "cruise":
            hunting.append((window["height"] - np.polyval(line, np.arange(128))).var())
            creep.append(np.polyfit(np.arange(64), window["rate"].iloc[:64], 1)[0] / 2.0)
    for phase, spectra in phases.items():
        if spectra:
            spectrum = pd.Series(np.mean(spectra, axis=0)[2:43])
            around = spectrum.rolling(9, center=True, min_periods=3).median()
            found[f"{phase}_excess"] = np.log((spectrum / around).max())
            top = int((spectrum / around).idxmax())
            found[f"{phase}_period"] = 256.0 / (top + 2)
            found[f"{phase}_amplitude"] = np.sqrt(2.0 * spectrum[top] / 256.0)
            found[f"{phase}_damping"] = spectrum[top] / spectrum.sum()
    found["altitude_hunting"] = np.sqrt(np.mean(hunting)) if hunting else np.nan
    found["creep"] = np.sqrt(np.mean(np.square(creep))) if creep else np.nan
    found["rate_bias"] = np.mean(bias) if bias else np.nan
    if lags:
        found["rate_lag"] = sum(a for a, _ in lags) / sum(b for _, b in lags)
    lift = 1.0 + rate.diff(4) / 8.0 / GRAVITY
    turn = np.arctan2(grid["east"], grid["north"]).diff(10) / 20.0
    load = np.hypot(lift, speed * turn / GRAVITY).rolling(3, center=True).median()[above]
    found["load_high"], found["load_low"] = load.max(), load.min()
    ends = steady & ~steady.shift(-1, fill_value=False) & (mean.abs() < 1.5)
    events = 0
    for at in np.flatnonzero(ends):
        ahead = grid.iloc[at : at + 90]
        held = height.iloc[max(at - 30, 0) : at].mean()
        soon = ahead["rate"].abs().iloc[:23]
        back = (ahead["height"] - held).abs() < 75.0
        events += bool(soon.max() > 4.0 and back.iloc[int(soon.argmax()) + 5 :].any())
    found["event_rate"] = events / (2.0 * len(grid))
    last = grid.iloc[-31:]
    found["end_rate"] = (last["height"].iloc[-1] - last["height"].iloc[0]) / 60.0
    found["end_speed_change"] = (last["speed"].iloc[-1] - last["speed"].iloc[0]) / 60.0
    return pd.Series(found)


def plain_pandas(folder: Path):
    import pandas as pd
    import polars as pl

    with Watched() as spent:
        whole = []
        for path in sorted(folder.glob("*.parquet")):
            held = pl.read_parquet(path)  # pandas reads no Parquet without another library
            rows = pd.DataFrame({name: held[name].to_numpy() for name in held.columns})
            rows = rows.sort_values(["address", "time"])
            rows = rows.drop_duplicates(["address", "time"])
            course = np.radians(rows["track_deg"].astype(float))
            rows["height"] = rows["altitude_ft"].astype(float) * FOOT
            rows["rate"] = rows["vertical_rate_fpm"].astype(float) * FOOT_PER_MINUTE
            rows["speed"] = rows["ground_speed_kt"].astype(float) * KNOT
            rows["north"], rows["east"] = (rows["speed"] * f(course) for f in (np.cos, np.sin))
            rows["when"] = pd.to_datetime(rows["time"], unit="s")
            apart = (rows["address"] != rows["address"].shift()) | (rows["time"].diff() > 600.0)
            rows["flight"] = apart.cumsum()
            whole.append(rows.groupby("flight").apply(one_flight))
        found = pd.concat(whole)
    return found, spent


def told(name: str, rows: int, spent: Watched) -> None:
    print(f"{name}: {rows:,} rows, wall {spent.wall:.1f} s, CPU {spent.cpu:.1f} s "
          f"({1e6 * spent.cpu / rows:.2f} us a row), resident {spent.most / 2**30:.2f} GiB",
          flush=True)  # fmt: skip


def speed(folder: Path, rows: int) -> None:
    make(folder, rows)
    fleet, two = ours(folder, 2)
    told("two worker processes", fleet.read, two)
    fleet, one = ours(folder, 1)
    told("this process", fleet.read, one)
    found, plain = plain_pandas(folder)
    told("plain pandas", fleet.read, plain)
    print(f"flights {fleet.count} and {len(found)}; pandas over ours:")
    print(f"  CPU {plain.cpu / one.cpu:.1f}, wall {plain.wall / one.wall:.1f} in one process, "
          f"{plain.wall / two.wall:.1f} in two")  # fmt: skip
    for name in ("trim_speed", "altitude_hunting", "rate_bias", "climb_power", "load_low"):
        theirs, own = np.nanmedian(found[name]), np.nanmedian(fleet.values[name][0])
        print(f"  {name}: median {own:.4f}, pandas {theirs:.4f}")


def large(folder: Path, rows: int) -> None:
    make(folder, rows)
    fleet, spent = ours(folder, 2)
    told("two worker processes", fleet.read, spent)
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 2**20
    print(f"flights {fleet.count}, events {len(fleet.events)}, troubles {len(fleet.troubles)}, "
          f"largest child {largest:.2f} GiB")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("speed", "large"))
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--folder", type=Path, default=Path("scratch-fleet"))
    given = parser.parse_args()
    (speed if given.what == "speed" else large)(given.folder, given.rows)


if __name__ == "__main__":
    main()
