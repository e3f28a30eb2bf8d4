"""The world, judged: pilots. Loops, smooth air, a stuck elevator, rough air, failures.

    python benchmarks/pilots.py [--pilots 16] [--seed 5] [--charts FOLDER] [--brief]

Pilots are drawn from `explanations.behaviour`, airplanes are those of the catalogue. Loops are
opened at the column of the flight that is flown: each memory is changed a little and flown one
step, and the transfer from a force on the column to the pilot's force gives the open loop, friction
left out: it has no slope.
"""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
from jax.flatten_util import ravel_pytree
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from other_pilot import flown_by_another

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.dynamics.state import attitude
from neutralpoint.explanations import (
    BEHAVIOURS,
    CAUSES,
    Cause,
    Effect,
    fly,
    one_step,
    pilot_of,
    start_flight,
    trimmed_setting,
    why_not,
)
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

RESULTS = Path(__file__).parent / "results" / "pilots.md"
STARTS = {
    "velmar-c7": Condition(speed=95.0, height=2000.0, path_angle=0.04),
    "ostrel-7": Condition(speed=125.0, height=3000.0, path_angle=0.03),
    "tarnley-180": Condition(speed=52.0, height=1000.0, path_angle=0.03),
}
STEP = 0.05
# Crossover and phase margin of people: 0.5 to 5 rad/s from relaxed to tight tracking, 20 to 80 deg,
# McRuer and Krendel, AGARDograph 188 (1974), and McRuer and Jex (1967), from memory.
CROSSOVER, MARGIN = (0.5, 5.0), (20.0, 80.0)
# Departed: pitch this far from its start, rad, or load factor this far from 1.
FAR_PITCH, FAR_LOAD = 15.0 * DEGREE, 0.7
# Oscillates: the pilot's load factor is this much restless than that of the airplane let go.
RESTLESS = 1.5
GUST = 1.5  # m/s, moderate: the middle of light and severe at low level
# What the typical pilot of commit d36054d made of the same flights. The twin was velmar-19 then.
BEFORE = {
    ("velmar-c7", "elevator stuck at trim"): "pitch -57.7 to 40.6 deg, n -0.79 to 4.51",
    ("ostrel-7", "elevator stuck at trim"): "pitch -33.8 to 39.8 deg, n -0.13 to 3.56",
    ("tarnley-180", "elevator stuck at trim"): "pitch 2.6 to 2.8 deg, n 1.00 to 1.00",
    ("velmar-c7", "elevator stuck 2 deg up"): "pitch -61.2 to 49.5 deg, n -0.78 to 4.49",
    ("ostrel-7", "elevator stuck 2 deg up"): "pitch -31.9 to 40.8 deg, n 0.08 to 3.03",
    ("tarnley-180", "elevator stuck 2 deg up"): "pitch -7.6 to 31.2 deg, n 0.63 to 1.44",
    ("velmar-c7", "all power lost"): "55 to 95 m/s, stalled, 3,761 m lost",
    ("ostrel-7", "all power lost"): "71 to 125 m/s, 176 m lost",
    ("tarnley-180", "all power lost"): "30 to 52 m/s, 307 m lost",
    ("velmar-c7", "one engine lost"): "76 to 95 m/s, 99 m gained",
    ("ostrel-7", "one engine lost"): "96 to 125 m/s, 148 m gained",
}
SCENES = {
    "elevator stuck at trim": ("elevator-jam", {"angle": 0.0}),
    "elevator stuck 2 deg up": ("elevator-jam", {"angle": -2.0 * DEGREE}),
    "column cut off": ("separation", {"jump": 0.0, "disconnected": 1.0}),
    "all power lost": ("power-loss-all", {"lost": 1.0}),
    "one engine lost": ("power-loss-one", {"lost": 1.0, "engine": 1.0}),
    "wind shear": ("wind-shear", {}),
    "load moved aft": ("load-shift-aft", {}),
    "autopilot disconnects": ("autopilot-mistrim", {}),
}
STILL = CAUSES["no-failure"]


def _push(parameters, moment) -> Effect:
    return Effect(body_force=parameters["force"])


PROBE = Cause(
    name=CauseName.UNLISTED,
    mechanism="A force on the column.",
    changes=(),
    parameters=(),
    cannot_explain=(),
    evidence=(),
    not_separable=(),
    act=_push,
)


@jax.jit
def _begin(setting):
    return ravel_pytree(start_flight(setting))[0]


