"""Where the path is looked at from, without perspective: a length is the same everywhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array


@dataclass(frozen=True)
class Camera:
    """A parallel projection.

    Attributes:
        azimuth: Direction in which one looks, rad from north.
        elevation: How far one looks down, rad.
        center: What stands in the middle, NED, m.
        scale: Pixels of a meter.
        middle: Pixels, y upwards.
    """

    azimuth: float
    elevation: float
    center: tuple[float, float, float]
    scale: float
    middle: tuple[float, float]

    def flat(self, points: Array) -> Array:
        """Pixels of points.

        Args:
            points: NED, m, shape (..., 3).

        Returns:
            Pixels, y upwards, shape (..., 2).
        """
        right, up, _ = self.axes
        away = np.asarray(points) - np.array(self.center)
        return np.stack([away @ right, away @ up], -1) * self.scale + np.array(self.middle)

    def depth(self, points: Array) -> Array:
        """How far off points are, m; larger is farther."""
        return (np.asarray(points) - np.array(self.center)) @ self.axes[2]

    @property
    def axes(self) -> tuple[Array, Array, Array]:
        """Right, up and away, NED unit vectors."""
        ca, sa = np.cos(self.azimuth), np.sin(self.azimuth)
        ce, se = np.cos(self.elevation), np.sin(self.elevation)
        right = np.array([-sa, ca, 0.0])
        up = np.array([ca * se, sa * se, -ce])
        away = np.array([ca * ce, sa * ce, se])
        return right, up, away


def fitted(
    points: Array,
    azimuth: float,
    elevation: float,
    box: tuple[float, float, float, float],
) -> Camera:
    """A camera that shows all points within a box.

    Args:
        points: NED, m, shape (n, 3).
        azimuth: rad.
        elevation: rad.
        box: Left, bottom, right and top, pixels.

    Returns:
        The camera.
    """
    plain = Camera(azimuth, elevation, (0.0, 0.0, 0.0), 1.0, (0.0, 0.0))
    flat = plain.flat(points)
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array([box[2] - box[0], box[3] - box[1]])
    scale = float(np.min(room / np.maximum(high - low, 1.0)))
    middle = np.array([box[0] + box[2], box[1] + box[3]]) / 2.0
    place = middle - (low + high) / 2.0 * scale
    return Camera(azimuth, elevation, (0.0, 0.0, 0.0), scale, (float(place[0]), float(place[1])))
