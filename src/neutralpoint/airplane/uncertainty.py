"""Joint uncertainty of an airplane: standard deviations in, draws of `Multipliers` out."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from neutralpoint.airplane.model import Multipliers
from neutralpoint.errors import NeutralPointError

NAMES: tuple[str, ...] = tuple(entry.name for entry in dataclasses.fields(Multipliers))
# Fields of `Multipliers` that add instead of multiplying; their neutral value is 0.
OFFSETS = frozenset(entry.name for entry in dataclasses.fields(Multipliers) if entry.default == 0.0)

# Analyst's: numbers that are estimated from the same tail (its lift slope, arm and dynamic
# pressure) err together; so do the two hinge-moment slopes, which share one balance.
CORRELATIONS: dict[tuple[str, str], float] = {
    ("elevator_power", "stabilizer_power"): 0.6,
    ("elevator_power", "pitch_damping"): 0.4,
    ("stabilizer_power", "pitch_damping"): 0.6,
    ("stabilizer_power", "neutral_point"): 0.5,
    ("pitch_damping", "neutral_point"): 0.3,
    ("elevator_power", "neutral_point"): 0.3,
    ("elevator_power", "tab_power"): 0.3,
    ("hinge_alpha", "hinge_elevator"): 0.5,
}


# Slipstream and jets bend the flow at the tail: what thrust does to the moment beyond its line of
# action, as a lever arm in chords, one standard deviation. Analyst's estimate, of the size that
# recorded hills and parabolas showed (benchmarks/results/moments_on_recorded_flights.md).
POWER_ARM = 0.3
# What no document states and every flown airplane has, standard deviations: the arm of the power;
# Mach tuck or its opposite, moment coefficient per unit of dynamic pressure beyond the limit (0.05
# is 2 deg of elevator at 1.3 times the never-exceed speed); how fast the elevator fades there.
# Analyst's estimates, no published spread.
UNDOCUMENTED = {"thrust_arm": POWER_ARM, "tuck": 0.05, "fade": 0.6}
DOCUMENTED = tuple(name for name in NAMES if name not in UNDOCUMENTED)


@dataclass(frozen=True)
class Uncertainty:
    """Standard deviations of the fields of `Multipliers`.

    Args:
        sigma: Field name to standard deviation: relative for factors, in the field's own unit for
            offsets; a field that is not named is certain.
        source: Field name to where the number comes from.
    """

    sigma: Mapping[str, float]
    source: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, value in self.sigma.items():
            if name not in NAMES or not 0.0 <= value < np.inf:
                raise NeutralPointError(
                    "argument-invalid",
                    f"Standard deviation {value} was given for {name!r}.",
                    where=f"uncertainty.{name}",
                    hint=f"Give a number from 0 up for one of: {', '.join(NAMES)}.",
                )

    def flown(self) -> Uncertainty:
        """The same with what no document states, for airplanes that are flown.

        Returns:
            New standard deviations; what is stated already stays.
        """
        return Uncertainty(UNDOCUMENTED | dict(self.sigma), self.source)

    def draw(self, rng: np.random.Generator, samples: int) -> Multipliers:
        """Joint draws.

        Factors are log-normal with median 1 (so that none turns negative), offsets normal; they
        are tied by `CORRELATIONS` of the underlying normal variables.

        Args:
            rng: Source of chance.
            samples: How many.

        Returns:
            Multipliers whose leaves are (samples,).

        Source: coefficient of variation s of a log-normal: s^2 = exp(v) - 1 with v the variance
            of its logarithm.
        """
        factor = np.linalg.cholesky(correlation_matrix())
        normal = rng.standard_normal((samples, len(DOCUMENTED))) @ factor.T
        drawn = dict(zip(DOCUMENTED, normal.T, strict=True))
        # After the others and only where uncertain: a draw without them stays what it was.
        for name in UNDOCUMENTED:
            spread = self.sigma.get(name, 0.0) > 0.0
            drawn[name] = rng.standard_normal(samples) if spread else np.zeros(samples)
        return Multipliers(**{name: self._apply(name, values) for name, values in drawn.items()})

    def _apply(self, name: str, normal: np.ndarray) -> np.ndarray:
        sigma = self.sigma.get(name, 0.0)
        if name in OFFSETS:
            return sigma * normal
        return np.exp(np.sqrt(np.log1p(sigma**2)) * normal)


def correlation_matrix() -> np.ndarray:
    """Correlations between the fields of `Multipliers`, (k, k) in the order of `DOCUMENTED`.

    Returns:
        (k, k).
    """
    matrix = np.eye(len(DOCUMENTED))
    for (first, second), value in CORRELATIONS.items():
        row, column = DOCUMENTED.index(first), DOCUMENTED.index(second)
        matrix[row, column] = matrix[column, row] = value
    return matrix