@jax.jit
def _moved(setting, memory, force):
    """Each memory one step on, and the pilot's force then."""
    back = ravel_pytree(start_flight(setting))[1]

    def step(x, f):
        carry = one_step(setting, PROBE, {"force": f}, back(x), step=STEP)[0]
        return jnp.append(ravel_pytree(carry)[0], carry.mind.force)

    return jax.vmap(step)(memory, force)


def linear(setting):
    """State matrix, input, output and feedthrough about trimmed flight, by central differences."""
    control = dataclasses.replace(setting.airplane.pitch_control, friction=0.0)
    airplane = dataclasses.replace(setting.airplane, pitch_control=control)
    setting = dataclasses.replace(setting, airplane=airplane)
    at = np.asarray(_begin(setting), float)
    count, known = at.size, np.isfinite(at)
    size = np.where(known, 1e-5 * np.maximum(np.abs(np.where(known, at, 0.0)), 1.0), 0.0)
    moves = np.diag(size)
    memory = np.where(known, np.concatenate([at + moves, at - moves, [at, at]]), np.inf)
    force = np.r_[np.zeros(2 * count), 1e-3, -1e-3]
    found = np.asarray(_moved(setting, jnp.asarray(memory), jnp.asarray(force)))
    found = np.where(np.isfinite(found), found, 0.0)
    rows = (found[:count] - found[count : 2 * count]).T / np.where(size > 0, 2 * size, 1.0)
    enters = (found[-2] - found[-1]) / 2e-3
    return rows[:count], enters[:count], rows[count], enters[count]


def margins(setting) -> tuple[float, float, float]:
    """Crossover, rad/s, phase margin, deg, gain margin, dB, of the loop opened at the column."""
    matrix, enters, leaves, through = linear(setting)
    rate = np.logspace(-1.3, 1.3, 300)
    turned = np.exp(1j * rate * STEP)[:, None, None] * np.eye(len(matrix)) - matrix
    closed = np.linalg.solve(turned, np.broadcast_to(enters[:, None], (len(rate), len(enters), 1)))
    closed = (closed[:, :, 0] @ leaves) + through
    loop = -closed / (1.0 + closed)
    size = np.abs(loop)
    crossing = np.flatnonzero((size[:-1] >= 1.0) & (size[1:] < 1.0))
    if not len(crossing):
        return np.nan, np.nan, np.nan
    k = crossing[-1]
    phase = np.degrees(np.angle(-loop[k]))
    over = np.arange(k, len(rate) - 1)
    turns = over[(loop.imag[over] * loop.imag[over + 1] <= 0.0) & (loop.real[over] < 0.0)]
    gain = -20.0 * np.log10(size[turns[0]]) if len(turns) else np.inf
    return float(rate[k]), float(phase), float(gain)


def drawn(rng: np.random.Generator, count: int):
    """Pilots drawn, leaves (count,)."""
    share = (np.array([rng.permutation(count) for _ in BEHAVIOURS]) + 0.5) / count
    values = {
        p.name: np.asarray(p.prior.quantile(s)) for p, s in zip(BEHAVIOURS, share, strict=True)
    }
    return jax.vmap(pilot_of)(values)


def tracked(pilot):
    """The same pilot looking all the time, so that the loop is linear and steady."""
    ones = np.ones(np.shape(pilot.crossover))
    return dataclasses.replace(pilot, glance=1e-3 * ones, indifference=1e-9 * ones)


def one_of(tree, number: int):
    """One of a batch."""
    return jax.tree.map(lambda leaf: np.asarray(leaf)[number] if np.ndim(leaf) else leaf, tree)


def spread(values) -> str:
    """Median with 5 and 95%."""
    low, middle, high = np.quantile(values, (0.05, 0.5, 0.95))
    return f"{middle:.2f} ({low:.2f} to {high:.2f})"


def far(flight) -> np.ndarray:
    """Which of a batch of flights departed."""
    pitch = np.asarray(attitude(flight.state)[1])
    load = np.asarray(flight.readings.normal_load_factor)
    away = np.abs(pitch - pitch[:, :1]).max(axis=1) > FAR_PITCH
    return away | (np.abs(load - 1.0).max(axis=1) > FAR_LOAD) | ~np.isfinite(load).all(axis=1)


