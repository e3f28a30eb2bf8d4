"""Recorded ordinary flights as an analyst would study them: by the command line, from a folder.

    python benchmarks/whole_cases.py [--out FILE] [--draws N] [--processes N] [NAME ...]

Each stretch of a recording becomes a case: a track as a surveillance system leaves it, the flight's
own wind spoilt by 8 kt, the loading within 200 kg, and the nearest airplane of the catalogue with
wide bands, for none of these flights is of an airplane in it. Nothing had failed in any of them.
Errors of sensors, wind and loading are drawn several times, a case each. `study`, `report`,
`claims`, `next-evidence` and `fly` are run on it. Printed, least to most over the draws: exit
codes, time, what the odds lead with under the default prior, the verdict on *no failure*, and
how often the 90 % bands held what was measured on board, in flight. Altitudes are left out: those
on board lag themselves.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import xarray as xr
from motion_on_recorded_flights import VARIABLES, truth_of
from recorded import (
    DATA,
    SURVEILLANCE,
    Degradation,
    Recording,
    degrade,
    recordings,
    wind_misfit,
    wind_profile,
)

from neutralpoint.findings.file import read_findings
from neutralpoint.numerics.intervals import circular_mean, unwrapped_about
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT
from neutralpoint.track import Track
from neutralpoint.vocabulary import CauseName

RESULTS = Path(__file__).parent / "results" / "whole_cases.md"
EPOCH = datetime(2030, 1, 1, 12, tzinfo=UTC)
WIND_ERROR = 8.0  # kt, 95 % of each component
FINE, COARSE, RADAR = SURVEILLANCE
JET = """name = "Light business jet"
file = "ostrel-7"
mass = "{mass:.0f} kg +- 200 kg"
wing_area = "30 m2 +- 0.6 m2"
lift_slope = "5.2 1/rad +- 0.4 1/rad"
zero_lift_angle = "-1.5 deg +- 1.5 deg"
"""
LIGHT = """name = "Light single"
file = "tarnley-180"
mass = "{mass:.0f} kg +- 80 kg"
wing_area = "12 m2 +- 2 m2"
lift_slope = "4.8 1/rad +- 0.6 1/rad"
zero_lift_angle = "-2 deg +- 2 deg"
"""


@dataclass(frozen=True)
class Stretch:
    """A part of a recording: what it is, seconds of the recording, how it is degraded.

    `gaps` are pairs of seconds without a reading.
    """

    what: str
    flight: str
    start: float
    end: float
    how: Degradation = FINE
    gaps: tuple[tuple[float, float], ...] = ()


STRETCHES = {
    "taxi": Stretch("taxi", "bizjet_01", 200, 590),
    "take-off": Stretch("taxi, take-off, climb", "bizjet_01", 300, 800),
    "cruise": Stretch("cruise with turns", "bizjet_01", 2400, 3000),
    "landing": Stretch("descent and landing", "bizjet_05", 4700, 5034),
    "whole": Stretch("whole flight", "bizjet_05", 400, 5034),
    "stop-start": Stretch(
        "record that stops and starts",
        "bizjet_05",
        1000,
        2600,
        gaps=tuple((t, t + 120.0) for t in range(1100, 2600, 240)),
    ),
    "hills": Stretch("push-overs to 0.4 g", "bizjet_01", 3600, 3700),
    "parabolas": Stretch("parabolas, radar", "bizjet_04", 3060, 3210, RADAR),
    "stalls": Stretch("near-stalls", "bizjet_05", 1760, 1960),
    "steep turns": Stretch("steep turns, steps of 100 ft", "bizjet_01", 3420, 3600, COARSE),
    "light climb": Stretch("light single, climb, steps of 100 ft", "light_aerobatic_01", 300, 620),
    "light rolls": Stretch("light single, aileron rolls", "light_aerobatic_01", 780, 1000),
    "light landing": Stretch("light single, landing", "light_aerobatic_01", 1600, 1960),
}


def _track_csv(track: Track, gaps: tuple[tuple[float, float], ...]) -> str:
    """The track as a table of an exporter of ADS-B."""
    lines = ["time,lat,lon,alt,gs,trk,vr"]
    for k, t in enumerate(track.position.time):
        if any(a <= t < b for a, b in gaps):
            continue
        latitude, longitude = track.position.value[k] / DEGREE
        cells = [
            (EPOCH + timedelta(seconds=float(t))).isoformat(timespec="milliseconds"),
            f"{latitude:.6f}",
            f"{longitude:.6f}",
            f"{track.pressure_altitude.value[k] / FOOT:.0f}",
        ]
        for channel, unit in (
            (track.ground_speed, KNOT),
            (track.track_angle, DEGREE),
            (track.vertical_rate, FOOT_PER_MINUTE),
        ):
            cells.append("" if channel is None else f"{channel.value[k] / unit:.0f}")
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def _weather(flight: Recording, rng: np.random.Generator) -> str:
    """A profile of the flight's own wind with an error, as the case file writes it."""
    profile = altitude, north, east = wind_profile(flight)
    sigma = 0.5 * WIND_ERROR * KNOT / np.sqrt(2.0)
    off = sigma * (rng.standard_normal((2, 1)) + rng.standard_normal((2, altitude.size)))
    levels = []
    for k, height in enumerate(altitude):
        near = np.argsort(np.abs(flight.pressure_altitude - height))[:2000]
        n, e = north[k] + off[0, k], east[k] + off[1, k]
        levels.append(
            f'{{ altitude = "{height / FOOT:.0f} ft", '
            f'wind_from = "{np.mod(np.arctan2(-e, -n), 2.0 * np.pi) / DEGREE:.0f} deg", '
            f'wind_speed = "{np.hypot(n, e) / KNOT:.0f} kt", '
            f'temperature = "{np.median(flight.temperature[near]) - 273.15:.0f} degC" }}'
        )
    error = float(np.hypot(WIND_ERROR, 2.0 * wind_misfit(flight, profile) / KNOT))
    table = ",\n".join(levels)
    return (
        f'[[weather]]\nkind = "profile"\nwind_error = "{error:.0f} kt"\n'
        f'temperature_error = "2 K"\nlevels = [\n{table}\n]\n'
    )


