"""Ordinary flights in which nothing failed: is that ever excluded?

    python benchmarks/moments_ordinary.py [RUNS] [PROCESSES]

Airplanes as in moments_recovery.py are flown by a pilot with one hand: level turns, climbs and
descents with their level-offs, changes of speed, and rough air; on half of the flights the pilot
also trims. The start of the maneuver is given as the onset, the hardest question that an analyst
could ask. Writes benchmarks/results/moments_ordinary.md.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
from moments_flights import (
    BEFORE,
    SPEEDS,
    TRACKS,
    Run,
    make_run,
    one_flight,
    true_multipliers,
)
from moments_seen import Seen, seen_flights, worked_through

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.dynamics.flight import STEP
from neutralpoint.dynamics.state import attitude
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.strength import ONE_HAND

RESULTS = Path(__file__).parent / "results" / "moments_ordinary.md"
KINDS = ("level turn", "climb and level-off", "descent and level-off", "speed change", "rough air")
TRIMMED = 20.0  # N of pull that the pilot trims away
SEED = 20300701
WORDS = ("can", "can if", "cannot", "not judged")


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Ordinary:
    """What the pilot does in each run; leaves (n,), SI."""

    kind: np.ndarray
    onset: np.ndarray
    length: np.ndarray  # s of the maneuver
    bank: np.ndarray
    climb: np.ndarray  # change of path angle
    lever: np.ndarray  # change, as a share of the trimmed one
    trims: np.ndarray  # rad/s; 0 where the pilot leaves the trim alone
    strength: np.ndarray
    speed: np.ndarray
    height: np.ndarray
    path_angle: np.ndarray
    heading: np.ndarray
    wind_north: np.ndarray
    wind_east: np.ndarray
    gust: np.ndarray


def make_plan(airplane: Airplane, rng: np.random.Generator, runs: int) -> Ordinary:
    """Draw what the pilot does."""
    kind = np.arange(runs) % len(KINDS)
    is_kind = [kind == k for k in range(len(KINDS))]
    low, high = SPEEDS[airplane.name]
    side = rng.choice([-1.0, 1.0], runs)
    climb = np.where(is_kind[1], 1.0, np.where(is_kind[2], -1.0, 0.0)) * rng.uniform(3.0, 6.0, runs)
    lever = np.where(is_kind[1], 0.5, np.where(is_kind[2], -0.5, 0.0))
    lever = np.where(is_kind[3], rng.choice([-0.6, 0.6], runs), lever)
    rate = float(airplane.trim_drive.loaded_rate) or 1.0 * DEGREE
    return Ordinary(
        kind=kind,
        onset=BEFORE + rng.uniform(-5.0, 5.0, runs),
        length=rng.uniform(20.0, 30.0, runs),
        bank=np.where(is_kind[0], side * rng.uniform(20.0, 45.0, runs), 0.0) * DEGREE,
        climb=climb * DEGREE,
        lever=lever,
        trims=np.where(rng.random(runs) < 0.5, rate, 0.0),
        strength=np.full(runs, ONE_HAND.force),
        speed=rng.uniform(low, high, runs),
        height=rng.uniform(1500.0, 3000.0, runs),
        path_angle=rng.uniform(-1.0, 1.0, runs) * DEGREE,
        heading=rng.uniform(-np.pi, np.pi, runs),
        wind_north=rng.normal(0.0, 6.0, runs),
        wind_east=rng.normal(0.0, 6.0, runs),
        gust=np.where(is_kind[4], rng.uniform(1.0, 2.0, runs), rng.uniform(0.0, 0.5, runs)),
    )


def _policy(start, plan: Ordinary, airplane: Airplane):
    """One hand that flies the path angle wanted, trims its force away, and keeps the bank."""
    base = replace(start.inputs, pitch_by="force")
    trim_name = airplane.trim_drive.kind
    # Pull is relieved by the stabilizer's leading edge down, by the tab's trailing edge down.
    relief = -1.0 if trim_name == "stabilizer" else 1.0
    stiff = 250.0 + 0.13 * airplane.mass.mass

    def policy(memory, time, state, readings):
        standing, trim = memory
        shape = jnp.clip((time - plan.onset) / 6.0, 0.0, 1.0) - jnp.clip(
            (time - plan.onset - plan.length) / 6.0, 0.0, 1.0
        )
        bank, _, _ = attitude(state)
        path = jnp.arcsin(jnp.clip(-state.velocity_down / readings.true_airspeed, -1.0, 1.0))
        short = plan.path_angle + plan.climb * shape - path
        standing = jnp.clip(standing + STEP * 0.4 * stiff * short, -plan.strength, plan.strength)
        wanted = standing + stiff * short - 0.5 * stiff * state.pitch_rate
        force = plan.strength * jnp.tanh(wanted / plan.strength)
        trim = trim + STEP * plan.trims * relief * jnp.sign(force) * (jnp.abs(force) > TRIMMED)
        off = bank - plan.bank * shape
        inputs = replace(
            base,
            column_force=force,
            lever=tuple(
                jnp.clip(lever * (1.0 + plan.lever * shape), 0.0, 1.0) for lever in base.lever
            ),
            aileron=0.4 * off + 0.4 * state.roll_rate,
            **{trim_name: getattr(base, trim_name) + trim},
        )
        return inputs, (standing, trim)

    return policy


@jax.jit
def _simulate(airplanes: Airplane, plan: Ordinary, keys):
    def one(airplane, plan, key):
        return one_flight(
            airplane,
            plan,
            key,
            lambda start: _policy(start, plan, airplane),
            (jnp.asarray(0.0), jnp.asarray(0.0)),
        )

    return jax.vmap(one)(airplanes, plan, keys)


def simulate(airplane: Airplane, uncertainty: Uncertainty, *, seed: int, runs: int) -> list[Run]:
    """Fly ordinary runs of one airplane, its derivatives other than the analyst's."""
    rng = np.random.default_rng(seed)
    plan = make_plan(airplane, rng, runs)
    truths = apply_multipliers(
        airplane, true_multipliers(uncertainty, rng, runs, independent=False)
    )
    truths = jax.tree.map(lambda x: jnp.broadcast_to(jnp.asarray(x, float), (runs,)), truths)
    out = _simulate(truths, plan, jax.random.split(jax.random.key(seed), runs))
    out = jax.tree.map(np.asarray, out)
    found = []
    for i in range(runs):
        one, mine, truth = (jax.tree.map(lambda x, i=i: x[i], t) for t in (out, plan, truths))
        run = make_run(airplane, jax.tree.map(float, truth), mine, one, KINDS)
        found += [] if run is None else [run]
    return found


