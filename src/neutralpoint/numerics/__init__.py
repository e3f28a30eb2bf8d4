"""General mathematics: banded Gaussian chains, and bands of sample paths.

Takes plain float64 arrays and gives plain arrays or small frozen values. Nothing here knows what
the numbers mean; units are the caller's. It is assumed that random numbers come from a generator
that is passed in, and that samples run along the first axis.
"""

from neutralpoint.numerics.banded import Factor, factorise, marginal_covariance
from neutralpoint.numerics.intervals import band, coverage, half_width, quantiles

__all__ = [
    "Factor",
    "band",
    "coverage",
    "factorise",
    "half_width",
    "marginal_covariance",
    "quantiles",
]
