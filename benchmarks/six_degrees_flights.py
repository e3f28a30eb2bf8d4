"""Flights of the judge: a batch flown with its faults, and its twins without, in one loop."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
from six_degrees import STEP, Array, G, advance, air, column_need, euler, rates, thrust
from six_degrees_airframe import CATALOGUE, airframes, take
from six_degrees_faults import BY_AUTOPILOT, FLAPS_OUT, HANDS_ONLY, KINDS, MOVING, NAMES, Fault
from six_degrees_faults import sizes as fault_sizes
from six_degrees_pilots import Crew, crew, load_and_rate
from six_degrees_plans import Gusts, at, plans
from six_degrees_start import stall_speed, trimmed

from neutralpoint.airplane_file.build import DescribedAirplane

SPAN, RECORD = 240.0, 5  # s of each flight; every so many steps are kept
BEGINS = (70.0, 130.0)  # s, of the faults
SHARES = (0.4, 0.36, 0.24)  # of the catalogue
HEIGHTS = {
    "velmar-c7": (900.0, 5500.0),
    "ostrel-7": (1500.0, 9000.0),
    "tarnley-180": (500.0, 3000.0),
}
CLIMBS = {"velmar-c7": 6.0, "ostrel-7": 9.0, "tarnley-180": 3.5}  # m/s
SEEN = ("speed", "path", "course", "bank", "height", "north", "east", "load", "along", "pitch")


@dataclass(frozen=True)
class Flights:
    """A batch; `values` by name, each (N, T), on `time`; the twin beside it.

    `begin` is when the fault begins, s, NaN where there is none, `end` when the record does.
    """

    names: list[str]
    kind: list[str]
    engaged: Array
    begin: Array
    end: Array
    flap: Array
    time: Array
    values: dict[str, Array]
    twin: dict[str, Array]
    air_frames: SimpleNamespace
    gust: Array
    plan: dict[str, Array]
    heading: Array


def _kinds(rng: np.random.Generator, which: list[str], only: tuple[str, ...] | None) -> list[str]:
    """A kind of fault for each flight that its airplane can have."""
    found = []
    for name in which:
        weight = np.array([share for _, share in KINDS.values()])
        if only:
            weight = weight * [kind in only for kind in NAMES]
        if name == "tarnley-180":
            barred = (*MOVING, "one engine lost")
            weight = weight * [kind not in barred for kind in NAMES]
        found.append(NAMES[rng.choice(len(NAMES), p=weight / weight.sum())])
    return found


def fly(
    seed: int,
    n: int,
    described: dict[str, DescribedAirplane],
    only: tuple[str, ...] | None = None,
) -> Flights:
    """Draw and fly a batch.

    Args:
        seed: Of everything.
        n: Flights.
        described: The catalogue.
        only: Kinds of fault to fly, all where not given.
    """
    rng = np.random.default_rng([6, seed])
    which = [CATALOGUE[k] for k in rng.choice(3, n, p=SHARES)]
    kind = _kinds(rng, which, only)
    a = airframes(which, described, rng)
    a.warmer = rng.normal(0.0, 9.0, n)
    of = np.isin
    engaged = (rng.random(n) < 0.5) & ~of(kind, HANDS_ONLY) | of(kind, BY_AUTOPILOT)
    out = of(kind, FLAPS_OUT) | (rng.random(n) < 0.06)
    a.flap = np.where(out, rng.choice([0.5, 1.0], n), 0.0)
    height = np.array([rng.uniform(*HEIGHTS[name]) for name in which])
    height = np.where(out, 400.0 + 0.3 * height, height)
    density, sound = air(height, a.warmer)
    slow = 1.25 * stall_speed(a, height)
    fast = 0.95 * np.minimum(np.sqrt(2.0 * a.fast_pressure / density), a.fast_mach * sound)
    share = rng.beta(1.6, 1.6, n)
    share = np.where(out | of(kind, ("wing stall",)), 0.25 * share, share)
    speed = slow + share * np.maximum(fast - slow, 0.0)
    quick = np.array([CLIMBS[name] for name in which])
    plan = plans(rng, n, SPAN, quick)
    per_g = load_and_rate(a, 0.5 * density * speed**2, speed)[2]
    size, who = fault_sizes(rng, a.mean_chord, per_g), crew(rng, n)
    begin = rng.uniform(*BEGINS, n)
    heading = rng.uniform(-np.pi, np.pi, n)
    both = np.concatenate([np.arange(n), np.arange(n)])
    number = np.array([NAMES.index(each) for each in kind])
    fault = Fault(np.concatenate([number, 0 * number]), begin[both], take(size, both))
    given = SimpleNamespace(engaged=engaged[both], speed=speed, height=height, heading=heading)
    gusts = Gusts(rng, n, a.span)
    table, end = _loop(take(a, both), a, plan, both, fault, take(who, both), given, gusts)
    values = {name: table[k, :n] for k, name in enumerate(SEEN)}
    twin = {name: table[k, n:] for k, name in enumerate(SEEN)}
    return Flights(
        which,
        kind,
        engaged,
        np.where(number > 0, begin, np.nan),
        end[:n],
        a.flap,
        np.arange(table.shape[2]) * STEP * RECORD,
        values,
        twin,
        a,
        gusts.sigma,
        plan,
        heading,
    )


def _start(a, plan, given) -> tuple[Array, object, SimpleNamespace]:
    """Trimmed flight along the first of the plan, and what the crew knows of it."""
    n = given.speed.size
    path = plan["climb"][:, 0] / given.speed
    y, control, lever = trimmed(a, given.speed, path, given.height, given.heading)
    _, _, level = trimmed(a, given.speed, 0.0 * path, given.height, given.heading)
    _, _, up = trimmed(a, given.speed, np.full(n, 0.03), given.height, given.heading)
    density, _ = air(given.height, a.warmer)
    pressure = 0.5 * density * given.speed**2
    fixed, free, _ = load_and_rate(a, pressure, given.speed)
    drag = control.thrust.sum(axis=0) / (a.mass * G) - path
    known = SimpleNamespace(
        pitch=euler(y)[1],
        path=path,
        lever=level,
        lever_per_path=(up - level) / 0.03,
        elevator=control.elevator,
        per_load=np.stack([fixed, free]),
        path_loss=np.clip(drag, 0.03, 0.2),
        stall=stall_speed(a, given.height),
        pressure=pressure,
        density=density,
    )
    known.lever_now = lever
    return y, control, known


def _loop(both_a, a, plan, both, fault, who, given, gusts) -> tuple[Array, Array]:
    """Fly; table (len(SEEN), 2N, T) and end of each record."""
    y, control, known = _start(a, plan, given)
    y = y[:, both]
    for name in vars(control):
        setattr(control, name, getattr(control, name)[..., both].copy())
    start = take(known, both)
    start.engaged = given.engaged
    a, n = both_a, both.size
    hands = Crew(who, a, start)
    hands.lever = start.lever_now.copy()
    table = {name: each[both] for name, each in plan.items()}
    apart, power = np.ones(n), np.stack([start.lever_now] * 2)
    end, jam = np.full(n, SPAN), np.full(n, np.nan)
    ground = np.maximum(y[12] - 3500.0, 0.0)
    wind, acting = np.zeros((3, n)), fault.acting(0.0, control.flap)
    _, felt = rates(y, a, control, acting, wind, apart)
    rows = []
    half = n // 2
    for k in range(round(SPAN / STEP)):
        time = k * STEP
        wave, roll = gusts.step(felt.speed[half:])
        acting = fault.acting(time, control.flap)
        acting.swirl = acting.swirl + roll[both]
        wind = wave[:, both] + fault.wind(time, given.heading[both])
        seen = _seen(y, felt, control, apart, start)
        meant = at(table, time)
        meant.speed = given.speed[both] + meant.speed
        meant.figure = fault.now(time, "aerobatics")
        force, aileron, rudder, lever = hands.fly(time, fault, seen, meant)
        jam = _move(a, control, fault, hands, (time, force, jam, felt))
        lag = STEP / 0.12
        stuck = fault.now(time, "aileron jam")
        aim = np.where(stuck, fault.size.side * fault.size.stuck, aileron)
        control.aileron = control.aileron + lag * (aim - control.aileron)
        control.rudder = control.rudder + lag * (rudder - control.rudder)
        share, feathered = fault.power(time)
        power += STEP * (lever * share - power) / a.lag
        pull = thrust(a, np.maximum(power, 0.0), felt.speed, felt.density, felt.mach)
        dead = np.clip(1.0 - power / np.maximum(a.windmill_power, 0.02), 0.0, 1.0)
        area = np.where(feathered, a.feather_drag, a.windmill_drag) * a.disc_area
        control.thrust = pull - dead * area * felt.pressure
        control.thrust[1] *= a.twin
        y, apart, felt = advance(y, a, control, acting, wind, apart)
        over = (y[12] < ground + 30.0) | (felt.pressure > 1.75 * a.fast_pressure)
        over |= (felt.load > 1.7 * a.load_factor_max) | (felt.load < 1.7 * a.load_factor_min)
        over |= np.abs(felt.alpha) > 0.7  # deeper than the separation law is meant for
        end = np.where(over & (end == SPAN), time, end)
        # Past its end a record is not read; the state is held within what the equations bear.
        y[0:3] = np.clip(y[0:3], -350.0, 350.0)
        y[3:6] = np.clip(y[3:6], -4.0, 4.0)
        y[12] = np.clip(y[12], 0.0, 10900.0)
        if k % RECORD == 0:
            rows.append(_kept(y, felt, seen))
    return np.stack(rows).transpose(1, 2, 0), end


def _seen(y, felt, control, apart, start) -> SimpleNamespace:
    """What a crew can know of a moment."""
    bank, pitch, _ = euler(y)
    across = np.hypot(felt.ground[0], felt.ground[1])
    stall = start.stall * np.sqrt(start.density / felt.density)
    stall = stall * np.sqrt(np.maximum(felt.load, 0.3))
    return SimpleNamespace(
        bank=bank,
        pitch=pitch,
        path=np.arctan2(-felt.ground[2], np.maximum(across, 0.1)),
        pitch_rate=y[4] * np.cos(bank) - y[5] * np.sin(bank),
        roll_rate=y[3],
        slip=felt.beta,
        load=felt.load,
        speed=felt.speed,
        pressure=felt.pressure,
        thick=np.sqrt(felt.pressure / start.pressure),
        speedy=felt.speed / stall,
        tail_angle=felt.tail_angle,
        elevator=control.elevator,
        tab=control.tab,
        apart=apart,
    )


def _move(a, control, fault, hands, now) -> Array:
    """Elevator by the forces on it, and trim."""
    time, force, jam, felt = now
    total = force + fault.column(time, control.flap)
    need, stiff = column_need(a, felt, control.elevator, control.tab)
    stiction = np.where(hands.engaged, 0.2, 1.0) * a.friction
    left = total - need
    left = np.sign(left) * np.maximum(np.abs(left) - stiction, 0.0)
    elevator = control.elevator - (1.0 - np.exp(-STEP / 0.08)) * left / stiff
    jams = fault.now(time, "elevator jam")
    jam = np.where(jams & np.isnan(jam), control.elevator + fault.size.jam, jam)
    elevator = np.where(np.isnan(jam), elevator, jam)
    control.elevator = np.clip(elevator, a.elevator_min, a.elevator_max)
    wanted = hands.trims(time, force, fault, jams)
    rate = np.where(a.trim_manual_rate > 0.0, 0.0, a.trim_loaded_rate)
    driven = fault.trim_rate(time, rate, a.trim_autopilot_rate, hands.engaged)
    wanted = np.where(np.isnan(driven), wanted, driven) * STEP
    slack = fault.now(time, "elevator or tab lost") & (fault.since(time) < 1.0)
    wanted = wanted + np.where(slack, STEP * fault.size.slack, 0.0)
    turned = control.stabilizer + np.where(a.moving_tail, wanted, 0.0)
    low, high = a.trim_travel_min, a.trim_travel_max
    control.stabilizer = np.where(a.moving_tail, np.clip(turned, low, high), 0.0)
    turned = control.tab - np.where(a.moving_tail, 0.0, wanted)
    control.tab = np.where(a.moving_tail, 0.0, np.clip(turned, low, high))
    return jam


def _kept(y, felt, seen) -> Array:
    return np.stack(
        [
            felt.speed,
            seen.path,
            np.arctan2(felt.ground[1], felt.ground[0]),
            seen.bank,
            y[12],
            y[10],
            y[11],
            felt.load,
            felt.along,
            seen.pitch,
        ]
    )
