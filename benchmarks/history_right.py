"""How right the comparison with earlier flights is: planted faults found, false alarms, bounds.

    python benchmarks/history_right.py detect     planted faults at chances of 1 and 0.1%
    python benchmarks/history_right.py alarms     flights without a fault, two generators
    python benchmarks/history_right.py along      a weak climb, by how many flights show it
    python benchmarks/history_right.py recorded   recorded flights as ordinary ones

Seeds are of this benchmark alone; nothing in the method was chosen by them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from history_flights import STEPS, fleet_flights, joined_flights, other_flights
from scipy.stats import t as student

from neutralpoint.history.changes import EVER, find_change
from neutralpoint.history.compare import place_in
from neutralpoint.history.generated import WEAK_CLIMB, InventedTail, stepped
from neutralpoint.history.measures import Measured, climb_against, measure
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, KNOT
from neutralpoint.vocabulary.measure import MEASURES

KIND = "Quillon 6"
BESIDE = Path(__file__).resolve().parents[2] / "shared" / "data" / "flights"
LEVELS = (0.01, 0.001)
SHOWN = {
    "hunting": "cruise_excess",
    "creep": "creep",
    "rate-bias": "rate_bias",
    "weak-climb": "climb_rate",
    "trim-event": "load_low",
}
SCATTER = 0.04  # share by which the climb of the generator differs from flight to flight
LEAST = 60  # flights and different values that a measure must have to be judged


def against(found: Measured, family: Measured, first: int = 40) -> dict[str, np.ndarray]:
    """Values of flights with their climb held against the first flights of a family."""
    climb = climb_against(found.climb, family.climb[:first].sum(axis=0))
    return found.values | {"climb_rate": climb}


def flown(fault: str, count: int, seed: int) -> Measured:
    return measure(fleet_flights([InventedTail("same", KIND, count, fault)], seed), STEPS)


def detect(count: int = 200) -> None:
    """Each flight with a fault against 40 earlier ones without."""
    family = flown("none", 40, 2100)
    ordinary = against(family, family)
    for number, (fault, name) in enumerate(SHOWN.items()):
        values = against(flown(fault, count, 2101 + number), family)[name]
        places = [place_in(name, ordinary[name][0], *values[:, k], 0.0) for k in range(count)]
        chances = np.array([place.chance for place in places if place is not None])
        share = [float(np.mean(chances < level)) for level in LEVELS]
        print(f"{fault} by {name}: {share[0]:.2f} at 1%, {share[1]:.2f} at 0.1% ({chances.size})")
    rng = np.random.default_rng(2110)
    hits, tries = np.zeros(2), 4000
    for _ in range(tries):  # the climb itself known without error: no measure can do better
        known = 1.0 + SCATTER * rng.standard_normal(40)
        one = (1.0 - WEAK_CLIMB) * (1.0 + SCATTER * rng.standard_normal())
        out = (one - known.mean()) / known.std(ddof=1) / np.sqrt(1.0 + 1.0 / 40.0)
        hits += 2.0 * student.sf(abs(out), 39) < np.array(LEVELS)
    print(f"weak-climb, bound (climb known exactly, mass not): {hits[0] / tries:.2f} at 1%, "
          f"{hits[1] / tries:.2f} at 0.1%")  # fmt: skip


def judged(values: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Measures with enough different values."""
    known = {name: each[0][np.isfinite(each[0])] for name, each in values.items()}
    return {n: x for n, x in known.items() if x.size >= LEAST and np.unique(x).size >= LEAST}


def low_chances(values: dict[str, np.ndarray], size: int) -> dict[str, tuple[int, int, int]]:
    """By measure: chances below 5%, below 1%, and comparisons, against `size` others each."""
    found = {}
    for name, x in judged(values).items():
        if x.size < size + 5:
            continue
        chances = []
        for k in range(x.size):
            rest = np.roll(np.delete(x, k), 37 * k)[:size]
            chances.append(place_in(name, rest, x[k], 0.0, 0.0).chance)
        low = np.array(chances)
        found[name] = (int((low < 0.05).sum()), int((low < 0.01).sum()), low.size)
    return found


