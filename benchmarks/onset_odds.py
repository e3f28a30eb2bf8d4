"""What the odds lose where the onset is left to the program, on upsets of another simulator.

    python benchmarks/onset_odds.py [--seed N] [--flights N] [--out FILE] [--kept FILE]

Upsets of `upset_flights.py`, autopilot on and off, every fourth with a second event, are seen as a
surveillance system sees them, worked out by the smoother and asked of the shipped networks: with
the onset of the motion stated and counted from the last steady flight before it alone, and with it
left to the program, by the same functions as a study (which counts from earlier ones too where an
onset is stated: `stated_onset.py`).
Compared is the probability of the causes that fit what was done to the flight. The networks are
told an airplane with the numbers of the flight's own, some of them off as an analyst's are.
Printed: mean log score of both, and how often the true cause has less than 1 %, by stratum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from as_a_study import look
from calibration_prepare import forecast
from onset_blind import NAMES, SPAN, asked, lift_known, track_of
from onset_truth import PLAIN, departure
from recorded import SURVEILLANCE
from upset_flights import KINDS, Flights, fly

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.earth import atmosphere
from neutralpoint.moments import (
    Reference,
    compared_windows,
    last_trimmed,
    safe_reference,
)
from neutralpoint.motion import ONSET_SIGNALS, estimate_motion
from neutralpoint.quantities import DEGREE, GRAVITY
from neutralpoint.study.weighing.windows import mixed, over_windows
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.simulate import flyable
from neutralpoint.weighing.weigh import reweigh

RESULTS = Path(__file__).parent / "results" / "onset_odds.md"
PATHS = 32
# Causes of the list that fit what was done; an aileron hard-over is not on it and is not flown.
FITTING = {
    "trim runaway": ("stabilizer-runaway", "autopilot-mistrim"),
    "slow trim runaway": ("stabilizer-runaway", "autopilot-mistrim"),
    "intermittent trim runaway": ("intermittent-runaway",),
    "elevator jam": ("elevator-jam",),
    "load shift": ("load-shift-aft",),
    "power loss": ("power-loss-one", "power-loss-all"),
    "spiral": ("spiral-dive",),
    "nobody flies": ("incapacitation",),
    "push": ("somatogravic-input", "control-input"),
    "slow to the stall": ("wing-stall", "power-loss-all"),
    "downdraft": ("wind-shear",),
    "tail damage": ("separation", "structural-failure", "tailplane-stall"),
}
SECOND = 0.25  # share of flights with a second event
KEPT = tuple({*ONSET_SIGNALS, *COLUMNS, "dynamic_pressure", "mach", "pressure_altitude"})
TURNING, CLIMBING = 10.0 * DEGREE, 1.5 * DEGREE  # at the onset, of the flight without the fault
MEANT_BANK, MEANT_CLIMB = 8.0 * DEGREE, 2.0  # rad and m/s that make a change of plan a maneuver
# What an analyst's airplane is off by, one standard deviation of the logarithm.
OFF = {"stiffness": 0.15, "damping": 0.15, "surface": 0.08, "inertia": 0.1, "drag": 0.1}
TRIM_POWER = 1.65  # moment of the stabilizer over that of the elevator; analyst's
SMALL = 4000.0  # kg below which it is a turboprop


@dataclass(frozen=True)
class Worked:
    """One upset worked out; times in s on the motion's clock, paths on its grid."""

    kind: str
    strata: tuple[str, ...]
    onset: float
    fault: float
    airplane: Airplane
    time: np.ndarray
    is_fix: np.ndarray
    paths: dict[str, np.ndarray]


