"""Clocks of the receivers of one raw file, from squitters that several of them heard."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace

import numpy as np

from neutralpoint.sources.modes.lines import Raw
from neutralpoint.track.clocks import FEWEST, LARGEST, ClockFit, common_offset, fit_clock

SAME = 0.5  # s about the common offset in which equal messages are one transmission
SQUITTER = 17  # position and velocity squitters change from one to the next
MOST_COPIES = 50  # equal messages beyond this say nothing of time


def common_clock(
    messages: list[Raw], names: tuple[str, ...]
) -> tuple[list[Raw], tuple[str, ...], float]:
    """Messages on the clock of the receiver that heard most.

    Copies of one transmission give the clocks and are then merged: the time of the one kept is
    the mean of the corrected times.

    Args:
        messages: In order of time.
        names: Names of the receivers.

    Returns:
        Messages in order of corrected time, sentences about the clocks, and the standard deviation
        of the error that the times have in common because the fits are not exact, s.
    """
    counts = np.bincount([m.receiver for m in messages], minlength=len(names))
    first = int(np.argmax(counts))
    fits, said = {}, []
    by_text = _by_text(messages, first)
    for k, name in enumerate(names):
        if k == first or not counts[k]:
            continue
        fit = _fit(by_text, messages, k)
        label = name or "without a name"
        if fit is None:
            said.append(
                f"Receiver {label}: its clock cannot be compared with {names[first]} "
                f"(fewer than {FEWEST} common squitters); its times are left as they are."
            )
            continue
        fits[k] = fit
        said.append(
            f"Receiver {label}: {describe(fit)} against {names[first] or 'the first'}; corrected."
        )
    moved = [
        replace(m, time=float(fits[m.receiver].corrected(np.array(m.time))))
        if m.receiver in fits
        else m
        for m in messages
    ]
    moved.sort(key=lambda m: (m.time, m.row))
    merged, copies = _merged(moved)
    if copies:
        said.append(
            f"{copies} copies of a transmission from other receivers: their times are averaged."
        )
    return merged, tuple(said), _shared(moved, fits)


def _shared(messages: list[Raw], fits: dict[int, ClockFit]) -> float:
    """What the fits leave of each clock, by the share of its messages; errors independent."""
    if not messages:
        return 0.0
    ends = np.array([messages[0].time, messages[-1].time])
    counts = Counter(m.receiver for m in messages)
    left = [float(fit.sigma(ends).max()) * counts[k] / len(messages) for k, fit in fits.items()]
    return float(np.linalg.norm(left)) if left else 0.0


def describe(fit: ClockFit) -> str:
    """A clock in words.

    Args:
        fit: The clock.

    Returns:
        Part of a sentence; +- is 95%.
    """
    drift = (
        f", drift {1e6 * fit.drift:.1f} +- {2e6 * fit.drift_sigma:.1f} microseconds a second"
        if fit.drift_sigma
        else ""
    )
    return (
        f"clock offset {fit.offset:.4f} +- {2.0 * fit.offset_sigma:.4f} s{drift}, "
        f"jitter {fit.jitter:.4f} s, from {fit.count} pairs"
    )


def _by_text(messages: list[Raw], receiver: int) -> dict[str, list[float]]:
    times: dict[str, list[float]] = defaultdict(list)
    for m in messages:
        if m.receiver == receiver and _squitter(m):
            times[m.text].append(m.time)
    return times


def _squitter(message: Raw) -> bool:
    return int(message.text[:2], 16) >> 3 == SQUITTER


def _fit(by_text: dict[str, list[float]], messages: list[Raw], receiver: int) -> ClockFit | None:
    pairs = [
        (t, m.time)
        for m in messages
        if m.receiver == receiver and _squitter(m) and len(by_text.get(m.text, ())) <= MOST_COPIES
        for t in by_text.get(m.text, ())
        if abs(m.time - t) <= LARGEST
    ]
    if len(pairs) < FEWEST:
        return None
    table = np.array(pairs)
    offset = common_offset(table[:, 1] - table[:, 0], SAME)
    near = np.abs(table[:, 1] - table[:, 0] - offset) <= SAME
    return fit_clock(table[near, 0], table[near, 1])


def _merged(messages: list[Raw]) -> tuple[list[Raw], int]:
    """Copies from several receivers as one message at the mean of their times."""
    groups: list[list[Raw]] = []
    latest: dict[str, int] = {}
    for message in messages:
        k = latest.get(message.text)
        group = groups[k] if k is not None else []
        fresh = (
            not group
            or message.time - group[0].time > SAME
            or message.receiver in {m.receiver for m in group}
        )
        if fresh:
            latest[message.text] = len(groups)
            groups.append([message])
        else:
            group.append(message)
    merged = [replace(g[0], time=float(np.mean([m.time for m in g]))) for g in groups]
    merged.sort(key=lambda m: (m.time, m.row))
    return merged, len(messages) - len(groups)
