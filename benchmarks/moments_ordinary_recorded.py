"""Recorded flights in which nothing failed: is that ever excluded?

    python benchmarks/moments_ordinary_recorded.py [--data FOLDER] [--out FILE]

Every recorded flight of the business jet, from after take-off to before landing (climbs, speed
sweeps, near-stalls, turns, hills, parabolas, flaps and gear), as a track at 1 s with 25 ft steps.
Once a minute it is asked whether something failed from here on: the two minutes before give the
last trimmed flight, the minute after is judged. The airplane is the one another flight shows.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import recorded_airplane as jet
from moments_chain import WINDOW
from moments_on_recorded_flights import sister
from motion_on_recorded_flights import reconstruct
from recorded import DATA, SURVEILLANCE, Recording, lift_line, recordings

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.moments import (
    Judgement,
    batched,
    energy,
    flight_from_paths,
    judge_causes,
    judged_part,
    last_trimmed,
    required_moment,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.question import Question
from neutralpoint.motion import Motion
from neutralpoint.vocabulary import CauseName

RESULTS = Path(__file__).parent / "results" / "moments_ordinary_recorded.md"
CHUNK = 660.0  # s of track worked out at a time
BEFORE, AFTER, EVERY = 120.0, 60.0, 60.0  # s
WORDS = ("can", "can if", "cannot", "not judged")


def judge_at(
    motion: Motion, airplane: Airplane, onset: float, rng: np.random.Generator
) -> dict[CauseName, Judgement]:
    """Verdicts on the minute after an onset."""
    near = (motion.time >= onset - BEFORE) & (motion.time <= onset + AFTER)
    time, is_fix = motion.time[near], motion.is_fix[near]
    paths = {name: values[:, near] for name, values in motion.paths.items()}
    flight = with_gusts(flight_from_paths(time, is_fix, paths, WINDOW), rng, WINDOW)
    samples = flight.true_airspeed.shape[0]
    drawn = batched(apply_multipliers(airplane, jet.UNCERTAINTY.draw(rng, samples)))
    drawn = with_power_effect(drawn, rng, samples)
    trimmed = last_trimmed(flight, before=onset)
    required = required_moment(drawn, flight, trimmed, window=WINDOW)
    part = judged_part(drawn, flight, required, window=WINDOW, onset=onset)
    found = judge_causes(
        Question(airplane, part, rng),
        energy(drawn, flight, required),
        bank=paths["bank_angle"][:, ~is_fix],
        bank_known=motion.observable["bank_angle"][near][~is_fix],
    )
    return {judged.cause: judged for judged in found}


def asked(
    flight: Recording, airplane: Airplane, kin: Recording, start: float, end: float, seed: int
) -> Iterator[tuple[float, dict[CauseName, Judgement]]]:
    """Every onset of one stretch with its verdicts."""
    part = replace(flight, airborne=(start, end))
    motion = reconstruct(part, SURVEILLANCE[0], lift_line(kin), seed)
    rng = np.random.default_rng(seed)
    mass = float(np.interp(start, flight.time, flight.mass))
    loaded = replace(airplane, mass=replace(airplane.mass, mass=mass))
    for onset in np.arange(start + BEFORE, end - AFTER, EVERY):
        yield onset, judge_at(motion, loaded, onset, rng)


def main() -> None:
    """Ask every minute of every flight and write the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    flights = {f.name: f for f in recordings(options.data) if f.name.startswith("bizjet")}
    fitted = {name: jet.fit(options.data, name) for name in jet.FITTED}
    lines = [
        "# Recorded ordinary flights: is *no failure* ever excluded?",
        "",
        "Once a minute of every recorded flight of a business jet (climbs, speed sweeps, "
        "near-stalls, turns, hills, parabolas, flaps and gear): did something fail from here on? "
        "Tracks at 1 s, 25 ft, wind off by 5 kt, the airplane fitted on another flight. "
        "`python benchmarks/moments_ordinary_recorded.py` writes this.",
        "",
        "| flight | minutes asked | can | can if | cannot | not judged | least probability |",
        "|---|---|---|---|---|---|---|",
    ]
    every: list[Judgement] = []
    for name, flight in flights.items():
        kin = sister(name)
        first, last = flight.airborne
        starts = np.arange(first, last - BEFORE - AFTER - EVERY, CHUNK - BEFORE - AFTER)
        mine = []
        for k, start in enumerate(starts):
            end = min(start + CHUNK, last)
            for onset, found in asked(flight, fitted[kin], flights[kin], start, end, 20 + k):
                verdict = found[CauseName.NO_FAILURE]
                mine.append(verdict)
                if verdict.word != "can":
                    print(f"{name} {onset:.0f} s: {verdict}", flush=True)
        counts = [sum(v.word == word for v in mine) for word in WORDS]
        least = np.nanmin([v.probability for v in mine])
        lines.append(
            f"| {name} | {len(mine)} | {' | '.join(map(str, counts))} | {100.0 * least:.1f}% |"
        )
        print(lines[-1], flush=True)
        every += mine
    wrong = sum(v.word == "cannot" for v in every)
    lines += ["", f"*No failure* is called *cannot* in {wrong} of {len(every)} minutes."]
    options.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
