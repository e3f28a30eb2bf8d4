"""Three-vectors as tuples of scalars, and rotation by a quaternion.

Components stay separate so that a batch of flights is a handful of contiguous arrays and every
operation fuses; a (3,) array per flight costs a strided gather for each component.
"""

from __future__ import annotations

from neutralpoint.airplane.model import Scalar

Vector = tuple[Scalar, ...]  # three of them
Matrix = tuple[Vector, Vector, Vector]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product a x b.

    Args:
        a: Components.
        b: Components.

    Returns:
        Components of the product.
    """
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def add(a: Vector, b: Vector) -> Vector:
    """Sum a + b.

    Args:
        a: Components.
        b: Components.

    Returns:
        Components of the sum.
    """
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def body_to_ned(e0: Scalar, e1: Scalar, e2: Scalar, e3: Scalar) -> Matrix:
    """Direction cosines that take body components to NED components.

    Source: Etkin, Dynamics of Atmospheric Flight (1972), eq. 5.2,18 (transposed). Valid for a
    unit quaternion.

    Args:
        e0: Scalar part.
        e1: Vector part, body x.
        e2: Vector part, body y.
        e3: Vector part, body z.

    Returns:
        Rows of the matrix.
    """
    xx, yy, zz = e1 * e1, e2 * e2, e3 * e3
    xy, xz, yz = e1 * e2, e1 * e3, e2 * e3
    wx, wy, wz = e0 * e1, e0 * e2, e0 * e3
    return (
        (1.0 - 2.0 * (yy + zz), 2.0 * (xy - wz), 2.0 * (xz + wy)),
        (2.0 * (xy + wz), 1.0 - 2.0 * (xx + zz), 2.0 * (yz - wx)),
        (2.0 * (xz - wy), 2.0 * (yz + wx), 1.0 - 2.0 * (xx + yy)),
    )


def rotate(matrix: Matrix, a: Vector) -> Vector:
    """Matrix times vector.

    Args:
        matrix: Rows.
        a: Components.

    Returns:
        Components.
    """
    return tuple(row[0] * a[0] + row[1] * a[1] + row[2] * a[2] for row in matrix)


def rotate_back(matrix: Matrix, a: Vector) -> Vector:
    """Transposed matrix times vector.

    Args:
        matrix: Rows.
        a: Components.

    Returns:
        Components.
    """
    # The transpose turns back only for a unit quaternion; `evaluate` pulls its length back to 1.
    return tuple(matrix[0][i] * a[0] + matrix[1][i] * a[1] + matrix[2][i] * a[2] for i in range(3))
