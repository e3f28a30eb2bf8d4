"""What another design or habit would have bought: lessons for design and training, never blame."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from neutralpoint.airplane.model import Airplane, StopDevice, TrimDrive
from neutralpoint.explanations.procedure import Action
from neutralpoint.explanations.setting import Setting

# Reach times and rates of devices that the airplane does not have, s and rad/s. Analyst's.
LATCH_REACH, WHEEL_REACH, WHEEL_RATE = 0.5, 1.0, 0.01
# A sound after this much trim motion, s. Analyst's.
CUE_DELAY = 1.0


@dataclass(frozen=True)
class Lesson:
    """One change of design or training.

    Args:
        name: Key.
        sentence: How it is put to readers.
        change: From the setting as it was to the changed one.
    """

    name: str
    sentence: str
    change: Callable[[Setting], Setting]


def _with_device(setting: Setting, device: StopDevice, **drive: float) -> Setting:
    old: TrimDrive = setting.airplane.trim_drive
    new = dataclasses.replace(old, stops=(*old.stops, device), **drive)
    airplane: Airplane = dataclasses.replace(setting.airplane, trim_drive=new)
    press = Action(kind="press", device=device.name)
    return dataclasses.replace(setting, airplane=airplane, procedure=(press,))


def _latch(setting: Setting) -> Setting:
    device = StopDevice(
        name="added latching button",
        kind="latching_disconnect",
        reach_time=LATCH_REACH,
        hands=0,
        release_restarts=False,
    )
    return _with_device(setting, device)


def _wheel(setting: Setting) -> Setting:
    device = StopDevice(
        name="added trim wheel",
        kind="manual_wheel",
        reach_time=WHEEL_REACH,
        hands=1,
        release_restarts=False,
    )
    return _with_device(setting, device, manual_rate=WHEEL_RATE)


def _power(setting: Setting) -> Setting:
    back = Action(kind="power")
    return dataclasses.replace(setting, procedure=(back, *setting.procedure))


def _sound(setting: Setting) -> Setting:
    return dataclasses.replace(setting, cue_delay=CUE_DELAY)


LESSONS = (
    Lesson(
        "latching button", "A button that acts once and stays, within reach of a thumb.", _latch
    ),
    Lesson("manual wheel", "A trim wheel that can be grasped and turned by hand.", _wheel),
    Lesson("earlier power cut", "Training that power comes back first, before anything.", _power),
    Lesson("sound of trim", "A sound as soon as the trim has moved for a second.", _sound),
)


def lessons_for(setting: Setting) -> dict[str, Setting]:
    """The setting with each change in turn.

    Args:
        setting: As it was, with its procedure.

    Returns:
        Changed settings by name of the lesson.
    """
    return {lesson.name: lesson.change(setting) for lesson in LESSONS}
