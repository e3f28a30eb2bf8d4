"""The result of moments_recovery.py in words and tables."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

KINDS = ("trim", "center of gravity", "elevator", "power")
UNITS = {
    "trim": ("deg", np.pi / 180),
    "center of gravity": ("cm", 0.01),
    "elevator": ("deg", np.pi / 180),
    "power": ("N", 1.0),
}
STATED = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)  # edges of the stated probability


def share(values) -> str:
    """A share in percent."""
    values = np.asarray(values, float)
    return f"{100.0 * values.mean():.1f}%" if values.size else "none"


def of_kind(rows: list[dict], kind: str) -> list[dict]:
    """The flights under one true cause."""
    return [row for row in rows if row["kind"] == kind]


def report(rows: list[dict], independent: bool, speed: str) -> str:
    """The whole result."""
    how = "erring together where they rest on one tail, as the analyst assumes"
    if independent:
        how = "erring independently, which the analyst does not know"
    lines = [
        "# The required moment on flights under known causes",
        "",
        f"{len(rows)} flights of three invented airplanes, half of them with 100 ft steps of "
        f"altitude, the others 25 ft; derivatives of the truth within +- 20% of the "
        f"analyst's, {how}, "
        "wind error 5 kt (95%), jitter, lost rows, gusts up to 0.5 m/s rms; half of the flights "
        "with hands against the fault. `python benchmarks/moments_recovery.py` writes this.",
        "",
    ]
    lines += _bands(rows)
    lines += _scaling(rows) + _power(rows)
    return "\n".join([*lines, *_seconds(rows), speed, ""])


def _bands(rows: list[dict]) -> list[str]:
    lines = [
        "## Bands of the true cause",
        "",
        "Coverage with its standard error, the flights being independent and the times of one "
        "flight not. The analyst allows for an effect of power on the moment beyond the line of "
        "thrust, which these flights do not have: the bands are wider for it.",
        "",
        "| true cause | flights | 90% band covers | later than 2 s after onset | rms error | "
        "mean half band |",
        "|---|---|---|---|---|---|",
    ]
    for kind in KINDS:
        mine = [r for r in of_kind(rows, kind) if r["inside"].size]
        if not mine:
            continue
        joined = {k: np.concatenate([r[k] for r in mine]) for k in ("error", "half")}
        every = covered([r["inside"] for r in mine])
        late = covered([r["inside"][r["late"]] for r in mine])
        name, size = UNITS[kind]
        rms = np.sqrt(np.mean(joined["error"] ** 2)) / size
        lines.append(
            f"| {kind} | {len(mine)} | {every} | {late} | {rms:.2f} {name} | "
            f"{joined['half'].mean() / size:.2f} {name} |"
        )
    return [*lines, ""]


def covered(inside: list[np.ndarray]) -> str:
    """Share of the times inside, with a standard error that takes each flight as one draw."""
    inside = [flags for flags in inside if flags.size]
    weight = np.array([flags.size for flags in inside], float)
    mean = np.array([flags.mean() for flags in inside])
    share_inside = np.average(mean, weights=weight)
    off = weight / weight.sum() * (mean - share_inside)
    return f"{100.0 * share_inside:.1f} +- {100.0 * np.sqrt(np.sum(off**2)):.1f}%"


def _scaling(rows: list[dict]) -> list[str]:
    lines = ["## Scaling test: surface or center of gravity", ""]
    asked = [r for r in rows if "surface" in r and r["kind"] != "power"]
    for hands in (False, True):
        mine = [r for r in asked if r["hands"] == hands]
        if not mine:
            continue
        p = np.array([r["surface"] for r in mine])
        truth = np.array([r["kind"] != "center of gravity" for r in mine])
        given = np.where(truth, p, 1.0 - p)
        power = np.mean([r["surface_power"] for r in mine])
        sure = np.maximum(p, 1.0 - p) > 0.9
        lines += [
            f"{'With' if hands else 'Without'} hands: {len(mine)} flights; mean probability given "
            f"to the truth {given.mean():.2f} (computed power {power:.2f}); where it is more than "
            f"90% sure ({sure.sum()} flights) it is right in {share(given[sure] > 0.5)}; mean "
            f"log2 score {np.mean(np.log2(np.maximum(given, 1e-9))):.2f} (-1 is ignorance).",
            "",
        ]
    return lines + _calibration(asked)


# Share of each carrier among the laws of the test, which have equal odds: step and ramp of a
# surface, a step and a slide of a load.
PRIOR = {"elevator": 0.25, "trim": 0.25, "center of gravity": 0.5}


def _calibration(asked: list[dict]) -> list[str]:
    """How often it was a surface, by the probability stated, as often flown as the test assumes."""
    lines = ["Calibration, the causes weighed as the test's own odds have them:", ""]
    lines += ["| stated probability of a surface | hands | flights | mean stated | was a surface |"]
    lines += ["|---|---|---|---|---|"]
    for hands in (False, True):
        mine = [r for r in asked if r["hands"] == hands]
        kinds = [r["kind"] for r in mine]
        present = {k: PRIOR[k] / kinds.count(k) for k in set(kinds)}
        p = np.array([r["surface"] for r in mine])
        truth = np.array([k != "center of gravity" for k in kinds])
        weight = np.array([present[k] for k in kinds])
        if hands:  # no elevator flights have hands: trim stands for every surface
            weight = np.where(truth, 2.0 * weight, weight)
        for low, high in pairwise(STATED):
            inside = (p >= low) & ((p < high) | (high == 1.0))
            if inside.any():
                mean = np.average(p[inside], weights=weight[inside])
                was = np.average(truth[inside], weights=weight[inside])
                hand = "yes" if hands else "no"
                lines.append(
                    f"| {low:.1f} to {high:.1f} | {hand} | {inside.sum()} | {100.0 * mean:.0f}% | "
                    f"{100.0 * was:.0f}% |"
                )
    return [*lines, ""]


def _power(rows: list[dict]) -> list[str]:
    cut = of_kind(rows, "power")
    kept = [r for r in rows if r["kind"] != "power"]
    return [
        "## Power",
        "",
        "Power cut: called *fell* (more than 95% sure) in "
        f"{share([r['fell'] > 0.95 for r in cut])}. Power unchanged: called *fell* in "
        f"{share([r['fell'] > 0.95 for r in kept])}, *rose* in "
        f"{share([r['rose'] > 0.95 for r in kept])}.",
        "",
    ]


def _seconds(rows: list[dict]) -> list[str]:
    motion, moments, judged = np.median([r["seconds"] for r in rows], axis=0)
    return [
        "## Speed",
        "",
        f"Median time of one flight on one core: motion {motion:.1f} s, moments {moments:.1f} s, "
        f"verdicts {judged:.1f} s (200 paths; the first flight of a process compiles).",
        "",
    ]
