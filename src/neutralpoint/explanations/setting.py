"""What a flight starts from: airplane, air, steady flight, crew, and what the crew will do."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import jax
import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import Air
from neutralpoint.dynamics.equilibrium import Condition, Equilibrium, find_equilibrium
from neutralpoint.dynamics.quickly import quickly
from neutralpoint.dynamics.state import Inputs, State, attitude
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.autopilot import Autopilot
from neutralpoint.explanations.change import nose_down_sign
from neutralpoint.explanations.handling import Handling, known_handling
from neutralpoint.explanations.pilot import Pilot, Task
from neutralpoint.explanations.procedure import Procedure, Timetable, timetable


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Setting:
    """Everything about a flight but the cause.

    Args:
        airplane: Loaded as at the start.
        air: The column of air.
        state: Trimmed, at time 0.
        inputs: That hold it.
        task: What pilot or autopilot hold.
        handling: How the airplane answers, as they know it.
        pilot: Who flies.
        autopilot: What flies before.
        timetable: What the pilot does about it, by the clock.
        nose_down: Sign of the trim surface that turns the nose down.
        cue_delay: Time for which the trim must have moved until a sound tells, s; infinite =
            no such sound.
    """

    airplane: Airplane
    air: Air
    state: State
    inputs: Inputs
    task: Task
    handling: Handling
    pilot: Pilot
    autopilot: Autopilot
    timetable: Timetable
    nose_down: Scalar
    cue_delay: Scalar


def make_setting(
    airplane: Airplane,
    air: Air,
    equilibrium: Equilibrium,
    *,
    handling: Handling | None = None,
    pilot: Pilot | None = None,
    autopilot: Autopilot | None = None,
    procedure: Procedure = (),
    cue_delay: Scalar = jnp.inf,
    ground: Scalar = -jnp.inf,
) -> Setting:
    """A setting that starts from a steady flight.

    Args:
        airplane: The airplane.
        air: The column of air.
        equilibrium: Wings level or turning; best trimmed to no force.
        handling: Of this flight, where it is known already; else it is computed here.
        pilot: Defaults to a typical pilot.
        autopilot: Defaults to one that is off.
        procedure: Defaults to pulling only.
        cue_delay: See `Setting`.
        ground: Height of the ground that the pilot levels off above, m; minus infinity: none.

    Returns:
        The setting.
    """
    state = equilibrium.state
    task = Task(
        pitch=attitude(state)[1],
        climb=-state.velocity_down,
        ground=ground,
    )
    return Setting(
        airplane=airplane,
        air=air,
        state=state,
        inputs=equilibrium.inputs,
        task=task,
        handling=handling or _handling(airplane, air, equilibrium),
        pilot=pilot or Pilot(),
        autopilot=autopilot or Autopilot(),
        timetable=timetable(airplane.trim_drive.stops, procedure),
        nose_down=nose_down_sign(airplane),
        cue_delay=cue_delay,
    )


def _handling(airplane: Airplane, air: Air, equilibrium: Equilibrium) -> Handling:
    """What the pilot knows of the airplane in that steady flight."""
    state, inputs = equilibrium.state, equilibrium.inputs
    speed = equilibrium.readings.true_airspeed
    condition = Condition(
        speed=speed,
        height=equilibrium.readings.height,
        # Rounding of a vertical path may pass 1.
        path_angle=jnp.arcsin(jnp.clip(-state.velocity_down / speed, -1.0, 1.0)),
        lever=inputs.lever[0] if inputs.lever else 0.0,
        stabilizer=inputs.stabilizer,
        tab=inputs.tab,
        flap=inputs.flap,
        gear=inputs.gear,
    )
    return known_handling(airplane, air, condition)


def with_procedure(setting: Setting, procedure: Procedure) -> Setting:
    """The same setting with another procedure.

    Args:
        setting: Its airplane has the stop devices.
        procedure: What is done.

    Returns:
        The setting.
    """
    return dataclasses.replace(
        setting, timetable=timetable(setting.airplane.trim_drive.stops, procedure)
    )


@quickly
def _trimmed(airplane: Airplane, air: Air, condition: Condition) -> tuple[Equilibrium, Handling]:
    """One program for both: outside of one, the steady pull-up is compiled anew at every call."""
    found = find_equilibrium(airplane, air, condition)
    return found, _handling(airplane, air, found)


def trimmed_setting(airplane: Airplane, air: Air, condition: Condition, **crew) -> Setting:
    """A setting from hands-off flight in a condition.

    Args:
        airplane: With a pitch trim; without one the elevator force stays.
        air: The column of air.
        condition: Speed, height and path; what is unknown in pitch is set here.
        **crew: As in `make_setting`.

    Returns:
        The setting.
    """
    # Without a trim the column is held, and the elevator is what has to be found.
    find = "elevator" if airplane.trim_drive.kind == "none" else "trim"
    found, handling = _trimmed(airplane, air, dataclasses.replace(condition, find=find))
    return make_setting(airplane, air, found, handling=handling, **crew)
