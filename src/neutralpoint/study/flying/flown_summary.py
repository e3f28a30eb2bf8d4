"""What a flown cause comes to, beside the motion: how far off, what shows first, how heavy."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from neutralpoint.files import check_netcdf
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.study.flying.flyer import COMPARED, MotionSeen
from neutralpoint.study.motion.file import MOTION_FILE, read_dataset
from neutralpoint.vocabulary.quantity import MOTION
from neutralpoint.vocabulary.strength import ONE_HAND, PROLONGED, TWO_HANDS

# Pulls whose first moment is told: those of the rules, and the 70 lb that forces in a runaway soon
# after take-off can pass (common practice, no source).
PULLS = tuple(
    sorted((*(limit.force for limit in (PROLONGED, ONE_HAND, TWO_HANDS)), 70.0 * POUND_FORCE))
)
# A sign shows once one of these has left its trimmed value.
SIGNS = tuple(q for q in MOTION if q.sign)


@dataclass(frozen=True)
class FlownSummary:
    """One flight in a few numbers; times are s after its start, infinite = not within it.

    Attributes:
        misfit: Root mean square distance from the motion in its standard deviations, by channel.
        overall: The same over the channels; None where the data bear none.
        signs: When each quantity leaves its trimmed value.
        pulls: When holding on would take more than each of `PULLS`.
        pull_most: Largest pull that holding on would take, N.
        compared: How long it was held against the motion, s.
    """

    misfit: dict[str, float]
    overall: float | None
    signs: dict[str, float]
    pulls: dict[float, float]
    pull_most: float
    compared: float = COMPARED

    def as_dict(self) -> dict[str, Any]:
        """JSON values; what does not happen is null."""

        def when(values: dict) -> dict[str, float | None]:
            return {str(k): (v if np.isfinite(v) else None) for k, v in values.items()}

        return {
            "misfit": self.misfit,
            "overall": self.overall,
            "signs": when(self.signs),
            "pulls": when(self.pulls),
            "pull_most": self.pull_most if np.isfinite(self.pull_most) else None,
            "compared_seconds": self.compared,
        }


def first_time(time: Array, happens: Flags) -> float:
    """When something first happens.

    Args:
        time: s, shape (n,).
        happens: Shape (n,).

    Returns:
        s; infinite where it does not.
    """
    found = np.flatnonzero(happens)
    return float(time[found[0]]) if len(found) else np.inf


def summarise(path: Path) -> FlownSummary:
    """The first flight of a saved file of `fly`, beside the motion of its folder.

    Args:
        path: Of `fly-CAUSE.nc`.

    Returns:
        The summary.

    Raises:
        NeutralPointError: Of the motion, and of `check_netcdf`.
    """
    flown = xr.load_dataset(check_netcdf(path), engine="h5netcdf", decode_times=False)
    begin = float(flown["time"][0])
    time = flown["time"].values - begin
    one = {str(name): flown[name].values[0] for name in flown if flown[name].dims[0] == "flight"}
    curves = one | {"pressure_altitude": one["height"]}
    found = MotionSeen(read_dataset(path.parent / MOTION_FILE), begin).misfit(time + begin, curves)
    pull = np.nan_to_num(np.abs(one["pull_to_hold"]), nan=0.0)
    return FlownSummary(
        misfit=found.channels,
        overall=found.overall,
        signs={
            q.name: first_time(time, np.abs(one[q.name] - one[q.name][0]) > q.sign) for q in SIGNS
        },
        pulls={level: first_time(time, pull > level) for level in PULLS},
        pull_most=float(pull.max()),
    )