def write_case(folder: Path, stretch: Stretch, flight: Recording, seed: int) -> None:
    """A case folder of a stretch."""
    rng = np.random.default_rng(seed)
    part = replace(flight, airborne=(stretch.start, stretch.end))
    weather = _weather(flight, rng)
    track = degrade(part, stretch.how, rng)
    mass = float(np.interp(stretch.start, flight.time, flight.mass)) + 100.0 * rng.standard_normal()
    airplane = (LIGHT if flight.name.startswith("light") else JET).format(mass=mass)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "track.csv").write_text(_track_csv(track, stretch.gaps))
    velocity = (
        'ground_speed = { column = "gs", unit = "kt" }\n'
        'track_angle = { column = "trk", unit = "deg" }\n'
    )
    rate = 'vertical_rate = { column = "vr", unit = "ft/min" }\n'
    (folder / "case.toml").write_text(
        f'schema = 1\ntitle = "{stretch.what}"\nquestion = "Did anything fail?"\n'
        f"cut_off = 2030-06-01\nseed = {seed}\n\n[airplane]\n{airplane}\n[[tracks]]\n"
        'file = "track.csv"\nvertical_rate_source = "baro"\n[tracks.columns]\ntime = "time"\n'
        'latitude = "lat"\nlongitude = "lon"\npressure_altitude = { column = "alt", unit = "ft" }\n'
        + (velocity if track.ground_speed is not None else "")
        + (rate if track.vertical_rate is not None else "")
        + "\n"
        + weather
    )


def _command(*arguments: str) -> tuple[int, float]:
    """Exit code and seconds of a command of the program."""
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "neutralpoint", *arguments], capture_output=True, check=False
    )
    return done.returncode, time.perf_counter() - started


def coverages(folder: Path, flight: Recording) -> list[float]:
    """Share of the flight at which the 90 % band held what was measured, by variable."""
    motion = xr.open_dataset(folder / "results" / "motion.nc", decode_times=False)
    epoch = datetime.fromisoformat(
        re.sub("seconds since ", "", motion["time"].attrs["units"])
    ).replace(tzinfo=UTC)
    at = motion["time"].values - (EPOCH - epoch).total_seconds()
    flown = (motion["is_fix"].values == 0) & (motion["on_ground"].values == 0)
    found = []
    for name, _, _ in VARIABLES:
        seen = flown & (motion[f"observable_{name}"].values == 1)
        measured = np.interp(at, flight.time, truth_of(flight, name))
        seen &= np.isfinite(measured)
        if not seen.any():
            found.append(float("nan"))
            continue
        paths, measured = motion[name].values[:, seen].astype(float), measured[seen]
        if name == "bank_angle":
            centre = circular_mean(paths)
            paths = unwrapped_about(paths, centre)
            measured = centre + np.mod(measured - centre + np.pi, 2.0 * np.pi) - np.pi
        low, high = np.quantile(paths, [0.05, 0.95], axis=0)
        found.append(float(np.mean((measured >= low) & (measured <= high))))
    return found