def airplane_of(flown: Flights, number: int, rng: np.random.Generator) -> Airplane:
    """An airplane of the catalogue with the numbers of a flight's own, as far as they are known."""
    lift = {name: float(values[number]) for name, values in flown.lift.items()}
    craft = {name: float(values[number]) for name, values in flown.craft.items()}
    for name, size in OFF.items():
        craft[name] *= np.exp(size * rng.standard_normal())
    base = load_airplane("velmar-c7" if lift["mass"] < SMALL else "ostrel-7").airplane
    old, mass, area, chord = base.geometry, lift["mass"], lift["area"], craft["chord"]
    density = atmosphere.density(
        atmosphere.pressure(craft["height"]), atmosphere.temperature(craft["height"])
    )
    pressure = 0.5 * float(density) * craft["speed"] ** 2
    coefficient = mass * GRAVITY / (pressure * area)
    drag = pressure * area * (craft["drag"] + craft["induced"] * coefficient**2)
    span, size = area / chord, chord / old.mean_chord
    heavy = (mass / base.mass.mass) * (span / old.span) ** 2
    fast = max(1.8 * pressure, base.longitudinal.fast_pressure * 0.6)
    zero = -lift["slope"] * lift["zero"]
    thrust = 2.2 * drag / (float(density) / 1.225) ** 0.7 / len(base.engines)
    power = base.engines[0].kind != "turbofan"
    motor = craft["motor"] / TRIM_POWER
    rating = thrust * craft["speed"] / 0.8 if power else thrust / 0.8
    return replace(
        base,
        geometry=replace(
            old,
            wing_area=area,
            mean_chord=chord,
            span=span,
            tail_arm=old.tail_arm * size,
            moment_station=base.mass.cg_station,
        ),
        mass=replace(
            base.mass,
            mass=mass,
            roll_inertia=base.mass.roll_inertia * heavy,
            yaw_inertia=base.mass.yaw_inertia * heavy,
            cross_inertia=base.mass.cross_inertia * heavy,
            pitch_inertia=craft["inertia"],
        ),
        longitudinal=replace(
            base.longitudinal,
            CL_0=zero,
            CL_alpha=lift["slope"],
            CD_0=craft["drag"],
            CD_lift=craft["induced"],
            Cm_0=-craft["stiffness"] * (coefficient - zero) / lift["slope"],
            Cm_alpha=craft["stiffness"],
            Cm_q=craft["damping"],
            Cm_alphadot=0.25 * craft["damping"],
            Cm_elevator=craft["surface"],
            Cm_stabilizer=TRIM_POWER * craft["surface"],
            stall_angle=(lift["most"] - zero) / lift["slope"] + 2.0 * DEGREE,
            fast_pressure=fast,
        ),
        engines=tuple(
            replace(
                engine,
                rating=rating,
                disc_area=engine.disc_area * area / old.wing_area,
                side=engine.side * span / old.span,
            )
            for engine in base.engines
        ),
        pitch_control=replace(
            base.pitch_control,
            elevator_area=base.pitch_control.elevator_area * area / old.wing_area,
            elevator_chord=base.pitch_control.elevator_chord * size,
        ),
        trim_drive=replace(base.trim_drive, rate=motor, loaded_rate=motor),
        limits=replace(base.limits, never_exceed_speed=float(np.sqrt(2.0 * fast / 1.225))),
    )


def strata_of(
    flown: Flights, twin: Flights, number: int, span: tuple[float, float], onset: float
) -> tuple[str, ...]:
    """What was going on when the upset began; `onset` on the clock of the flight."""
    at = int(np.searchsorted(twin.time, onset))
    before = max(0, at - round(8.0 / float(twin.time[1])))
    bank, path = (twin.values[name][number] for name in ("bank", "path"))
    plan = {name: values[number] for name, values in flown.plan.items()}
    meant = (np.abs(np.diff(plan["bank"])) > MEANT_BANK) | (
        np.abs(np.diff(plan["climb"])) > MEANT_CLIMB
    )
    begun = plan["begin"][1:]
    several = int((meant & (begun > span[0]) & (begun < onset)).sum()) > 1
    second = flown.second[number] < span[1]
    climbing = max(abs(path[at]), abs(path[at] - path[before])) > CLIMBING
    return tuple(
        label
        for label, holds in (
            ("autopilot on", flown.engaged[number]),
            ("flown by hand", not flown.engaged[number]),
            ("several maneuvers before", several),
            ("none or one before", not several),
            ("in a climb, descent or level-off", climbing),
            ("in a turn", abs(bank[at]) > TURNING),
            ("straight and level", not climbing and abs(bank[at]) <= TURNING),
            ("a second event", second),
        )
        if holds
    )


def worked_out(seed: int, count: int) -> list[Worked]:
    """Fly, see, work out: upsets that are plain."""
    flown, twin = fly(seed, count, span=SPAN, mix=tuple(FITTING), second=SECOND)
    rng = np.random.default_rng([seed, 1])
    found = []
    for number in range(count):
        begin = flown.fault[number]
        span = (
            max(0.0, begin - rng.uniform(60.0, 140.0)),
            min(flown.end[number], begin + rng.uniform(25.0, 110.0)),
        )
        how = SURVEILLANCE[rng.choice(3, p=[0.4, 0.35, 0.25])]
        wind = rng.normal(0.0, 8.0, 2)
        told = forecast(wind, rng)
        inside = (flown.time >= span[0]) & (flown.time <= span[1])
        pair = [
            {name: each.values[key][number, inside] for name, key in NAMES.items()}
            for each in (flown, twin)
        ]
        if span[1] - span[0] < 40.0:
            continue
        onset, most = departure(flown.time[inside] - span[0], *pair)
        if not most >= PLAIN or span[1] - span[0] - onset < 12.0:
            continue
        track = track_of(flown, number, span, how, rng, wind)
        motion = estimate_motion(
            track, weather=told, lift=lift_known(flown, number), rng=rng, samples=PATHS
        )
        seen = "4.8 s radar" if how is SURVEILLANCE[2] else "1 s"
        found.append(
            Worked(
                kind=KINDS[flown.kind[number]],
                strata=(seen, *strata_of(flown, twin, number, span, onset + span[0])),
                onset=onset,
                fault=float(begin - span[0]),
                airplane=airplane_of(flown, number, rng),
                time=motion.time,
                is_fix=motion.is_fix,
                paths={name: motion.paths[name].astype(np.float32) for name in KEPT},
            )
        )
    return found


