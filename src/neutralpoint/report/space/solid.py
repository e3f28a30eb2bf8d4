"""A neutral airplane of our own: a plain solid that stands for no type.

Axes of the body: x forward, y right, z down; lengths in parts of the length of the airplane.
Source: own drawing; proportions are those of no airplane.
"""

from __future__ import annotations

import itertools

import numpy as np

from neutralpoint.numerics.arrays import Array

LIGHT = np.array([-0.35, -0.30, -0.89])  # from where it is lit: above, ahead, left; NED
LIGHT /= np.linalg.norm(LIGHT)
AMBIENT = 0.55


def _box(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float],
         taper: float = 1.0, sweep: float = 0.0, side: int = 1) -> list[Array]:  # fmt: skip
    """A slab whose outer end (along y) is shorter and lies further aft."""
    inner = [(x[0], z[0]), (x[1], z[0]), (x[1], z[1]), (x[0], z[1])]
    middle = (x[0] + x[1]) / 2.0 - sweep
    half = taper * (x[1] - x[0]) / 2.0
    outer = [(middle - half, z[0]), (middle + half, z[0]), (middle + half, z[1]),
             (middle - half, z[1])]  # fmt: skip
    a = [np.array([px, side * y[0], pz]) for px, pz in inner]
    b = [np.array([px, side * y[1], pz]) for px, pz in outer]
    return [np.array(f) for f in (
        b, [a[0], a[1], b[1], b[0]], [a[1], a[2], b[2], b[1]],
        [a[2], a[3], b[3], b[2]], [a[3], a[0], b[0], b[3]],
    )]  # fmt: skip


def _body(sides: int = 8) -> list[Array]:
    """A fuselage of rings joined by plates."""
    stations = ((0.50, 0.012), (0.42, 0.042), (0.25, 0.062), (-0.10, 0.062), (-0.38, 0.030),
                (-0.50, 0.012))  # fmt: skip
    turn = np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False)
    rings = [
        np.column_stack([np.full(sides, x), r * np.sin(turn), -r * np.cos(turn) - lift])
        for x, r in stations
        for lift in (0.02 * max(0.0, -x - 0.1),)
    ]
    plates = [
        np.array([front[k], front[(k + 1) % sides], back[(k + 1) % sides], back[k]])
        for front, back in itertools.pairwise(rings)
        for k in range(sides)
    ]
    return [rings[0], *plates, rings[-1]]


def _fin() -> list[Array]:
    outline = ((-0.34, -0.03), (-0.50, -0.03), (-0.54, -0.20), (-0.44, -0.20))
    left, right = (np.array([[x, y, z] for x, z in outline]) for y in (-0.008, 0.008))
    edges = [np.array([left[k], left[(k + 1) % 4], right[(k + 1) % 4], right[k]]) for k in range(4)]
    return [left, right, *edges]


def parts() -> list[list[Array]]:
    """Plates of the solid, each (n, 3), about the middle of its length, by convex part."""
    wings = [_box((-0.10, 0.10), (0.0, 0.52), (0.0, 0.02), 0.55, 0.05, s) for s in (1, -1)]
    tails = [_box((-0.49, -0.38), (0.0, 0.20), (-0.05, -0.038), 0.6, 0.03, s) for s in (1, -1)]
    return [_body(), *wings, *tails, _fin()]


def rotation(heading: float, pitch: float, bank: float) -> Array:
    """From body to earth (NED).

    Source: Euler angles in the order yaw, pitch, roll; Etkin and Reid, Dynamics of Flight, 3rd
        ed., eq. 4.4,3 transposed, from memory.

    Args:
        heading: rad.
        pitch: rad.
        bank: rad.

    Returns:
        Stroke (3, 3).
    """
    ch, sh = np.cos(heading), np.sin(heading)
    cp, sp = np.cos(pitch), np.sin(pitch)
    cb, sb = np.cos(bank), np.sin(bank)
    return np.array([
        [ch * cp, ch * sp * sb - sh * cb, ch * sp * cb + sh * sb],
        [sh * cp, sh * sp * sb + ch * cb, sh * sp * cb - ch * sb],
        [-sp, cp * sb, cp * cb],
    ])  # fmt: skip


def normals(plates: list[Array]) -> Array:
    """Unit normals of plates, shape (k, 3)."""
    found = np.array([np.cross(f[1] - f[0], f[2] - f[1]) for f in plates])
    return found / np.maximum(np.linalg.norm(found, axis=1, keepdims=True), 1e-12)


def brightness(turned: Array) -> Array:
    """How bright plates are, 0 to 1.

    Args:
        turned: Unit normals in the earth frame, shape (k, 3).

    Returns:
        Share of full light, shape (k,); both sides of a plate are lit alike.
    """
    return AMBIENT + (1.0 - AMBIENT) * np.abs(turned @ LIGHT)
