"""`neutralpoint airplane --json`: one document, SI units and radians."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.airplane.envelope import MoveEffect
from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.study.airplane.curves import STRENGTHS, AirplaneCurves, band


def _band(rows: np.ndarray) -> dict[str, Any]:
    """As given, and 5, 50, 95% of the draws; null where nothing is known."""
    low, middle, high = band(rows)
    parts = {"given": rows[0], "low": low, "median": middle, "high": high}
    return {name: _plain(value) for name, value in parts.items()}


def _plain(value: Any) -> Any:
    if np.ndim(value):
        return [_plain(entry) for entry in value]
    number = float(value)
    return number if np.isfinite(number) else None


def airplane_json(
    found: DescribedAirplane, curves: AirplaneCurves, moved: MoveEffect | None, figure: Path | None
) -> dict[str, Any]:
    """The document.

    Args:
        found: What the file says.
        curves: What follows.
        moved: What moving an item does, if asked for.
        figure: Where the figure went, if drawn.

    Returns:
        Plain values; a null crossover means that the curve does not cross within the speeds shown.
    """
    mass = found.airplane.mass
    fields = "mass cg_station cg_depth roll_inertia pitch_inertia yaw_inertia cross_inertia"
    document: dict[str, Any] = {
        "name": found.document.name,
        "units": "SI and radians; pull positive; bands hold 90% of the draws",
        "loading": {name: float(getattr(mass, name)) for name in fields.split()},
        "margins": {envelope.name: vars(envelope.margins(mass)) for envelope in found.envelopes},
        "coefficients": {
            name: {
                "value": float(number.value),
                "sigma": float(number.sigma),
                "given": name in found.given,
                "source": number.source,
            }
            for name, number in sorted(found.numbers.items())
        },
        "uncertainty": dict(found.uncertainty.sigma),
        "height": curves.height,
        "stall_speed": curves.stall_speed,
        "trim_speed": curves.trim_speed,
        "mistrim": curves.mistrim,
        "calibrated_airspeed": _plain(curves.calibrated_airspeed),
        "crossover": {name: _band(curves.crossover(pull)) for name, pull in STRENGTHS.items()},
        "modes": {name: _band(rows) for name, rows in curves.modes.items()},
    }
    for name in (
        "trim",
        "pull",
        "pull_mistrimmed",
        "pull_at_stop",
        "elevator_at_stop",
        "motor_share_back",
        "force_per_g",
        "neutral_point",
        "neutral_point_free",
    ):
        document[name] = _band(getattr(curves, name))
    if moved is not None:
        document["move"] = {
            "shift": moved.shift,
            "static_margin_before": moved.static_margin_before,
            "static_margin_after": moved.static_margin_after,
            "margins": {name: vars(margins) for name, margins in moved.margins.items()},
        }
    if figure is not None:
        document["figure"] = str(figure)
    return document
