"""What an audit of the flown world could reproduce, reproduced again: one line a fault.

    python benchmarks/world_reproductions.py OUT [--studied CASE]

CASE is a case folder that has been studied: what its report says of the odds is read there.
"""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
import io
import json
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import jax
import numpy as np
from pilots import STARTS

from neutralpoint.airplane.stability import static_margin
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.cli.entry import run
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.dynamics.state import attitude
from neutralpoint.dynamics.trim_motor import motor_share
from neutralpoint.explanations import CAUSES, Facts, fly, trimmed_setting, why_not
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.explanations.crew import WHEEL_STOPS, Crew, trim_speed
from neutralpoint.explanations.procedure import procedures_of
from neutralpoint.explanations.strength import POPULATION, endurance
from neutralpoint.findings import read_findings
from neutralpoint.quantities import DEGREE, FOOT, KNOT, POUND_FORCE
from neutralpoint.report.words.sections import sections_of
from neutralpoint.response import (
    COLUMN_ALONE,
    answer,
    answers_to,
    draw_people,
    fly_trials,
    join,
    lessons_for,
    saved,
    shaped,
    share_interval,
    trials_of,
)
from neutralpoint.response.lessons import WHEEL_SHARE
from neutralpoint.response.maps import REACTION
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.mechanism import by_mechanism, grouped_prior, mechanisms_of

Line = tuple[str, str, str]  # item, what was done, what came out
DURATION = 90.0
SCENES = {
    "stuck exactly at trim": ("elevator-jam", {"start": 2.0, "angle": 0.0}),
    "all power lost in a climb": ("power-loss-all", {"start": 2.0, "lost": 1.0}),
}
PILOTS, SEED, HEIGHT = 64, 61, 3000.0 * FOOT


@partial(jax.jit, static_argnums=2)
def _flown(setting, parameters, duration):
    return jax.vmap(lambda p: fly(setting, ANY_CAUSE, p, duration=duration, record_every=5))(
        parameters
    )


def by_typical_pilots() -> Iterator[Line]:
    """A jam and a loss of all power, 90 s, as `neutralpoint fly` flies them."""
    for name, condition in STARTS.items():
        setting = trimmed_setting(load_airplane(name).airplane, make_air(), condition)
        rows = [
            as_any(CAUSES[cause], CAUSES[cause].middle() | values)
            for cause, values in SCENES.values()
        ]
        flights = _flown(setting, jax.tree.map(lambda *x: np.stack(x), *rows), DURATION)
        pitch = np.asarray(attitude(flights.state)[1]) / DEGREE
        load = np.asarray(flights.readings.normal_load_factor)
        force = np.abs(np.asarray(flights.applied_force)).max(1)
        trim = np.ptp(np.asarray(flights.trim), axis=1) / DEGREE
        speed = np.asarray(flights.readings.true_airspeed) / KNOT
        climb = -np.asarray(flights.state.velocity_down)
        spare = float(setting.handling.stall) / KNOT
        yield (
            "1",
            f"{name}: elevator stuck exactly at trim, smooth air, trim working, {DURATION:.0f} s",
            f"pitch {pitch[0].min():.1f} to {pitch[0].max():.1f} deg, n {load[0].min():.2f} to "
            f"{load[0].max():.2f}, at most {force[0]:.0f} N, trim moved {trim[0]:.1f} deg",
        )
        yield (
            "2",
            f"{name}: all power lost in a climb, {DURATION:.0f} s",
            f"{speed[1][0]:.0f} kt, never below {speed[1].min():.0f} (stall {spare:.0f} kt "
            f"indicated), glides at {speed[1][-1]:.0f} kt, sink {-climb[1][-1]:.1f} m/s",
        )


def _procedures(airplane) -> dict:
    """What is done: as the airplane's file says, and with a button that takes a hand."""
    cause = CAUSES["stabilizer-runaway"]
    named = procedures_of(airplane)
    button = next(d for d in airplane.trim_drive.stops if d.kind == "momentary_hold")
    stops = tuple(
        dataclasses.replace(d, hands=1) if d is button else d for d in airplane.trim_drive.stops
    )
    drive = dataclasses.replace(airplane.trim_drive, stops=stops)
    handed = dataclasses.replace(airplane, trim_drive=drive)
    hold = f"hold {button.name}"
    lessons = lessons_for(cause, airplane, {COLUMN_ALONE: (), hold: named[hold]})
    return {
        COLUMN_ALONE: answer(airplane, ()),
        f"{hold}, hands = {button.hands:g} as the file says": answer(airplane, named[hold]),
        f"{hold}, hands = 1": answer(handed, named[hold]),
        "latching button instead": lessons["lesson: latching button"],
        "button let go after 5 s": lessons["lesson: button released"],
        f"{hold}, power back and second person": answer(
            airplane, named[f"{hold}, power back and second person"]
        ),
    }


