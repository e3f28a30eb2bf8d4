"""Elevator and stick force out of a surveillance track, beside what was recorded on board.

    python benchmarks/moments_on_recorded_flights.py [--data FOLDER] [--out FILE]

Hills and parabolas of a business jet, flown by hand with the trim tab fixed. The recording is
degraded to a track at 1 s with 25 ft steps and reconstructed with a wind that is off by a
forecast-like 5 kt; the airplane is fitted on another flight of the type. Printed for each
maneuver: root mean square error, correlation, and coverage of the 50 and 90% bands.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import recorded_airplane as jet
from moments_chain import WINDOW
from motion_on_recorded_flights import reconstruct
from recorded import DATA, SURVEILLANCE, Recording, lift_line, recordings

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.moments import (
    MotionFlight,
    Required,
    batched,
    flight_from_paths,
    last_trimmed,
    required_moment,
    with_gusts,
    with_power_effect,
)
from neutralpoint.quantities import DEGREE

RESULTS = Path(__file__).parent / "results" / "moments_on_recorded_flights.md"
BEFORE, AFTER = 300.0, 30.0  # s of track around a maneuver
DRAWS = 4  # of wind error and noise
FORCE_STOP = 300.0  # N: beyond it the sensor stands at its stop
# Flight, what it is, start and end: the tab stays where it was.
MANOEUVRES = (
    ("bizjet_01", "hill", 3632.0, 3690.0),
    ("bizjet_01", "hill", 4177.0, 4206.0),
    ("bizjet_04", "parabola", 3083.0, 3128.0),
    ("bizjet_04", "parabola", 3158.0, 3204.0),
    ("bizjet_05", "parabola", 3853.0, 3898.0),
)
QUANTITIES = (("elevator", "elevator", "deg", DEGREE), ("column_force", "stick force", "N", 1.0))


@dataclass(frozen=True)
class Compared:
    """One quantity over one maneuver: changes since the reference, SI, times shape (k,)."""

    true: np.ndarray
    paths: np.ndarray  # (S, k)

    @property
    def error(self) -> np.ndarray:
        """Median less truth."""
        return np.median(self.paths, axis=0) - self.true

    def covered(self, share: float) -> np.ndarray:
        """Whether the truth lies inside the band that holds a share of the paths."""
        low, high = np.quantile(self.paths, (0.5 - 0.5 * share, 0.5 + 0.5 * share), axis=0)
        return (self.true >= low) & (self.true <= high)


@dataclass(frozen=True)
class Worked:
    """What a maneuver took, and what it was worked out from: draws of the airplane, the flight."""

    loaded: Airplane
    drawn: Airplane
    flight: MotionFlight
    required: Required


def sister(name: str) -> str:
    """The flight that the airplane is fitted on."""
    return next(other for other in jet.FITTED if other != name)


def work_out(
    flight: Recording,
    airplane: Airplane,
    kin: Recording,
    start: float,
    end: float,
    seed: int,
    *,
    before: float = BEFORE,
) -> Worked:
    """What a maneuver took, from its degraded track."""
    part = replace(flight, airborne=(start - before, end + AFTER))
    motion = reconstruct(part, SURVEILLANCE[0], lift_line(kin), seed)
    rng = np.random.default_rng(seed)
    paths = flight_from_paths(motion.time, motion.is_fix, motion.paths, WINDOW)
    paths = with_gusts(paths, rng, WINDOW)
    mass = float(np.interp(start, flight.time, flight.mass))
    loaded = replace(airplane, mass=replace(airplane.mass, mass=mass))
    samples = paths.true_airspeed.shape[0]
    drawn = batched(apply_multipliers(loaded, jet.UNCERTAINTY.draw(rng, samples)))
    drawn = with_power_effect(drawn, rng, samples)
    required = required_moment(drawn, paths, last_trimmed(paths, before=start), window=WINDOW)
    return Worked(loaded, drawn, paths, required)


def lag_of(columns: dict, found: list[Required], start: float, end: float) -> float:
    """How far the recording runs behind its own positions and altitudes, s: by the pitch rate."""
    time, rate = columns["t_s"], columns["q_dps"] * DEGREE

    def misfit(lag: float) -> float:
        off = []
        for required in found:
            keep = (required.time > start) & (required.time < end)
            median = np.median(required.pitch_rate[:, keep], axis=0)
            off.append(median - np.interp(required.time[keep] + lag, time, rate))
        return float(np.mean(np.concatenate(off) ** 2))

    return min(np.arange(-1.0, 1.05, 0.1), key=misfit)


def compare(
    columns: dict, required: Required, name: str, start: float, end: float, lag: float
) -> Compared:
    """Needed beside recorded, every second, both over the smoothing window."""
    time = columns["t_s"] - lag
    recorded = {
        "elevator": columns["elevator_deg"] * DEGREE,
        "column_force": -columns["stick_force_N"],
    }[name]
    width = round(WINDOW / float(np.median(np.diff(time))))
    smooth = np.convolve(recorded, np.ones(width) / width, "same")
    trimmed = required.time[required.trimmed]
    zero = recorded[(time >= trimmed[0]) & (time <= trimmed[-1])].mean()
    at = np.arange(start, end, 1.0)
    if name == "column_force":
        at = at[np.interp(at, time, np.abs(recorded)) < FORCE_STOP]
    nodes = np.searchsorted(required.time, at)
    known = ~required.stalled[nodes]
    paths = getattr(required, name)[:, nodes[known]]
    return Compared(np.interp(required.time[nodes[known]], time, smooth) - zero, paths)


def line(label: str, found: list[Compared], unit: str, size: float) -> str:
    """One row of the table: all draws of a maneuver together."""
    error = np.concatenate([c.error for c in found]) / size
    true = np.concatenate([c.true for c in found]) / size
    median = true + error
    inside = [100.0 * np.mean(np.concatenate([c.covered(s) for c in found])) for s in (0.5, 0.9)]
    half = np.mean(
        [np.mean(np.ptp(np.quantile(c.paths, (0.05, 0.95), axis=0), axis=0)) for c in found]
    )
    return (
        f"| {label} | {true.min():.1f} to {true.max():.1f} {unit} | "
        f"{np.sqrt(np.mean(error**2)):.2f} {unit} | {error.mean():+.2f} {unit} | "
        f"{np.corrcoef(true, median)[0, 1]:.3f} | {0.5 * half / size:.2f} {unit} | "
        f"{inside[0]:.0f}% | {inside[1]:.0f}% |"
    )


def main() -> None:
    """Run every maneuver and write the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    flights = {flight.name: flight for flight in recordings(options.data)}
    fitted = {name: jet.fit(options.data, name) for name in jet.FITTED}
    found: dict[str, dict[str, list[Compared]]] = {q[0]: {} for q in QUANTITIES}
    for name, kind, start, end in MANOEUVRES:
        columns, kin = jet.read(options.data, name), sister(name)
        drawn = [
            work_out(flights[name], fitted[kin], flights[kin], start, end, 10 + draw).required
            for draw in range(DRAWS)
        ]
        lag = lag_of(columns, drawn, start, end)
        label = f"{name}, {kind} at {start:.0f} s, lag {lag:+.1f} s"
        for quantity, *_ in QUANTITIES:
            found[quantity][label] = [
                compare(columns, required, quantity, start, end, lag) for required in drawn
            ]
    lines = [
        "# Elevator and stick force on recorded flights",
        "",
        f"Tracks at 1 s, 25 ft; {DRAWS} draws of wind error and noise a maneuver. Changes since "
        f"the last trimmed flight, every second over {WINDOW:g} s, recorded and needed alike; pull "
        "positive, elevator trailing edge down positive. The airplane is the one another flight "
        "shows. The lag is that of the recorded pitch rate behind the one that the track shows; "
        "it is taken off. `python benchmarks/moments_on_recorded_flights.py` writes this.",
    ]
    for quantity, title, unit, size in QUANTITIES:
        lines += [
            "",
            f"## {title.capitalize()}",
            "",
            "| maneuver | recorded | rms error | mean error | correlation | half 90% band | "
            "50% covers | 90% covers |",
            "|---|---|---|---|---|---|---|---|",
        ]
        rows = found[quantity]
        lines += [line(label, mine, unit, size) for label, mine in rows.items()]
        lines.append(line("all", [c for mine in rows.values() for c in mine], unit, size))
    text = "\n".join(lines) + "\n"
    print(text)
    options.out.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
