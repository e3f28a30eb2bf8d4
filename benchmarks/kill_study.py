"""Kill -9 at random moments of `neutralpoint study`: is the case still whole, does it go on?

    python benchmarks/kill_study.py [--kills 100] [--seed 1] [--rows 70] [--until STAGE]
        [--beside-the-track [--without-airplane]]

A case is copied, its track cut short, and studied once without harm, in each of two versions that
differ in the time of the onset. Then the study is started again and again and killed at a random
moment of a stage drawn at random; the results of that stage were taken away before, or everything,
or the case was changed to its other version. In some, a stranger has left links and a forged record
that lead to a file beside the case. After each kill: that file and those of the case are as they
were, every result there can be read whole, and the results that the findings name have the hashes
that they name. `--beside-the-track` takes the example with recordings and parts on the ground,
earlier flights and a plug-in beside it, so that every stage can be killed. After every fifth kill
and after the last one study runs through; its results must have
the same bits as those of the undisturbed one.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import xarray as xr

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "examples"
RESULTS = Path(__file__).parent / "results" / "kill_study.md"
BETWEEN = 5  # kills between two studies that run through
ALL_GONE, OTHER_VERSION = 0.08, 0.06  # shares of the kills that are prepared so
PLANTED = 0.2  # share of the kills with what a stranger left
VICTIM = "victim.txt"  # beside the case
LINKS = ("motion.nc", "findings.json", "report.html", "stage-moments.json", "lock")
AROUND = ("start", "report", "end")  # parts of a study that are no stage of it
LONGEST = 1200.0  # s for one study
OUTSIDE = """
[outside]
examinations = ["time-in-bank"]
"""
EARLIER = """
[history]
tracks = "earlier"
"""
BARE = """mass = "5200 kg +- 200 kg"
wing_area = "28 m2"
lift_slope = "5.6"
zero_lift_angle = "-2.5 deg"
maximum_lift = "1.6"
"""
TAILS = (("qq-orl", 6, "trim-event"), ("inv01", 4, "none"), ("inv02", 4, "none"))


def digest(path: Path) -> str:
    """SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def digests(folder: Path) -> dict[str, str]:
    """SHA-256 of every file of a folder that is not hidden, pages with their date left out."""
    found = (p for p in sorted(folder.glob("*")) if p.is_file() and not p.name.startswith("."))
    return {p.name: digest(p) for p in found if p.suffix != ".html"}


@dataclass
class Runner:
    """Starts studies of one case.

    Attributes:
        case: The case folder.
        until: Last stage; None = all.
    """

    case: Path
    until: str | None

    def start(self) -> subprocess.Popen[str]:
        """A study in a process of its own that tells its steps in lines of JSON."""
        command = [sys.executable, "-m", "neutralpoint", "study", str(self.case)]
        return subprocess.Popen(
            [*command, "--progress-json", *(["--until", self.until] if self.until else [])],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )

    def through(self) -> tuple[int, dict[str, float]]:
        """Run one through: its exit code, and when each stage began and the whole ended, s."""
        begun, times = time.perf_counter(), {}
        process = self.start()
        for line in process.stdout:
            stage = json.loads(line).get("stage") or ("report" if {*times} - {"start"} else "start")
            times.setdefault(stage, time.perf_counter() - begun)
        code = process.wait(timeout=LONGEST)
        return code, times | {"end": time.perf_counter() - begun}

    def kill(self, stage: str, delay: float) -> bool:
        """Kill a study some time after it began a stage; whether it was still running."""
        process = self.start()
        seen = ""
        for line in process.stdout:
            step = json.loads(line)
            seen = step.get("stage") or ("start" if seen in ("", "start") else "report")
            if seen == stage or "done" in step:
                break
        drain = threading.Thread(target=process.stdout.read)
        drain.start()
        try:
            process.wait(timeout=delay)
            running = False
        except subprocess.TimeoutExpired:
            running = True
        process.send_signal(signal.SIGKILL)
        process.wait()
        drain.join()
        process.stdout.close()
        return running


@dataclass
class Tally:
    """What was seen.

    Attributes:
        seen: Counts by what.
        wrong: Faults.
        through: Studies that ran through after a kill.
    """

    seen: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    through: int = 0


