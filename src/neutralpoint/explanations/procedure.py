"""A procedure: actions on the stop devices by the clock, and what they do to the trim motor."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import jax
import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane, StopDevice, TrimDrive
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.errors import NeutralPointError

ActionKind = Literal["press", "hold", "release", "power", "second person"]


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Action:
    """One action.

    Args:
        kind: "press" works a latching disconnect, a breaker, an opposing switch or takes the
            manual wheel; "hold" keeps a momentary device pressed until "release"; "power" moves
            the levers; "second person" adds two more hands. Static.
        device: Name of the stop device, "" for power and second person. Static.
        wait: From the end of the action before, s.
        lever: For "power": the levers afterwards, 0 to 1.
    """

    kind: ActionKind = field(metadata={"static": True})
    device: str = field(metadata={"static": True}, default="")
    wait: Scalar = 0.0
    lever: Scalar = 0.0


Procedure = tuple[Action, ...]


class Crew(NamedTuple):
    """What the crew is doing to the airplane at one instant; 0 or 1 unless said.

    Args:
        held: A momentary device is held.
        was_held: One that keeps the trim still after release has been held.
        latched: The trim is disconnected for good.
        breaker: The motor has no power.
        opposing: The opposing switch drives the trim back.
        wheel: The trim wheel is turned by hand.
        power: The levers have been moved.
        lever: To where, 0 to 1.
        hands: Hands that are away from the column.
        second: A second person pulls.
    """

    held: Scalar = 0.0
    was_held: Scalar = 0.0
    latched: Scalar = 0.0
    breaker: Scalar = 0.0
    opposing: Scalar = 0.0
    wheel: Scalar = 0.0
    power: Scalar = 0.0
    lever: Scalar = 0.0
    hands: Scalar = 0.0
    second: Scalar = 0.0


def find_device(airplane: Airplane, name: str) -> StopDevice:
    """A stop device by its name.

    Args:
        airplane: That has it.
        name: What the crew calls it.

    Returns:
        The device.

    Raises:
        NeutralPointError: `argument-invalid` where there is none.
    """
    for device in airplane.trim_drive.stops:
        if device.name == name:
            return device
    known = ", ".join(device.name for device in airplane.trim_drive.stops)
    raise NeutralPointError(
        "argument-invalid",
        f"{airplane.name} has no stop device called {name!r}.",
        where="procedure",
        hint=f"It has {known or 'none'}.",
    )


def crew_at(airplane: Airplane, procedure: Procedure, start: Scalar, time: Scalar) -> Crew:
    """What a crew that began a procedure at a time is doing at another.

    The clock is exact: an action takes effect when its wait and the reach of its device are over,
    and the next one counts from there. A hand that reaches is away from the column for the time of
    reaching. A momentary device that is held costs one hand even where its switch is on the wheel
    (common practice, no source).

    Args:
        airplane: Gives the devices.
        procedure: What is done.
        start: Of the procedure, s; infinite = not begun.
        time: s.

    Returns:
        The crew.
    """
    crew = Crew()
    at = start
    holding: dict[str, Scalar] = {}
    for action in procedure:
        if action.kind == "power":
            at = at + action.wait
            on = (time >= at) * 1.0
            crew = crew._replace(
                power=jnp.maximum(crew.power, on), lever=jnp.where(on > 0, action.lever, crew.lever)
            )
            continue
        if action.kind == "second person":
            at = at + action.wait
            crew = crew._replace(second=jnp.maximum(crew.second, (time >= at) * 1.0))
            continue
        device = find_device(airplane, action.device)
        begin = at + action.wait
        if action.kind == "release":
            at = begin
            gone = (time >= at) * 1.0
            was = holding.pop(device.name, 0.0)
            crew = crew._replace(
                held=crew.held - was * gone,
                hands=crew.hands - was * gone * max(device.hands, 1),
                was_held=crew.was_held
                if device.release_restarts
                else jnp.maximum(crew.was_held, was),
            )
            continue
        at = begin + device.reach_time
        on = (time >= at) * 1.0
        reaching = (time >= begin) * (1.0 - on) * device.hands
        crew = crew._replace(hands=crew.hands + reaching)
        if action.kind == "hold":
            holding[device.name] = on
            crew = crew._replace(held=crew.held + on, hands=crew.hands + on * max(device.hands, 1))
        elif device.kind == "latching_disconnect":
            crew = crew._replace(latched=jnp.maximum(crew.latched, on))
        elif device.kind == "breaker":
            crew = crew._replace(breaker=jnp.maximum(crew.breaker, on))
        elif device.kind == "opposing_switch":
            crew = crew._replace(opposing=jnp.maximum(crew.opposing, on))
        elif device.kind == "manual_wheel":
            crew = crew._replace(
                wheel=jnp.maximum(crew.wheel, on), hands=crew.hands + on * device.hands
            )
    return crew


def procedure_end(airplane: Airplane, procedure: Procedure) -> Scalar:
    """Time from the start of a procedure to the effect of its last action.

    Args:
        airplane: Gives the reach times.
        procedure: The procedure.

    Returns:
        s.
    """
    total = 0.0
    for action in procedure:
        reach = 0.0
        if action.device and action.kind != "release":
            reach = find_device(airplane, action.device).reach_time
        total = total + action.wait + reach
    return total


def trim_speed(
    drive: TrimDrive, crew: Crew, *, fault: Scalar, asked: Scalar, away: Scalar
) -> Scalar:
    """How fast the trim moves, nose down positive.

    The states, in order of precedence: a hand on the wheel turns it back whatever the motor does;
    a motor without power, disconnected, held, or held before by a device whose release does not
    restart it, stands still; the opposing switch drives it back to where it was; a fault drives
    it; otherwise whoever asks drives it.

    The motor's loss of speed under load is part of the cause's rate and not worked out here.

    Args:
        drive: Rates.
        crew: What is done to the stop devices.
        fault: Share of the motor's rate that the fault commands, nose down positive.
        asked: Rate that the pilot's or autopilot's trim asks for, rad/s.
        away: Trim away from where it was at the start, rad, nose down positive.

    Returns:
        rad/s.
    """
    back = -jnp.sign(away) * (jnp.abs(away) > 1e-4)
    faulty = fault != 0.0
    motor = jnp.where(faulty, fault * drive.rate, asked)
    motor = jnp.where(faulty & (crew.opposing > 0.0), back * drive.rate, motor)
    still = jnp.maximum(jnp.maximum(crew.held, crew.latched), crew.breaker)
    still = jnp.maximum(still, faulty * crew.was_held)
    motor = jnp.where(still > 0.0, 0.0, motor)
    return jnp.where(crew.wheel > 0.0, back * drive.manual_rate, motor)


def procedures_of(airplane: Airplane) -> dict[str, Procedure]:
    """A procedure for each way the airplane offers to stop its trim.

    The waits between actions are the analyst's; reach times are the airplane's.

    Args:
        airplane: With its stop devices.

    Returns:
        Procedures by name.
    """
    idle = Action(kind="power", wait=1.0)
    found: dict[str, Procedure] = {"only pull": ()}
    momentary = [d for d in airplane.trim_drive.stops if d.kind == "momentary_hold"]
    breakers = [d for d in airplane.trim_drive.stops if d.kind == "breaker"]
    for device in airplane.trim_drive.stops:
        if device.kind == "momentary_hold":
            hold = Action(kind="hold", device=device.name)
            found[f"hold {device.name}"] = (hold,)
            found[f"hold {device.name} for 5 s"] = (
                hold,
                Action(kind="release", device=device.name, wait=5.0),
            )
        else:
            found[device.name] = (Action(kind="press", device=device.name),)
    for first in momentary:
        for breaker in breakers:
            found[f"hold {first.name}, then {breaker.name}"] = (
                Action(kind="hold", device=first.name),
                Action(kind="press", device=breaker.name, wait=1.0),
                Action(kind="release", device=first.name, wait=0.5),
            )
    found["power back, then pull"] = (idle,)
    return found
