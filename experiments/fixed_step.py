"""Which fixed step does a flight need?

Asked: the largest step whose error in 60 s stays far below what any track can show (an altitude
step of 25 ft has a standard deviation of 2.2 m), for every airplane of the catalogue, in a
stabilizer or tab runaway from level flight with a late, strong pull: speeds and rates at their
highest, stall included. Also asked: how far the step is from the stability limit of the rule,
2.785 / |fastest root|.

Run: .venv/bin/python experiments/fixed_step.py      Result: experiments/fixed_step.md
"""

from __future__ import annotations

import dataclasses
from importlib.resources import files

import jax
import jax.numpy as jnp
import numpy as np

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.dynamics.flight import fly, scheduled
from neutralpoint.dynamics.modes import linearize

AIR = make_air()
STEPS = (0.2, 0.1, 0.05, 0.025)
REFERENCE = 0.003125
STABLE = 2.785  # of the classical Runge-Kutta rule on the negative real axis, Hairer et al. (1993)


def cruise(name: str) -> tuple[float, float]:
    """True airspeed, m/s, and height, m, of the start: analyst's choice per airplane."""
    return {"tarnley-180": (58.0, 2000.0), "velmar-c7": (110.0, 4000.0)}.get(name, (190.0, 9000.0))


def flights(airplane, trimmed, step: float):
    """Nine flights: three trim rates, three pulls; records once a second."""
    kind = airplane.trim_drive.kind
    start = getattr(trimmed.inputs, kind)
    end = {"stabilizer": airplane.trim_drive.travel_max, "tab": airplane.trim_drive.travel_min}
    travel = 0.5 * (end[kind] - start)

    def one(rate, pull):
        def at(t):
            run = jnp.clip((t - 5.03) * rate, 0.0, 1.0) * travel
            force = pull * jnp.clip((t - 9.47) / 0.5, 0.0, 1.0)
            moved = {kind: start + run, "column_force": force, "pitch_by": "force"}
            return dataclasses.replace(trimmed.inputs, **moved)

        record = fly(
            airplane,
            trimmed.state,
            scheduled(at),
            None,
            AIR,
            steps=round(60.0 / step),
            step=step,
            record_every=round(1.0 / step),
            inputs=at(0.0),
        )
        return record.readings

    grid = jnp.meshgrid(jnp.array([0.05, 0.1, 0.3]), jnp.array([50.0, 150.0, 350.0]))
    return jax.jit(jax.vmap(one))(*(g.ravel() for g in grid))


def main() -> None:
    """Print one table per airplane."""
    for resource in sorted(files("neutralpoint.airplane").joinpath("catalogue").iterdir()):
        name = resource.name.removesuffix(".toml")
        airplane = load_airplane(resource).airplane
        speed, height = cruise(name)
        wanted = Condition(find="trim", speed=speed, height=height)
        trimmed = jax.jit(find_equilibrium)(airplane, AIR, wanted)
        A = jax.jit(linearize)(airplane, trimmed.state, trimmed.inputs, AIR)[0]
        fastest = np.abs(np.linalg.eigvals(np.asarray(A))).max()
        exact = flights(airplane, trimmed, REFERENCE)
        top = float(exact.true_airspeed.max())
        print(f"## {name}: trimmed at {speed:.0f} m/s (outcome {int(trimmed.outcome)}), ", end="")
        print(f"reaches {top:.0f} m/s, n {float(exact.normal_load_factor.min()):.1f} to ", end="")
        print(
            f"{float(exact.normal_load_factor.max()):.1f}; fastest root {fastest:.1f} 1/s, ", end=""
        )
        print(f"at top speed about {fastest * top / speed:.1f} 1/s")
        print("| step, s | height, m | speed, m/s | load factor | step / stable at top speed |")
        print("|---|---|---|---|---|")
        for step in STEPS:
            found = flights(airplane, trimmed, step)
            errors = [
                float(jnp.abs(getattr(found, x) - getattr(exact, x)).max())
                for x in ("height", "true_airspeed", "normal_load_factor")
            ]
            share = step * fastest * top / speed / STABLE
            print(f"| {step} | " + " | ".join(f"{e:.1e}" for e in errors) + f" | {share:.2f} |")


if __name__ == "__main__":
    main()
