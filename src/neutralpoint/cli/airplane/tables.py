"""What `neutralpoint airplane` prints for people; units of the trade, bands of 90%."""

from __future__ import annotations

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from neutralpoint.airplane.envelope import Envelope, Margins, MoveEffect, percent_mac_limits
from neutralpoint.airplane.loading import percent_mac
from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.quantities import DEGREE, KNOT, POUND, POUND_FORCE
from neutralpoint.report.words import airplane as words
from neutralpoint.study.airplane.curves import STRENGTHS, AirplaneCurves, band

EVERY = 3  # of the speeds computed, every third is printed


def interval(rows: np.ndarray, unit: float, decimals: int) -> str:
    """As given, then median and 90% band of draws (d,), such as `11.8; 12.0 (9.1 to 15.2)`."""
    given, low, middle, high = (_number(v / unit, decimals) for v in (rows[0], *band(rows)))
    return f"{given}; {middle} ({low} to {high})"


def _number(value: float, decimals: int) -> str:
    if np.isnan(value):
        return "-"
    return f"{value:.{decimals}f}" if np.isfinite(value) else ("none" if value > 0 else "all")


def _section(title: str, out: Console) -> None:
    out.print(Text(f"\n{title}", style="bold"))


def show_airplane(
    found: DescribedAirplane, curves: AirplaneCurves, out: Console, *, coefficients: bool
) -> None:
    """Print an airplane.

    Args:
        found: What its file says.
        curves: What follows.
        out: Where to print.
        coefficients: Whether to list every coefficient.
    """
    out.print(Text(found.document.name, style="bold"))
    if found.document.description:
        out.print(Text(found.document.description))
    out.print(words.HOW_TO_READ)
    _show_loading(found, curves, out)
    _show_speeds(found, curves, out)
    _show_authority(curves, out)
    _show_modes(curves, out)
    _show_stops(found, curves, out)
    if coefficients:
        _show_coefficients(found, out)


def _show_loading(found: DescribedAirplane, curves: AirplaneCurves, out: Console) -> None:
    _section(words.LOADING, out)
    table = Table(*words.LOADING_HEADS, box=None, pad_edge=False)
    empty = found.loading.empty
    rows = [(words.EMPTY, empty.mass, empty.cg_station, "")]
    rows += [
        (item.name, item.mass, item.position[0], "loose" if item.loose else "fixed")
        for item in found.loading.items
    ]
    rows += [
        (f"fuel, {tank.name}", tank.contents, tank.position[0], "") for tank in found.loading.tanks
    ]
    for name, mass, station, note in rows:
        table.add_row(Text(name), f"{mass:.0f}", f"{mass / POUND:.0f}", f"{station:.3f}", note)
    mass = found.airplane.mass
    table.add_row(
        words.ALL, f"{mass.mass:.0f}", f"{mass.mass / POUND:.0f}", f"{mass.cg_station:.3f}"
    )
    out.print(table)
    geometry = found.airplane.geometry
    chord = (float(geometry.chord_station), float(geometry.mean_chord))
    out.print(
        f"center of gravity   {percent_mac(float(mass.cg_station), *chord):.1f}% MAC\n"
        f"neutral point       {_percent(curves.neutral_point, chord)}% MAC, stick fixed\n"
        f"                    {_percent(curves.neutral_point_free, chord)}% MAC, stick free\n"
        f"static margin       "
        f"{interval(100 * (curves.neutral_point - curves.cg_station) / chord[1], 1.0, 1)}% MAC\n"
        f"inertia             {mass.roll_inertia:.0f}, {mass.pitch_inertia:.0f}, "
        f"{mass.yaw_inertia:.0f} kg m2 in roll, pitch, yaw"
    )
    for envelope in found.envelopes:
        where = _limits(envelope, float(mass.mass), chord)
        out.print(Text(f"{envelope.name:<19} {where}; {_margins(envelope.margins(mass))}"))


def _limits(envelope: Envelope, mass: float, chord: tuple[float, float]) -> str:
    limits = percent_mac_limits(envelope, mass, *chord)
    return f"{limits[0]:.1f} to {limits[1]:.1f}% MAC" if limits else words.NO_LIMITS


def _percent(stations: np.ndarray, chord: tuple[float, float]) -> str:
    return interval(percent_mac(stations, *chord), 1.0, 1)


def _margins(margins: Margins) -> str:
    passed = margins.passed()
    if passed:
        return "passed: " + ", ".join(passed)
    return words.margins_words(margins.forward, margins.aft, margins.mass)


