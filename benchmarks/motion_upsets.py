"""Whether bands hold in simulated upsets, in the features that causes are compared in.

    python benchmarks/motion_upsets.py [--seed N] [--processes N] [--out FILE]

Flights of every cause, by another airplane, other pilots and other air than the analyst assumes
(`calibration_cases.py`), are seen once a second or by a radar that turns in 4.8 s, worked out and
compared. Rough: what gusts leave of the load factor of the flight without a fault, beside its
course over 2 s, is more than 0.06 root mean square. Violent: load factor beyond 0.4 or 1.6.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from calibration_cases import DURATION, SETTINGS, SMOOTHED, WINDOW, some
from calibration_prepare import LEAD, forecast, lift_of, track_of
from recorded import SURVEILLANCE
from scipy.signal import savgol_filter

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.motion import Motion, estimate_motion
from neutralpoint.spawned import spawned_pool, submit_part
from neutralpoint.weighing.blind import OTHER_ORDINARY, other_airplane
from neutralpoint.weighing.compare import UNSEEN_LOAD
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.features import LOADS, NAMES, features, knots
from neutralpoint.weighing.simulate import flyable, simulate

RESULTS = Path(__file__).parent / "results" / "motion_upsets.md"
AIRS, EACH = 8, 2  # flights flown of each cause, every one in air of its own, and seen
ROUGH, VIOLENT = 0.06, (0.4, 1.6)
PATHS = 64
HALF_WIDTH = 1.645  # standard deviations of a 90 % band
GROUPS = ("violent, smooth air", "violent, rough air", "mild", "all")


@dataclass(frozen=True)
class Seen:
    """One flight through one track: errors and stated spreads of its features, shape (7, k)."""

    radar: bool
    rough: bool
    violent: bool
    error: np.ndarray
    spread: np.ndarray

    def belongs(self, group: str) -> bool:
        """Whether the flight is one of a group."""
        if group == "all":
            return True
        if group == "mild":
            return not self.violent
        return self.violent and self.rough == (group == GROUPS[1])


def as_course(motion: Motion, times: np.ndarray) -> Course:
    """Sample paths at the times of the true flight, s after the reference."""
    grid = ~motion.is_fix
    inside = times[times <= motion.time[grid][-1] - LEAD]

    def at(name: str) -> np.ndarray:
        paths = np.asarray(motion.paths[name][:, grid], float)
        paths = np.unwrap(paths, axis=1) if name == "bank_angle" else paths
        return np.array([np.interp(inside + LEAD, motion.time[grid], path) for path in paths])

    return Course(inside, **{name: at(name) for name in COLUMNS})


def compared(motion: Motion, clean: Course) -> tuple[np.ndarray, np.ndarray]:
    """Errors of the mean features, and their spread with the allowance for unseen loads."""
    seen = as_course(motion, clean.time)
    at = knots(DURATION, WINDOW)
    at = at[at <= seen.time[-1]]
    found = features(seen, at, WINDOW)
    error = (found.mean(axis=0) - features(clean, at, WINDOW)[0]).reshape(len(NAMES), -1)
    spread = found.std(axis=0).reshape(len(NAMES), -1)
    loads = [NAMES.index(name) for name in LOADS]
    spread[loads] = np.hypot(spread[loads], UNSEEN_LOAD)
    return error, spread


def flights(place: int, seed: int) -> list[Seen]:
    """All flights of one setting."""
    rng = np.random.default_rng([seed, place])
    setting = SETTINGS[place]
    described = load_airplane(setting.airplane)
    causes = flyable(described.airplane)
    flown = simulate(
        described.airplane,
        other_airplane(described.uncertainty).draw(rng, AIRS * len(causes)),
        setting.start(),
        causes,
        rng=rng,
        duration=DURATION,
        ordinary=OTHER_ORDINARY,
    )
    lift = lift_of(described.airplane, described.uncertainty)
    still = flown[0].course.normal_load_factor
    rough = np.std(still - savgol_filter(still, 5, 2, axis=1), axis=1)
    found = []
    for batch in flown:
        for number in rng.permutation(AIRS)[:EACH]:
            wind = rng.normal(0.0, 6.0, 2)
            weather = forecast(wind, rng)
            clean = some(batch.course, np.array([number]))
            load = clean.normal_load_factor
            for how in (SURVEILLANCE[rng.integers(2)], SURVEILLANCE[2]):
                track = track_of(batch, number, rng, wind, how)
                motion = estimate_motion(track, weather=weather, lift=lift, rng=rng, samples=PATHS)
                found.append(
                    Seen(
                        how is SURVEILLANCE[2],
                        bool(rough[batch.twin[number]] > ROUGH),
                        bool(load.min() < VIOLENT[0] or load.max() > VIOLENT[1]),
                        *compared(motion, clean),
                    )
                )
    return found


def cell(chosen: list[Seen], number: int) -> str:
    """Share inside, and root mean square of the standardised error, no one of them beyond 10."""
    standard = np.concatenate([(s.error / s.spread)[number] for s in chosen])
    inside = np.mean(np.abs(standard) < HALF_WIDTH)
    return f"{inside:.2f} / {np.sqrt(np.mean(np.clip(standard, -10.0, 10.0) ** 2)):.2f}"


def report(found: list[Seen], seed: int) -> str:
    """The page of results."""
    rows = [
        "# Bands in simulated upsets",
        "",
        "Share of knots inside the 90 % band / root mean square of the error over its stated "
        f"spread, with the {UNSEEN_LOAD} that weighing allows for loads that nothing shows. Made "
        f"by benchmarks/motion_upsets.py, seed {seed}.",
        "",
        "| track | flights | how many | " + " | ".join(NAMES) + " |",
        "|---|---|---|" + "---|" * len(NAMES),
    ]
    for radar, label in ((False, "1 s"), (True, "4.8 s radar")):
        for group in GROUPS:
            chosen = [s for s in found if s.radar == radar and s.belongs(group)]
            if chosen:
                cells = [cell(chosen, number) for number in range(len(NAMES))]
                rows.append(f"| {label} | {group} | {len(chosen)} | " + " | ".join(cells) + " |")
    return "\n".join(rows) + "\n"


def main() -> None:
    """Fly, see, work out, compare, write; the page grows as settings come in."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=33)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    found: list[Seen] = []
    with spawned_pool(options.processes) as pool:
        parts = [submit_part(pool, flights, place, options.seed) for place in SMOOTHED]
        for part in parts:
            found += part.result()
            options.out.write_text(report(found, options.seed))


if __name__ == "__main__":
    main()
