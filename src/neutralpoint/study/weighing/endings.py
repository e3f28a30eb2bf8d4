"""How the flights of each cause go on from the last reading to the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.case import Case
from neutralpoint.findings import CauseEnding
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.study.limits.findings import band90
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.wreckage.findings import ending_of
from neutralpoint.study.wreckage.work_out import GroundScene, scene_of
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.broken import broke_at
from neutralpoint.weighing.flights import RECORD, Flown
from neutralpoint.weighing.odds import UNLISTED, Odds
from neutralpoint.weighing.predictive import Predictive
from neutralpoint.wreckage import Ending, PathControls, continue_paths

REMAINING = 0.02  # odds from which a cause is continued to the ground; analyst's
BEYOND = 20.0  # s after the last reading that flights are flown for it
LEAST_WHOLE = 0.05  # share of the paths that must stay whole for their ending to be told; analyst's


@dataclass(frozen=True)
class Continued:
    """The sample paths, each flown on as a flight of one cause does.

    Attributes:
        ending: How they meet the ground.
        rows: Flight that each path follows, shape (S,).
        broke: When that flight passes ultimate load, s after the last reading, negative before it;
            infinite where it does not before the path ends, shape (S,).
    """

    ending: Ending
    rows: Index
    broke: Array

    @property
    def whole(self) -> Flags:
        """Paths that come down, and are trusted until then."""
        return self.ending.reached & ~np.isfinite(self.broke)


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
    case: Case,
    scene: GroundScene,
    begin: float,
    near: dict[str, Predictive],
    names: list[str],
) -> dict[str, Continued]:
    """The sample paths, each flown on as a flight of a cause does that follows them.

    Args:
        case: The case.
        scene: The last reading, and the ground about it.
        begin: End of the reference, s after the track's epoch.
        near: Flights of each cause given what was seen.
        names: Causes wanted.

    Returns:
        How the paths end, by cause.
    """
    rng = np.random.default_rng([case.document.seed, 12])
    after, found = scene.last - begin, {}
    for name in names:
        seen = near[name]
        rows = rng.choice(seen.weight.size, len(scene.state.north), p=seen.weight).astype(np.intp)
        acting = controls_of(seen.flown, rows, after)
        ending = continue_paths(scene.state, acting, scene.ground)
        broke = broke_at(seen.flown)[rows] - after
        found[name] = Continued(ending, rows, np.where(broke <= ending.time, broke, np.inf))
    return found


def cause_endings(
    case: Case, motion: KeptMotion, begin: float, near: dict[str, Predictive], odds: Odds
) -> tuple[CauseEnding, ...]:
    """How the paths meet the ground under each remaining cause, and where they break before.

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
    for name, each in continued(case, scene, begin, near, names).items():
        broken = np.isfinite(each.broke)
        told = each.whole if each.whole.mean() >= LEAST_WHOLE else np.zeros_like(broken)
        said = ending_of(each.ending, scene, told)
        if said is not None or broken.any():
            rows.append(
                CauseEnding(
                    cause=CauseName(name),
                    probability=min(chance[name], 1.0),
                    broke=float(broken.mean()),
                    broke_time=band90(scene.last + each.broke[broken]) if broken.any() else None,
                    ending=said,
                )
            )
    return tuple(rows)