def make_case(folder: Path, rows: int, example: str = "quorleigh") -> Path:
    """An example with its track cut to the last rows."""
    case = folder / "case"
    shutil.copytree(EXAMPLES / example, case, ignore=shutil.ignore_patterns("results"))
    lines = (case / "track.csv").read_bytes().splitlines(keepends=True)
    (case / "track.csv").write_bytes(b"".join([lines[0], *lines[-rows:]]))
    return case


def make_full_case(folder: Path, rows: int, *, airplane: bool) -> Path:
    """A case that every stage can bear, or every one that needs no airplane."""
    case, more = make_case(folder, rows, "orlembeck"), OUTSIDE
    if importlib.util.find_spec("polars"):
        from neutralpoint.history.generated import InventedTail
        from neutralpoint.history.generated_files import write_fleet

        tails = [InventedTail(name, "Tessera 2", n, what, 3) for name, n, what in TAILS]
        write_fleet(case / "earlier", tails, 4, rows=1200)
        more += EARLIER
    text = (case / "case.toml").read_text("utf-8")
    if not airplane:
        text = re.sub(r"(?m)^file = \"velmar-c7\".*$", BARE, text)
    (case / "case.toml").write_text(text + more, "utf-8")
    return case


def plugged(folder: Path) -> None:
    """Let the commands find the example plug-in as if it were installed."""
    example = EXAMPLES / "plug-in"
    points = tomllib.loads((example / "pyproject.toml").read_text("utf-8"))["project"]
    about = folder / "packages" / "kestrelfold-1.0.dist-info"
    about.mkdir(parents=True)
    (about / "METADATA").write_text("Metadata-Version: 2.1\nName: kestrelfold\nVersion: 1.0\n")
    lines = []
    for group, entries in points["entry-points"].items():
        lines += [f"[{group}]", *(f"{name} = {where}" for name, where in entries.items())]
    (about / "entry_points.txt").write_text("\n".join(lines) + "\n")
    places = [str(about.parent), str(example / "src"), os.environ.get("PYTHONPATH", "")]
    os.environ["PYTHONPATH"] = os.pathsep.join(place for place in places if place)


def versions(case: Path) -> tuple[str, str]:
    """The case file, and one with another onset."""
    text = (case / "case.toml").read_text("utf-8")
    place = re.search(r"(?m)^onset = \d\d:\d\d:(\d\d)", text)
    second = (int(place[1]) + 1) % 60
    return text, f"{text[: place.start(1)]}{second:02d}{text[place.end(1) :]}"


def half_written(case: Path) -> bool:
    """Whether a file that was being written is left."""
    return any(p for p in (case / "results").glob(".*.new") if not p.is_symlink())


def plant(case: Path, stage: str) -> None:
    """Links of names that a study writes, and a record that names a file outside.

    Args:
        case: The case folder.
        stage: Whose record is forged; one that runs, so that the next study has to replace it.
    """
    results, victim = case / "results", case.parent / VICTIM
    results.mkdir(exist_ok=True)
    for name in LINKS:
        for link in (results / f".{name}.new", results / f".{name}"):
            if not link.exists():
                link.symlink_to(victim)
    named = {f"../../{VICTIM}": digest(victim)}
    record = {"stage": stage, "basis": "", "settings": {}, "files": named, "made": {}}
    (results / f"stage-{stage}.json").write_text(json.dumps(record), "utf-8")


def faults(case: Path, before: dict[str, str]) -> list[str]:
    """What is wrong with a case after a kill; results that are not there yet are not wrong."""
    found = [f"{n} changed" for n, sha in before.items() if digest(case / n) != sha]
    if (case.parent / VICTIM).read_text("utf-8") != VICTIM:
        found.append("a file outside the case was changed")
    results = case / "results"
    for path in results.glob("*"):
        if path.is_symlink():  # a stranger left hidden ones; a result never is one
            if not path.name.startswith("."):
                found.append(f"{path.name} is a link")
            continue
        try:
            if path.suffix == ".nc":
                with xr.open_dataset(path, engine="h5netcdf", decode_times=False) as dataset:
                    dataset.load()
            elif path.suffix == ".json" and not path.name.startswith("."):
                json.loads(path.read_text("utf-8"))
            elif path.suffix == ".html" and not path.read_text("utf-8").rstrip().endswith(">"):
                found.append(f"{path.name} is cut short")
        except Exception as broken:
            found.append(f"{path.name}: {type(broken).__name__}")
    if (results / "findings.json").exists():
        for made in json.loads((results / "findings.json").read_text("utf-8"))["results"]:
            if digest(results / made["path"]) != made["sha256"]:
                found.append(f"{made['path']} is not the one that the findings name")
    return found


