"""Where an airplane and its parts came down: paths continued to the ground, and parts traced back.

Sample paths of a flight come in with parts by mass, area and drag, the wind with its error, and the
places where parts were found. What goes out is when and how high each was released, whether one
break-up explains all, where a missing part lies, and where and how the airplane met the ground. It
is assumed that a part falls with drag alone; what a tumbling part glides is a stated scatter.
"""

from neutralpoint.wreckage.continuation import Ending, PathControls, PathState, continue_paths
from neutralpoint.wreckage.falling import AirColumn, Bodies, Landing, fall
from neutralpoint.wreckage.marks import descent_angle
from neutralpoint.wreckage.region import Region, likely_region
from neutralpoint.wreckage.release import (
    FoundPart,
    Release,
    Releases,
    Trace,
    release_times,
)

__all__ = [
    "AirColumn",
    "Bodies",
    "Ending",
    "FoundPart",
    "Landing",
    "PathControls",
    "PathState",
    "Region",
    "Release",
    "Releases",
    "Trace",
    "continue_paths",
    "descent_angle",
    "fall",
    "likely_region",
    "release_times",
]
