"""Small motions about a steady flight: the linear model and its modes."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import Air, wind
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.state import Inputs, State, attitude, ground_velocity, quaternion
from neutralpoint.dynamics.vectors import Scalar, add, body_to_ned, rotate, rotate_back

# States in the order speed, angle of attack, pitch rate, pitch, then sideslip, roll rate, yaw rate,
# bank: the pitch plane first.
CONTROLS = ("elevator", "column_force", "stabilizer", "tab", "aileron", "rudder")


@dataclass(frozen=True)
class Modes:
    """Modes of wings-level steady flight; complex roots in 1/s.

    Args:
        short_period: The faster pair of the pitch plane, shape (2,).
        phugoid: The slower pair; two real roots where it has broken up.
        dutch_roll: The oscillation of the lateral motion.
        roll: The fast lateral real root.
        spiral: The slow lateral real root.
    """

    short_period: np.ndarray
    phugoid: np.ndarray
    dutch_roll: np.ndarray
    roll: complex
    spiral: complex


def coordinates(state: State, air: Air, height: Scalar) -> Array:
    """The eight coordinates of `COORDINATES` of a state, wind taken at one height.

    Args:
        state: The state.
        air: The column of air.
        height: Where the wind is taken, m.

    Returns:
        (8,) m/s and rad, rad/s.
    """
    matrix = body_to_ned(state.e0, state.e1, state.e2, state.e3)
    blow = wind(air, height)
    through = tuple(a - b for a, b in zip(ground_velocity(state), blow, strict=True))
    u, v, w = rotate_back(matrix, through)
    speed = jnp.sqrt(u * u + v * v + w * w)
    bank, pitch, _ = attitude(state)
    return jnp.stack(
        [
            speed,
            jnp.arctan2(w, u),
            state.pitch_rate,
            pitch,
            jnp.arcsin(v / speed),
            state.roll_rate,
            state.yaw_rate,
            bank,
        ]
    )


def state_at(x: Array, like: State, air: Air, height: Scalar) -> State:
    """The state with given coordinates, and heading, place and engines as in another state.

    Args:
        x: (8,) in the order of `COORDINATES`.
        like: Gives heading, place and engines.
        air: The column of air.
        height: Where the wind is taken, m.

    Returns:
        The state.
    """
    speed, alpha, q, pitch, beta, p, r, bank = x
    _, _, heading = attitude(like)
    e = quaternion(bank=bank, pitch=pitch, heading=heading)
    flat = speed * jnp.cos(beta)
    through = (flat * jnp.cos(alpha), speed * jnp.sin(beta), flat * jnp.sin(alpha))
    velocity = add(rotate(body_to_ned(*e), through), wind(air, height))
    return dataclasses.replace(
        like,
        velocity_north=velocity[0],
        velocity_east=velocity[1],
        velocity_down=velocity[2],
        e0=e[0],
        e1=e[1],
        e2=e[2],
        e3=e[3],
        roll_rate=p,
        pitch_rate=q,
        yaw_rate=r,
    )


def linearize(airplane: Airplane, state: State, inputs: Inputs, air: Air) -> tuple[Array, Array]:
    """Linear model x' = A x + B u about a steady flight, by automatic differentiation.

    Height, heading and engine output are held, as in the textbooks' fourth-order models.
    With `pitch_by` "force" the elevator is free and the model is the stick-free one.

    Source: Etkin and Reid (1996), eq. 4.9,18 and 4.9,19 define the same matrices term by term.
    Checked against: tests/against/test_modes.py.

    Args:
        airplane: The airplane.
        state: Steady flight.
        inputs: That hold it.
        air: The column of air.

    Returns:
        A (8, 8) in the order of `COORDINATES`, B (8, 6) in the order of `CONTROLS`.
    """
    height = -state.down

    def rates(x, u):
        at = state_at(x, state, air, height)
        held = dataclasses.replace(inputs, **dict(zip(CONTROLS, u, strict=True)))
        change = evaluate(airplane, at, held, air)[0]
        # The chain rule turns rates of the state into rates of the eight coordinates.
        return jax.jvp(lambda s: coordinates(s, air, height), (at,), (change,))[1]

    x = coordinates(state, air, height)
    u = jnp.stack([jnp.asarray(getattr(inputs, name), float) for name in CONTROLS])
    return jax.jacfwd(rates, argnums=(0, 1))(x, u)


def _pairs(roots: np.ndarray) -> np.ndarray:
    # A stable order keeps the two roots of a pair side by side.
    return np.asarray(roots[np.argsort(-np.abs(roots), kind="stable")], complex)


def identify_modes(A: np.ndarray) -> Modes:
    """Name the modes of a linear model of wings-level flight.

    The pitch plane and the rest are taken as uncoupled. Short period is the pair of larger modulus;
    of the lateral roots the Dutch roll is the complex pair, the faster real root is roll.
    A second lateral pair (roll and spiral joined) leaves both roots complex in `roll` and `spiral`.

    Args:
        A: (8, 8) from `linearize`.

    Returns:
        The modes.
    """
    A = np.asarray(A)
    fast = _pairs(np.linalg.eigvals(A[:4, :4]))
    side = _pairs(np.linalg.eigvals(A[4:, 4:]))
    # Below this an imaginary part is rounding of two real roots.
    swings = side[np.abs(np.imag(side)) > 1e-9 * np.abs(side)]
    plain = [root for root in side if root not in swings[:2]]
    if len(swings) == 0:
        swings, plain = side[1:3], [side[0], side[3]]
    return Modes(fast[:2], fast[2:], swings[:2], complex(plain[0]), complex(plain[1]))


def frequency_and_damping(pair: np.ndarray) -> tuple[float, float]:
    """Undamped natural frequency and damping ratio of a pair of roots.

    Args:
        pair: (2,) roots, 1/s.

    Returns:
        rad/s and the ratio; NaN where the two roots have opposite signs.
    """
    a, b = np.asarray(pair, complex)
    # Product and sum of the roots say the same of a complex pair and of two real ones.
    square = (a * b).real
    if square <= 0.0:
        return float("nan"), float("nan")
    return float(np.sqrt(square)), float(-(a + b).real / (2.0 * np.sqrt(square)))
