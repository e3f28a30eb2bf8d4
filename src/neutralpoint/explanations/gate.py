"""Which causes cannot have acted at all: by the airplane, and by facts of the flight.

A fact excludes only what is physically impossible with it. What it makes less likely is a matter
of the prior, which the analyst states.
"""

from __future__ import annotations

from collections.abc import Callable

from neutralpoint.airplane.model import Airplane
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.facts import NOTHING_KNOWN, Facts
from neutralpoint.quantities import KELVIN_AT_0_C
from neutralpoint.vocabulary import CauseName

# Ice grows in supercooled water: the clouds of 14 CFR 25 appendix C begin at 0 degC. The error of
# the temperature is in `Facts.coldest`.
NO_ICE_ABOVE = KELVIN_AT_0_C
# Cloud needs saturated air. With a spread of 5 K the relative humidity is near 70%: far from it
# even where the sounding is some way off; analyst's estimate.
NO_CLOUD_SPREAD = 5.0
# Longer than a wrong setting for takeoff stays hidden, s; analyst's estimate.
SHOWN_BY = 180.0


def _ice(facts: Facts) -> str:
    if facts.coldest is not None and facts.coldest > NO_ICE_ABOVE:
        return (
            f"No air of the flight was colder than {facts.coldest - KELVIN_AT_0_C:+.0f} degC: "
            "no ice forms on the tail."
        )
    spread = facts.dew_point_spread
    if spread is not None and spread > NO_CLOUD_SPREAD:
        return (
            f"Temperature and dew point were {spread:.0f} K or more apart along the flight: "
            "there was no cloud to collect ice from."
        )
    return ""


def _no_horizon(facts: Facts) -> str:
    # Not known is not no: only a stated fact excludes.
    if facts.daylight and facts.in_cloud is False:
        return "It was day and clear of cloud: the horizon was in sight."
    return ""


def _load(way: str) -> Callable[[Facts], str]:
    def gate(facts: Facts) -> str:
        # Nothing stated leaves both ways open.
        if facts.load_moves in (None, "either", way):
            return ""
        return f"Nothing on board could move {way}."

    return gate


def _takeoff(facts: Facts) -> str:
    flown = facts.trimmed_for
    if flown is not None and flown > SHOWN_BY:
        return f"The airplane had flown for {flown / 60.0:.0f} min since takeoff."
    return ""


def _somebody(facts: Facts) -> str:
    return "Nobody was on board to fly it." if facts.crew == 0 else ""


def _no_fuel(facts: Facts) -> str:
    if facts.fuel is not None and facts.fuel <= 0.0:
        return "No usable fuel was left: every engine stops."
    return ""


_GATES: dict[CauseName, Callable[[Facts], str]] = {
    CauseName.TAILPLANE_STALL: _ice,
    CauseName.SPIRAL_DIVE: _no_horizon,
    CauseName.SOMATOGRAVIC_INPUT: _no_horizon,
    CauseName.LOAD_SHIFT_AFT: _load("aft"),
    CauseName.LOAD_SHIFT_FORWARD: _load("forward"),
    CauseName.TAKEOFF_MISTRIM: _takeoff,
    CauseName.INCAPACITATION: _somebody,
    CauseName.POWER_LOSS_ONE: _no_fuel,
}


def _by_trim(cause: Cause, airplane: Airplane) -> str:
    drive = airplane.trim_drive
    if cause.needs_trim == "any" and drive.kind == "none":
        return "The airplane has no pitch trim."
    if cause.needs_trim in ("stabilizer", "tab") and drive.kind != cause.needs_trim:
        return f"The airplane's pitch trim is no {cause.needs_trim}."
    if cause.needs_rate and float(getattr(drive, cause.needs_rate)) == 0.0:
        motor = "motor" if cause.needs_rate == "rate" else "motor that the autopilot drives"
        return f"The airplane's pitch trim has no {motor}."
    return ""


def why_not(cause: Cause, airplane: Airplane, facts: Facts = NOTHING_KNOWN) -> str:
    """Why a cause cannot have acted on an airplane on a flight.

    Args:
        cause: The cause.
        airplane: The airplane.
        facts: What is known of the flight.

    Returns:
        A sentence, empty where it can.
    """
    if cause.act is None:
        return "A cause that is not listed cannot be flown."
    if cause.needs_autopilot and facts.autopilot is False:
        return "No working autopilot was fitted."
    if found := _by_trim(cause, airplane):
        return found
    if len(airplane.engines) < cause.needs_engines:
        return f"The airplane has {len(airplane.engines)} engine(s)."
    # What the airplane lacks is said first: it needs no fact of the flight.
    gate = _GATES.get(cause.name)
    return gate(facts) if gate else ""
