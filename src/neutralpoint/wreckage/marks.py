"""Angles that marks on trees and ground show."""

from __future__ import annotations

import numpy as np


def descent_angle(
    first: tuple[float, float],
    second: tuple[float, float],
    distance: tuple[float, float],
    slope: tuple[float, float],
) -> tuple[float, float]:
    """Path angle through two cuts in trees.

    Args:
        first: Height of the first cut above the ground under it, m, and its standard deviation.
        second: The same of a later one.
        distance: Level distance between them along the path, m.
        slope: Of the ground along the path, up positive, rad.

    Returns:
        Path angle, up positive, rad, and its standard deviation.

    Source: geometry: tan(gamma) = (h2 - h1) / d + tan(slope); first-order error, each term the
    derivative times the deviation: s^2 = cos^4(gamma) [(s1^2 + s2^2) / d^2 + ((h2 - h1) / d^2)^2
    sd^2 + sec^4(slope) ss^2].
    Checked against: tests/against/test_debris_falls.py, by drawing the measurements.
    """
    rise = (second[0] - first[0]) / distance[0]
    angle = float(np.arctan(rise + np.tan(slope[0])))
    variance = (
        (first[1] ** 2 + second[1] ** 2) / distance[0] ** 2
        + (rise / distance[0]) ** 2 * distance[1] ** 2
        + slope[1] ** 2 / np.cos(slope[0]) ** 4
    )
    return angle, float(np.cos(angle) ** 2 * np.sqrt(variance))