@dataclass(frozen=True)
class Studied:
    """What every command left of one case.

    `nothing` is the probability of no failure, None without odds; `held` is by variable.
    """

    seconds: float
    codes: str
    leads: str
    nothing: float | None
    verdict: str
    held: list[float]


def studied(name: str, flight: Recording, folder: Path, seed: int) -> Studied:
    """Every command run on one case."""
    write_case(folder, STRETCHES[name], flight, seed)
    code, spent = _command("study", str(folder))
    cause = "elevator-jam" if flight.name.startswith("light") else "stabilizer-runaway"
    codes = [code] + [
        _command(*words)[0]
        for words in (
            ("report", str(folder)),
            ("claims", str(folder)),
            ("next-evidence", str(folder)),
            ("fly", str(folder), "--cause", cause),
        )
    ]
    there = (folder / "results" / "findings.json").is_file()
    found = read_findings(folder / "results") if there else None
    odds = found.weighing.rows if found and found.weighing else []
    odds = sorted(odds, key=lambda row: -row.probability)
    nothing = [o for o in odds if o.cause == CauseName.NO_FAILURE]
    verdicts = found.moments.verdicts if found and found.moments else []
    word = [v.word for v in verdicts if v.cause == CauseName.NO_FAILURE]
    return Studied(
        seconds=spent,
        codes=" ".join(map(str, codes)),
        leads=odds[0].cause.title if odds else "–",
        nothing=nothing[0].probability if nothing else None,
        verdict=word[0] if word else "–",
        held=coverages(folder, flight),
    )


def _span(values: list[float], form: str) -> str:
    """Least and most of some figures; a dash where there is none."""
    known = sorted(v for v in values if np.isfinite(v))
    ends = list(dict.fromkeys(f"{v:{form}}" for v in known[:: max(1, len(known) - 1)]))
    return " to ".join(ends) or "–"


def row(stretch: Stretch, found: list[Studied]) -> str:
    """One line of the table: the draws of a stretch."""
    leads = [one.leads for one in found]
    cells = [
        stretch.what,
        f"{stretch.end - stretch.start:.0f}",
        _span([one.seconds for one in found], ".0f"),
        ", ".join(dict.fromkeys(one.codes for one in found)),
        ", ".join(f"{title} ({leads.count(title)})" for title in dict.fromkeys(leads)),
        _span([one.nothing for one in found if one.nothing is not None], ".2f"),
        ", ".join(dict.fromkeys(one.verdict for one in found)),
        *(_span(list(held), ".2f") for held in zip(*(one.held for one in found), strict=True)),
    ]
    return f"| {' | '.join(cells)} |"


def main() -> None:
    """Run the cases and write the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--draws", type=int, default=3, help="of errors, a case each")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("names", nargs="*", default=list(STRETCHES))
    options = parser.parse_args()
    flights = {flight.name: flight for flight in recordings(options.data)}
    rows = [
        "# Recorded ordinary flights as whole cases",
        "",
        "Stretches of recorded flights of a business jet and a light single on which there was "
        "no failure, studied by the command line with the nearest airplane of the catalogue, "
        "which is none of theirs, a wind off by 8 kt (95% of each component) and no prior stated. "
        "Made by benchmarks/whole_cases.py: errors of sensors, wind and loading drawn "
        f"{options.draws} times (seeds 1 to {options.draws}), least and most of them; "
        f"{options.processes} cases at "
        "a time.",
        "",
        "| stretch | length s | study s | exit codes: study, report, claims, next-evidence, fly | "
        "odds lead with (draws) | no failure | its verdict | "
        + " | ".join(f"{label} in 90%" for _, label, _ in VARIABLES)
        + " |",
        "|---|---|---|---|---|---|---|" + "---|" * len(VARIABLES),
    ]
    with tempfile.TemporaryDirectory() as kept, ThreadPoolExecutor(options.processes) as pool:
        asked = {
            name: [
                pool.submit(
                    studied,
                    name,
                    flights[STRETCHES[name].flight],
                    Path(kept) / f"{name.replace(' ', '-')}-{seed}",
                    seed,
                )
                for seed in range(1, options.draws + 1)
            ]
            for name in options.names
        }
        for name, drawn in asked.items():
            rows.append(row(STRETCHES[name], [each.result() for each in drawn]))
            print(rows[-1], flush=True)
            options.out.write_text("\n".join(rows) + "\n", "utf-8")


if __name__ == "__main__":
    main()
