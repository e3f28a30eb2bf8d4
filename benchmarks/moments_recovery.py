"""How often the required moment tells the truth: flights under known carriers.

    OMP_NUM_THREADS=1 python benchmarks/moments_recovery.py [RUNS] [PROCESSES] [independent]

Every run is flown, degraded to a surveillance track, smoothed, inverted and judged by an analyst
who has other derivatives and another wind. Prints, and writes to results/moments_recovery.md:
coverage of the 90 % bands of the true carrier, words given to the true cause, calibration of the
scaling test, and calls of power change.
"""

from __future__ import annotations

import multiprocessing as mp
import os
import sys
import time
from pathlib import Path

import numpy as np
from moments_flights import (
    TRACKS,
    Run,
    analyst_uncertainty,
    analyst_weather,
    exact_flight,
    lift_of,
    observe,
    simulate,
)

from neutralpoint.airplane.model import apply_multipliers
from neutralpoint.moments import (
    batched,
    carrier,
    energy,
    flight_from_paths,
    knots_of,
    last_trimmed,
    power_change,
    required_moment,
    scaling_test,
    verdicts,
    with_gusts,
)
from neutralpoint.motion import estimate_motion
from neutralpoint.quantities import GRAVITY

RESULTS = Path(__file__).parent / "results"
AIRPLANES = ("velmar-19", "ostrel-7", "tarnley-180")
WINDOW = 2.0
SAMPLES = 200
SEED = 20300601


def true_family(run: Run, aft: bool) -> str | None:
    """The family of verdicts that the truth belongs to; None where this airplane has none."""
    drive = run.airplane.trim_drive
    if run.kind == "trim":
        return "stabilizer runaway" if drive.kind == "stabilizer" else None
    if run.kind == "centre of gravity":
        return f"load shift {'aft' if aft else 'forward'}"
    if run.kind == "elevator":
        return "elevator off its trimmed place (jam or disconnect)"
    return "nothing failed, flown by hand"


def true_carrier(run: Run, trimmed_times: tuple[float, float]):
    """Name of the carrier and its true history with what the hands were worth in it, or None."""
    s, (first, last) = run.series, trimmed_times
    kind = run.airplane.trim_drive.kind
    name, series = {
        "trim": (kind, kind),
        "centre of gravity": ("cg_shift", "cg_shift"),
        "elevator": ("elevator", "elevator"),
        "power": ("thrust", "thrust"),
    }[run.kind]
    inside = (run.time >= first) & (run.time <= last)
    if run.kind == "power":
        return name, s["thrust"]
    history = s[series] - s[series][inside].mean()
    if run.hands:
        exact = required_moment(run.truth, exact_flight(run), inside, window=WINDOW)
        worth = getattr(exact, name)[0] / exact.column_force[0]
        history = history + worth * s["column_force"]
    return name, history


