"""What the airplane did: from a track to motion with joint uncertainty.

What comes in: a track, a wind and temperature profile, and the lift line of the airplane. What goes
out: joint sample paths of position, air data, attitude and load factors, with flags of where these
data can tell. It is assumed that the airplane flew without sideslip and that quantization, jitter,
lag and latency are the only habits of the data beyond noise and outliers.
"""

from neutralpoint.motion.estimate import (
    GEOID_HEIGHT,
    STEP,
    Motion,
    Outlier,
    estimate_motion,
    sample_count,
)
from neutralpoint.motion.ground import CARRIED_BY_WHEELS, on_ground, stretches
from neutralpoint.motion.lift import LiftData
from neutralpoint.motion.observability import LIMITS, Resolution
from neutralpoint.motion.onset import SIGNALS as ONSET_SIGNALS
from neutralpoint.motion.onset import Onsets, fault_begin, stated, upset_onsets
from neutralpoint.motion.parameter import ParameterEstimate

__all__ = [
    "CARRIED_BY_WHEELS",
    "GEOID_HEIGHT",
    "LIMITS",
    "ONSET_SIGNALS",
    "STEP",
    "LiftData",
    "Motion",
    "Onsets",
    "Outlier",
    "ParameterEstimate",
    "Resolution",
    "estimate_motion",
    "fault_begin",
    "on_ground",
    "sample_count",
    "stated",
    "stretches",
    "upset_onsets",
]
