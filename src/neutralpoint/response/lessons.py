"""What another design or habit would have bought: lessons for design and training, never blame."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from neutralpoint.airplane.model import Airplane, StopDevice
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.procedure import POWER_BACK, Action, Procedure, power_back
from neutralpoint.response.answers import Answer, answer, works_the_trim

# Reach times of devices that the airplane does not have, s, and rate of an unloaded wheel over that
# of the motor. Analyst's estimates: a hand winds slower than a motor, and `explanations.crew` slows
# it further under load.
LATCH_REACH, WHEEL_REACH, WHEEL_SHARE = 0.5, 1.0, 0.5
# How long a thumb stays on a button before the hand is wanted elsewhere, s. Analyst's estimate.
GRIP = 5.0
# A sound after this much trim motion, s. Analyst's estimate.
CUE_DELAY = 1.0

LATCH = StopDevice(
    name="added latching button",
    kind="latching_disconnect",
    reach_time=LATCH_REACH,
    hands=0,
    release_restarts=False,
)
WHEEL = StopDevice(
    name="added trim wheel",
    kind="manual_wheel",
    reach_time=WHEEL_REACH,
    hands=1,
    release_restarts=False,
)


@dataclass(frozen=True)
class Lesson:
    """One change of design or training.

    Args:
        name: Key; `report.words.lessons` says it to readers.
        of_trim: Whether it has a meaning only where the trim drive is at fault.
        change: From the airplane and its procedure to the changed answer.
        of_button: Whether it needs a button whose release lets the trim run on.
    """

    name: str
    of_trim: bool
    change: Callable[[Airplane, Procedure], Answer]
    of_button: bool = False


def _latch(airplane: Airplane, procedure: Procedure) -> Answer:
    return answer(airplane, (Action(kind="press", device=LATCH.name),), added=(LATCH,))


def _wheel(airplane: Airplane, procedure: Procedure) -> Answer:
    press = Action(kind="press", device=WHEEL.name)
    return answer(airplane, (press,), added=(WHEEL,))._replace(
        manual_rate=WHEEL_SHARE * airplane.trim_drive.rate
    )


def _grips(airplane: Airplane) -> list[StopDevice]:
    """Buttons that let the fault go on once they are let go."""
    stops = airplane.trim_drive.stops
    return [d for d in stops if d.kind == "momentary_hold" and d.release_restarts]


def _grip(airplane: Airplane, procedure: Procedure) -> Answer:
    button = _grips(airplane)[0].name
    hold = Action(kind="hold", device=button)
    return answer(airplane, (hold, Action(kind="release", device=button, wait=GRIP)))


def _power(airplane: Airplane, procedure: Procedure) -> Answer:
    rest = () if any(a.kind == "power" for a in procedure) else procedure
    return answer(airplane, power_back(0.0, *rest))


def _sound(airplane: Airplane, procedure: Procedure) -> Answer:
    return answer(airplane, procedure)._replace(cue_delay=CUE_DELAY)


LESSONS = (
    Lesson("latching button", True, _latch),
    Lesson("manual wheel", True, _wheel),
    Lesson("button released", True, _grip, of_button=True),
    Lesson("earlier power cut", False, _power),
    Lesson("sound of trim", True, _sound),
)


def reference_procedure(procedures: Mapping[str, Procedure]) -> str:
    """The procedure that lessons are compared with: the first in which anything is done.

    Args:
        procedures: By name.

    Returns:
        Its name.
    """
    return next(name for name, steps in procedures.items() if steps)


def lessons_for(
    cause: Cause, airplane: Airplane, procedures: Mapping[str, Procedure]
) -> dict[str, Answer]:
    """The reference procedure with each change in turn.

    Args:
        cause: What happens.
        airplane: The airplane as it is.
        procedures: What could be done with it.

    Returns:
        Changed answers by name of the lesson; those without a meaning for the cause are left out.
    """
    steps = procedures[reference_procedure(procedures)]
    less_power = POWER_BACK in procedures
    grips = bool(_grips(airplane))
    fits = [x for x in LESSONS if (works_the_trim(cause) if x.of_trim else less_power)]
    fits = [x for x in fits if grips or not x.of_button]
    return {f"lesson: {x.name}": x.change(airplane, steps) for x in fits}