def main() -> int:
    """Kill, look, and write the table; 1 where a case was corrupt or did not go on."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rows", type=int, default=70)
    parser.add_argument("--until", default=None)
    parser.add_argument("--beside-the-track", action="store_true")
    parser.add_argument("--without-airplane", action="store_true")
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    with tempfile.TemporaryDirectory() as folder:
        if options.beside_the_track:
            plugged(Path(folder))
            case = make_full_case(Path(folder), options.rows, airplane=not options.without_airplane)
        else:
            case = make_case(Path(folder), options.rows)
        (Path(folder) / VICTIM).write_text(VICTIM, "utf-8")
        runner, texts, first, times = Runner(case, options.until), versions(case), {}, {}
        for text in texts:
            (case / "case.toml").write_text(text, "utf-8")
            shutil.rmtree(case / "results", ignore_errors=True)
            code, times = runner.through()
            if code != 0:
                print("the study does not run")
                return 1
            first[text] = digests(case / "results")
        stages = [*times]
        ran = [stage for stage in stages if stage not in AROUND]
        tally, text = Tally(), texts[1]
        number = 0
        while number < options.kills:
            stage = stages[rng.integers(len(stages) - 1)]
            length = times[stages[stages.index(stage) + 1]] - times[stage]
            chance = rng.random()
            if chance < ALL_GONE:
                shutil.rmtree(case / "results", ignore_errors=True)
            elif chance < ALL_GONE + OTHER_VERSION:
                text = texts[text == texts[0]]
                (case / "case.toml").write_text(text, "utf-8")
            else:
                (case / "results" / f"stage-{stage}.json").unlink(missing_ok=True)
            if rng.random() < PLANTED:
                plant(case, ran[-1])
                tally.seen["with what a stranger left"] += 1
            before = {p.name: digest(p) for p in case.iterdir() if p.is_file()}
            running = runner.kill(stage, rng.uniform(0.0, 1.05) * length)
            number += running
            word = f"killed in: {stage}" if running else "the study had ended before"
            tally.seen[word] += 1
            tally.seen["a half-written file was left"] += half_written(case)
            tally.seen["findings were there"] += (case / "results" / "findings.json").exists()
            tally.wrong += faults(case, before)
            if running and (number % BETWEEN == 0 or number == options.kills):
                code, _ = runner.through()
                tally.through += 1
                last = digests(case / "results")
                odd = [n for n in first[text] | last if last.get(n) != first[text].get(n)]
                tally.wrong += [f"after kill {number}: exit code {code}"] if code else []
                tally.wrong += [f"after kill {number}: {name} differs" for name in odd]
                if half_written(case):
                    tally.wrong.append(f"after kill {number}: a half-written file stays")
                report(tally, times, first[text], options, number)
    return int(bool(tally.wrong))


def report(
    tally: Tally, times: dict[str, float], first: dict[str, str], options, number: int
) -> None:
    """Write what was seen after so many kills."""
    rows = [
        "# Kill -9 at random moments of a study",
        "",
        f"{number} kills, seed {options.seed}, on the example cut to {options.rows} rows. "
        f"One undisturbed study took {times['end']:.1f} s on a machine that did other work beside; "
        f"its parts began after: {', '.join(f'{s} {t:.1f} s' for s, t in times.items())}. "
        "Made by benchmarks/kill_study.py.",
        "",
        "| what | count |",
        "|---|---|",
        *(f"| {name} | {count} |" for name, count in sorted(tally.seen.items())),
        f"| faults | {len(tally.wrong)} |",
        "",
        f"{tally.through} studies ran through after kills and were held bit for bit against the "
        f"undisturbed one: {', '.join(first)}.",
        *(f"\n- {fault}" for fault in tally.wrong[:20]),
    ]
    options.out.write_text("\n".join(rows) + "\n")
    print("\n".join(rows), flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
