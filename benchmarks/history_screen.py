"""How right the screening of a fleet is: what is named where nothing was planted, and where it was.

    python benchmarks/history_screen.py

Fleets of the shipped generator, of other equations, and of pieces of recorded flights (where there
are some beside the project), each flight against the others of its airplane and each airplane
against the others of its type. Seeds are of this benchmark alone.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
from history_flights import BESIDE, STEPS, fleet_flights, other_flights, spliced_flights

from neutralpoint.history.changed import changed_tails
from neutralpoint.history.fleet import Fleet, against_type
from neutralpoint.history.generated import fleet_of
from neutralpoint.history.measures import EVENT, Measured, measure
from neutralpoint.history.screening import Screened, chances_of, screen

LEVELS = (0.05, 0.01, 0.001, 0.0001)
TAILS, FLIGHTS, ROWS, LONG = 12, 30, 1500, 3000  # with faults longer ones: all of them cruise
PLANTED = {
    1: ("hunting", 15), 4: ("creep", 20), 6: ("trim-event", 22), 9: ("rate-bias", 0),
    11: ("weak-climb", 20),
}  # fmt: skip
ONCE = {
    1: ("hunting", 29), 2: ("trim-event", 29), 3: ("hunting", 29), 4: ("creep", 29),
    6: ("creep", 29), 8: ("trim-event", 29), 9: ("rate-bias", 29), 11: ("weak-climb", 29),
}  # fmt: skip


def as_fleet(found: Measured, tail: np.ndarray, kinds: list[str]) -> Fleet:
    """Flights that were measured, of airplanes by number."""
    count, blank = tail.size, np.zeros(tail.size)
    return against_type(
        Fleet(
            address=np.array([f"a{number:03d}" for number in tail]),
            kind=np.array([kinds[number] for number in tail]),
            file=np.full(count, "made"),
            start=1.9e9 + 2e4 * np.arange(count),
            length=blank,
            interval=blank + 1.0,
            rows=np.zeros(count, np.intp),
            values=found.values,
            climb=found.climb,
            events=np.zeros((0, EVENT)),
            curve_height=np.zeros(0),
            curve_rate=np.zeros(0),
            curve_first=np.zeros((count, 2), np.intp),
            read=0,
            troubles=(),
        )
    )


def shipped(seed: int, planted: dict | None = None, rows: int = ROWS) -> Fleet:
    """A fleet of the shipped generator."""
    tails = fleet_of(TAILS, FLIGHTS, planted)
    found = measure(fleet_flights(tails, seed, rows=rows), STEPS)
    return as_fleet(found, np.repeat(np.arange(TAILS), FLIGHTS), [tail.kind for tail in tails])


def other(seed: int) -> Fleet:
    """A fleet of other equations; its airplanes differ by chance alone."""
    found = measure(other_flights(TAILS * FLIGHTS, seed, 1500.0), STEPS)
    return as_fleet(found, np.repeat(np.arange(TAILS), FLIGHTS), ["one"] * TAILS)


def spliced(seed: int) -> Fleet:
    """A fleet of pieces of recorded flights; its airplanes differ by chance alone."""
    found = measure(spliced_flights(TAILS * FLIGHTS, seed, ROWS), STEPS)
    return as_fleet(found, np.repeat(np.arange(TAILS), FLIGHTS), ["one"] * TAILS)


@dataclass
class Told:
    """What fleets came to."""

    below: np.ndarray
    compared: np.ndarray
    named: list[tuple[int, int]]
    changed: int = 0

    def add(self, fleet: Fleet) -> Screened:
        """Screen one more."""
        found, between = (each.chance for each in chances_of(fleet))
        for row, chance in enumerate((found, between)):
            known = chance[np.isfinite(chance)]
            self.below[row] += [(known < level).sum() for level in LEVELS]
            self.compared[row] += known.size
        screened = screen(fleet)
        self.named.append((len(screened.flights), len(screened.tails)))
        self.changed += len(changed_tails(fleet))
        return screened

    def say(self, label: str) -> None:
        """Print it."""
        named = np.array(self.named)
        for row, what in enumerate(("flights", "airplanes")):
            shares = ", ".join(
                f"{100 * k / self.compared[row]:.3f}% below {100 * level:g}%"
                for k, level in zip(self.below[row], LEVELS, strict=True)
            )
            print(f"{label}, {what}: {shares} ({self.compared[row]:.0f} comparisons); named in "
                  f"{(named[:, row] > 0).sum()} of {len(named)} fleets, "
                  f"{named[:, row].sum()} in all")  # fmt: skip
        print(f"{label}: {self.changed} of {TAILS * len(named)} airplanes named as changed")


def fresh() -> Told:
    return Told(np.zeros((2, len(LEVELS))), np.zeros(2), [])


def faulty(fleets: int, first: int, planted: dict) -> None:
    """Fleets in which some airplanes carry a fault from some flight on."""
    carried = {
        tail * FLIGHTS + flight
        for tail, (_, since) in planted.items()
        for flight in range(since, FLIGHTS)
    }
    right, wrong, flights, tails = 0, 0, dict.fromkeys(planted, 0), dict.fromkeys(planted, 0)
    other_tails, turned, dated, others_turned = 0, dict.fromkeys(planted, 0), 0, 0
    told = fresh()
    for number in range(fleets):
        fleet = shipped(first + number, planted, LONG)
        found = told.add(fleet)
        for one in changed_tails(fleet):
            tail = one.flight // FLIGHTS
            if tail in planted and planted[tail][1]:
                turned[tail] += 1
                low, high = one.at[0, 1:] - one.flight
                dated += low <= planted[tail][1] <= high
            else:
                others_turned += 1
        for one in found.flights:
            right, wrong = right + (one.flight in carried), wrong + (one.flight not in carried)
            if one.flight in carried:
                flights[one.flight // FLIGHTS] += 1
        for one in found.tails:
            tail = one.flight // FLIGHTS
            if tail in planted:
                tails[tail] += 1
            else:
                other_tails += 1
    print(f"planted, flights named: {right} with the fault, {wrong} without")
    for tail, (fault, since) in planted.items():
        those = (FLIGHTS - since) * fleets
        print(f"  {fault} from flight {since} of {FLIGHTS}: {flights[tail]} of {those} flights; "
              f"airplane in {tails[tail]} of {fleets}, its change in {turned[tail]}")  # fmt: skip
    print(f"  airplanes without a fault named: {other_tails}; without a change: {others_turned}; "
          f"changes dated within their 90%: {dated} of {sum(turned.values())}")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fleets", type=int, default=10)
    parser.add_argument("--first", type=int, default=3100)
    given = parser.parse_args()
    worlds = {"shipped generator": shipped, "other equations": other}
    if BESIDE.is_dir():
        worlds["pieces of recorded flights"] = spliced
    else:
        print("recorded flights: none beside the project, skipped")
    for label, make in worlds.items():
        told = fresh()
        for number in range(given.fleets):
            told.add(make(given.first + number))
        told.say(label)
    for planted in (PLANTED, ONCE):
        faulty(given.fleets, given.first + 100, planted)


if __name__ == "__main__":
    main()
