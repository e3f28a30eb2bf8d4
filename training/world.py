"""Where flights to learn from start: airplanes and candidates of steady flights.

    python training/world.py FILE [--airplanes N] [--starts N] [--seed N]

Needs the whole package; the file it writes is read by `learn.py` alone and is not published.
"""

from __future__ import annotations

import argparse
import dataclasses
import pickle
import time
from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from family import draw_family
from places import CAUSE_NAMES, KINDS, Kind, Place

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.uncertainty import NAMES
from neutralpoint.earth import atmosphere
from neutralpoint.weighing.blind import other_airplane
from neutralpoint.weighing.effects import effects, start_equilibrium
from neutralpoint.weighing.simulate import FLOWN, flyable

# Widest heights that each kind of engine is flown at, m; analyst's.
LANES = 256  # starts that are trimmed at once
CEILING = {"piston": 4000.0, "turboprop": 8500.0, "turbofan": 12500.0}


def _plain(airplane: Airplane, like: Airplane) -> Airplane:
    """The same numbers with the static parts of another, so that both are one structure."""
    return jax.tree.unflatten(jax.tree.structure(like), jax.tree.leaves(airplane))


def _starts(airplane: Airplane, rng: np.random.Generator, count: int) -> dict[str, np.ndarray]:
    """Candidate steady flights: not all exist, which is found out when they are trimmed."""
    lon, limits = airplane.longitudinal, airplane.limits
    height = rng.uniform(200.0, CEILING[airplane.engines[0].kind], count)
    warmth = 8.0 * rng.standard_normal(count)
    flap = np.where(rng.random(count) < 0.75, 0.0, rng.uniform(0.2, 1.0, count))
    gear = np.where((flap > 0.0) & (rng.random(count) < 0.6), 1.0, 0.0)
    standard = atmosphere.temperature(height)
    density = atmosphere.pressure(height) / (287.05287 * (standard + warmth))
    most = lon.CL_0 + lon.CL_alpha * (lon.stall_angle + lon.stall_angle_flap * flap)
    most = most + lon.CL_flap * flap
    weight = airplane.mass.mass * 9.80665
    stall = np.sqrt(2.0 * weight / (density * airplane.geometry.wing_area * most))
    fastest = limits.never_exceed_speed * np.sqrt(1.225 / density)
    sound = np.sqrt(1.4 * 287.05287 * (standard + warmth))
    fastest = np.minimum(fastest, np.minimum(limits.never_exceed_mach, 0.85) * sound)
    fastest = np.where(flap > 0.0, np.minimum(fastest, 1.9 * stall), 0.98 * fastest)
    share = rng.random(count)
    slowest = np.minimum(1.2 * stall, 0.9 * fastest)
    way = rng.random(count)
    path = np.where(way < 0.5, 0.008 * rng.standard_normal(count), rng.uniform(-0.09, 0.13, count))
    return {
        "speed": slowest * (fastest / slowest) ** share,
        "path_angle": path,
        "height": height,
        "temperature_offset": warmth,
        "flap": flap,
        "gear": gear,
    }


@jax.jit
def _trimmed(airplanes, of, start):
    """Which starts exist, and what is told of them."""

    def one(number, at):
        airplane = jax.tree.map(lambda leaf: leaf[number], airplanes)
        found = effects(airplane, at)
        _, steady = start_equilibrium(airplane, at)
        return steady.outcome == 0, jnp.stack([found[name] for name in sorted(found)])

    return jax.lax.map(lambda given: one(*given), (of, start), batch_size=LANES)


def trimmed(place: Place) -> Place:
    """The place with those of its starts that exist, and what is told of each.

    Args:
        place: With candidates.

    Returns:
        The place.
    """
    airplanes = jax.tree.map(jnp.asarray, place.airplanes)
    good, told = (np.asarray(x) for x in _trimmed(airplanes, place.of, place.start))
    there = np.flatnonzero(good & np.isfinite(told).all(axis=1))
    start = {name: values[there] for name, values in place.start.items()}
    return dataclasses.replace(
        place, start=start, of=place.of[there], told=told[there].astype(np.float32)
    )


def place_of(kind: Kind, rng: np.random.Generator, airplanes: int, starts: int) -> Place:
    """Airplanes of one kind and candidate starts.

    Args:
        kind: Which.
        rng: Source of chance.
        airplanes: How many; a tenth of them are held out, a twentieth more lie outside.
        starts: Of each.

    Returns:
        The place.
    """
    inside = draw_family(kind, rng, airplanes)
    outside = draw_family(kind, rng, max(airplanes // 20, 3), wide=2.5)[1:]
    described = [*inside, *outside]
    split = np.where(np.arange(len(described)) % 10 == 9, 1, 0)
    split[0] = 2
    split[len(inside) :] = 3
    like = dataclasses.replace(described[0].airplane, name="")
    planes = [_plain(d.airplane, like) for d in described]
    allowed = np.zeros((len(described), len(CAUSE_NAMES)), bool)
    allowed[:, -1] = True
    for number, d in enumerate(described):
        for cause in flyable(d.airplane):
            allowed[number, FLOWN.index(cause)] = True
    drawn = [_starts(plane, rng, starts) for plane in planes]

    def sigma(uncertainty: Any) -> list[float]:
        return [uncertainty.sigma.get(name, 0.0) for name in NAMES]

    return Place(
        kind,
        tuple(int(i) for i in np.flatnonzero(allowed[:, :-1].any(axis=0))),
        jax.tree.map(lambda *leaves: np.stack([np.asarray(x, float) for x in leaves]), *planes),
        np.array([sigma(d.uncertainty.flown()) for d in described]),
        np.array([sigma(other_airplane(d.uncertainty)) for d in described]),
        allowed,
        split,
        {name: np.concatenate([each[name] for each in drawn]) for name in drawn[0]},
        np.repeat(np.arange(len(planes)), starts),
        np.zeros((0, 0), np.float32),
    )


def main() -> None:
    """Make and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", type=Path)
    parser.add_argument("--airplanes", type=int, default=300, help="of each kind")
    parser.add_argument("--starts", type=int, default=20, help="of each airplane, before trimming")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    found = []
    for number, kind in enumerate(KINDS):
        begun = time.perf_counter()
        rng = np.random.default_rng([options.seed, number])
        found.append(trimmed(place_of(kind, rng, options.airplanes, options.starts)))
        print(f"{kind}: {time.perf_counter() - begun:.0f} s", flush=True)
    options.file.write_bytes(pickle.dumps(found))


if __name__ == "__main__":
    main()
