"""The wheel as a stranger gets it: built, installed in an empty environment, its demo run.

    python benchmarks/wheel.py [--keep DIR] [--links DIR]

Builds the wheel, installs it with the locked requirements into a fresh environment, runs
`neutralpoint --version`, `--help` and `demo` in a folder elsewhere, and looks at what came out. It
ends with 1 where the wheel is over 25 MB, a command fails, or the report is missing. `--links`
takes the requirements from the packages of another environment where there is no index.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import venv
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
MOST = 25e6  # bytes
WANTED = (
    "neutralpoint/py.typed",
    "neutralpoint/example/quorleigh/case.toml",
    "neutralpoint/weighing/networks.npz",
)


def run(*command: str, cwd: Path | None = None, path: str = "") -> str:
    """Output of a command; its words and an error where it fails."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    if path:
        environment["PYTHONPATH"] = path
    done = subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(command[:4])} ended with {done.returncode}\n{done.stderr[-2000:]}")
    return done.stdout


def built(folder: Path) -> Path:
    """The wheel, made by the build backend itself."""
    code = f"import hatchling.build as b; print(b.build_wheel({str(folder)!r}))"
    return folder / run(sys.executable, "-c", code, cwd=ROOT).split()[-1]


def looked_into(wheel: Path) -> None:
    """Size, and whether all of it is there and nothing beside it."""
    size = wheel.stat().st_size
    with zipfile.ZipFile(wheel) as held:
        names = held.namelist()
    print(f"{wheel.name}: {size / 1e6:.1f} MB, {len(names)} files")
    missing = [name for name in WANTED if name not in names]
    notices = [name for name in names if name.endswith(("LICENSE", "THIRD-PARTY.md"))]
    beside = [name for name in names if not name.startswith(("neutralpoint/", "neutralpoint-"))]
    if size > MOST or missing or beside or len(notices) < 2:
        sys.exit(f"wheel at fault: missing {missing}, beside {beside}, notices {notices}")


def installed(wheel: Path, folder: Path, links: Path | None) -> tuple[Path, str]:
    """Python of an empty environment that holds the wheel, and a path to its requirements."""
    venv.create(folder, with_pip=True)
    python = folder / ("Scripts" if os.name == "nt" else "bin") / "python"
    pip = (str(python), "-m", "pip", "--disable-pip-version-check", "install", "--quiet")
    if links is None:
        run(*pip, "--require-hashes", "-r", str(ROOT / "requirements" / "run.txt"))
    run(*pip, "--no-deps", str(wheel))
    return python, "" if links is None else str(links)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", type=Path, help="Folder to work in; else a temporary one.")
    parser.add_argument("--links", type=Path, help="Packages to take the requirements from.")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = (given.keep or Path(scratch)).resolve()
        folder.mkdir(parents=True, exist_ok=True)
        wheel = built(folder)
        looked_into(wheel)
        python, path = installed(wheel, folder / "clean", given.links)
        program = (str(python), "-m", "neutralpoint")
        where = "import neutralpoint, sys; sys.stdout.write(neutralpoint.__file__)"
        home = run(str(python), "-c", where, cwd=folder, path=path)
        if not Path(home).is_relative_to(folder / "clean"):
            sys.exit(f"the program that runs is not that of the wheel: {home}")
        print(run(*program, "--version", cwd=folder, path=path).strip())
        run(*program, "--help", cwd=folder, path=path)
        out = json.loads(run(*program, "demo", "--json", cwd=folder, path=path))
        page = folder / out["report"]
        if not page.is_file() or page.stat().st_size < 100_000:
            sys.exit(f"the demo left no report: {out}")
        print(f"demo: {page.name}, {page.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
