"""An estimated number: value, band and where both come from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Estimate:
    """One number with its standard deviation.

    Args:
        value: SI and radians.
        sigma: Standard deviation, same unit, not negative.
        source: Method or document, and where the band comes from.
    """

    value: float
    sigma: float
    source: str

    @property
    def relative(self) -> float:
        """Standard deviation over the size of the value (0 for a value of 0)."""
        return abs(self.sigma / self.value) if self.value else 0.0


def within_share(value: float, share: float, method: str) -> Estimate:
    """An estimate whose standard deviation, an analyst's estimate, is a share of its value.

    Args:
        value: The number.
        share: Standard deviation over its size.
        method: Where it comes from.

    Returns:
        The estimate.
    """
    return Estimate(
        value, abs(value) * share, f"{method}; band {share:.0%} (1 sigma), analyst's estimate"
    )


def within_amount(value: float, sigma: float, method: str) -> Estimate:
    """An estimate with an absolute standard deviation, which is an analyst's estimate.

    Args:
        value: The number.
        sigma: Standard deviation, same unit.
        method: Where it comes from.

    Returns:
        The estimate.
    """
    return Estimate(value, sigma, f"{method}; band {sigma:g} (1 sigma), analyst's estimate")
