"""An airplane, a state of flight, inputs and air come in. Accelerations, steady states, column
forces, modes and whole flights go out, written for one state and batched by `jax.vmap`. Rigid
airplane, quasi-steady aerodynamics, flat-topped local frame with the height and gravity of the
ellipsoid, no rotation of the earth; importing this package switches JAX to float64.
"""

import jax

jax.config.update("jax_enable_x64", True)
