"""The moment that the air puts on a moving stabilizer, and what it leaves of the motor's speed."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane, TrimDrive
from neutralpoint.dynamics.aerodynamics import Flow
from neutralpoint.dynamics.column import tail_incidence
from neutralpoint.dynamics.state import Inputs
from neutralpoint.dynamics.vectors import Scalar


def stabilizer_moment(
    airplane: Airplane, flow: Flow, inputs: Inputs, elevator: Scalar, alphadot: Scalar
) -> Scalar:
    """Moment of the air on the stabilizer about its pivot.

    The lift of the tail's incidence acts `pivot_arm` behind the pivot, that of the elevator
    `elevator_pivot_arm`; lift behind the pivot pushes the leading edge down. So a nose-down setting
    is pushed back by its own incidence, and pushed on by an elevator held nose-up.
    Source: statics; lift derivatives to stabilizer and elevator are those of the tail, Etkin and
    Reid (1996), section 2.3. Valid: attached flow at the tail, symmetric section (no moment of its
    own). Checked against: tests/unit/test_dynamics_trim_motor.py.

    Args:
        airplane: Stabilizer drive, derivatives.
        flow: Air as met.
        inputs: Stabilizer and flap.
        elevator: rad.
        alphadot: rad/s.

    Returns:
        N m, positive towards a larger angle (leading edge up). Zero where no arm is given.
    """
    lon, drive = airplane.longitudinal, airplane.trim_drive
    base, lag = tail_incidence(airplane, flow, inputs)
    # The tail lifts by its incidence, whatever turned it: the derivative to the setting serves for
    # both.
    by_incidence = lon.CL_stabilizer * (base + lag * alphadot) * drive.pivot_arm
    by_elevator = lon.CL_elevator * elevator * drive.elevator_pivot_arm
    # Lift behind the pivot turns the leading edge down, which is the negative way.
    return -flow.pressure * airplane.geometry.wing_area * (by_incidence + by_elevator)


def motor_share(drive: TrimDrive, against: Scalar) -> Scalar:
    """Share of its unloaded rate that the motor keeps against a moment.

    Straight from the unloaded rate to the loaded one, and straight on to the stall: the speed law
    of a motor with fixed excitation. A moment that helps does not hurry it, as behind a screw that
    holds itself. Common practice, no source.

    Args:
        drive: Rates and moments.
        against: Moment against the motion, N m; negative where it helps.

    Returns:
        0 to 1. 1 at any moment where the drive has neither a loaded rate nor a stall.
    """
    load = jnp.maximum(against, 0.0)
    unloaded = jnp.where(jnp.asarray(drive.rate) > 0.0, drive.rate, 1.0)  # 0: there is no motor
    kept = jnp.where(jnp.asarray(drive.loaded_rate) > 0.0, drive.loaded_rate / unloaded, 1.0)
    early = 1.0 - (1.0 - kept) * load / drive.load_moment
    beyond = drive.stall_moment - drive.load_moment
    # Without a stated stall the motor never stops, and infinity over infinity is no number.
    left = jnp.where(jnp.isinf(beyond), 1.0, (drive.stall_moment - load) / beyond)
    return jnp.where(load <= drive.load_moment, early, kept * jnp.clip(left, 0.0, 1.0))