def make_flown():
    """Programs that fly batches of pilots; made anew for another pilot."""

    def calm(setting, pilots, keys, gust, duration):
        def one(pilot, key):
            own = dataclasses.replace(setting, pilot=pilot)
            return fly(own, STILL, {"gust": gust}, duration=duration, key=key, record_every=10)

        return jax.vmap(one)(pilots, keys)

    def failed(setting, pilots, parameters, duration):
        def one(pilot):
            own = dataclasses.replace(setting, pilot=pilot)
            return fly(own, ANY_CAUSE, parameters, duration=duration, record_every=5)

        return jax.vmap(one)(pilots)

    return jax.jit(calm, static_argnums=4), jax.jit(failed, static_argnums=3)


def of_air(setting, pilots, keys, programs, long: float = 600.0) -> dict[str, str]:
    """Smooth air for a time, s, with and without an elevator; two minutes of rough air."""
    calm, failed = programs
    count = len(keys)
    smooth = far(calm(setting, pilots, keys, 0.0, long))
    stuck = as_any(CAUSES["elevator-jam"], {"start": 2.0, "angle": 0.0})
    frozen = far(failed(setting, pilots, stuck, long))
    rough = calm(setting, pilots, keys, GUST, 120.0)
    gone = dataclasses.replace(pilots, strength=np.full(count, 1e-3), works_power=np.zeros(count))
    alone = calm(setting, gone, keys, GUST, 120.0)

    def restless(flight):
        return np.std(np.asarray(flight.readings.normal_load_factor), axis=1)

    ratio = restless(rough) / restless(alone)
    return {
        "depart in smooth air": f"{int(smooth.sum())} of {count}",
        "depart with a stuck elevator": f"{int(frozen.sum())} of {count}",
        "oscillate in rough air": f"{int((ratio > RESTLESS).sum())} of {count}",
        "load factor in rough air over hands off": spread(ratio),
    }


def told(flight, scene: str) -> str:
    """A flight in a line: the worst over the pilots' medians."""
    pitch = np.asarray(attitude(flight.state)[1]) / DEGREE
    r = flight.readings
    load, speed = np.asarray(r.normal_load_factor), np.asarray(r.true_airspeed)
    gain = float(np.median(np.asarray(r.height)[:, -1] - np.asarray(r.height)[:, 0]))
    if "power" in scene or "engine" in scene:
        rest = f"{abs(gain):,.0f} m {'gained' if gain > 0 else 'lost'}"
        return f"{np.median(speed.min(1)):.0f} to {np.median(speed.max(1)):.0f} m/s, {rest}"
    low, high = np.median(pitch.min(1)), np.median(pitch.max(1))
    least, most = np.median(load.min(1)), np.median(load.max(1))
    return f"pitch {low:.1f} to {high:.1f} deg, n {least:.2f} to {most:.2f}"


def chart(path: Path, title: str, flight) -> None:
    """Strip charts of a batch of flights."""
    pitch = np.asarray(attitude(flight.state)[1]) / DEGREE
    r = flight.readings
    strips = {
        "pitch, deg": pitch,
        "n": r.normal_load_factor,
        "TAS, m/s": r.true_airspeed,
        "climb, m/s": -flight.state.velocity_down,
        "pull, N": flight.applied_force,
        "trim, deg": np.asarray(flight.trim) / DEGREE,
        "lever": flight.lever,
    }
    figure = Figure(figsize=(9, 11))
    FigureCanvasAgg(figure)
    axes = figure.subplots(len(strips), 1, sharex=True)
    for axis, (label, curves) in zip(axes, strips.items(), strict=True):
        axis.plot(np.asarray(flight.time)[0], np.asarray(curves).T, lw=0.7)
        axis.set_ylabel(label)
        axis.grid(alpha=0.3)
    axes[0].set_title(title)
    figure.savefig(path, dpi=70, bbox_inches="tight")


def of_scenes(name, setting, pilots, programs, charts: Path | None, mark="") -> dict[str, str]:
    """What drawn pilots make of failures, 90 s each."""
    found = {}
    for scene, (cause, values) in SCENES.items():
        if why_not(CAUSES[cause], setting.airplane):
            continue
        whole = CAUSES[cause].middle() | {"start": 2.0} | values
        flight = programs[1](setting, pilots, as_any(CAUSES[cause], whole), 90.0)
        found[scene] = told(flight, scene)
        if charts:
            chart(
                charts / f"{name}-{scene.replace(' ', '-')}{mark}.png", f"{name}: {scene}", flight
            )
    return found