def averaged(times: np.ndarray, series: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Mean over the smoothing window."""
    offsets = WINDOW * np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
    return np.mean([np.interp(at + o, times, series) for o in offsets], axis=0)


def study(job) -> dict:
    """One run from its track to its verdicts."""
    run, uncertainty, how, seed, nominal = job
    rng = np.random.default_rng(seed)
    started = time.perf_counter()
    motion = estimate_motion(
        observe(run, rng, how),
        weather=analyst_weather(run, rng),
        lift=lift_of(nominal, uncertainty),
        rng=rng,
        samples=SAMPLES,
    )
    moved = time.perf_counter()
    bank = motion.paths["bank_angle"][:, ~motion.is_fix]
    flight = flight_from_paths(motion.time, motion.is_fix, motion.paths, WINDOW)
    flight = with_gusts(flight, rng, WINDOW)
    drawn = batched(apply_multipliers(nominal, uncertainty.draw(rng, SAMPLES)))
    trimmed = last_trimmed(flight, before=run.onset)
    required = required_moment(drawn, flight, trimmed, window=WINDOW)
    setting = float(np.median(required.setting))
    found = verdicts(nominal, required, window=WINDOW, bank=bank, stabilizer_now=setting)
    needed = carrier(required, required.standing_coefficient, knots_of(required, WINDOW)).needed
    row = {"kind": run.kind, "airplane": nominal.name, "hands": run.hands, "how": how.label}
    if needed.time.size >= 4:
        nodes = np.searchsorted(required.time, needed.time)
        base = required.lift_coefficient[:, trimmed].mean(axis=1, keepdims=True)
        scaling = scaling_test(
            needed, (required.lift_coefficient[:, nodes] / base).mean(0), rng, window=WINDOW
        )
        row |= {"surface": scaling.surface(), "surface_power": scaling.surface_power()}
    change = power_change(
        energy(drawn, flight, required),
        required.time,
        trimmed,
        run.onset,
        float(nominal.mass.mass) * GRAVITY,
    )
    row |= {"fell": change.fell, "rose": change.rose}
    times = required.time[trimmed]
    name, truth = true_carrier(run, (float(times[0]), float(times[-1])))
    at = np.arange(run.onset - 4.0, run.end - 1.0, 2.0)
    nodes = np.searchsorted(required.time, at)
    nodes = nodes[nodes < required.time.size]
    nodes = nodes[~required.stalled[nodes]]
    paths = getattr(required, name)[:, nodes]
    known = np.isfinite(paths).all(axis=0)
    nodes, paths = nodes[known], paths[:, known]
    true = averaged(run.time, truth, required.time[nodes])
    low, middle, high = np.quantile(paths, (0.05, 0.5, 0.95), axis=0)
    row["inside"] = (true >= low) & (true <= high)
    row["late"] = required.time[nodes] > run.onset + 2.0
    row["error"], row["half"] = middle - true, 0.5 * (high - low)
    row["true"] = true
    words = {v.family: v for v in found}
    family = true_family(run, bool(truth[-1] > 0.0) if run.kind != "power" else False)
    if run.kind == "centre of gravity":
        family = true_family(run, bool(run.series["cg_shift"][-1] > 0.0))
    row["word"] = words[family].word if family in words else None
    row["probability"] = words[family].probability if family in words else np.nan
    row["condition"] = words[family].condition if family in words else ""
    row["cannot"] = sorted(v.family for v in found if v.word == "cannot")
    row["seconds"] = (moved - started, time.perf_counter() - moved)
    return row


def jobs(runs: int, independent: bool) -> list:
    """Every run of every airplane with the track it leaves."""
    from neutralpoint.case.airplane_build import load_airplane

    made = []
    for k, name in enumerate(AIRPLANES):
        described = load_airplane(name)
        flown = simulate(
            described.airplane,
            described.uncertainty,
            seed=SEED + k,
            runs=runs // len(AIRPLANES),
            independent=independent,
        )
        uncertainty = analyst_uncertainty(described.uncertainty)
        made += [
            (run, uncertainty, TRACKS[i % 2], SEED + 1000 * k + i, described.airplane)
            for i, run in enumerate(flown)
        ]
    return made


def _share(values) -> str:
    values = np.asarray(values, float)
    return f"{100.0 * values.mean():.1f} %" if values.size else "none"


def report(rows: list[dict], independent: bool) -> str:
    """The result in words and tables."""
    how = "erring together where they rest on one tail, as the analyst assumes"
    if independent:
        how = "erring independently, which the analyst does not know"
    lines = ["# The required moment on flights under known carriers", ""]
    lines += [
        f"{len(rows)} flights of three invented airplanes, half of them with 100 ft steps of "
        f"altitude, the others 25 ft; derivatives of the truth within +- 20 % of the "
        f"analyst's, {how}, "
        "wind error 5 kt (95 %), jitter, lost rows, gusts up to 0.5 m/s rms; half of the flights "
        "with hands against the fault. `python benchmarks/moments_recovery.py` writes this.",
        "",
        "## Bands of the true carrier",
        "",
        "| true carrier | flights | 90 % band covers | later than 2 s after onset | rms error | "
        "mean half band |",
        "|---|---|---|---|---|---|",
    ]
    unit = {"trim": ("deg", np.pi / 180), "elevator": ("deg", np.pi / 180)}
    unit |= {"centre of gravity": ("cm", 0.01), "power": ("N", 1.0)}
    kinds = ("trim", "centre of gravity", "elevator", "power")
    everything = [(kind, [r for r in rows if r["kind"] == kind]) for kind in kinds]
    for kind, mine in everything:
        joined = {
            k: np.concatenate([r[k] for r in mine]) for k in ("inside", "late", "error", "half")
        }
        name, size = unit[kind]
        rms = np.sqrt(np.mean(joined["error"] ** 2)) / size
        lines.append(
            f"| {kind} | {len(mine)} | {_share(joined['inside'])} | "
            f"{_share(joined['inside'][joined['late']])} | {rms:.2f} {name} | "
            f"{joined['half'].mean() / size:.2f} {name} |"
        )
    lines += ["", "## The word given to the true cause", ""]
    lines += ["| true carrier | hands | judged | can | can if | cannot | p < 5 % |"]
    lines += ["|---|---|---|---|---|---|---|"]
    for kind, mine in everything:
        for hands in (False, True):
            told = [r for r in mine if r["word"] is not None and r["hands"] == hands]
            if not told:
                continue
            words = [r["word"] for r in told]
            shares = [_share([w == word for w in words]) for word in ("can", "can if", "cannot")]
            low = _share([r["probability"] < 0.05 for r in told])
            hand = "yes" if hands else "no"
            lines.append(f"| {kind} | {hand} | {len(told)} | {' | '.join(shares)} | {low} |")
    told = [r for r in rows if r["word"] is not None]
    wrong = sum(r["word"] == "cannot" for r in told)
    lines += ["", f"The true cause is called *cannot* in {wrong} of {len(told)} flights "
              f"({100.0 * wrong / max(len(told), 1):.1f} %).", ""]  # fmt: skip
    lines += ["Other families that were called *cannot*, in share of the flights:", ""]
    names = sorted({name for r in rows for name in r["cannot"]})
    lines += ["| family | " + " | ".join(f"{k} flights" for k in kinds) + " |"]
    lines += ["|---" * (len(kinds) + 1) + "|"]
    for family in names:
        cells = [_share([family in r["cannot"] for r in mine]) for _, mine in everything]
        lines.append(f"| {family} | {' | '.join(cells)} |")
    lines += ["", "## Scaling test: surface or centre of gravity", ""]
    for hands in (False, True):
        mine = [r for r in rows if "surface" in r and r["kind"] != "power" and r["hands"] == hands]
        if not mine:
            continue
        p = np.array([r["surface"] for r in mine])
        truth = np.array([r["kind"] != "centre of gravity" for r in mine])
        given = np.where(truth, p, 1.0 - p)
        power = np.mean([r["surface_power"] for r in mine])
        sure = np.maximum(p, 1.0 - p) > 0.9
        lines += [
            f"{'With' if hands else 'Without'} hands: {len(mine)} flights; mean probability given "
            f"to the truth {given.mean():.2f} (computed power {power:.2f}); where it is more than "
            f"90 % sure ({sure.sum()} flights) it is right in {_share(given[sure] > 0.5)}; mean "
            f"log2 score {np.mean(np.log2(np.maximum(given, 1e-9))):.2f} (-1 is ignorance).",
            "",
        ]
    cut = [r for r in rows if r["kind"] == "power"]
    kept = [r for r in rows if r["kind"] != "power"]
    lines += [
        "## Power",
        "",
        "Power cut: called *fell* (more than 95 % sure) in "
        f"{_share([r['fell'] > 0.95 for r in cut])}. Power unchanged: called *fell* in "
        f"{_share([r['fell'] > 0.95 for r in kept])}, *rose* in "
        f"{_share([r['rose'] > 0.95 for r in kept])}.",
        "",
    ]
    seconds = np.array([r["seconds"] for r in rows])
    lines += [
        f"Median time of one flight on one core: motion {np.median(seconds[:, 0]):.1f} s, moments "
        f"{np.median(seconds[:, 1]):.1f} s (200 paths; the first flight of a process compiles).",
        "",
    ]
    return "\n".join(lines)


def main() -> None:
    """Run and write."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 330
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else 2
    independent = "independent" in sys.argv
    made = jobs(runs, independent)
    with mp.get_context("spawn").Pool(processes) as pool:
        rows = pool.map(study, made, chunksize=1)
    if "ROWS" in os.environ:
        np.save(os.environ["ROWS"], np.array(rows, dtype=object), allow_pickle=True)
    text = report(rows, independent)
    print(text)
    name = "moments_recovery_independent.md" if independent else "moments_recovery.md"
    (RESULTS / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
