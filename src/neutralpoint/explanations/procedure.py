"""A procedure: actions by the clock, and the timetable that they make.

A timetable is numbers only, so that one compiled flight serves every procedure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import jax
import numpy as np

from neutralpoint.airplane.model import Airplane, StopDevice
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.errors import NeutralPointError

ActionKind = Literal[
    "press",
    "hold",
    "release",
    "power",
    "restore power",
    "second person",
    "attitude",
    "trim and power",
    "lower nose",
    "raise nose",
]


@dataclass(frozen=True, kw_only=True)
class Action:
    """One action.

    Args:
        kind: "press" works a latching disconnect, a breaker, an opposing switch or takes the
            manual wheel; "hold" keeps a momentary device pressed until "release"; "power" moves
            the levers until "restore power"; "second person" adds two more hands; "attitude" goes
            by the attitude instruments from then on; "trim and power" flies on those and lets the
            column be; "lower nose" lets the nose down until
            "raise nose".
        device: Name of the stop device, "" for the others.
        wait: From the end of the action before, s.
        lever: For "power": the levers afterwards, 0 to 1.
    """

    kind: ActionKind
    device: str = ""
    wait: float = 0.0
    lever: float = 0.0


Procedure = tuple[Action, ...]


class Span(NamedTuple):
    """From `begin` until `end`, s after the start of the procedure; `hands` away meanwhile."""

    begin: Scalar = np.inf
    end: Scalar = np.inf
    hands: Scalar = 0.0


class Move(NamedTuple):
    """The levers go to `lever` at `begin`, s; below 0: back to where they would be."""

    begin: Scalar = np.inf
    lever: Scalar = 0.0


# Rows kept of each kind: timetables with fewer are filled up with rows that never begin, so that
# they have one shape; longer ones are longer.
HOLDS, HANDS, LEVERS, LOWERED = 2, 5, 3, 1
# How long power stays back after the other actions, s. Analyst's estimate.
IDLE_TIME = 12.0

# What is done in the trade's words, the one name in files, tables and charts. The simulated pilot
# holds the path, so column force is a pull against a nose-down fault and a push against a nose-up
# one; a name that said "pull" would be wrong for an aft load shift.
COLUMN_ALONE = "column force alone"
POWER_BACK = "power back, then column force"
SECOND_PERSON = "second person helps with column force"


class Timetable(NamedTuple):
    """When each effect of a procedure begins, s after its start; infinite = never.

    Args:
        holds: While a momentary device is held.
        hands: While hands are away from the column.
        levers: Moves of the power levers.
        lowered: While the nose is let down.
        was_held: A device that keeps the trim still after release has been held.
        latched: The trim is disconnected for good.
        breaker: The motor has no power.
        opposing: The opposing switch drives the trim back.
        wheel: The trim wheel is turned by hand.
        second: A second person helps with column force.
        attitude: Somebody goes by the attitude instruments.
        without: The pilot flies without the column.
        end: The last action has its effect.
    """

    holds: tuple[Span, ...]
    hands: tuple[Span, ...]
    levers: tuple[Move, ...]
    lowered: tuple[Span, ...]
    was_held: Scalar = np.inf
    latched: Scalar = np.inf
    breaker: Scalar = np.inf
    opposing: Scalar = np.inf
    wheel: Scalar = np.inf
    second: Scalar = np.inf
    attitude: Scalar = np.inf
    without: Scalar = np.inf
    end: Scalar = 0.0


# The onset that pressing a device of a kind sets.
PRESSED = {
    "latching_disconnect": "latched",
    "breaker": "breaker",
    "opposing_switch": "opposing",
    "manual_wheel": "wheel",
}


def find_device(devices: Sequence[StopDevice], name: str) -> StopDevice:
    """A stop device by its name.

    Args:
        devices: Those there are.
        name: What the crew calls it.

    Returns:
        The device.

    Raises:
        NeutralPointError: `argument-invalid` where there is none.
    """
    for device in devices:
        if device.name == name:
            return device
    known = ", ".join(device.name for device in devices)
    raise NeutralPointError(
        "argument-invalid",
        f"There is no stop device called {name!r}.",
        where="procedure",
        hint=f"The airplane has {known or 'none'}.",
    )


class _Writer:
    """The rows so far, and the clock."""

    def __init__(self, devices: Sequence[StopDevice]) -> None:
        self.devices, self.at = devices, 0.0
        self.holds: list[Span] = []
        self.hands: list[Span] = []
        self.levers: list[Move] = []
        self.lowered: list[Span] = []
        self.onset: dict[str, float] = {}
        self.holding: dict[str, tuple[int, int]] = {}

    def first(self, name: str) -> None:
        self.onset[name] = min(self.onset.get(name, np.inf), self.at)

    def reach(self, device: StopDevice) -> None:
        if device.hands and device.reach_time:
            self.hands.append(Span(self.at, self.at + device.reach_time, device.hands))
        self.at += device.reach_time

    def hold(self, device: StopDevice) -> None:
        self.reach(device)
        self.holding[device.name] = (len(self.holds), len(self.hands))
        self.holds.append(Span(self.at))
        self.hands.append(Span(self.at, np.inf, device.hands))
        if not device.release_restarts:
            self.first("was_held")

    def release(self, device: StopDevice) -> None:
        if device.name in self.holding:
            hold, hand = self.holding.pop(device.name)
            self.holds[hold] = self.holds[hold]._replace(end=self.at)
            self.hands[hand] = self.hands[hand]._replace(end=self.at)

    def free_the_thumb(self) -> None:
        """A thumb cannot hold two switches: the one that it held is let go."""
        for held in [d for d in self.devices if d.name in self.holding and not d.hands]:
            self.release(held)

    def press(self, device: StopDevice) -> None:
        if not device.hands:
            self.free_the_thumb()
        self.reach(device)
        if device.kind == "momentary_hold":
            return
        self.first(PRESSED[device.kind])
        if device.kind == "manual_wheel":
            self.hands.append(Span(self.at, np.inf, device.hands))

    def write(self, action: Action) -> None:
        self.at += action.wait
        if action.kind == "power":
            self.levers.append(Move(self.at, action.lever))
        elif action.kind == "restore power":
            self.levers.append(Move(self.at, -1.0))
        elif action.kind == "second person":
            self.first("second")
        elif action.kind in ("attitude", "trim and power"):
            self.first("attitude" if action.kind == "attitude" else "without")
        elif action.kind == "lower nose":
            self.lowered.append(Span(self.at))
        elif action.kind == "raise nose":
            self.lowered = [s._replace(end=min(s.end, self.at)) for s in self.lowered]
        else:
            getattr(self, action.kind)(find_device(self.devices, action.device))


def _filled(rows: list, blank: Span | Move, least: int) -> tuple:
    return tuple(rows + [blank] * (least - len(rows)))


def timetable(devices: Sequence[StopDevice], procedure: Procedure) -> Timetable:
    """The timetable of a procedure.

    The clock is exact: an action takes effect when its wait and the reach of its device are over,
    and the next one counts from there. A hand that reaches is away from the column for the time of
    reaching, and a device that is held or turned keeps as many hands as the airplane's file says: a
    thumb switch on the wheel keeps none, but the thumb cannot work another switch meanwhile.

    Args:
        devices: The stop devices there are.
        procedure: What is done.

    Returns:
        The timetable, of floats.

    Raises:
        NeutralPointError: `argument-invalid` for a device that is not there.
    """
    writer = _Writer(devices)
    for action in procedure:
        writer.write(action)
    found = Timetable(
        holds=_filled(writer.holds, Span(), HOLDS),
        hands=_filled(writer.hands, Span(), HANDS),
        levers=_filled(writer.levers, Move(), LEVERS),
        lowered=_filled(writer.lowered, Span(), LOWERED),
        end=writer.at,
        **writer.onset,
    )
    return jax.tree.map(float, found)


def power_back(wait: float, *between: Action) -> Procedure:
    """Power to idle, what is done meanwhile, and power again once speed has been brought down.

    Args:
        wait: Until the levers are moved, s.
        *between: Actions after that.

    Returns:
        The procedure.
    """
    restore = Action(kind="restore power", wait=IDLE_TIME)
    return (Action(kind="power", wait=wait), *between, restore)


SECOND = Action(kind="second person", wait=1.0)


def procedures_of(airplane: Airplane) -> dict[str, Procedure]:
    """A procedure for each way the airplane offers to stop its trim.

    The waits between actions are the analyst's; reach times are the airplane's.

    Args:
        airplane: With its stop devices.

    Returns:
        Procedures by name.
    """
    found: dict[str, Procedure] = {COLUMN_ALONE: ()}
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
    found[POWER_BACK] = power_back(1.0)
    found[SECOND_PERSON] = (SECOND,)
    found |= _together(found)
    return found


def _together(found: Mapping[str, Procedure]) -> dict[str, Procedure]:
    """What one crew of two would do at once: stop the trim, power back, both at the column.

    One for each way that stops the trim; the power comes back while it is stopped, by a hand of the
    second person, who then helps with column force.
    """
    own = [n for n, steps in found.items() if steps and steps[0].kind in ("hold", "press")]
    own = [n for n in own if not any(a.kind == "release" and a.wait > 1.0 for a in found[n])]
    return {f"{name}, power back and second person": _with_power(found[name]) for name in own}


def _with_power(steps: Procedure) -> Procedure:
    return power_back(0.5, *steps, SECOND)