def _show_speeds(found: DescribedAirplane, curves: AirplaneCurves, out: Console) -> None:
    _section(words.level_flight(curves.height), out)
    kind = found.airplane.trim_drive.kind
    surface = "trim" if kind == "none" else kind
    out.print(words.trim_sentence(curves.stall_speed, curves.trim_speed, curves.mistrim))
    table = Table(box=None, pad_edge=False)
    for name in (words.SPEED_HEAD, f"{surface}, deg", *words.PULL_HEADS):
        table.add_column(name, justify="right")
    for i in range(0, len(curves.calibrated_airspeed), EVERY):
        table.add_row(
            f"{curves.calibrated_airspeed[i] / KNOT:.0f}",
            interval(curves.trim[:, i], DEGREE, 1),
            interval(curves.pull[:, i], POUND_FORCE, 0),
            interval(curves.pull_mistrimmed[:, i], POUND_FORCE, 0),
            interval(curves.pull_at_stop[:, i], POUND_FORCE, 0),
        )
    out.print(table)
    per_g = curves.force_per_g
    out.print(
        f"{words.trimmed_at('column force per g at', curves.trim_speed)}: "
        f"{interval(per_g, POUND_FORCE, 0)} lb ({interval(per_g, 1.0, 0)} N)"
    )


def _show_authority(curves: AirplaneCurves, out: Console) -> None:
    _section(words.CROSSOVER, out)
    out.print(words.CROSSOVER_HOW)
    for name, pull in STRENGTHS.items():
        speed = interval(curves.crossover(pull), KNOT, 0)
        out.print(f"  {pull / POUND_FORCE:>4.0f} lb  {speed} kt   {name}")


def _show_modes(curves: AirplaneCurves, out: Console) -> None:
    _section(f"{words.trimmed_at('Modes at', curves.trim_speed)}, stick fixed", out)
    table = Table(*words.MODE_HEADS, box=None, pad_edge=False)
    for name in ("short period", "phugoid", "dutch roll"):
        frequency, damping = curves.modes[f"{name} frequency"], curves.modes[f"{name} damping"]
        table.add_row(name, interval(frequency, 1.0, 3), interval(damping, 1.0, 3))
    for name in ("roll", "spiral"):
        table.add_row(f"{name} root", interval(curves.modes[f"{name} root"], 1.0, 3), "")
    out.print(table)


def _show_stops(found: DescribedAirplane, curves: AirplaneCurves, out: Console) -> None:
    drive = found.airplane.trim_drive
    if drive.kind == "none":
        return
    _section(f"Pitch trim: {drive.kind}", out)
    out.print(
        words.trim_drive_sentence(
            (float(drive.travel_min), float(drive.travel_max)),
            float(drive.rate),
            float(drive.manual_rate),
        )
    )
    table = Table(*words.STOP_HEADS, box=None, pad_edge=False)
    for stop in drive.stops:
        after = words.RUNS_ON if stop.release_restarts else words.STAYS
        kind = stop.kind.replace("_", " ")
        table.add_row(Text(stop.name), kind, f"{stop.reach_time:.1f}", str(stop.hands), after)
    out.print(table)
    if drive.kind == "stabilizer" and float(drive.pivot_arm) > 0.0:
        _show_motor(curves, out)


def _show_motor(curves: AirplaneCurves, out: Console) -> None:
    out.print(words.MOTOR)
    table = Table(box=None, pad_edge=False)
    table.add_column(words.SPEED_HEAD, justify="right")
    table.add_column(words.PERCENT_HEAD, justify="right")
    for i in range(0, len(curves.calibrated_airspeed), EVERY):
        speed = f"{curves.calibrated_airspeed[i] / KNOT:.0f}"
        table.add_row(speed, interval(curves.motor_share_back[:, i], 0.01, 0))
    out.print(table)


def _show_coefficients(found: DescribedAirplane, out: Console) -> None:
    _section(words.COEFFICIENTS, out)
    table = Table(*words.COEFFICIENT_HEADS, box=None, pad_edge=False)
    for name, number in sorted(found.numbers.items()):
        origin = "given" if name in found.given else "estimated"
        table.add_row(
            name, f"{number.value:.4g}", f"{2 * number.sigma:.2g}", origin, Text(number.source)
        )
    out.print(table)


def show_move(name: str, effect: MoveEffect, found: DescribedAirplane, out: Console) -> None:
    """Print what moving an item does.

    Args:
        name: Of the item.
        effect: What changed.
        found: The airplane.
        out: Where to print.
    """
    _section(f"Moving {name}", out)
    geometry = found.airplane.geometry
    chord = (float(geometry.chord_station), float(geometry.mean_chord))
    before, after = float(effect.before.cg_station), float(effect.after.cg_station)
    out.print(
        f"center of gravity   {percent_mac(before, *chord):.1f} to "
        f"{percent_mac(after, *chord):.1f}% MAC ({1000 * effect.shift:+.0f} mm)\n"
        f"static margin       {100 * effect.static_margin_before:.1f} to "
        f"{100 * effect.static_margin_after:.1f}% MAC"
    )
    for envelope, margins in effect.margins.items():
        out.print(Text(f"{envelope:<19} {_margins(margins)}"))
