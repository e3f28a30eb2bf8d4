"""What a person in the pilot's seat could feel and see; never what anyone did feel.

Sample paths of the motion come in with the place of the seat, the light and the clouds. What goes
out is the specific force there, and what two published models of the vestibular organs make of it
for a person who looks at nothing, and whether there was a horizon to look at. It is assumed that
the inner ear is healthy, that the head is upright and still in the seat, and that no sideslip is
flown. Importing this package switches JAX to float64.
"""

import jax

jax.config.update("jax_enable_x64", True)

from neutralpoint.senses.belief import enough_felt, hidden_bank  # noqa: E402
from neutralpoint.senses.horizon import Outlook, TerrainLine, outlook, terrain_line  # noqa: E402
from neutralpoint.senses.observer import Organs, Perceived, draw_organs, perceive  # noqa: E402
from neutralpoint.senses.seat import Ride, ride_of, turned_to_body  # noqa: E402

__all__ = [
    "Organs",
    "Outlook",
    "Perceived",
    "Ride",
    "TerrainLine",
    "draw_organs",
    "enough_felt",
    "hidden_bank",
    "outlook",
    "perceive",
    "ride_of",
    "terrain_line",
    "turned_to_body",
]
