"""What each cause does to the path, as rules that a flight keeps or does not.

The rules are those of the trade's signature matrix: first sign, bank, load factor, energy, and what
the moment grows like. Each flight is held against its twin, the same flight without the fault, so
that gusts, turns and wandering hands fall out. A rule says which draws it speaks of: a jump of a
tenth of a degree shows nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.airplane.model import Airplane
from neutralpoint.quantities import DEGREE
from neutralpoint.weighing.flights import Flown, values_of

CLEAR_LIFT = 0.3  # load factor above which the lift has a direction

INDUCED = 0.06  # drag of one more g over the weight, at climb speeds

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Pair:
    """Flights of one cause beside their twins.

    Args:
        flown: Of the cause.
        twin: On which nothing failed.
        airplane: That flew.
    """

    flown: Flown
    twin: Flown
    airplane: Airplane

    def parameter(self, name: str) -> Floats:
        """Values of a parameter, (n,)."""
        return self.flown.values[:, self.flown.parameters.index(name)]

    def ordinary(self, name: str) -> Floats:
        """What is drawn whatever the cause, (n,)."""
        place = [p.name for p in self.flown.plan.ordinary].index(name)
        return values_of(self.flown.plan.ordinary, self.flown.drawn.ordinary)[:, place]

    @property
    def since(self) -> Floats:
        """Time since the start of the fault, s, (n, m)."""
        return self.flown.course.time - self.parameter("start")[:, None]

    def change(self, name: str) -> Floats:
        """Flight less twin, (n, m)."""
        mine, other = (
            getattr(f.course, name) if hasattr(f.course, name) else getattr(f, name)
            for f in (self.flown, self.twin)
        )
        return mine - other[self.flown.twin]

    def mean(self, name: str, begin: float | Floats, end: float | Floats) -> Floats:
        """Mean of a change between two times since the start, (n,)."""
        begin, end = (np.broadcast_to(x, self.since.shape[:1])[:, None] for x in (begin, end))
        inside = (self.since >= begin) & (self.since <= end)
        return np.where(inside, self.change(name), 0.0).sum(1) / np.maximum(inside.sum(1), 1)

    def largest(self, name: str, begin: float | Floats, end: float | Floats) -> Floats:
        """Largest size of a change between two times since the start, (n,)."""
        begin, end = (np.broadcast_to(x, self.since.shape[:1])[:, None] for x in (begin, end))
        inside = (self.since >= begin) & (self.since <= end)
        return np.where(inside, np.abs(self.change(name)), 0.0).max(1)

    def fastest(self, begin: float, end: float | Floats) -> Floats:
        """Largest rate of the trim itself between two times, rad/s, (n,)."""
        rate = np.abs(np.diff(self.flown.trim, axis=1)) / np.diff(self.flown.course.time)
        middle = 0.5 * (self.since[:, 1:] + self.since[:, :-1])
        end = np.broadcast_to(end, middle.shape[:1])[:, None]
        return np.where((middle > begin) & (middle < end), rate, 0.0).max(1)


@dataclass(frozen=True)
class Rule:
    """One cell of the matrix.

    Args:
        says: In words.
        speaks: Which draws it speaks of, (n,).
        holds: Which keep it, (n,).
    """

    says: str
    speaks: Callable[[Pair], Bools]
    holds: Callable[[Pair], Bools]

    def share(self, pair: Pair) -> tuple[float, int]:
        """Share of the draws that it speaks of that keep it, and how many those are."""
        of = self.speaks(pair)
        return (float(self.holds(pair)[of].mean()) if of.any() else 1.0), int(of.sum())


def _all(pair: Pair) -> Bools:
    return np.ones(len(pair.flown.values), bool)


def _energy_waits(pair: Pair) -> Bools:
    """Energy is unchanged at first, but for the drag of the load factor, which grows as n^2."""
    load = pair.largest("normal_load_factor", 0.0, 1.0)
    return pair.largest("longitudinal_load_factor", 0.0, 1.0) < 0.06 + INDUCED * load**2


def _gentle(pair: Pair) -> Bools:
    """The wing is not near its stall at once."""
    return pair.largest("normal_load_factor", 0.0, 1.0) < 1.0


def _no_bank(pair: Pair) -> Bools:
    """Wings as they were, wherever the lift has a direction: near n = 0 its bank means nothing."""
    lifted = (pair.flown.course.normal_load_factor > CLEAR_LIFT) & (pair.since >= 0.0)
    turned = np.where(lifted & (pair.since <= 3.0), np.abs(pair.change("bank_angle")), 0.0)
    return turned.max(1) < 5.0 * DEGREE


def _turns(sign: Callable[[Pair], Floats], begin: float, end: float):
    def holds(pair: Pair) -> Bools:
        return sign(pair) * pair.mean("normal_load_factor", begin, end) > 0.0

    return holds


def _direction(pair: Pair) -> Floats:
    return -pair.parameter("direction")


def _as_fast_as_the_motor(pair: Pair) -> Bools:
    drive = pair.airplane.trim_drive
    most = max(float(drive.rate), float(drive.manual_rate)) * 1.5  # 1.5: spread of the rate
    return pair.fastest(0.0, 60.0) <= most


UNCHANGED = Rule("energy unchanged at first", _gentle, _energy_waits)
LEVEL = Rule("wings as they were", _all, _no_bank)
MOTOR = Rule("trim never faster than its motor", _all, _as_fast_as_the_motor)


def _run_at_least(seconds: float):
    def speaks(pair: Pair) -> Bools:
        name = "run" if "run" in pair.flown.parameters else "first_run"
        return pair.parameter(name) > seconds

    return speaks


RUNS = (
    Rule("load factor goes the way of the trim", _run_at_least(2.0), _turns(_direction, 0.5, 2.5)),
    UNCHANGED,
    LEVEL,
    MOTOR,
)


def _mistrim_before(pair: Pair) -> Bools:
    slow = float(pair.airplane.trim_drive.autopilot_rate) * 1.5
    return pair.fastest(0.0, np.minimum(pair.parameter("hold") - 0.5, 4.0)) <= slow


def _jump(pair: Pair) -> Floats:
    return pair.parameter("jump")


def _parted(degrees: float):
    return lambda pair: np.abs(_jump(pair)) > degrees * DEGREE


def _stuck(pair: Pair) -> Bools:
    return np.abs(pair.parameter("angle")) > 1.5 * DEGREE


def _shifted(pair: Pair) -> Bools:
    return pair.parameter("moved") * pair.parameter("distance") > 0.03


def _shift(sign: float):
    def holds(pair: Pair) -> Bools:
        end = pair.parameter("slide") + 1.0
        return sign * pair.mean("normal_load_factor", 0.3, end) > 0.0

    return holds


def _loses_energy(begin: float, end: float, by: float = 0.0):
    def holds(pair: Pair) -> Bools:
        late = pair.parameter("decay") if "decay" in pair.flown.parameters else 0.0
        return pair.mean("longitudinal_load_factor", begin + late, end + late) < -by

    return holds


def _near_one(pair: Pair) -> Bools:
    return pair.largest("normal_load_factor", 0.0, 3.0) < 0.2


def _sudden(pair: Pair) -> Bools:
    snap = pair.parameter("snap")
    return pair.mean("normal_load_factor", 0.0, snap + 1.5) < -0.03


def _reverses(pair: Pair) -> Bools:
    inside = (pair.since > 0.0) & (pair.since < pair.parameter("crossing")[:, None])
    change = np.where(inside, pair.change("longitudinal_load_factor"), 0.0)
    return (change.max(1) > 0.0) & (change.min(1) < 0.0)


def _whole_crossing(pair: Pair) -> Bools:
    left = pair.since[:, -1]
    return (left > pair.parameter("crossing")) & (pair.parameter("tailwind") > 6.0)


def _leaning(pair: Pair) -> Bools:
    return (np.abs(pair.parameter("lean")) > 0.25 * DEGREE) & (pair.since[:, -1] > 15.0)


def _rolls(pair: Pair) -> Bools:
    """By its own bank: the twin may be turning on purpose."""
    bank, since = pair.flown.course.bank_angle, pair.since
    before = np.where((since > -1.0) & (since <= 0.0), bank, 0.0).sum(1)
    before = before / np.maximum(((since > -1.0) & (since <= 0.0)).sum(1), 1)
    later = (since >= 3.0) & (since <= 8.0)
    after = np.where(later, bank, 0.0).sum(1) / np.maximum(later.sum(1), 1)
    return np.sign(pair.parameter("lean")) * (after - before) > 0.0


def _bank_first(pair: Pair) -> Bools:
    """The heading has drifted before the speed is up."""
    return pair.largest("true_airspeed", 0.0, 4.0) < 4.0


def _power_then_push(pair: Pair) -> Bools:
    rises = pair.mean("longitudinal_load_factor", 0.5, 3.0) > 0.0
    return rises & (pair.mean("normal_load_factor", 2.0, 9.0) < 0.01)


def _body(pair: Pair) -> Floats:
    """Force of a body on the column: none where it does not lean against it."""
    return pair.parameter("leans") * pair.parameter("force")


def _pushed(least: float):
    return lambda pair: np.abs(_body(pair)) > least


def _lasting(seconds: float):
    return lambda pair: (pair.parameter("lasting") > seconds) & (pair.parameter("force") > 60.0)


def _uncorrected(pair: Pair) -> Bools:
    """One step of force and no more."""
    after = pair.since > 0.3
    force = np.where(after, pair.flown.column_force, _body(pair)[:, None])
    return np.ptp(force, axis=1) < 1e-3 * np.abs(force).max(1) + 1e-6


def _mistrimmed(pair: Pair) -> Bools:
    far = np.abs(pair.parameter("mistrim")) > 0.7 * DEGREE
    return far & (np.abs(pair.parameter("misload")) < 0.05)


def _broken(pair: Pair) -> Bools:
    return (pair.parameter("wing_lost") > 0.2) & (pair.since[:, -1] > 5.0)


def _dragging(pair: Pair) -> Bools:
    return _broken(pair) & (pair.parameter("drag") > 1.5)


def _powered(pair: Pair) -> Bools:
    """Nobody has taken the power off on purpose: it is there to be lost."""
    left = (pair.ordinary("cuts") < 0.9) & (pair.ordinary("steeps") < 0.92)
    return left & ((pair.ordinary("powers") < 0.65) | (pair.ordinary("power") > -0.2))


def _deceived(pair: Pair) -> Bools:
    """Power was there to be added, the illusion is believed, and no hill is flown besides.

    In a hill, a go-around or a cut of power the twin pushes and pulls on purpose too, and the
    difference of the two flights is no sign of either.
    """
    rises = pair.largest("longitudinal_load_factor", 0.5, 3.0) > 0.02
    believed = (pair.parameter("belief") > 0.5) & (pair.parameter("power") > 0.3)
    return rises & believed & _powered(pair) & (pair.ordinary("hills") < 0.9)


def _gust_means_little(pair: Pair) -> Bools:
    """Load factor over the flight averages to what turn and hill ask: no lasting change."""
    course = pair.flown.course
    wanted = np.cos(course.flight_path_angle) / np.maximum(np.cos(course.bank_angle), 0.3)
    return np.abs((course.normal_load_factor - wanted).mean(1)) < 0.1


MATRIX: dict[str, tuple[Rule, ...]] = {
    "no-failure": (Rule("averages to zero", _all, _gust_means_little),),
    "stabilizer-runaway": RUNS,
    "tab-runaway": RUNS,
    "intermittent-runaway": RUNS,
    "autopilot-mistrim": (
        Rule("trim no faster than the autopilot's at first", _all, _mistrim_before),
    ),
    "autopilot-hardover": (
        Rule("load factor goes the way of the servo", _all, _turns(_direction, 0.3, 1.5)),
        UNCHANGED,
        LEVEL,
    ),
    "takeoff-mistrim": (
        Rule(
            "load factor goes the way of the trim",
            _mistrimmed,
            _turns(lambda p: -p.parameter("mistrim"), 0.5, 3.0),
        ),
        UNCHANGED,
        LEVEL,
    ),
    "separation": (
        Rule(
            "a step without a rate limit",
            _parted(1.0),
            lambda p: p.fastest(-1.0, 2.0) > 1.5 * float(p.airplane.trim_drive.rate),
        ),
        Rule(
            "load factor goes the way of the jump",
            _parted(0.5),
            _turns(lambda p: -_jump(p), 0.3, 1.5),
        ),
        LEVEL,
    ),
    "elevator-jam": (
        Rule(
            "load factor goes the way of the elevator",
            _stuck,
            _turns(lambda p: -p.parameter("angle"), 0.3, 1.5),
        ),
        UNCHANGED,
        LEVEL,
    ),
    "load-shift-aft": (Rule("nose up, n up", _shifted, _shift(1.0)), UNCHANGED, LEVEL),
    "load-shift-forward": (Rule("nose down, n down", _shifted, _shift(-1.0)), UNCHANGED, LEVEL),
    "power-loss-one": (
        Rule("n_x steps down", _powered, _loses_energy(0.5, 2.0)),
        Rule("n stays near 1", _all, _near_one),
    ),
    "power-loss-all": (
        Rule("n_x steps down", _powered, _loses_energy(0.5, 2.0, 0.005)),
        Rule("n stays near 1", _all, _near_one),
    ),
    "wing-stall": (Rule("n_x falls first", _all, _loses_energy(2.0, 5.0)),),
    "tailplane-stall": (Rule("n below 1, sudden", _all, _sudden), LEVEL),
    "structural-failure": (
        Rule("lift is lost", _broken, lambda p: p.mean("normal_load_factor", 0.2, 1.2) < 0.0),
        Rule("drag grows", _dragging, _loses_energy(0.5, 2.0)),
    ),
    "wind-shear": (Rule("n_x reverses", _whole_crossing, _reverses),),
    "spiral-dive": (
        Rule("bank grows to the side of the lean", _leaning, _rolls),
        Rule("bank before speed", _leaning, _bank_first),
    ),
    "somatogravic-input": (Rule("n_x up first, then a push", _deceived, _power_then_push), LEVEL),
    "control-input": (
        Rule("load factor goes the way of the force", _lasting(2.0), _turns(_direction, 0.3, 1.5)),
        UNCHANGED,
        LEVEL,
    ),
    "incapacitation": (
        Rule("no correction", lambda p: p.ordinary("engaged") == 0.0, _uncorrected),
        Rule(
            "one step, the way of the body",
            _pushed(40.0),
            _turns(_body, 0.3, 2.0),
        ),
    ),
}


def judged(
    batches: dict[str, Flown], airplane: Airplane
) -> dict[str, list[tuple[Rule, float, int]]]:
    """Every rule on flights of every cause.

    Args:
        batches: Flights by cause, no-failure among them.
        airplane: That flew.

    Returns:
        By cause: rule, share of the draws it speaks of that keep it, and how many those are.
    """
    twin = batches["no-failure"]
    return {
        name: [(rule, *rule.share(Pair(batches[name], twin, airplane))) for rule in rules]
        for name, rules in MATRIX.items()
        if name in batches
    }
