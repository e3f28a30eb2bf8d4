"""What a changed number of an airplane changes: balance, trim, force and modes, before and after.

Both airplanes are solved side by side as given, without their uncertainty, so that the answer comes
at once; `curves` has the bands.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np

from neutralpoint.airplane.loading import percent_mac
from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.stability import neutral_point, neutral_point_free
from neutralpoint.dynamics.air import make_air
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, KNOT, POUND_FORCE
from neutralpoint.study.airplane.fleet import (
    Find,
    force_per_g,
    known,
    modes_of,
    solve,
    stall_speed,
    true_airspeed,
)

HEIGHT = 900.0  # m, standard air
SLOW, MIDDLE = 1.3, 1.45  # stall speeds: approach, and where the airplane is trimmed; as `curves`
FAST = 0.9  # of the never-exceed speed
PERCENT = 0.01


@dataclass(frozen=True)
class ChangedNumber:
    """One number of two airplanes.

    Attributes:
        topic: `Balance`, `Trim`, `Column force` or `Modes`.
        name: What it is.
        unit: As printed.
        decimals: Digits after the point.
        before: In the unit; NaN where there is no steady flight.
        after: Of the changed airplane.
    """

    topic: str
    name: str
    unit: str
    decimals: int
    before: float
    after: float


def changed_numbers(before: Airplane, after: Airplane) -> list[ChangedNumber]:
    """What differs in how two airplanes fly.

    Args:
        before: As it was.
        after: With other numbers, of the same make-up.

    Returns:
        Every number of both, at one height and at speeds of the airplane as it was.

    Raises:
        NeutralPointError: `airplane-invalid` where the two are not made up alike.
    """
    air, pair = make_air(), [_plain(before), _plain(after)]
    if jax.tree.structure(pair[0]) != jax.tree.structure(pair[1]):
        raise NeutralPointError(
            "airplane-invalid",
            "The change makes an airplane of another make-up: engines, drive or surfaces.",
            where="airplane",
            hint="Change numbers alone to see what they change.",
        )
    both = jax.tree.map(
        lambda a, b: jnp.stack([jnp.asarray(a, float), jnp.asarray(b, float)]), *pair
    )
    stalls = np.array([stall_speed(one, air, HEIGHT) for one in pair])
    speeds = np.array([SLOW, MIDDLE, 0.0]) * stalls[0]
    speeds[2] = FAST * float(before.limits.never_exceed_speed)
    return [
        *_balance(both, stalls),
        *_flown(both, air, speeds, before.trim_drive.kind),
    ]


def _plain(airplane: Airplane) -> Airplane:
    """Without static names, which would compile the same equations for every airplane."""
    drive = dataclasses.replace(airplane.trim_drive, stops=())
    return dataclasses.replace(airplane, name="", trim_drive=drive)


def _balance(both: Airplane, stalls: np.ndarray) -> list[ChangedNumber]:
    place = np.asarray(both.mass.cg_station)
    chord, nose = (np.asarray(getattr(both.geometry, n)) for n in ("mean_chord", "chord_station"))
    at = np.array([percent_mac(p, n, c) for p, n, c in zip(place, nose, chord, strict=True)])
    found = {
        "stall speed, calibrated": ("kt", 0, stalls / KNOT),
        "center of gravity": ("% MAC", 1, at),
    }
    for name, point in (("fixed", neutral_point), ("free", neutral_point_free)):
        margin = (np.asarray(jax.vmap(point)(both)) - place) / chord
        found[f"static margin, stick {name}"] = ("% MAC", 1, margin / PERCENT)
    return [_number("Balance", name, *about) for name, about in found.items()]


def _flown(both: Airplane, air, speeds: np.ndarray, drive: str) -> list[ChangedNumber]:
    find: Find = "elevator" if drive == "none" else "trim"
    kind = "stabilizer" if drive == "none" else drive
    true = true_airspeed(speeds, air, HEIGHT)
    trims = solve(both, air, HEIGHT, find, true, 0.0)
    angle = known(trims, getattr(trims.inputs, kind))
    reference = jax.tree.map(lambda leaf: leaf[:, 1], trims)
    held = solve(both, air, HEIGHT, "elevator", true, np.nan_to_num(angle[:, 1]))
    pull = known(held, held.readings.column_force) / POUND_FORCE
    said = [f"{speed / KNOT:.0f} kt" for speed in speeds]
    rows = [
        _number("Trim", f"trim for no force at {said[k]}", "\u00b0", 2, angle[:, k] / DEGREE)
        for k in range(3)
        if drive != "none"
    ]
    rows += [
        _number("Column force", f"pull at {said[k]}, trimmed at {said[1]}", "lb", 1, pull[:, k])
        for k in (0, 2)
    ]
    per_g = force_per_g(both, air, reference) / POUND_FORCE
    rows.append(_number("Column force", f"for each g at {said[1]}", "lb", 1, per_g))
    for name, value in modes_of(both, air, reference).items():
        unit = "" if "damping" in name else ("rad/s" if "frequency" in name else "1/s")
        rows.append(_number("Modes", f"{name} at {said[1]}", unit, 3, value))
    return rows


def _number(topic: str, name: str, unit: str, decimals: int, pair) -> ChangedNumber:
    return ChangedNumber(topic, name, unit, decimals, float(pair[0]), float(pair[1]))
