"""Flights as an analyst meets them: flown, seen by sensors, and put through the chain.

What the benchmarks of the required moment (recovery, verdicts, ordinary) have in common.
"""

from __future__ import annotations

import multiprocessing as mp
import os
import pickle
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from moments_chain import Chain, analyse
from moments_flights import Run, analyst_uncertainty, analyst_weather, lift_of, observe
from recorded import Degradation

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.airplane_file.build import load_airplane

AIRPLANES = ("velmar-c7", "ostrel-7", "tarnley-180")
OFTEN = 50  # rows after which they are saved, where `ROWS` names a file


@dataclass(frozen=True)
class Seen:
    """One flight and how it is seen.

    Attributes:
        run: As flown.
        plan: What was meant to happen; None where the run says it.
        uncertainty: The analyst's, of the airplane.
        how: The sensors.
        seed: Of sensors and analyst.
        nominal: The airplane as the analyst has it.
    """

    run: Run
    plan: Any
    uncertainty: Uncertainty
    how: Degradation
    seed: int
    nominal: Airplane

    def analysed(self, **more: Any) -> tuple[Chain, np.random.Generator]:
        """The flight through the chain, from its track to its verdicts; and the generator left."""
        rng = np.random.default_rng(self.seed)
        chain = analyse(
            observe(self.run, rng, self.how),
            weather=analyst_weather(self.run, rng),
            lift=lift_of(self.nominal, self.uncertainty),
            airplane=self.nominal,
            uncertainty=self.uncertainty,
            onset=self.run.onset,
            rng=rng,
            **more,
        )
        return chain, rng


def seen_flights(
    simulate: Callable[..., Sequence[Any]],
    sensors: Sequence[Degradation],
    *,
    runs: int,
    seed: int,
    **more: Any,
) -> list[Seen]:
    """Flights of every airplane in equal number, the sensors in turn.

    Args:
        simulate: Flies runs, or runs with their plans, of an airplane.
        sensors: Used one after another.
        runs: Of all airplanes together.
        seed: Of the first airplane; the next ones count on.
        **more: For `simulate`.

    Returns:
        The flights.
    """
    made = []
    for k, name in enumerate(AIRPLANES):
        described = load_airplane(name)
        airplane, known = described.airplane, described.uncertainty
        flown = simulate(airplane, known, seed=seed + k, runs=runs // len(AIRPLANES), **more)
        for i, one in enumerate(flown):
            run, plan = one if isinstance(one, tuple) else (one, None)
            own = seed + 1000 * k + i
            how = sensors[i % len(sensors)]
            made.append(Seen(run, plan, analyst_uncertainty(known), how, own, airplane))
    return made


def worked_through(
    study: Callable[[Seen], dict], made: Sequence[Seen], processes: int
) -> list[dict]:
    """Rows of all flights, in their order; kept in the file that `ROWS` names, where it does."""
    kept = Path(os.environ["ROWS"]) if "ROWS" in os.environ else None
    rows: list[dict] = []
    with mp.get_context("spawn").Pool(processes) as pool:
        for row in pool.imap(study, made, chunksize=1):
            rows.append(row)
            if kept and (len(rows) % OFTEN == 0 or len(rows) == len(made)):
                kept.write_bytes(pickle.dumps(rows))
    return rows
