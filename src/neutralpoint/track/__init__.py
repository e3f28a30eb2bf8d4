"""What was seen of the flight: the record, before anything is made of it.

What comes in: time-stamped readings of position, altitude, speed, direction and vertical rate in SI
units, from one or several receivers. What goes out: one `Track` in which every reading is kept and
the doubtful ones are marked, with the rate, gaps, steps and clock of each channel. It is assumed
that times are UTC seconds after the track's epoch and that each channel has its own time stamps.
"""

from neutralpoint.track.alignment import Clock, align_tracks
from neutralpoint.track.cleaning import Suspicion, flag_suspects
from neutralpoint.track.clocks import ClockFit, fit_clock, fit_tracks, moved
from neutralpoint.track.copies import without_copies
from neutralpoint.track.heights import Heights, compare_heights, watch_heights
from neutralpoint.track.joining import join_tracks
from neutralpoint.track.quality import Gap, Quality, assess
from neutralpoint.track.record import CHANNELS, Observations, Track, VerticalRateSource
from neutralpoint.track.steps import quantization_step

__all__ = [
    "CHANNELS",
    "Clock",
    "ClockFit",
    "Gap",
    "Heights",
    "Observations",
    "Quality",
    "Suspicion",
    "Track",
    "VerticalRateSource",
    "align_tracks",
    "assess",
    "compare_heights",
    "fit_clock",
    "fit_tracks",
    "flag_suspects",
    "join_tracks",
    "moved",
    "quantization_step",
    "watch_heights",
    "without_copies",
]
