"""Smoothing over all frames of a recording: a hidden Markov chain with one state for nothing."""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array


def chances(score: Array, kernel: Array, lost: float, found: float) -> Array:
    """Chance of each state in each frame given all frames.

    Args:
        score: ln of the likelihood of each state over that of nothing, shape (m, n).
        kernel: Chance of a move by so many states in a frame, of odd length, sum 1.
        lost: Chance in a frame that what is there ends.
        found: Chance in a frame that something begins; in any state alike.

    Returns:
        Shape (m, n + 1); the last is nothing.

    Source: forward-backward algorithm, Rabiner, Proc. IEEE 77 (1989) 257, section III. Checked
    against: tests/recovery/test_hearing.py.
    """
    frames, count = score.shape
    evidence = np.zeros((frames, count + 1))
    evidence[:, :-1] = score
    evidence = np.exp(evidence - evidence.max(axis=1, keepdims=True, initial=0.0))
    forward = np.empty_like(evidence)
    now = np.append(np.full(count, 0.5 / count), 0.5)
    for frame in range(frames):
        now = (_moved(now, kernel, lost, found) if frame else now) * evidence[frame]
        now = now / now.sum()
        forward[frame] = now
    later = np.ones(count + 1)
    whole = np.empty_like(forward)
    for frame in range(frames - 1, -1, -1):
        whole[frame] = forward[frame] * later
        whole[frame] /= whole[frame].sum()
        later = _before(evidence[frame] * later, kernel, lost, found)
        later = later / later.max()
    return whole


def present(score: Array, lost: float, found: float) -> Array:
    """Chance in each frame that something with one state is there.

    Args:
        score: ln of its likelihood over that of nothing, shape (m,).
        lost: As for `chances`.
        found: As for `chances`.

    Returns:
        Shape (m,).
    """
    return chances(score[:, None], np.ones(1), lost, found)[:, 0]


def _moved(chance: Array, kernel: Array, lost: float, found: float) -> Array:
    """Chance of each state after a frame."""
    line, none = chance[:-1], chance[-1]
    moved = _spread(line, kernel)
    return np.append(
        (1.0 - lost) * moved + found * none / line.size, none * (1.0 - found) + lost * line.sum()
    )


def _before(chance: Array, kernel: Array, lost: float, found: float) -> Array:
    """The transpose of `_moved`."""
    line, none = chance[:-1], chance[-1]
    kept = _spread(line, kernel[::-1])
    return np.append((1.0 - lost) * kept + lost * none, found * line.mean() + (1.0 - found) * none)


def _spread(line: Array, kernel: Array) -> Array:
    """Every state shared out over its neighbors; as many states, however few there are."""
    reach = kernel.size // 2
    return np.convolve(line, kernel)[reach : reach + line.size]