def told(label: str, found: dict[str, tuple[int, int, int]]) -> None:
    five, one, count = np.sum(list(found.values()), axis=0)
    print(f"{label}: {five / count:.4f} below 5%, {one / count:.4f} below 1% ({count} comparisons)")


def alarms(count: int = 300) -> None:
    """Flights without a fault, each against others."""
    shipped = flown("none", count, 2200)
    worlds = {
        "shipped generator": against(shipped, shipped, count),
        "other equations": measure(other_flights(count, 2201), STEPS).values,
    }
    for world, values in worlds.items():
        for size in (10, 20, 40, 100):
            told(f"{world}, {size} others", low_chances(values, size))


def along(fleets: int = 60) -> None:
    """Weak climb in the last flights of 40: how often the change is told, and dated."""
    for late in (0, 2, 4, 6, 10, 20):
        called = inside = 0
        for number in range(fleets):
            fault = "weak-climb" if late else "none"
            tail = InventedTail(f"a{number}", KIND, 40, fault, 40 - late)
            found = measure(fleet_flights([tail], 2300 + number, rows=1500), STEPS)
            series = against(found, found)["climb_rate"][0]
            change = find_change(series[np.isfinite(series)], EVER / len(MEASURES))
            if change is not None and change.probability > 0.5:
                called += 1
                inside += change.low <= 40 - late <= change.high
        dated = f", dated within its 90% in {inside} of {called}" if late and called else ""
        print(f"weak climb on the last {late} of 40 flights: told in {called / fleets:.2f}{dated}")


def recorded_columns(flight, first: float, last: float) -> dict[str, np.ndarray]:
    """A stretch of a recording as a receiver logs it, rows by role in SI."""
    time = np.arange(first, last, 1.0)
    north = np.interp(time, flight.fix_time, flight.velocity_north)
    east = np.interp(time, flight.fix_time, flight.velocity_east)
    rate = np.interp(time, flight.time, flight.vertical_rate)
    height = np.interp(time, flight.time, flight.pressure_altitude)
    return {
        "time": 1.9e9 + time,
        "pressure_altitude": stepped(height, 25.0 * FOOT),
        "vertical_rate": stepped(rate, 64.0 * FOOT_PER_MINUTE),
        "ground_speed": stepped(np.hypot(north, east), KNOT),
        "track_angle": np.arctan2(east, north),
    }


def recorded_pieces(data: Path, length: float = 480.0) -> dict[str, np.ndarray]:
    """Measures of the business-jet flights cut into pieces, all flights together."""
    from recorded import recordings

    columns = []
    for flight in recordings(data):
        if not flight.name.startswith("bizjet"):
            continue
        first, last = flight.airborne
        columns += [
            recorded_columns(flight, at, at + length)
            for at in np.arange(first, last - length, length)
        ]
    for number, one in enumerate(columns):  # one airplane, a day between any two
        one["time"] = one["time"] + 86_400.0 * number
    return measure(joined_flights(columns, [0] * len(columns)), STEPS).values


def recorded(data: Path) -> None:
    """Pieces of recorded flights as ordinary ones: each against all others."""
    if not data.is_dir():
        print("recorded flights: none beside the project, skipped")
        return
    values = recorded_pieces(data)
    found = {}
    for name, each in values.items():
        x = each[0][np.isfinite(each[0])]
        if x.size < 12 or np.unique(x).size < 10:
            continue
        chances = np.array([place_in(name, np.delete(x, k), x[k], 0.0, 0.0).chance
                            for k in range(x.size)])  # fmt: skip
        found[name] = (int((chances < 0.05).sum()), int((chances < 0.01).sum()), x.size)
        print(f"  {name}: {found[name][1]} of {x.size} below 1%")
    told(f"recorded, {len(values['load_low'][0])} pieces", found)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    tasks = {"detect": detect, "alarms": alarms, "along": along}
    parser.add_argument("what", choices=(*tasks, "recorded"))
    parser.add_argument("--data", type=Path, default=BESIDE)
    given = parser.parse_args()
    if given.what == "recorded":
        recorded(given.data)
    else:
        tasks[given.what]()


if __name__ == "__main__":
    main()