def of_hands() -> Iterator[Line]:
    """A runaway of the trim, stopped in several ways by the same pilots."""
    airplane = load_airplane("velmar-c7").airplane
    setting = trimmed_setting(
        airplane, make_air(), Condition(speed=85.0, height=1200.0, path_angle=0.05)
    )
    rng = np.random.default_rng(SEED)
    people = draw_people(setting, rng, PILOTS)
    share = (rng.permutation(PILOTS) + 0.5) / PILOTS
    reaction = np.asarray(REACTION.quantile(share))
    cause = CAUSES["stabilizer-runaway"]
    fault = cause.middle() | {"start": 1.0, "run": 100.0}
    ways = _procedures(airplane)
    trials = [trials_of(cause, way, people, fault, reaction=reaction) for way in ways.values()]
    outcome = shaped(fly_trials(setting, join(trials), deepest=HEIGHT), len(ways), PILOTS)
    shares = np.asarray(saved(outcome, HEIGHT)).mean(axis=-1)
    low, high = share_interval(shares, PILOTS)
    yield (
        "3",
        f"velmar-c7: nose-down runaway, {HEIGHT / FOOT:,.0f} ft, {PILOTS} pilots, seed {SEED}: "
        "saved",
        "; ".join(
            f"{way} {s:.0%} ({a:.0%} to {b:.0%})"
            for way, s, a, b in zip(ways, shares, low, high, strict=True)
        ),
    )


def of_wheel() -> Iterator[Line]:
    """A trim wheel under load, and who tires."""
    drive = load_airplane("tarnley-180").airplane.trim_drive
    wheel = Crew(wheel=1.0)

    def rate(pounds: float) -> float:
        how = {"fault": 0.0, "asked": 0.0, "away": 0.2, "step": 0.05}
        return -float(trim_speed(drive, wheel, pull=pounds * POUND_FORCE, **how)) / DEGREE

    told = ", ".join(f"{rate(p):.2f} at {p:.0f} lb" for p in (0.0, 40.0, 75.0, 150.0))
    yield "4", "tarnley-180: trim wheel, deg/s of the tab against the pull on the column", told
    yield (
        "4",
        "trim wheel of the lessons over the motor's rate, before load",
        f"{WHEEL_SHARE:g}; it stands still from {WHEEL_STOPS / POUND_FORCE:.0f} lb of pull",
    )
    long = [float(endurance(0.5 / share)) for share in (1.0, float(POPULATION.one_hand))]
    yield (
        "4",
        "half of one's two-handed strength, held with two hands and with one",
        f"{long[0]:.0f} s and {long[1]:.0f} s; a second person tires by the same curve",
    )
    yield (
        "4",
        "median strength of the population",
        f"{float(POPULATION.median) / POUND_FORCE:.0f} lb, one hand {POPULATION.one_hand:.2f} of "
        "it; the report says why it is below the 95 lb measured by Gough and Beard",
    )


def of_procedures() -> Iterator[Line]:
    """Combined procedures."""
    airplane = load_airplane("velmar-c7").airplane
    named = [n for n in answers_to(CAUSES["stabilizer-runaway"], airplane) if "second person" in n]
    yield "5", "velmar-c7: procedures that combine", "; ".join(named)


def of_rows() -> Iterator[Line]:
    """New causes, sums by mechanism, priors."""
    wanted = ("control-input", "structural-failure", "autopilot-hardover", "takeoff-mistrim")
    yield "7", "new rows", "; ".join(CauseName(n).title for n in wanted if n in CAUSES)
    names = tuple(n for n in CAUSES if n not in ("tab-runaway",))
    single = tuple(n for n in names if n != "intermittent-runaway")
    with_two, with_one = (
        dict(zip(mechanisms_of(n), by_mechanism(n, grouped_prior(n, 0.95)), strict=True))
        for n in (names, single)
    )
    group = CauseName("stabilizer-runaway").mechanism
    yield (
        "7",
        "prior of the trim drive as a group with one row more or less, something failed 0.95",
        f"{with_two[group]:.4f} and {with_one[group]:.4f}",
    )


