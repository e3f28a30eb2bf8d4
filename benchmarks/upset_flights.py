"""Blind upsets by a small flight model of their own, for judging when an upset began.

Nothing here is the product's: the equations are those of a point mass with a short period and a
roll mode, in plain NumPy, all flights at once. An autopilot or a hand flies a plan of turns,
climbs, level-offs and changes of speed; then something fails, or nothing does. Each flight is flown
a second time with the same air, plan and crew but without the fault: where the two part, the motion
begins.
Airframes, crews and rates are the analyst's, drawn wide.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.earth import atmosphere
from neutralpoint.quantities import DEGREE, GRAVITY

Array = np.ndarray

STEP, RECORD = 0.05, 0.25  # s
KINDS = (
    "none",
    "trim runaway",
    "slow trim runaway",
    "intermittent trim runaway",
    "elevator jam",
    "load shift",
    "power loss",
    "aileron hardover",
    "spiral",
    "nobody flies",
    "push",
    "slow to the stall",
    "downdraft",
    "tail damage",
)
SEGMENTS = 6  # of the plan
REACTION = (1.0, 15.0)  # s from an autopilot that lets go to hands on the controls


@dataclass(frozen=True)
class Flights:
    """Flights of one batch, SI, on a grid of `RECORD`; arrays (N, m) unless said.

    Attributes:
        time: s, shape (m,).
        kind: Number among `KINDS`, shape (N,).
        fault: When the fault began, s; NaN without one, shape (N,).
        engaged: Whether the autopilot flew at the start, shape (N,).
        values: By name: speed, path, course, bank, height, north, east, load, along.
        lift: Mass, wing area, lift slope and zero-lift angle, each (N,).
        end: s of the record that there is: to the ground, or to the end, shape (N,).
        craft: The rest of the airframe, its trim motor's rate as elevator, rad/s, and speed and
            height at the start, each (N,).
        plan: What was meant: begin, climb, bank and power of each part, each (N, SEGMENTS).
        second: When a second thing happened; NaN without one, shape (N,).
    """

    time: Array
    kind: Array
    fault: Array
    engaged: Array
    values: dict[str, Array]
    lift: dict[str, Array]
    end: Array
    craft: dict[str, Array]
    plan: dict[str, Array]
    second: Array


@dataclass
class _Craft:
    """Airframe and crew of each flight, arrays (N,)."""

    mass: Array
    area: Array
    chord: Array
    slope: Array
    zero: Array
    most_lift: Array
    drag: Array
    induced: Array
    stiffness: Array
    damping: Array
    inertia: Array
    surface: Array
    roll_time: Array
    roll_power: Array
    gain: Array
    authority: Array
    slack: Array
    lag: Array
    attention: Array


def _craft(rng: np.random.Generator, n: int, engaged: Array) -> tuple[_Craft, Array, Array]:
    """Airframes from a light single to a small jet, with the speed and height they start at."""
    size = rng.uniform(0.0, 1.0, n)
    mass = 1000.0 * 12.0**size * rng.lognormal(0.0, 0.15, n)
    area = 15.0 * 3.5**size * rng.lognormal(0.0, 0.1, n)
    chord = np.sqrt(area / 7.5)
    slope = rng.uniform(4.6, 5.6, n)
    height = 1200.0 + 6000.0 * size * rng.random(n) + 800.0 * rng.random(n)
    density = atmosphere.density(atmosphere.pressure(height), atmosphere.temperature(height))
    lift = rng.uniform(0.25, 0.65, n)
    speed = np.sqrt(2.0 * mass * GRAVITY / (density * area * lift))
    by = np.where
    return (
        _Craft(
            mass=mass,
            area=area,
            chord=chord,
            slope=slope,
            zero=rng.normal(-1.5, 1.0, n) * DEGREE,
            most_lift=rng.uniform(1.35, 1.7, n),
            drag=rng.uniform(0.024, 0.034, n),
            induced=rng.uniform(0.042, 0.058, n),
            stiffness=-slope * rng.uniform(0.06, 0.25, n),
            damping=-rng.uniform(14.0, 26.0, n),
            inertia=mass * (chord * rng.uniform(0.95, 1.3, n)) ** 2,
            surface=-rng.uniform(1.0, 1.8, n),
            roll_time=rng.uniform(0.3, 0.9, n),
            roll_power=rng.uniform(40.0, 90.0, n) * DEGREE,
            gain=by(engaged, 1.0, rng.uniform(0.4, 0.9, n)),
            authority=by(engaged, rng.uniform(2.0, 5.0, n), rng.uniform(5.0, 14.0, n)) * DEGREE,
            slack=by(engaged, 0.0, rng.uniform(0.0, 0.6, n)) * DEGREE,
            lag=by(engaged, 0.1, rng.uniform(0.2, 0.5, n)),
            attention=rng.uniform(*REACTION, n),
        ),
        speed,
        height,
    )


def _plan(rng: np.random.Generator, n: int, span: float) -> dict[str, Array]:
    """What is meant: climb and bank from each of some times on; some flights are quiet."""
    begin = np.sort(rng.uniform(0.0, span, (n, SEGMENTS)), axis=1)
    begin[:, 0] = 0.0
    busy = rng.random(n) < 0.7
    climb = np.cumsum(
        rng.normal(0.0, 3.0, (n, SEGMENTS)) * (rng.random((n, SEGMENTS)) < 0.5), axis=1
    )
    climb = np.where(busy[:, None], np.clip(climb, -8.0, 6.0), climb[:, :1])
    bank = rng.normal(0.0, 20.0, (n, SEGMENTS)) * (rng.random((n, SEGMENTS)) < 0.4) * DEGREE
    bank = np.where(busy[:, None], np.clip(bank, -40.0 * DEGREE, 40.0 * DEGREE), 0.0)
    power = 1.0 + rng.normal(0.0, 0.1, (n, SEGMENTS)) * (rng.random((n, SEGMENTS)) < 0.3)
    return {"begin": begin, "climb": climb, "bank": bank, "power": power}


def _faults(rng: np.random.Generator, n: int) -> dict[str, Array]:
    """Sizes that the faults take theirs from; every flight has all, and uses what its kind asks."""
    side = rng.choice([-1.0, 1.0], n)
    return {
        "side": side,
        "down": np.where(rng.random(n) < 0.75, 1.0, -1.0),
        "rate": rng.uniform(0.15, 0.6, n) * DEGREE,
        "slow": rng.uniform(0.03, 0.12, n) * DEGREE,
        "travel": rng.uniform(3.0, 9.0, n) * DEGREE,
        "on": rng.uniform(1.0, 4.0, n),
        "off": rng.uniform(2.0, 10.0, n),
        "moment": rng.uniform(0.03, 0.15, n),
        "left": np.where(rng.random(n) < 0.5, 0.0, 0.5) * rng.random(n),
        "roll": rng.uniform(0.15, 0.7, n),
        "drift": rng.uniform(0.7, 4.0, n) * DEGREE,
        "sink": rng.uniform(20.0, 70.0, n),
        "hurry": rng.uniform(2.0, 10.0, n),
        "gust": rng.uniform(6.0, 14.0, n),
        "span": rng.uniform(6.0, 20.0, n),
        "hands": rng.uniform(0.0, 1.0, n),
    }


def _second(seed: int, n: int, begin: Array, share: float) -> dict[str, Array]:
    """A second thing that happens to some of the flights: power goes, or a downdraft is met.

    Drawn apart, so that flights without it are the same whatever the share.
    """
    rng = np.random.default_rng([seed, 2])
    some = rng.random(n) < share
    return {
        "begin": np.where(some, begin + rng.uniform(12.0, 45.0, n), np.inf),
        "power": rng.random(n) < 0.5,
        "left": rng.uniform(0.0, 0.5, n),
        "gust": rng.uniform(6.0, 12.0, n),
        "span": rng.uniform(6.0, 15.0, n),
    }


def _now(plan: dict[str, Array], time: float) -> tuple[Array, Array, Array]:
    number = (plan["begin"] <= time).sum(axis=1) - 1
    rows = np.arange(number.size)
    return tuple(plan[name][rows, number] for name in ("climb", "bank", "power"))


def _gusts(rng: np.random.Generator, n: int, steps: int, speed: Array) -> Array:
    """Vertical and along-path gusts, first-order, shape (steps, 2, N); light to moderate."""
    sigma = rng.lognormal(np.log(0.5), 0.7, n)
    memory = np.exp(-STEP * speed / 250.0)
    found = np.zeros((steps, 2, n), np.float32)
    now = np.zeros((2, n))
    for k in range(steps):
        now = memory * now + sigma * np.sqrt(1.0 - memory**2) * rng.standard_normal((2, n))
        found[k] = now
    return found


def fly(
    seed: int,
    n: int,
    *,
    span: float = 240.0,
    mix: tuple[str, ...] = KINDS,
    second: float = 0.0,
) -> tuple[Flights, Flights]:
    """Fly a batch with its faults, and again without.

    Args:
        seed: Of everything drawn.
        n: Flights.
        span: s of each.
        mix: Kinds of fault, shared out evenly.
        second: Share of the flights on which a second thing happens after the fault.

    Returns:
        With the faults, and without any.
    """
    rng = np.random.default_rng(seed)
    kind = np.array([KINDS.index(mix[i % len(mix)]) for i in range(n)])
    engaged = (np.arange(n) // len(mix)) % 2 == 0
    craft, speed, height = _craft(rng, n, engaged)
    plan, sizes = _plan(rng, n, span), _faults(rng, n)
    begin = rng.uniform(0.3 * span, 0.7 * span, n)
    gusts = _gusts(rng, n, round(span / STEP), speed)
    remnant = rng.standard_normal((round(span / STEP) // 20 + 2, 2, n))
    given = (craft, speed, height, plan, sizes, begin, gusts, remnant, engaged)
    later = _second(seed, n, begin, second)
    return _flown(kind, span, later, *given), _flown(0 * kind, span, later, *given)


def _flown(
    kind, span, later, craft, speed, height, plan, sizes, begin, gusts, remnant, engaged
) -> Flights:
    """One run of a batch by Euler's rule."""
    c, n, steps = craft, kind.size, round(span / STEP)
    is_kind = [kind == number for number in range(len(KINDS))]

    def of(name: str) -> Array:
        return is_kind[KINDS.index(name)]

    density = atmosphere.density(atmosphere.pressure(height), atmosphere.temperature(height))
    lift0 = 2.0 * c.mass * GRAVITY / (density * c.area * speed**2)
    alpha0 = c.zero + lift0 / c.slope
    thrust0 = 0.5 * density * speed**2 * c.area * (c.drag + c.induced * lift0**2)
    climb, bank_meant, _ = _now(plan, 0.0)
    V, path, course = speed.copy(), climb / speed, np.zeros(n)
    phi, roll, q, alpha, h = (
        bank_meant.copy(),
        np.zeros(n),
        np.zeros(n),
        alpha0.copy(),
        height.copy(),
    )
    north, east = np.zeros(n), np.zeros(n)
    trim, elevator, held, aileron = (np.zeros(n) for _ in range(4))
    thrust = thrust0 * (1.0 + climb * c.mass * GRAVITY / (thrust0 * speed))
    wanted_path, wanted_bank = path.copy(), phi.copy()
    strained, released = np.zeros(n), np.full(n, np.inf)
    jammed = np.full(n, np.nan)
    cruising = thrust.copy()
    rows: list[Array] = []
    ended = np.full(n, span)
    for k in range(steps):
        time = k * STEP
        climb, bank_meant, power = _now(plan, time)
        since = np.maximum(time - begin, 0.0)
        on = (since > 0.0) & (kind > 0)
        # What is meant, and what takes its place.
        sink = on & of("push")
        climb = np.where(sink, -sizes["sink"], climb)
        drift = sizes["side"] * np.minimum(sizes["drift"] * since, 1.6)
        bank_meant = np.where(on & of("spiral"), bank_meant + drift, bank_meant)
        hurry = np.where(sink, sizes["hurry"], 6.0)
        top = (np.where(sink, 2.0, 0.9) / hurry) * GRAVITY / V
        wanted_path += STEP * np.clip((climb / V - wanted_path) / 2.0, -top, top)
        wanted_bank += STEP * np.clip((bank_meant - wanted_bank) / 1.5, -0.09, 0.09)
        # Hands and autopilot.
        nobody = on & of("nobody flies") | (time < released + c.attention) & (time >= released)
        noise = np.where(engaged & (time < released), 0.0, 0.12 * DEGREE) * remnant[k // 20]
        miss = wanted_path - path
        miss = np.sign(miss) * np.maximum(np.abs(miss) - c.slack, 0.0) + noise[0]
        alpha_turn = alpha0 + lift0 / c.slope * (1.0 / np.maximum(np.cos(phi), 0.4) - 1.0)
        ask = c.gain * (0.9 * miss - 0.55 * q - 0.25 * (alpha - alpha_turn))
        ask = np.where(nobody, 0.0, -ask - held)
        held = np.where(nobody, held, np.clip(held + STEP * 0.35 * c.gain * miss, -0.25, 0.25))
        ask = np.clip(ask, -c.authority, c.authority)
        elevator += STEP * (ask - elevator) / c.lag
        new = on & of("elevator jam") & np.isnan(jammed)
        jammed = np.where(new, elevator, jammed)
        elevator = np.where(np.isnan(jammed), elevator, jammed)
        strained = np.where(np.abs(ask) > 0.95 * c.authority, strained + STEP, 0.0)
        let_go = engaged & np.isinf(released) & ((strained > 2.0) | (np.abs(phi) > 0.9))
        released = np.where(let_go, time, released)
        held = np.where(let_go, 0.0, held)
        steer = c.gain * (1.6 * (wanted_bank - phi + noise[1]) - 1.1 * roll) / c.roll_power
        aileron += STEP * (np.where(nobody, 0.0, np.clip(steer, -1.0, 1.0)) - aileron) / c.lag
        # What failed.
        rate = np.where(of("trim runaway"), sizes["rate"], 0.0)
        rate = np.where(of("slow trim runaway"), sizes["slow"], rate)
        beat = np.mod(since, sizes["on"] + sizes["off"]) < sizes["on"]
        rate = np.where(of("intermittent trim runaway") & beat, sizes["rate"], rate)
        trim = np.where(
            on, np.clip(trim + STEP * rate * sizes["down"], -sizes["travel"], sizes["travel"]), trim
        )
        grown = on * np.minimum(since / 1.5, 1.0)
        broken = grown * np.where(of("tail damage"), sizes["down"] * sizes["moment"], 0.0)
        moved = grown * np.where(of("load shift"), 0.6 * sizes["moment"] / lift0, 0.0)
        lean = np.where(of("aileron hardover"), sizes["roll"], 0.0)
        lean = np.where(of("nobody flies"), 0.04 * sizes["roll"], lean)
        lean = np.where(of("power loss") & (sizes["hands"] < 0.5), 0.15, lean)
        rolled = sizes["side"] * lean * on * np.minimum(since, 1.0)
        left = np.where(on & of("power loss"), sizes["left"], 1.0)
        left = np.where(on & of("slow to the stall"), 0.15, left)
        burst = on & of("downdraft") & (since < sizes["span"])
        blow = np.where(burst, np.sin(np.pi * since / sizes["span"]), 0.0) * sizes["gust"]
        after = np.maximum(time - later["begin"], 0.0)
        again = (after > 0.0) & (kind > 0)
        left = np.where(again & later["power"], later["left"], left)
        burst = again & ~later["power"] & (after < later["span"])
        blow += np.where(burst, np.sin(np.pi * after / later["span"]), 0.0) * later["gust"]
        # Forces and moments.
        cruising += STEP * 0.02 * (c.mass * np.clip(speed - V, -4.0, 4.0) * 0.2)
        aim = left * power * np.maximum(cruising + c.mass * GRAVITY * wanted_path, 0.05 * thrust0)
        thrust += STEP * (np.minimum(aim, 2.2 * thrust0 + 0.1 * c.mass * GRAVITY) - thrust) / 1.5
        density = 1.225 * np.exp(-h / 9300.0)
        pressure = 0.5 * density * V**2 * c.area
        wave = gusts[k]
        incidence = alpha + (wave[0] - blow) / V
        linear = c.slope * (incidence - c.zero)
        past = np.maximum(linear - c.most_lift, 0.0)
        lift_c = np.clip(np.minimum(linear, c.most_lift) - 0.6 * np.minimum(past, 1.2), -1.1, 3.0)
        lift = pressure * lift_c
        drag = pressure * (c.drag + c.induced * lift_c**2 + 0.3 * past)
        along = (thrust * np.cos(alpha) - drag) / c.mass
        across = (lift + thrust * np.sin(alpha)) / c.mass
        moment = (
            c.stiffness * (incidence - alpha0)
            + c.damping * q * c.chord / (2.0 * V)
            + c.surface * (elevator + trim)
            - broken
            + moved * lift_c  # weight moved aft by shares of the chord: it grows with the lift
            - 0.3 * past
        )
        if k % round(RECORD / STEP) == 0:
            rows.append(
                np.stack([V, path, course, phi, h, north, east, across / GRAVITY, along / GRAVITY])
            )
        level = np.maximum(np.cos(path), 0.05)
        V_rate = along - GRAVITY * np.sin(path) + 0.0 * wave[1]
        path_rate = across * np.cos(phi) / V - GRAVITY * np.cos(path) / V
        alpha_rate = q - across / V + GRAVITY * np.cos(path) * np.cos(phi) / V
        q_rate = pressure * c.chord * moment / c.inertia
        drop = 0.6 * past * sizes["side"] * c.roll_power
        roll_rate = ((aileron + rolled) * c.roll_power + drop + 0.03 * phi - roll) / c.roll_time
        course = course + STEP * across * np.sin(phi) / (V * level)
        north = north + STEP * V * np.cos(path) * np.cos(course)
        east = east + STEP * V * np.cos(path) * np.sin(course)
        h = h + STEP * V * np.sin(path)
        V = np.maximum(V + STEP * V_rate, 15.0)
        path = np.clip(path + STEP * path_rate, -1.5, 1.5)
        alpha = np.clip(alpha + STEP * alpha_rate, -0.6, 0.9)
        q, roll = q + STEP * q_rate, roll + STEP * roll_rate
        phi = phi + STEP * roll
        ended = np.where((h < 30.0) & (ended == span), time, ended)
        lost = (np.abs(phi) > 2.6) | (2.2 * speed < V) | (np.abs(path) > 1.3)
        ended = np.where(lost & (ended == span), time, ended)
    names = ("speed", "path", "course", "bank", "height", "north", "east", "load", "along")
    table = np.stack(rows).transpose(1, 2, 0)
    return Flights(
        np.arange(table.shape[2]) * RECORD,
        kind,
        np.where(kind > 0, begin, np.nan),
        engaged,
        dict(zip(names, table, strict=True)),
        {"mass": c.mass, "area": c.area, "slope": c.slope, "zero": c.zero, "most": c.most_lift},
        ended,
        {
            "chord": c.chord,
            "drag": c.drag,
            "induced": c.induced,
            "stiffness": c.stiffness,
            "damping": c.damping,
            "inertia": c.inertia,
            "surface": c.surface,
            "speed": speed,
            "height": height,
            "motor": np.where(of("slow trim runaway"), sizes["slow"], sizes["rate"]),
        },
        plan,
        np.where((kind > 0) & np.isfinite(later["begin"]), later["begin"], np.nan),
    )
