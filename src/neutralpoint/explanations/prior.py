"""What is believed about a parameter before this flight is looked at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array
from jax.scipy.special import ndtri as jax_ndtri
from scipy.special import ndtri

from neutralpoint.dynamics.vectors import Scalar

ANALYST = "analyst's estimate"


@dataclass(frozen=True)
class Prior:
    """One distribution of one number.

    Args:
        shape: "uniform" between `low` and `high`; "normal" with mean `low` and standard deviation
            `high`; "lognormal" with median `low` and standard deviation `high` of the logarithm;
            "either": `low` or `high`, as likely; "count": a whole number from `low` to below
            `high`.
        low: See `shape`.
        high: See `shape`.
    """

    shape: Literal["uniform", "normal", "lognormal", "either", "count"]
    low: float
    high: float

    def quantile(self, share: Scalar) -> Array:
        """The value below which this share of the belief lies.

        Args:
            share: 0 to 1, any shape.

        Returns:
            Values of that shape, of JAX where the shares are.
        """
        # On the host NumPy answers: JAX compiles each operation for each size.
        if isinstance(share, Array):
            return self._at(share, jnp, jax_ndtri)
        return self._at(np.asarray(share, float), np, ndtri)

    def _at(self, share: Scalar, xp: Any, normal: Callable[[Any], Any]) -> Any:
        u = xp.clip(share, 1e-12, 1.0 - 1e-12)
        if self.shape == "uniform":
            return self.low + u * (self.high - self.low)
        if self.shape == "normal":
            return self.low + self.high * normal(u)
        if self.shape == "lognormal":
            return self.low * xp.exp(self.high * normal(u))
        if self.shape == "either":
            return xp.where(u < 0.5, self.low, self.high)
        return self.low + xp.floor(u * (self.high - self.low))

    @property
    def middle(self) -> float:
        """The median; of "either" the upper value, of "count" the lower."""
        if self.shape in ("normal", "lognormal", "count"):
            return self.low
        return self.high if self.shape == "either" else 0.5 * (self.low + self.high)


@dataclass(frozen=True)
class Parameter:
    """One parameter of a cause.

    Args:
        name: Key.
        meaning: In words, with the sign.
        unit: SI unit, "" for a pure number.
        prior: Before this flight.
        source: Where the prior is from, or "analyst's estimate".
    """

    name: str
    meaning: str
    unit: str
    prior: Prior
    source: str = ANALYST


def draw_parameters(parameters: tuple[Parameter, ...], key: Array, count: int) -> dict[str, Array]:
    """Independent draws from the priors, stratified in each parameter.

    Source: Latin hypercube, McKay, Beckman and Conover, Technometrics 21 (1979).

    Args:
        parameters: Of one cause.
        key: JAX random key.
        count: How many joint draws.

    Returns:
        One (count,) array for each name.
    """
    drawn = {}
    for number, parameter in enumerate(parameters):
        order, inside = jax.random.split(jax.random.fold_in(key, number))
        cell = jax.random.permutation(order, count)
        share = (cell + jax.random.uniform(inside, (count,))) / count
        drawn[parameter.name] = parameter.prior.quantile(share)
    return drawn