def table(head: list[str], rows: list[list[str]]) -> list[str]:
    """A table in Markdown."""
    rule = "|" + "---|" * len(head)
    return ["| " + " | ".join(head) + " |", rule, *("| " + " | ".join(r) + " |" for r in rows), ""]


def main() -> None:
    """Work everything out and write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pilots", type=int, default=16)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--charts", type=Path, default=None)
    parser.add_argument("--only", default="")
    parser.add_argument("--brief", action="store_true", help="loops and air alone")
    asked = parser.parse_args()
    count = asked.pilots
    pilots = drawn(np.random.default_rng(asked.seed), count)
    keys = jax.random.split(jax.random.key(asked.seed), count)
    # Traced while the other pilot flies, once for all airplanes of one kind.
    usual, fresh = make_flown(), make_flown()
    loops, airs, others, scenes = [], [], [], []
    settings = {}
    for name, condition in STARTS.items():
        if asked.only not in ("", name):
            continue
        setting = trimmed_setting(load_airplane(name).airplane, make_air(), condition)
        found = np.array(
            [
                margins(dataclasses.replace(setting, pilot=one_of(tracked(pilots), k)))
                for k in range(count)
            ]
        )
        inside = [
            int(np.sum((found[:, k] >= low) & (found[:, k] <= high)))
            for k, (low, high) in enumerate((CROSSOVER, MARGIN))
        ]
        loops.append(
            [name, *(spread(found[:, k]) for k in range(3)), *(f"{n} of {count}" for n in inside)]
        )
        print(loops[-1], flush=True)
        air = of_air(setting, pilots, keys, usual)
        airs.append([name, *air.values()])
        print(airs[-1], flush=True)
        write(asked, list(air), loops, airs, others, scenes)
        settings[name] = setting
    for name, setting in settings.items() if not asked.brief else ():
        after = of_scenes(name, setting, pilots, usual, asked.charts)
        with flown_by_another():
            others.append([name, *of_air(setting, pilots, keys, fresh, 120.0).values()])
            second = of_scenes(name, setting, pilots, fresh, asked.charts, "-other")
        print(others[-1], flush=True)
        scenes += [
            [name, s, BEFORE.get((name, s), ""), text, second[s]] for s, text in after.items()
        ]
        write(asked, list(air), loops, airs, others, scenes)


def write(asked, columns, loops, airs, others, scenes) -> None:
    """The page."""
    lines = [
        "# The world, judged: pilots",
        "",
        f"`benchmarks/pilots.py`: {asked.pilots} pilots drawn from `explanations.behaviour`, seed "
        f"{asked.seed}, on every catalogue airplane in a climb. Other seeds give other figures.",
        "",
        "## The pitch loop",
        "",
        "Opened at the column, vertical-speed loop closed around it, looking all the time. Median "
        "and 90% of pilots. Ranges of people, from memory of McRuer and Krendel (1974): crossover "
        f"{CROSSOVER[0]} to {CROSSOVER[1]} rad/s, phase margin {MARGIN[0]:.0f} to "
        f"{MARGIN[1]:.0f} deg.",
        "",
        *table(
            [
                "airplane",
                "crossover, rad/s",
                "phase margin, deg",
                "gain margin, dB",
                "crossover inside",
                "margin inside",
            ],
            loops,
        ),
        "## No failure, and a stuck elevator",
        "",
        "Ten minutes of smooth air; departed is pitch beyond "
        f"{FAR_PITCH / DEGREE:.0f} deg of its start or a load factor beyond {FAR_LOAD} of 1. "
        "Stuck: at trim, trim and power working. "
        f"Rough: {GUST} m/s for two minutes; oscillating is a load factor {RESTLESS} times as "
        "restless as that of the airplane hands off in the same air.",
        "",
        *table(["airplane", *columns], airs),
    ]
    if scenes:
        lines += [
            "## Failures, before and after",
            "",
            "90 s. Before: the typical pilot of commit d36054d. After: medians over the drawn "
            "pilots of each flight's extremes. Other: the second pilot of "
            "`benchmarks/other_pilot.py`, which blind tests fly and the study never does.",
            "",
            *table(["airplane", "flight", "before", "after", "the other pilot"], scenes),
            "## The other pilot in smooth and rough air",
            "",
            "Two minutes of each; otherwise as above.",
            "",
            *table(["airplane", *columns], others),
        ]
    RESULTS.write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