def study(seen: Seen) -> dict:
    """One run: the word for "nothing failed" and for the others."""
    run, nominal = seen.run, seen.nominal
    chain, _ = seen.analysed()
    after = run.time > run.onset
    return {
        "kind": run.kind,
        "airplane": nominal.name,
        "gust": run.gust,
        "load": np.ptp(run.series["load_factor"][after]),
        "pull": np.abs(run.series["column_force"][after]).max(),
        "words": {judged.cause: judged.word for judged in chain.verdicts},
        "probability": {judged.cause: judged.probability for judged in chain.verdicts},
    }


def report(rows: list[dict]) -> str:
    """The result in words and a table."""
    lines = [
        "# Ordinary flights: is *no failure* ever excluded?",
        "",
        f"{len(rows)} flights of three invented airplanes flown by a pilot with one hand, on half "
        "of them with trimming as well; tracks, airplanes and errors as in moments_recovery.md. "
        "The start of the maneuver is given as the onset. "
        "`python benchmarks/moments_ordinary.py` writes this.",
        "",
        "| flights | number | load factor range | largest pull or push | can | can if | cannot | "
        "not judged | least probability |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for kind in KINDS:
        mine = [r for r in rows if r["kind"] == kind]
        if not mine:
            continue
        counts = [sum(r["words"][CauseName.NO_FAILURE] == word for r in mine) for word in WORDS]
        least = np.nanmin([r["probability"][CauseName.NO_FAILURE] for r in mine])
        lines.append(
            f"| {kind} | {len(mine)} | {np.median([r['load'] for r in mine]):.2f} | "
            f"{max(r['pull'] for r in mine):.0f} N | {' | '.join(map(str, counts))} | "
            f"{100.0 * least:.1f}% |"
        )
    wrong = sum(r["words"][CauseName.NO_FAILURE] == "cannot" for r in rows)
    lines += ["", f"*No failure* is called *cannot* in {wrong} of {len(rows)} flights.", ""]
    return "\n".join(lines)


def main() -> None:
    """Run and write."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 120
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else 2
    made = seen_flights(simulate, TRACKS[:2], runs=runs, seed=SEED)
    rows = worked_through(study, made, processes)
    text = report(rows)
    print(text)
    RESULTS.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
