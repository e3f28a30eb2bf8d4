"""What an airplane is: geometry, loading, aerodynamics, engines, control surfaces and pitch trim.

Shapes, masses and given derivatives come in. One `Airplane` as a JAX pytree goes out, with its
loading, centre-of-gravity limits and the standard deviations that `Multipliers` are drawn with. It
is assumed that handbook methods hold within the bands they carry, and that items and fuel are
points. Airplane files are read by `neutralpoint.case`; those of the catalogue lie here as data.
"""

from neutralpoint.airplane.envelope import Envelope, effect_of_move, move_item
from neutralpoint.airplane.loading import FuelTank, Loading, LoadItem, mass_properties
from neutralpoint.airplane.model import Airplane, Multipliers, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty

__all__ = [
    "Airplane",
    "Envelope",
    "FuelTank",
    "LoadItem",
    "Loading",
    "Multipliers",
    "Uncertainty",
    "apply_multipliers",
    "effect_of_move",
    "mass_properties",
    "move_item",
]
