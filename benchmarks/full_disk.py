"""A disk that is full: is it said, is everything that was there still whole, does it go on?

    python benchmarks/full_disk.py        # needs the right to mount a small file system in memory

A case is studied on a small file system of its own. Then all but a little of that is filled, and
each command that writes is run on it: the study of a stage that is no longer held, the report, its
figures, a draft of claims, a film as pictures and as a file, and the archive of the workbench.
Each must end with the four fields of `disk-full`, or with success where what is left is enough;
never with a fault of the program or a signal. What the case held must have the same bits after it,
and nothing half written may be left. With the room back, the same command must run through, and the
study must give the same bits as before the disk was full.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from kill_study import digests, faults, half_written, make_case

from neutralpoint.report.film.encoder import find_encoder

RESULT = Path(__file__).parent / "results" / "full_disk.md"
SIZE = 96  # MB of the file system
FREE = (0, 40)  # kB that are left
PROGRAM = [sys.executable, "-m", "neutralpoint"]
LONGEST = 1200.0  # s


@contextmanager
def small_disk(size: int) -> Iterator[Path]:
    """A file system in memory of some MB, mounted while it is used."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "disk"
        place.mkdir()
        mount = ["mount", "-t", "tmpfs", "-o", f"size={size}m", "full-disk", str(place)]
        if subprocess.run(mount, check=False).returncode != 0:
            raise SystemExit("this user may not mount a file system")
        try:
            yield place
        finally:
            subprocess.run(["umount", str(place)], check=True)


def fill(place: Path, free: int) -> Path:
    """Fill a file system but for some kB."""
    filler = place / "filler"
    about = os.statvfs(place)
    size = max(0, about.f_bavail * about.f_frsize - 1024 * free)
    with filler.open("wb") as out:
        for _ in range(size // 65536):
            out.write(b"\0" * 65536)
        out.write(b"\0" * (size % 65536))
    return filler


def commands(case: Path) -> dict[str, list[str]]:
    """What writes into a case, by its name."""
    results = case / "results"
    found = {
        "study": [*PROGRAM, "study", str(case), "--until", "moments"],
        "report": [*PROGRAM, "report", str(case)],
        "figures": [*PROGRAM, "report", str(case), "--figures", str(results / "figures")],
        "claims": [*PROGRAM, "claims", str(case), "--draft"],
        "pictures": [*PROGRAM, "film", str(case), "--frames", str(results / "pictures")],
        "archive": [sys.executable, "-m", "neutralpoint.app.archive", str(case)],
    }
    for name in ("pictures",):
        found[name] += ["--last", "2", "--rate", "2"]
    if find_encoder():
        found["film"] = [*PROGRAM, "film", str(case), "--last", "2", "--rate", "2"]
    return found


def outcome(command: list[str]) -> tuple[str, str]:
    """Code of the error that a command ends with, or how else it ended; and what it said."""
    as_json = [] if "neutralpoint.app.archive" in command else ["--json"]
    done = subprocess.run(
        [*command, *as_json], capture_output=True, text=True, timeout=LONGEST, check=False
    )
    if done.returncode == 0:
        return "done", ""
    said = done.stdout + done.stderr
    try:
        return json.loads(done.stdout)["error"]["code"], said
    except (ValueError, KeyError, TypeError):
        code = next((c for c in ("disk-full", "output-lost") if c in said), "")
        return code or f"exit {done.returncode}", said


def state(case: Path) -> dict[str, str]:
    """Bits of everything that a case holds."""
    return digests(case) | {
        f"results/{name}": sha for name, sha in digests(case / "results").items()
    }


def forget(case: Path, name: str) -> None:
    """Let a command have something to do."""
    if name == "study":
        (case / "results" / "stage-moments.json").unlink(missing_ok=True)
    for made in ("figures", "pictures"):
        shutil.rmtree(case / "results" / made, ignore_errors=True)
    for made in ("results/film.mp4", "results/case.zip", "claims.toml"):
        (case / made).unlink(missing_ok=True)


def main() -> int:
    """Fill, run, look, give the room back, run through; 1 where something was wrong."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=70)
    parser.add_argument("--only", nargs="*", help="some of the commands")
    options = parser.parse_args()
    rows, wrong = [], []
    with small_disk(SIZE) as place:
        case = make_case(place, options.rows)
        (place / "victim.txt").write_text("victim.txt")
        every = commands(case)
        code, said = outcome(every["study"])
        if code != "done":
            raise SystemExit(said)
        first = digests(case / "results")
        for name in options.only or every:
            command = every[name]
            cells = []
            for free in FREE:
                forget(case, name)
                before = state(case)
                filler = fill(place, free)
                code, said = outcome(command)
                cells.append(code)
                where = f"{name}, {free} kB left"
                if code not in ("done", "disk-full"):
                    wrong.append(f"{where}: {code}: {said.strip()[-300:]}")
                after = state(case)
                if code != "done":
                    changed = [n for n in before | after if after.get(n) != before.get(n)]
                    wrong += [f"{where}: {n} is not as it was" for n in changed]
                if half_written(case):
                    wrong.append(f"{where}: a half-written file stays")
                filler.unlink()
            forget(case, name)
            code, said = outcome(command)
            cells.append(code)
            if code != "done":
                wrong.append(f"{name}, room again: {code}: {said.strip()[-300:]}")
            wrong += [f"{name}, room again: {fault}" for fault in faults(case, {})]
            print(name, cells, flush=True)
            rows.append(f"| {name} | {' | '.join(cells)} |")
        last = digests(case / "results")
        kept = [n for n in first if n.endswith((".nc", ".json"))]
        wrong += [f"{n} differs from before" for n in kept if last.get(n) != first[n]]
    heads = " | ".join(f"{free} kB left" for free in FREE)
    lines = [
        "# A full disk",
        "",
        f"Made by benchmarks/full_disk.py on a file system of {SIZE} MB, the example cut to "
        f"{options.rows} rows. How each command ended with so much room, and with the room back; "
        f"results of the study held bit for bit after all of it: {', '.join(kept)}.",
        "",
        f"| command | {heads} | room again |",
        "|---|" + "---|" * (len(FREE) + 1),
        *rows,
        "",
        f"Faults: {len(wrong)}.",
        *(f"\n- {fault}" for fault in wrong[:20]),
    ]
    if not options.only:
        RESULT.write_text("\n".join(lines) + "\n")
    print("\n".join(lines))
    return int(bool(wrong))


if __name__ == "__main__":
    raise SystemExit(main())