ARMS = ("stated", "left to the program", "one safe window")


@dataclass(frozen=True)
class Judged:
    """Probability of the fitting causes by arm, and how many windows were asked where left."""

    kind: str
    strata: tuple[str, ...]
    given: dict[str, float]
    windows: int


def judged(worked: Worked) -> Judged:
    """The odds with the onset stated, left to the program, and from its safe window alone."""
    seen = look(worked)
    trimmed = last_trimmed(seen.flight, worked.onset)
    told = [Reference(trimmed, float(seen.flight.time[trimmed][-1]), 1.0, 0.0)]
    windows = {
        "stated": compared_windows(told, worked.onset, seen.last),
        "left to the program": seen.windows(),
        "one safe window": seen.windows([safe_reference(seen.chosen)]),
    }
    names = (*(cause.name for cause in flyable(worked.airplane)), UNLISTED)
    inquiry = seen.inquiry(names)
    asked = {arm: over_windows(inquiry, worked.airplane, each) for arm, each in windows.items()}
    return Judged(
        worked.kind,
        (*worked.strata, "an onset is found" if seen.onsets.found else "none is found"),
        {arm: fitting(names, mixed(each), worked.kind) for arm, each in asked.items()},
        len(asked["left to the program"]),
    )


def fitting(names: tuple[str, ...], runs: np.ndarray, kind: str) -> float:
    """Probability of the causes that fit, with the prior of a case that states none."""
    odds = reweigh(names, grouped_prior(names, None), runs)
    return float(sum(odds.probability[names.index(cause)] for cause in FITTING[kind]))


def row(label: str, chosen: list[Judged]) -> str:
    """One row of the table."""
    given = np.array([[one.given[arm] for arm in ARMS] for one in chosen])
    score, low = np.log(np.maximum(given, 1e-9)), given < 0.01
    lost = score[:, 0] - score[:, 1]
    error = lost.std() / np.sqrt(len(lost))
    cells = [
        f"{m:.2f} | {b:.0%}" for m, b in zip(score.mean(axis=0), low.mean(axis=0), strict=True)
    ]
    return f"| {label} | {len(chosen)} | {lost.mean():+.2f} ± {error:.2f} | {' | '.join(cells)} |"


def report(found: list[Judged], seed: int) -> str:
    """The page of results."""
    labels = list(dict.fromkeys(label for one in found for label in sorted(one.strata)))
    several = np.mean([one.windows > 1 for one in found])
    return "\n".join(
        [
            "# What the odds lose where the onset is left to the program",
            "",
            f"Made by benchmarks/onset_odds.py, seed {seed}: {len(found)} upsets of another "
            "simulator, the shipped networks, no case stated. Mean log score (nats) of the causes "
            "that fit what was done to the flight, and share of upsets in which these have less "
            "than 1 %. *Lost*: score with the onset of the motion stated less score with it left "
            f"to the program, with its standard error. In {several:.0%} of the upsets more than "
            "one reference is asked. *One safe window*: what was done before the odds were a mean "
            "over references.",
            "",
            "| upsets | how many | lost | "
            + " | ".join(f"{arm} | below 1 %" for arm in ARMS)
            + " |",
            "|---|---|---|" + "---|---|" * len(ARMS),
            row("all", found),
            *(row(label, [one for one in found if label in one.strata]) for label in labels),
            *(row(kind, [one for one in found if one.kind == kind]) for kind in FITTING),
            "",
        ]
    )


def main() -> None:
    """Fly, see, ask, write."""
    options, worked = asked(
        __doc__.splitlines()[0], worked_out, seed=1777, flights=340, results=RESULTS
    )
    options.out.write_text(report([judged(each) for each in worked], options.seed))


if __name__ == "__main__":
    main()
