"""What the judge's airplanes do beside what a practitioner expects of them.

    python benchmarks/six_degrees_check.py [--out FILE]

Modes of motion by the eigenvalues of the judge's own equations about level flight, trim, stick
force per g, stalling speed, glide and climb on one engine, of the catalogue as documented.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from six_degrees import ROWS, Controls, G, air, idle, rates, thrust
from six_degrees_airframe import CATALOGUE, documented, load, take
from six_degrees_pilots import load_and_rate
from six_degrees_start import stall_speed, trimmed

from neutralpoint.quantities import DEGREE, FOOT_PER_MINUTE, KNOT

RESULTS = Path(__file__).parent / "results" / "six_degrees_check.md"
SPEED, HEIGHT = np.array([85.0, 120.0, 55.0]), np.array([2500.0, 5000.0, 1500.0])  # m/s, m


def modes(y: np.ndarray, a: SimpleNamespace, control: Controls) -> np.ndarray:
    """Eigenvalues of the linear motion of one airplane, 1/s, controls fixed."""

    def slope(change: np.ndarray) -> np.ndarray:
        found, _ = rates(y + change[:, None], a, control, idle(1), np.zeros((3, 1)), np.ones(1))
        return found[:, 0]

    steps = 1e-5 * np.eye(ROWS)
    return np.linalg.eigvals(np.array([(slope(s) - slope(-s)) / 2e-5 for s in steps]).T)


def named(values: np.ndarray) -> dict[str, str]:
    """Eigenvalues as modes: the slowest pair is the phugoid, the least damped other the Dutch roll.

    Source: Etkin and Reid (1996), ch. 6.
    """
    pairs = sorted(values[values.imag > 1e-3], key=abs)
    others = sorted(pairs[1:], key=lambda v: -v.real / abs(v))
    lone = values[(np.abs(values.imag) < 1e-6) & (np.abs(values.real) > 1e-5)].real
    lone = lone[np.argsort(np.abs(lone))]

    def pair(value: complex) -> str:
        return f"{2 * np.pi / value.imag:.1f} s, damping {-value.real / abs(value):.2f}"

    slow = lone[(np.abs(lone) < 0.2) & (np.abs(lone) > 7e-4)]
    spiral = "neutral" if not slow.size else f"{abs(np.log(2.0) / slow[0]):.0f} s to "
    if slow.size:
        spiral += "double" if slow[0] > 0.0 else "half"
    roll = lone[np.abs(lone) >= 0.5]
    return {
        "phugoid": pair(pairs[0]),
        "short period": pair(others[-1]),
        "Dutch roll": pair(others[0]),
        "spiral": spiral,
        "roll mode": f"{-1.0 / roll[0]:.2f} s",
    }


def facts() -> list[dict[str, str]]:
    """Numbers of each airplane, in words."""
    a = documented(list(CATALOGUE), load())
    y, control, lever = trimmed(a, SPEED, 0.0 * SPEED, HEIGHT, 0.0 * SPEED)
    density, sound = air(HEIGHT, a.warmer)
    _, felt = rates(y, a, control, idle(3), np.zeros((3, 3)), np.ones(3))
    force = load_and_rate(a, felt.pressure, SPEED)[2]
    weight, drag = a.mass * G, control.thrust.sum(axis=0)
    one = thrust(a, np.ones(3), SPEED, density, SPEED / sound)
    stall = stall_speed(a, 0.0 * HEIGHT) / KNOT
    found = []
    for k, name in enumerate(CATALOGUE):
        rows = np.array([k])
        alone = Controls(**{key: value[..., rows] for key, value in vars(control).items()})
        climb = (one[k] - drag[k]) / weight[k] * SPEED[k] / FOOT_PER_MINUTE
        found.append(
            {
                "airplane": name,
                "level flight": f"{SPEED[k] / KNOT:.0f} kt true, {HEIGHT[k]:.0f} m",
                **named(modes(y[:, rows], take(a, rows), alone)),
                "phugoid of Lanchester": f"{np.pi * np.sqrt(2.0) * SPEED[k] / G:.1f} s",
                "incidence": f"{felt.alpha[k] / DEGREE:.1f} deg",
                "trim": f"{(control.stabilizer + control.tab)[k] / DEGREE:.1f} deg",
                "power of each engine": f"{lever[k]:.0%}",
                "stick force per g": f"{force[k]:.0f} N",
                "stall at sea level, flaps in": f"{stall[k]:.0f} kt",
                "glide, propeller and fan without drag": f"1 in {weight[k] / drag[k]:.0f}",
                "climb on one engine, full power": f"{climb:.0f} ft/min" if a.twin[k] else "none",
            }
        )
    return found


def page(found: list[dict[str, str]]) -> str:
    """The page of results."""
    lines = ["# The judge's airplanes", "", "Made by benchmarks/six_degrees_check.py.", ""]
    lines += ["| | " + " | ".join(each["airplane"] for each in found) + " |"]
    lines += ["|---|" + "---|" * len(found)]
    for key in list(found[0])[1:]:
        lines.append(f"| {key} | " + " | ".join(each[key] for each in found) + " |")
    return "\n".join([*lines, ""])


def main() -> None:
    """Work out and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.parse_args().out.write_text(page(facts()))


if __name__ == "__main__":
    main()
