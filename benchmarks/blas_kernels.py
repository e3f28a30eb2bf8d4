"""Whether results depend on the machine: motion under several kernels of the linear algebra.

    python benchmarks/blas_kernels.py [--out FILE] [--kernels NAME ...]

The library of linear algebra picks its kernel by the processor, and kernels round differently. Each
kernel that this processor can run gets a process of its own: the tests of the motion, then records
kind and unkind. Printed is how far medians and bands are from those under the first kernel, in half
widths of the 90 % band, and the same for matrices that are disturbed by as much as rounding does.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from recorded import DATA, SURVEILLANCE, degrade, recordings

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "recovery"))
RESULTS = Path(__file__).parent / "results" / "blas_kernels.md"
KERNELS = ("Haswell", "SkylakeX", "Zen", "Sandybridge")
DISTURBED = "rounding, disturbed"
ROUNDING = 1e-15  # relative, of every number in the matrices
TESTS = tuple(
    str(ROOT / "tests" / place)
    for place in (
        "unit/test_motion_chain.py",
        "unit/test_banded.py",
        "recovery/test_motion_hostile.py",
    )
)
HOSTILE = ("altitudes astray", "all suspect", "a fix in 12 s")
NAMES = ("pressure_altitude", "true_airspeed", "bank_angle", "normal_load_factor")
PATHS = 64


def disturb() -> None:
    """Disturb every matrix that is factored, by as much as rounding does."""
    from neutralpoint.numerics import banded

    plain, rng = banded.assemble, np.random.default_rng(5)

    def assemble(diagonal: np.ndarray, coupling: np.ndarray) -> np.ndarray:
        matrix = plain(diagonal, coupling)
        return matrix * (1.0 + ROUNDING * rng.standard_normal(matrix.shape))

    banded.assemble = assemble


def records() -> dict[str, object]:
    """Tracks by name: unkind ones, and ten minutes of a recorded flight where there is one."""
    from test_motion_hostile import TRACKS

    found = {name: TRACKS[name] for name in HOSTILE}
    for flight in recordings(DATA)[1:2]:
        for how in (SURVEILLANCE[0], SURVEILLANCE[2]):
            track = degrade(flight, how, np.random.default_rng(3))
            start = float(track.position.time[0]) + 1200.0
            found[f"{flight.name}, {how.label}"] = track.between(start, start + 300.0)
    return found


def work(target: Path, disturbed: bool) -> None:
    """Motion of every record under the kernel of this process."""
    from motion_synthetic import LIFT, WEATHER

    from neutralpoint.motion import estimate_motion

    if disturbed:
        disturb()
    kept = {}
    for record, track in records().items():
        motion = estimate_motion(
            track, weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1), samples=PATHS
        )
        for name in NAMES:
            paths = np.asarray(motion.paths[name], float)
            kept[f"{record}|{name}"] = np.quantile(paths, (0.05, 0.5, 0.95), axis=0)
    np.savez(target, **kept)


def tested(environment: dict[str, str]) -> str:
    """Last line of the tests of the motion under a kernel."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *TESTS]
    done = subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    said = [line for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return "; ".join(said) if done.returncode else f"all of {len(TESTS)} files pass"


def run(kernels: tuple[str, ...]) -> tuple[dict[str, str], dict[str, dict[str, np.ndarray]]]:
    """What the tests said and what the records gave, by kernel."""
    said, gave = {}, {}
    with tempfile.TemporaryDirectory() as folder:
        for name in (*kernels, DISTURBED):
            kernel = kernels[0] if name == DISTURBED else name
            environment = os.environ | {"OPENBLAS_CORETYPE": kernel, "OPENBLAS_NUM_THREADS": "1"}
            target = Path(folder) / f"{len(gave)}.npz"
            command = [sys.executable, __file__, "--work", str(target)]
            subprocess.run(
                command + ["--disturb"] * (name == DISTURBED), env=environment, check=True
            )
            with np.load(target) as found:
                gave[name] = dict(found)
            said[name] = "" if name == DISTURBED else tested(environment)
    return said, gave


def apart(one: dict[str, np.ndarray], other: dict[str, np.ndarray], record: str) -> str:
    """Largest and usual difference of median and limits, in half widths of the band."""
    differences = []
    for name in NAMES:
        first, second = one[f"{record}|{name}"], other[f"{record}|{name}"]
        half = np.maximum(0.5 * (first[2] - first[0]), 1e-9)
        differences.append(np.abs(second - first).max(axis=0) / half)
    return f"{np.max(differences):.1e} / {np.median(differences):.1e}"


def main() -> None:
    """Run under each kernel, compare, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--kernels", nargs="+", default=KERNELS)
    parser.add_argument("--work", type=Path)
    parser.add_argument("--disturb", action="store_true")
    options = parser.parse_args()
    if options.work is not None:
        work(options.work, options.disturb)
        return
    said, gave = run(tuple(options.kernels))
    first = options.kernels[0]
    named = list(dict.fromkeys(key.split("|")[0] for key in gave[first]))
    rows = [
        "# Motion under several kernels of the linear algebra",
        "",
        "Largest / median difference of medians and band limits from those under "
        f"{first}, in half widths of the 90 % band, over {', '.join(NAMES)}; the same random "
        "numbers. Last row: matrices disturbed by 1e-15 of themselves. Made by "
        "benchmarks/blas_kernels.py.",
        "",
        "| kernel | tests of the motion | " + " | ".join(named) + " |",
        "|---|---|" + "---|" * len(named),
    ]
    for name, found in gave.items():
        cells = [apart(gave[first], found, record) for record in named]
        rows.append(f"| {name} | {said[name]} | " + " | ".join(cells) + " |")
    options.out.write_text("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
