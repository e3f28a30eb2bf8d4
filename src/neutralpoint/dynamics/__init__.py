"""An airplane, a state of flight, inputs and air come in. Accelerations, steady states, column
forces, modes and whole flights go out, written for one state and batched by `jax.vmap`. Rigid
airplane, quasi-steady aerodynamics, flat local frame with the height and gravity of the ellipsoid,
no rotation of the earth; importing this package switches JAX to float64.
"""

import jax

from neutralpoint.airplane.model import TRACED

jax.config.update("jax_enable_x64", True)
for described in TRACED:
    jax.tree_util.register_dataclass(described)

from neutralpoint.dynamics.air import Air, make_air  # noqa: E402
from neutralpoint.dynamics.authority import (  # noqa: E402
    crossover_speed,
    force_against_speed,
    holdable_mistrim,
    pull_per_g,
)
from neutralpoint.dynamics.equations import evaluate  # noqa: E402
from neutralpoint.dynamics.equilibrium import (  # noqa: E402
    OUTCOMES,
    Condition,
    Equilibrium,
    find_equilibrium,
    find_pull_up,
)
from neutralpoint.dynamics.flight import STEP, Flight, advance, fly, scheduled  # noqa: E402
from neutralpoint.dynamics.modes import Modes, identify_modes, linearize  # noqa: E402
from neutralpoint.dynamics.state import (  # noqa: E402
    Gust,
    Inputs,
    Readings,
    State,
    attitude,
    make_inputs,
)
from neutralpoint.dynamics.turbulence import Turbulence, mil_turbulence  # noqa: E402

__all__ = [
    "OUTCOMES",
    "STEP",
    "Air",
    "Condition",
    "Equilibrium",
    "Flight",
    "Gust",
    "Inputs",
    "Modes",
    "Readings",
    "State",
    "Turbulence",
    "advance",
    "attitude",
    "crossover_speed",
    "evaluate",
    "find_equilibrium",
    "find_pull_up",
    "fly",
    "force_against_speed",
    "holdable_mistrim",
    "identify_modes",
    "linearize",
    "make_air",
    "make_inputs",
    "mil_turbulence",
    "pull_per_g",
    "scheduled",
]
