"""An airplane file as curves: trim and force against speed, authority, modes, with their spread.

Everything is computed for the airplane as given and for joint draws of its uncertainty, so that a
band can be shown beside each number.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import jax
import numpy as np

from neutralpoint.airplane.model import TrimDrive
from neutralpoint.airplane.stability import neutral_point, neutral_point_free
from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Equilibrium
from neutralpoint.dynamics.trim_motor import motor_share
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.airplane.fleet import (
    force_per_g,
    known,
    make_fleet,
    modes_of,
    solve,
    stall_speed,
    true_airspeed,
)
from neutralpoint.vocabulary.strength import LARGEST, ONE_HAND, TWO_HANDS

Array = np.ndarray

# Pulls that hands can give, by what is printed.
STRENGTHS = {f"{x.name}, {x.source}": x.force for x in (ONE_HAND, TWO_HANDS, LARGEST)}
# 14 CFR 25.255(a): three seconds of the trim drive.
MISTRIM_TIME = 3.0
# Lowest speed shown over the stall speed, and how many speeds.
SLOWEST, SPEEDS = 1.15, 25


@dataclass(frozen=True)
class AirplaneCurves:
    """What an airplane does over its speeds; row 0 is the airplane as given, the others draws.

    Args:
        height: m.
        stall_speed: Level, flaps up, m/s calibrated, as given.
        trim_speed: Speed the force curves are trimmed at, m/s calibrated.
        mistrim: Trim angle beyond that, towards nose-down, rad; the stops limit it.
        calibrated_airspeed: (n,) m/s.
        trim: (d, n) trim angle for no force, rad; NaN where none is found.
        pull: (d, n) column force with the trim of `trim_speed`, N.
        pull_mistrimmed: (d, n) with the mistrim on top, N.
        pull_at_stop: (d, n) in level flight with the trim at its nose-down stop, N.
        elevator_at_stop: (d, n) elevator that takes, rad.
        motor_share_back: (d, n) share of its unloaded rate that the motor keeps when it is to bring
            the trim back from there while the column holds level flight; 1 without a stabilizer.
        force_per_g: (d,) N, at `trim_speed`.
        modes: Name to (d,): frequencies rad/s, damping ratios, roots 1/s, at `trim_speed`.
        neutral_point: (d,) stick fixed, m.
        neutral_point_free: (d,) stick free, m.
        cg_station: (d,) m.
    """

    height: float
    stall_speed: float
    trim_speed: float
    mistrim: float
    calibrated_airspeed: Array
    trim: Array
    pull: Array
    pull_mistrimmed: Array
    pull_at_stop: Array
    elevator_at_stop: Array
    motor_share_back: Array
    force_per_g: Array
    modes: dict[str, Array]
    neutral_point: Array
    neutral_point_free: Array
    cg_station: Array

    def crossover(self, pull: float) -> Array:
        """Speed past which level flight at the nose-down stop takes more than a pull.

        Args:
            pull: N.

        Returns:
            (d,) m/s calibrated; -inf where it does at every speed shown, inf where at none.
        """
        speed = self.calibrated_airspeed
        return np.array([_crossing(speed, row, pull) for row in self.pull_at_stop])


def band(rows: Array) -> Array:
    """5, 50 and 95% of the draws, leaving out the airplane as given (row 0).

    Args:
        rows: (d, ...) with infinities and NaN allowed.

    Returns:
        (3, ...); NaN where more than a tenth of the draws has no value.
    """
    missing = np.isnan(rows[1:]).mean(axis=0) > 0.1
    drawn = np.where(missing, 0.0, rows[1:])
    found = np.nanquantile(drawn, (0.05, 0.5, 0.95), axis=0, method="inverted_cdf")
    return np.where(missing, np.nan, found)


def _crossing(speed: Array, pull: Array, limit: float) -> float:
    known = np.isfinite(pull)
    speed, over = speed[known], pull[known] - limit
    if not over.size or over.max() < 0.0:
        return np.inf
    first = int(np.argmax(over >= 0.0))
    if first == 0:
        return -np.inf
    before, after = over[first - 1], over[first]
    return float(speed[first - 1] - (speed[first] - speed[first - 1]) * before / (after - before))


def describe_airplane(
    described: DescribedAirplane,
    tell: Callable[[str], None],
    *,
    height: float = 900.0,
    trim_speed: float | None = None,
    mistrim: float | None = None,
    draws: int = 60,
    seed: int = 1,
) -> AirplaneCurves:
    """Curves of an airplane.

    Args:
        described: Airplane with its uncertainty.
        tell: Told what is being done.
        height: m, standard air.
        trim_speed: m/s calibrated; 1.45 times the stall speed when not given.
        mistrim: rad towards nose-down; three seconds of the trim drive when not given.
        draws: Of the uncertainty.
        seed: Of the draws.

    Returns:
        The curves.

    Raises:
        NeutralPointError: There is no steady level flight at `trim_speed`.
    """
    airplane, air = described.airplane, make_air()
    # Static names would compile the same equations again for every airplane.
    drive = dataclasses.replace(airplane.trim_drive, stops=())
    airplane = dataclasses.replace(airplane, name="", trim_drive=drive)
    stall = stall_speed(airplane, air, height)
    wanted = 1.45 * stall if trim_speed is None else trim_speed
    fleet = make_fleet(airplane, described.uncertainty, draws, seed)
    speeds = np.linspace(SLOWEST * stall, float(airplane.limits.never_exceed_speed), SPEEDS)
    true = true_airspeed(speeds, air, height)
    tell("Trim against speed")
    # The speed of reference comes last, so that one compiled solver does for all.
    find = "elevator" if drive.kind == "none" else "trim"
    both = true_airspeed(np.append(speeds, wanted), air, height)
    everything = solve(fleet, air, height, find, both, 0.0)
    trims = jax.tree.map(lambda leaf: leaf[:, :-1], everything)
    reference = jax.tree.map(lambda leaf: leaf[:, -1], everything)
    _check(reference, wanted, described.document.name)
    kind = "stabilizer" if drive.kind == "none" else drive.kind
    angle = np.asarray(getattr(reference.inputs, kind))
    away = _default_mistrim(drive) if mistrim is None else mistrim
    stop, sign = (drive.travel_min, -1.0) if kind == "tab" else (drive.travel_max, 1.0)
    off = np.clip(angle + sign * away, float(drive.travel_min), float(drive.travel_max))
    tell("Force against speed")
    pulls = [
        solve(fleet, air, height, "elevator", true, setting)
        for setting in (angle, off, np.full_like(angle, stop))
    ]
    tell("Stick force per g and modes")
    return AirplaneCurves(
        height=height,
        stall_speed=stall,
        trim_speed=wanted,
        mistrim=away,
        calibrated_airspeed=speeds,
        trim=known(trims, getattr(trims.inputs, kind)),
        pull=known(pulls[0], pulls[0].readings.column_force),
        pull_mistrimmed=known(pulls[1], pulls[1].readings.column_force),
        pull_at_stop=known(pulls[2], pulls[2].readings.column_force),
        elevator_at_stop=known(pulls[2], pulls[2].inputs.elevator),
        motor_share_back=known(pulls[2], _share_back(drive, pulls[2])),
        force_per_g=force_per_g(fleet, air, reference),
        modes=modes_of(fleet, air, reference),
        neutral_point=np.asarray(jax.vmap(neutral_point)(fleet)),
        neutral_point_free=np.asarray(jax.vmap(neutral_point_free)(fleet)),
        cg_station=np.asarray(fleet.mass.cg_station),
    )


def _share_back(drive: TrimDrive, at_stop: Equilibrium) -> Array:
    """The motor against the air, leading edge going down; a tab's own moment is not modelled."""
    return np.asarray(motor_share(drive, at_stop.readings.stabilizer_moment))


def _default_mistrim(drive: TrimDrive) -> float:
    """Source: 14 CFR 25.255(a), three seconds of trim movement; a hand wheel is moved likewise."""
    return MISTRIM_TIME * (float(drive.rate) or float(drive.manual_rate))


def _check(reference: Equilibrium, speed: float, name: str) -> None:
    if int(reference.outcome[0]) in (0, 4, 5):
        return
    raise NeutralPointError(
        "no-equilibrium",
        f"{name} has no steady level flight in trim at {speed:.1f} m/s.",
        where="trim speed",
        hint="Give a speed above the stall, or a load inside the envelope.",
    )
