"""Why a stretch is hatched, and what would help, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from neutralpoint.vocabulary import QUANTITIES

Reason = Literal["wide", "no-lift", "rolls", "ground"]


@dataclass(frozen=True)
class Help:
    """Something that would make a quantity observable.

    Attributes:
        words: What it is.
        path: Where in the case it is given.
    """

    words: str
    path: str


WIND = Help("winds aloft: a sounding, a wind table or a report from another airplane", "weather")
SECOND = Help("a second source of the same flight: radar, another receiver, a recorder", "tracks")
RATES = Help("the column of transmitted vertical rates, where the file holds one", "tracks")
SPEEDS = Help("the columns of ground speed and track angle, where the file holds them", "tracks")
MASS = Help("mass and fuel flow with a smaller error", "airplane.mass")
LIFT = Help("an airplane file with a measured lift line", "airplane.file")
FLAP = Help("the position of the flaps", "analysis.flap")

# What each narrows, the most telling first.
NARROWS: tuple[tuple[Help, frozenset[str]], ...] = (
    (
        WIND,
        frozenset(
            {
                "true_airspeed", "calibrated_airspeed", "mach", "flight_path_angle", "pitch_angle",
                "angle_of_attack", "longitudinal_load_factor", "specific_energy_height",
            }
        ),
    ),
    (RATES, frozenset({"vertical_speed", "flight_path_angle", "normal_load_factor"})),
    (
        SPEEDS,
        frozenset({"ground_speed", "track_angle", "bank_angle", "longitudinal_load_factor"}),
    ),
    (LIFT, frozenset({"pitch_angle", "angle_of_attack", "lift_coefficient"})),
    (MASS, frozenset({"angle_of_attack", "lift_coefficient"})),
    (FLAP, frozenset({"pitch_angle", "angle_of_attack"})),
    (
        SECOND,
        frozenset(
            {"vertical_speed", "ground_speed", "track_angle", "bank_angle", "normal_load_factor"}
        ),
    ),
)  # fmt: skip


def reason_words(reason: Reason, name: str, wide: float, limit: float) -> str:
    """Why a quantity is not shown.

    Args:
        reason: Which of the tests it fails.
        name: Of the quantity.
        wide: Median half width of its 90% band there, SI.
        limit: Half width beyond which nothing is shown, SI.

    Returns:
        One sentence.
    """
    if reason == "ground":
        return "The wheels carry the airplane here, and its attitude does not follow from the path."
    if reason == "no-lift":
        return (
            "The load factor is near zero here: the direction of so small a lift says nothing of "
            "the bank."
        )
    if reason == "rolls":
        return (
            "The lift turns faster here than an airplane rolls, so its direction is not the bank."
        )
    shown = QUANTITIES[name].shown
    unit = shown.symbol if shown.symbol.startswith("\u00b0") else f" {shown.symbol}".rstrip()
    digits = max(shown.decimals, 1)
    return (
        f"The 90% band is \u00b1{wide / shown.factor:.{digits}f}{unit} wide here; beyond "
        f"\u00b1{limit / shown.factor:.{digits}f}{unit} nothing is shown."
    )


def helps_for(reason: Reason, name: str) -> tuple[Help, ...]:
    """What would make it observable.

    Args:
        reason: Which of the tests it fails.
        name: Of the quantity.

    Returns:
        Best first; none where nothing in a case would help.
    """
    if reason == "ground":
        return ()
    if reason in ("no-lift", "rolls"):
        return (SECOND,)
    return tuple(help_ for help_, names in NARROWS if name in names) or (SECOND,)
