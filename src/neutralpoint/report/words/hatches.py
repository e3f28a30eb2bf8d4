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

HELPS: dict[str, tuple[Help, ...]] = {
    "true_airspeed": (WIND,),
    "calibrated_airspeed": (WIND,),
    "mach": (WIND,),
    "flight_path_angle": (WIND, RATES),
    "vertical_speed": (RATES, SECOND),
    "ground_speed": (SPEEDS, SECOND),
    "track_angle": (SPEEDS, SECOND),
    "bank_angle": (SPEEDS, SECOND, WIND),
    "pitch_angle": (WIND, LIFT, FLAP),
    "angle_of_attack": (WIND, LIFT, MASS, FLAP),
    "normal_load_factor": (RATES, SECOND),
    "longitudinal_load_factor": (SPEEDS, WIND),
    "specific_energy_height": (WIND,),
}


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
    return (SECOND,) if reason in ("no-lift", "rolls") else HELPS.get(name, (SECOND,))
