"""What fails on the judge's flights, with sizes drawn wide, and what of it acts at a moment.

Every flight has all sizes drawn and uses those of its kind, so that its twin without the fault is
the same flight. Sizes are the analyst's estimates, no source, unless the airplane file gives them.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from six_degrees import Acting, Array, idle

from neutralpoint.quantities import DEGREE

# Kind: causes of the list that fit what is done, and how often it is flown.
KINDS: dict[str, tuple[tuple[str, ...], float]] = {
    "no failure": (("no-failure",), 0.27),
    "trim runaway": (("stabilizer-runaway",), 0.06),
    "slow trim runaway": (("stabilizer-runaway", "autopilot-mistrim"), 0.03),
    "intermittent runaway": (("intermittent-runaway",), 0.04),
    "autopilot mistrim": (("autopilot-mistrim",), 0.04),
    "autopilot hard-over": (("autopilot-hardover",), 0.04),
    "elevator jam": (("elevator-jam",), 0.04),
    "load shift aft": (("load-shift-aft",), 0.04),
    "load shift forward": (("load-shift-forward",), 0.03),
    "one engine lost": (("power-loss-one",), 0.04),
    "all engines lost": (("power-loss-all",), 0.04),
    "wing stall": (("wing-stall",), 0.04),
    "tailplane stall": (("tailplane-stall",), 0.03),
    "wing part lost": (("structural-failure",), 0.03),
    "tail part lost": (("structural-failure", "separation"), 0.02),
    "elevator or tab lost": (("separation",), 0.03),
    "spiral": (("spiral-dive",), 0.04),
    "push": (("control-input",), 0.03),
    "push on acceleration": (("somatogravic-input", "control-input"), 0.03),
    "nobody flies": (("incapacitation",), 0.04),
    "wind shear": (("wind-shear",), 0.04),
    "flap asymmetry": (("unlisted",), 0.02),
    "emergency descent": (("unlisted",), 0.02),
    "aileron jam": (("unlisted",), 0.02),
    "wake encounter": (("unlisted",), 0.02),
    "aerobatics": (("unlisted",), 0.02),
}
NAMES = tuple(KINDS)
OFF_LIST = tuple(name for name, (causes, _) in KINDS.items() if causes == ("unlisted",))
MOVING = ("trim runaway", "slow trim runaway", "intermittent runaway", "autopilot mistrim")
BY_AUTOPILOT = ("autopilot mistrim", "autopilot hard-over")
# Flown by hand until the fault begins, or the autopilot is switched off then.
HANDS_ONLY = ("spiral", "nobody flies", "push", "push on acceleration", "aerobatics", "wing stall")
FLAPS_OUT = ("tailplane stall", "flap asymmetry")


def sizes(rng: np.random.Generator, chord: Array, per_g: Array) -> SimpleNamespace:
    """Sizes of everything that may fail, arrays (N,).

    Args:
        rng: Of the sizes.
        chord: Mean chord, m.
        per_g: Stick force per g at the start, N; a force that nothing holds back ends by it.
    """
    n = chord.size

    def often(share: float, rare: float, value: Array) -> Array:
        return np.where(rng.random(n) < share, value, rare)

    return SimpleNamespace(
        side=rng.choice([-1.0, 1.0], n),
        down=np.where(rng.random(n) < 0.65, 1.0, -1.0),  # nose-down runs are the more
        slow=rng.uniform(0.15, 0.6, n),
        stop=often(0.75, np.inf, rng.uniform(3.0, 60.0, n)),
        on=rng.uniform(0.7, 5.0, n),
        off=rng.uniform(1.5, 12.0, n),
        mistrim=rng.uniform(10.0, 45.0, n),
        shove=rng.choice([-1.0, 1.0], n) * per_g * rng.uniform(0.4, 1.8, n),
        let_go=rng.uniform(3.0, 14.0, n),
        jam=often(0.6, 0.0, rng.normal(0.0, 1.5, n) * DEGREE),
        shift=rng.uniform(0.04, 0.3, n) * chord,
        over=rng.uniform(0.3, 4.0, n),
        left=often(0.35, 0.0, rng.uniform(0.0, 0.4, n)),
        feather=often(0.6, np.inf, rng.uniform(3.0, 25.0, n)),
        idle=rng.uniform(0.0, 0.12, n),
        iced=rng.uniform(0.35, 0.8, n),
        suction=np.minimum(rng.uniform(60.0, 350.0, n), per_g * rng.uniform(0.4, 1.8, n)),
        ice_ends=often(0.5, np.inf, rng.uniform(4.0, 30.0, n)),
        wing=rng.uniform(0.02, 0.12, n),
        tail=rng.uniform(0.2, 0.8, n),
        surface=rng.uniform(0.0, 0.6, n),
        slack=rng.normal(0.0, 1.2, n) * DEGREE,
        creep=rng.uniform(0.3, 3.0, n) * DEGREE,
        pulls=often(0.5, 0.0, rng.uniform(0.2, 1.0, n)),
        push=np.minimum(rng.uniform(40.0, 260.0, n), per_g * rng.uniform(0.4, 1.8, n)),
        push_for=rng.uniform(2.0, 14.0, n),
        ramp=rng.uniform(0.3, 3.0, n),
        slump=often(0.5, 0.0, np.minimum(rng.uniform(20.0, 200.0, n), 1.2 * per_g)),
        turn=rng.normal(0.0, 0.03, n),
        burst=rng.uniform(4.0, 16.0, n),
        loss=rng.uniform(4.0, 22.0, n),
        span=rng.uniform(8.0, 30.0, n),
        flap=rng.uniform(0.008, 0.05, n),
        steep=rng.uniform(8.0, 22.0, n) * DEGREE,
        lean=rng.uniform(0.0, 45.0, n) * DEGREE,
        stuck=rng.uniform(1.0, 6.0, n) * DEGREE,
        swirl=rng.uniform(0.2, 1.3, n),
        wake_for=rng.uniform(1.5, 5.0, n),
        figure=rng.integers(0, 3, n),
    )


class Fault:
    """The faults of a batch: `kind` (N,) by number, `begin` s, and the sizes drawn."""

    def __init__(self, kind: Array, begin: Array, size: SimpleNamespace) -> None:
        self.kind, self.begin, self.size = kind, begin, size
        self.is_kind = {name: kind == k for k, name in enumerate(NAMES)}

    def since(self, time: float) -> Array:
        """Seconds since the fault began, 0 before."""
        return np.maximum(time - self.begin, 0.0)

    def now(self, time: float, *names: str) -> Array:
        """Flights on which one of the kinds has begun."""
        some = np.zeros(self.kind.size, bool)
        for name in names:
            some |= self.is_kind[name]
        return some & (time > self.begin)

    def grown(self, time: float, *names: str, over: Array | float) -> Array:
        """Share, 0 to 1, of a kind that comes on within `over` s."""
        return self.now(time, *names) * np.minimum(self.since(time) / over, 1.0)

    def acting(self, time: float, flap: Array) -> Acting:
        """What acts on the airframe."""
        s, found = self.size, idle(self.kind.size)
        lost = self.grown(time, "tail part lost", over=0.3)
        found.tail = 1.0 - lost * (1.0 - s.tail)
        iced = self.grown(time, "tailplane stall", over=1.0) * self.icy(time, flap)
        found.tail = found.tail - iced * (1.0 - s.iced)
        found.elevator = 1.0 - self.grown(time, "elevator or tab lost", over=0.3) * (
            1.0 - s.surface
        )
        gone = self.grown(time, "wing part lost", over=0.3) * s.wing
        found.wing = 1.0 - gone
        found.roll = s.side * (0.14 * gone + s.flap * self.grown(time, "flap asymmetry", over=3.0))
        found.yaw = s.side * (0.02 * gone + 0.1 * found.roll * s.side)
        found.drag = 0.25 * gone + 0.06 * lost
        found.cg = self.grown(time, "load shift aft", over=s.over) * s.shift
        found.cg = found.cg - self.grown(time, "load shift forward", over=s.over) * s.shift
        wake = self.now(time, "wake encounter") & (self.since(time) < s.wake_for)
        found.swirl = np.where(wake, s.side * s.swirl, 0.0)
        return found

    def icy(self, time: float, flap: Array) -> Array:
        """Whether the iced tailplane is stalled: while flaps are out, until the ice goes."""
        still = (flap > 0.2) & (self.since(time) < self.size.ice_ends)
        return still & self.now(time, "tailplane stall")

    def trim_rate(self, time: float, rate: Array, servo: Array, engaged: Array) -> Array:
        """Rate that the fault drives the trim with, rad/s, nose-down positive, NaN where none."""
        s, since = self.size, self.since(time)
        found = np.full(self.kind.size, np.nan)
        on = since < s.stop
        found = np.where(self.now(time, "trim runaway"), rate * on, found)
        found = np.where(self.now(time, "slow trim runaway"), rate * s.slow * on, found)
        beat = np.mod(since, s.on + s.off) < s.on
        found = np.where(self.now(time, "intermittent runaway"), rate * beat * on, found)
        led = self.now(time, "autopilot mistrim") & engaged
        return np.where(led, servo, found) * s.down

    def power(self, time: float) -> tuple[Array, Array]:
        """Share of the power asked for that left and right engine give, and feathered; (2, N)."""
        s, since = self.size, self.since(time)
        one, every = self.now(time, "one engine lost"), self.now(time, "all engines lost")
        dead = np.stack([every | one & (s.side < 0), every | one & (s.side > 0)])
        given = np.where(dead, s.left, 1.0)
        return given, dead & (since > s.feather) & (s.left == 0.0)

    def column(self, time: float, flap: Array) -> Array:
        """Force that the fault adds at the column, N, pull positive."""
        s, since = self.size, self.since(time)
        hard = self.now(time, "autopilot hard-over") & (since < s.let_go)
        found = np.where(hard, s.shove * np.minimum(since / 0.4, 1.0), 0.0)
        grown = self.grown(time, "tailplane stall", over=1.0)
        found = found - grown * self.icy(time, flap) * s.suction
        return found - self.grown(time, "nobody flies", over=2.0) * s.slump

    def pushes(self, time: float) -> Array:
        """Force a person puts in of a will of his own, N; NaN where none."""
        s, since = self.size, self.since(time)
        wait = np.where(self.is_kind["push on acceleration"], 3.0, 0.0)
        held = np.where(self.is_kind["push on acceleration"], 1.4, 1.0) * s.push_for
        size = np.where(self.is_kind["push on acceleration"], 0.5, 1.0) * s.push
        on = self.now(time, "push", "push on acceleration") & (since > wait)
        on &= since < wait + held
        return np.where(on, -size * np.minimum((since - wait) / s.ramp, 1.0), np.nan)

    def wind(self, time: float, heading: Array) -> Array:
        """Air of a microburst or a wake, NED, m/s, shape (3, N)."""
        s, since = self.size, self.since(time)
        part = np.clip(since / s.span, 0.0, 1.0) * self.now(time, "wind shear")
        # Headwind first, then sink, then tailwind: the three parts of a burst flown through.
        head = s.loss * (0.5 * np.sin(2.0 * np.pi * part) - np.clip(2.0 * part - 1.0, 0.0, 1.0))
        down = s.burst * np.sin(np.pi * part) ** 2
        return np.stack([-head * np.cos(heading), -head * np.sin(heading), down])