def of_airplanes() -> Iterator[Line]:
    """What of an airplane acts in flown causes."""
    for name in STARTS:
        found = load_airplane(name)
        airplane, drive = found.airplane, found.airplane.trim_drive
        aft = found.envelopes[0].station_limits(float(airplane.mass.mass))[1]
        mass = dataclasses.replace(airplane.mass, cg_station=aft)
        margin = float(static_margin(dataclasses.replace(airplane, mass=mass)))
        motor = "no motor"
        if float(drive.rate) > 0.0:
            share = float(motor_share(drive, drive.load_moment))
            motor = f"motor keeps {share:.0%} of its rate at {float(drive.load_moment):,.0f} N m"
        friction = float(airplane.pitch_control.friction) / POUND_FORCE
        yield (
            "9",
            f"{name}: static margin at the aft limit; column friction; trim motor under air load",
            f"{margin:.1%}; {friction:.1f} lb; {motor}",
        )


FACTS = (
    ("tailplane-stall", Facts(coldest=277.15, dew_point_spread=8.0), "+4 degC, 8 K spread"),
    ("tailplane-stall", Facts(coldest=270.0, dew_point_spread=8.0), "-3 degC, 8 K spread"),
    ("incapacitation", Facts(crew=0), "crew 0"),
    ("autopilot-hardover", Facts(autopilot=False), "no autopilot"),
    ("autopilot-mistrim", Facts(autopilot=False), "no autopilot"),
    ("spiral-dive", Facts(daylight=True, in_cloud=False), "day, clear of cloud"),
    ("somatogravic-input", Facts(daylight=True, in_cloud=False), "day, clear of cloud"),
    ("load-shift-aft", Facts(load_moves="no"), "no load that can move"),
    ("power-loss-one", Facts(fuel=0.0), "no fuel"),
)


def of_facts() -> Iterator[Line]:
    """Facts gate causes."""
    airplane = load_airplane("velmar-c7").airplane
    for name, facts, told in FACTS:
        reason = why_not(CAUSES[name], airplane, facts) or "not excluded"
        without = why_not(CAUSES[name], airplane) or "not excluded"
        title = CauseName(name).title
        yield "8", f"{title}: {told}", f"{reason} Without the fact: {without}."


def weighing_section(findings):
    """Statements of the odds."""
    return next(s for s in sections_of(findings) if s.stage == "weighing").statements


def of_weighing(studied: Path) -> Iterator[Line]:
    """What the report says of a studied case: sums, and three chances where none is stated."""
    findings = read_findings(studied / "results")
    weighing = findings.weighing
    told = [s.text for s in weighing_section(findings)]
    sums = [text for text in told if text.startswith("By mechanism")]
    yield "7", f"{studied.name}: sums by mechanism in the report", " ".join(sums) or "NONE"
    silent = weighing.prior.model_copy(update={"failed_stated": False})
    quiet = findings.model_copy(update={"weighing": weighing.model_copy(update={"prior": silent})})
    asked = [s.text for s in weighing_section(quiet) if "states no prior" in s.text]
    yield (
        "7",
        f"{studied.name}: the same odds, had the case not stated `something_failed`",
        " ".join(asked) or "NONE",
    )


def of_commands() -> Iterator[Line]:
    """The command that ended in a division by zero."""
    for name in STARTS:
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            code = run(["airplane", name, "--draws", "20", "--json"])
        found = json.loads(out.getvalue())["force_per_g"]
        yield (
            "15",
            f"`neutralpoint airplane {name}`",
            f"exit code {code}; force per g as given {found['given']:.0f} N, median of draws "
            f"{found['median']:.0f} N ({found['low']:.0f} to {found['high']:.0f})",
        )


def page(lines: list[Line]) -> str:
    """The page."""
    rows = [f"| {item} | {done} | {came} |" for item, done, came in lines]
    return "\n".join(
        [
            "# The world, judged: faults that an audit reproduced",
            "",
            "Made by benchmarks/world_reproductions.py. Each line does again what showed a fault "
            "of the flown world, and says what comes out now.",
            "",
            "| item | done | came out |",
            "|---|---|---|",
            *rows,
            "",
        ]
    )


def main() -> None:
    """Do everything again and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--studied", type=Path)
    asked = parser.parse_args()
    parts = [
        of_facts,
        of_airplanes,
        of_wheel,
        of_procedures,
        of_rows,
        of_commands,
        by_typical_pilots,
        of_hands,
    ]
    if asked.studied:
        parts.append(partial(of_weighing, asked.studied))
    lines: list[Line] = []
    for part in parts:
        for line in part():
            print(*line, sep=" | ", flush=True)
            lines.append(line)
        lines.sort(key=lambda line: int(line[0]))
        asked.out.write_text(page(lines), "utf-8")


if __name__ == "__main__":
    main()
