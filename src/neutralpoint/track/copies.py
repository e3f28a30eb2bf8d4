"""One transmission in the files of several receivers: one reading with the mean of its times.

Copies share the error of the reading itself and differ in the time at which each receiver stamped
it. Taken as readings of their own they would halve an error that is common to them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neutralpoint.track.cleaning import metres
from neutralpoint.track.record import Flags, Floats, Observations, Track
from neutralpoint.vocabulary import QUANTITIES

WITHIN = 0.4  # s between copies, once clocks are corrected; squitters are about 0.5 s apart
NEIGHBOURS = range(-2, 2)  # readings of the other source about the same time


def without_copies(track: Track) -> Track:
    """A record in which what several sources heard of one transmission is one reading.

    Args:
        track: The joined record, its sources on one clock.

    Returns:
        The record; the times of copies are averaged, and one doubtful copy does not make a reading
        doubtful.
    """
    channels = {name: _merged(name, channel) for name, channel in track.channels().items()}
    return replace(track, **channels)


def _merged(name: str, channel: Observations) -> Observations:
    sources = np.unique(channel.source)
    if sources.size < 2:
        return channel
    value = metres(channel) if name == "position" else channel.value[:, None]
    alike = QUANTITIES[name].alike
    leader = np.arange(len(channel))
    for k, later in enumerate(sources[1:], start=1):
        for earlier in sources[:k]:
            _follow(
                leader, channel, value, alike, channel.source == earlier, channel.source == later
            )
    kept, group = np.unique(leader, return_inverse=True)
    count = np.bincount(group)
    merged = channel.taken(kept)
    time = np.bincount(group, channel.time) / count
    suspect = np.bincount(group, channel.suspect) == count
    order = np.argsort(time, kind="stable")
    return replace(merged, time=time, suspect=suspect).taken(order)


def _follow(
    leader, channel: Observations, value: Floats, alike: float, first: Flags, second: Flags
) -> None:
    """Make readings of the second source follow the copies that the first one has."""
    ahead, behind = (
        np.flatnonzero(first),
        np.flatnonzero(second & (leader == np.arange(leader.size))),
    )
    place = np.searchsorted(channel.time[ahead], channel.time[behind])
    taken = np.zeros(leader.size, dtype=bool)
    best, lead = np.full(behind.size, np.inf), np.full(behind.size, -1)
    for shift in NEIGHBOURS:
        inside = (place + shift >= 0) & (place + shift < ahead.size)
        other = ahead[np.clip(place + shift, 0, ahead.size - 1)]
        apart = np.abs(channel.time[other] - channel.time[behind])
        same = np.linalg.norm(value[other] - value[behind], axis=1) <= alike
        better = inside & same & (apart <= WITHIN) & (apart < best)
        best[better], lead[better] = apart[better], other[better]
    for reading, other in zip(behind[lead >= 0], lead[lead >= 0], strict=True):
        if not taken[other]:  # one reading of a source is the copy of one of another
            taken[other] = True
            leader[reading] = leader[other]
