"""Angle of attack from velocity components, by arithmetic alone.

The library's arc tangent is a scalar call on the CPU and took a tenth of a flight's time.
"""

from __future__ import annotations

import jax.numpy as jnp
import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from neutralpoint.dynamics.vectors import Scalar

# arctan(x) = x P(x^2) for |x| <= tan(pi / 8): Chebyshev interpolation, 11 coefficients. The series
# converges by 25 a term (nearest singularity x^2 = -1), so the last term is below 1e-14.
DOMAIN = (0.0, np.tan(np.pi / 8) ** 2)
ARCTAN = (
    Chebyshev.interpolate(lambda z: np.arctan(np.sqrt(z)) / np.sqrt(z), 10, domain=DOMAIN)
    .convert(kind=Polynomial)
    .coef.tolist()
)


def angle_of_attack(u: Scalar, w: Scalar, plane_speed: Scalar) -> Scalar:
    """atan2(w, u), the half-angle formula applied twice and a polynomial.

    Source: tan(a / 2) = w / (u + sqrt(u^2 + w^2)). Checked against:
    tests/against/test_dynamics_forces.py.

    Args:
        u: Forward, m/s.
        w: Down, m/s.
        plane_speed: sqrt(u^2 + w^2), not zero, m/s.

    Returns:
        rad, -pi to pi.
    """
    half = w / (plane_speed + jnp.abs(u))
    quarter = half / (1.0 + jnp.sqrt(1.0 + half * half))
    square = quarter * quarter
    total = ARCTAN[-1]
    for coefficient in ARCTAN[-2::-1]:
        total = total * square + coefficient
    angle = 4.0 * quarter * total
    return jnp.where(u < 0.0, jnp.where(w < 0.0, -jnp.pi, jnp.pi) - angle, angle)
