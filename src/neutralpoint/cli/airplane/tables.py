"""What `neutralpoint airplane` prints for people; units of the trade, bands of 90%."""

from __future__ import annotations

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from neutralpoint.airplane.envelope import Envelope, Margins, MoveEffect, percent_mac_limits
from neutralpoint.airplane.loading import percent_mac
from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.quantities import DEGREE, FOOT, KNOT, POUND, POUND_FORCE
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
    out.print(
        "Each number: as the file gives it; then the median of the draws of its uncertainty, with "
        "90% of them in parentheses. Not for flight."
    )
    _show_loading(found, curves, out)
    _show_speeds(found, curves, out)
    _show_authority(curves, out)
    _show_modes(curves, out)
    _show_stops(found, curves, out)
    if coefficients:
        _show_coefficients(found, out)


def _show_loading(found: DescribedAirplane, curves: AirplaneCurves, out: Console) -> None:
    _section("Loading", out)
    table = Table("what", "kg", "lb", "station m", "", box=None, pad_edge=False)
    empty = found.loading.empty
    rows = [("empty", empty.mass, empty.cg_station, "")]
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
    table.add_row("all", f"{mass.mass:.0f}", f"{mass.mass / POUND:.0f}", f"{mass.cg_station:.3f}")
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
    return f"{limits[0]:.1f} to {limits[1]:.1f}% MAC" if limits else "no limits at this mass"


def _percent(stations: np.ndarray, chord: tuple[float, float]) -> str:
    return interval(percent_mac(stations, *chord), 1.0, 1)


def _margins(margins: Margins) -> str:
    passed = margins.passed()
    if passed:
        return "passed: " + ", ".join(passed)
    return (
        f"inside by {1000 * margins.forward:.0f} mm forward, {1000 * margins.aft:.0f} mm aft, "
        f"{margins.mass:.0f} kg"
    )


def _show_speeds(found: DescribedAirplane, curves: AirplaneCurves, out: Console) -> None:
    _section(f"Level flight at {curves.height / FOOT:.0f} ft", out)
    kind = found.airplane.trim_drive.kind
    surface = "trim" if kind == "none" else kind
    out.print(
        f"Stall {curves.stall_speed / KNOT:.0f} kt flaps up. Forces in lb, pull positive. "
        f"Trimmed at {curves.trim_speed / KNOT:.0f} kt; mistrim {curves.mistrim / DEGREE:.1f} "
        "deg nose-down."
    )
    table = Table(box=None, pad_edge=False)
    for name in ("kt CAS", f"{surface} deg", "trimmed", "mistrimmed", "trim at nose-down stop"):
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
        f"column force per g at {curves.trim_speed / KNOT:.0f} kt: "
        f"{interval(per_g, POUND_FORCE, 0)} lb ({interval(per_g, 1.0, 0)} N)"
    )


def _show_authority(curves: AirplaneCurves, out: Console) -> None:
    _section("Hand against trim: trim at its nose-down stop, level flight", out)
    out.print('Speed past which it takes more than this pull ("none": at no speed shown).')
    for name, pull in STRENGTHS.items():
        speed = interval(curves.crossover(pull), KNOT, 0)
        out.print(f"  {pull / POUND_FORCE:>4.0f} lb  {speed} kt   {name}")


def _show_modes(curves: AirplaneCurves, out: Console) -> None:
    _section(f"Modes at {curves.trim_speed / KNOT:.0f} kt, stick fixed", out)
    table = Table("mode", "rad/s or 1/s", "damping ratio", box=None, pad_edge=False)
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
        f"travel {drive.travel_min / DEGREE:.1f} to {drive.travel_max / DEGREE:.1f} deg; motor "
        f"{drive.rate / DEGREE:.2f} deg/s, by hand {drive.manual_rate / DEGREE:.2f} deg/s"
    )
    table = Table(
        "stop device", "kind", "reach s", "hands", "when released", box=None, pad_edge=False
    )
    for stop in drive.stops:
        after = "trim may move again" if stop.release_restarts else "stays stopped"
        kind = stop.kind.replace("_", " ")
        table.add_row(Text(stop.name), kind, f"{stop.reach_time:.1f}", str(stop.hands), after)
    out.print(table)
    if drive.kind == "stabilizer" and float(drive.pivot_arm) > 0.0:
        _show_motor(curves, out)


def _show_motor(curves: AirplaneCurves, out: Console) -> None:
    out.print(
        "\nMotor under load: share of its unloaded rate with which it could bring the trim back "
        "from\nthe nose-down stop while the column holds level flight; at 0 it stalls until the "
        "pull is eased."
    )
    table = Table(box=None, pad_edge=False)
    table.add_column("kt CAS", justify="right")
    table.add_column("percent", justify="right")
    for i in range(0, len(curves.calibrated_airspeed), EVERY):
        speed = f"{curves.calibrated_airspeed[i] / KNOT:.0f}"
        table.add_row(speed, interval(curves.motor_share_back[:, i], 0.01, 0))
    out.print(table)


def _show_coefficients(found: DescribedAirplane, out: Console) -> None:
    _section("Coefficients, +- two standard deviations", out)
    table = Table("name", "value", "+-", "", "source", box=None, pad_edge=False)
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
