"""How the flights of each cause go on from the last reading to the ground."""

from __future__ import annotations

import numpy as np

from neutralpoint.case import Case
from neutralpoint.findings import CauseEnding
from neutralpoint.numerics.arrays import Index
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.wreckage.findings import ending_of
from neutralpoint.study.wreckage.work_out import scene_of
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.flights import RECORD, Flown
from neutralpoint.weighing.odds import UNLISTED, Odds
from neutralpoint.weighing.predictive import Predictive
from neutralpoint.wreckage import Ending, PathControls, continue_paths

REMAINING = 0.02  # odds from which a cause is continued to the ground; analyst's
BEYOND = 20.0  # s after the last reading that flights are flown for it


def controls_of(flown: Flown, rows: Index, after: float) -> PathControls:
    """What flights do from a moment on.

    Args:
        flown: Of one cause.
        rows: Flights taken, one for each sample path, shape (S,).
        after: The moment, s after the reference.

    Returns:
        Load factors and bank; what is flown last is held.
    """
    time = flown.course.time
    at = int(np.clip(round((after - time[0]) / RECORD), 0, time.size - 1))
    course = flown.course
    columns = (course.normal_load_factor, course.longitudinal_load_factor, course.bank_angle)
    return PathControls(RECORD, *(values[rows][:, at:] for values in columns))


def continued(
    case: Case, motion: KeptMotion, begin: float, near: dict[str, Predictive], names: list[str]
) -> dict[str, Ending]:
    """The sample paths, each flown on as a flight of a cause does that follows them.

    Args:
        case: The case; its ground is known.
        motion: Its motion.
        begin: End of the reference, s after the track's epoch.
        near: Flights of each cause given what was seen.
        names: Causes wanted.

    Returns:
        How the paths end, by cause.
    """
    scene = scene_of(case, motion)
    rng = np.random.default_rng([case.document.seed, 12])
    found = {}
    for name in names:
        seen = near[name]
        rows = rng.choice(seen.weight.size, len(scene.state.north), p=seen.weight)
        acting = controls_of(seen.flown, rows, scene.last - begin)
        found[name] = continue_paths(scene.state, acting, scene.ground)
    return found


def cause_endings(
    case: Case, motion: KeptMotion, begin: float, near: dict[str, Predictive], odds: Odds
) -> tuple[CauseEnding, ...]:
    """How the paths meet the ground under each remaining cause.

    Args:
        case: The case; its ground is known.
        motion: Its motion.
        begin: End of the reference, s after the track's epoch.
        near: Flights of each cause given what was seen.
        odds: Of all evidence together.

    Returns:
        The most probable cause first; those whose paths do not come down are left out.
    """
    chance = {odds.causes[i]: float(odds.probability[i]) for i in odds.order()}
    names = [n for n, p in chance.items() if p >= REMAINING and n != UNLISTED]
    scene = scene_of(case, motion)
    rows = []
    for name, ending in continued(case, motion, begin, near, names).items():
        said = ending_of(ending, scene)
        if said is not None:
            rows.append(
                CauseEnding(cause=CauseName(name), probability=min(chance[name], 1.0), ending=said)
            )
    return tuple(rows)
