"""What a crew could do about a cause: procedures that have a meaning for it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from neutralpoint.airplane.model import Airplane, StopDevice
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.procedure import (
    COLUMN_ALONE,
    POWER_BACK,
    SECOND,
    SECOND_PERSON,
    Action,
    Procedure,
    Timetable,
    power_back,
    procedures_of,
    timetable,
)

# How long the nose is let down to gain speed, s. Analyst's estimate.
LOWERED = 8.0
_COLUMN: dict[str, Procedure] = {COLUMN_ALONE: ()}
_POWER_BACK: dict[str, Procedure] = {POWER_BACK: power_back(1.0)}
_SECOND: dict[str, Procedure] = {SECOND_PERSON: (SECOND,)}
_FULL_POWER: dict[str, Procedure] = {"full power": (Action(kind="power", lever=1.0),)}
_LOWER_NOSE: dict[str, Procedure] = {
    "nose down, full power": (
        Action(kind="lower nose"),
        Action(kind="power", lever=1.0),
        Action(kind="raise nose", wait=LOWERED),
    )
}
_ATTITUDE: dict[str, Procedure] = {"fly by the attitude instruments": (Action(kind="attitude"),)}
_TRIM_AND_POWER: dict[str, Procedure] = {"fly on trim and power": (Action(kind="trim and power"),)}
_TAKE_OVER: dict[str, Procedure] = {"second person takes over": (Action(kind="second person"),)}

# What has a meaning for any cause that says nothing else.
_ANY: dict[str, Procedure] = _COLUMN | _POWER_BACK
# Beside the causes that work the trim. Which actions count is an analyst's choice.
_ANSWERS: dict[str, dict[str, Procedure]] = {
    "takeoff-mistrim": _COLUMN | _POWER_BACK | _SECOND,
    "separation": _COLUMN | _TRIM_AND_POWER | _POWER_BACK | _SECOND,
    "elevator-jam": _COLUMN | _TRIM_AND_POWER | _POWER_BACK,
    "load-shift-aft": _COLUMN | _POWER_BACK | _SECOND,
    "load-shift-forward": _COLUMN | _POWER_BACK | _SECOND,
    "power-loss-one": _COLUMN | _LOWER_NOSE,
    "wing-stall": _COLUMN | _FULL_POWER | _LOWER_NOSE,
    "tailplane-stall": _COLUMN | _POWER_BACK | _SECOND,
    "spiral-dive": _COLUMN | _ATTITUDE,
    "somatogravic-input": _COLUMN | _ATTITUDE,
    "control-input": _COLUMN | _TAKE_OVER,
    "incapacitation": _COLUMN | _TAKE_OVER,
    "wind-shear": _COLUMN | _FULL_POWER,
}
_NO_MEANING = {
    "no-failure": "Rough air has no start and no fault that an action could end: neither a "
    "map nor a latest safe action has a meaning.",
    "power-loss-all": "Without power the sink does not end, whatever is done: neither a map over "
    "height nor a latest safe action has a meaning.",
    "structural-failure": "What is left of the airplane after a structural failure is not known "
    "well enough: neither a map nor a latest safe action has a meaning.",
    "unlisted": "A cause that is not listed cannot be flown.",
}


class Answer(NamedTuple):
    """What a crew does, and what of the airplane that needs.

    Args:
        timetable: Of the procedure.
        cue_delay: Trim motion until a sound tells, s; infinite = none.
        manual_rate: Of a trim wheel, rad/s.
    """

    timetable: Timetable
    cue_delay: Scalar
    manual_rate: Scalar


def works_the_trim(cause: Cause) -> bool:
    """Whether stop devices of the trim have a meaning for a cause.

    Args:
        cause: The cause.

    Returns:
        True where the cause needs a trim drive to act.
    """
    return bool(cause.needs_trim)


def why_no_map(cause: Cause) -> str:
    """Why time and strength have no meaning for a cause.

    Args:
        cause: The cause.

    Returns:
        A sentence, empty where they have.
    """
    return _NO_MEANING.get(cause.name, "")


def why_no_rate_map(cause: Cause) -> str:
    """Why a map over the trim rate has no meaning for a cause.

    Args:
        cause: The cause.

    Returns:
        A sentence, empty where it has.
    """
    if any(p.name == "rate_share" for p in cause.parameters):
        return ""
    return f"{cause.title}: no motor drives the trim, so a map over its rate has no meaning."


def answers_to(cause: Cause, airplane: Airplane) -> dict[str, Procedure]:
    """The procedures that have a meaning for a cause.

    Args:
        cause: The cause.
        airplane: With its stop devices.

    Returns:
        Procedures by name, the first one without any action; empty where none has a meaning.
    """
    if why_no_map(cause):
        return {}
    return procedures_of(airplane) if works_the_trim(cause) else _ANSWERS.get(cause.name, _ANY)


def answer(
    airplane: Airplane, procedure: Procedure, *, added: tuple[StopDevice, ...] = ()
) -> Answer:
    """A procedure as numbers.

    Args:
        airplane: With its stop devices.
        procedure: What is done.
        added: Devices that the airplane does not have.

    Returns:
        The answer.
    """
    drive = airplane.trim_drive
    return Answer(timetable((*drive.stops, *added), procedure), np.inf, drive.manual_rate)
