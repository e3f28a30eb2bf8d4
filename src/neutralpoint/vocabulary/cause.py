"""Names of the candidate causes: one enum for verdicts, flown causes, odds, response and pages."""

from __future__ import annotations

from enum import StrEnum


class Mechanism(StrEnum):
    """What a cause changes; odds are summed and priors are stated by it."""

    NO_FAILURE = "no-failure"
    TRIM_DRIVE = "trim-drive"
    CONTROL_RUN = "control-run"
    LOADING = "loading"
    ENGINE = "engine"
    AERODYNAMICS = "aerodynamics"
    STRUCTURE = "structure"
    AIR = "air"
    PERSON = "person"
    UNLISTED = "unlisted"

    @property
    def title(self) -> str:  # pyright: ignore[reportIncompatibleMethodOverride]
        """As printed."""
        return _MECHANISM_TITLES[self]


class CauseName(StrEnum):
    """Key of a candidate cause, as typed on the command line and stored in every file."""

    NO_FAILURE = "no-failure"
    STABILIZER_RUNAWAY = "stabilizer-runaway"
    TAB_RUNAWAY = "tab-runaway"
    INTERMITTENT_RUNAWAY = "intermittent-runaway"
    AUTOPILOT_MISTRIM = "autopilot-mistrim"
    AUTOPILOT_HARDOVER = "autopilot-hardover"
    TAKEOFF_MISTRIM = "takeoff-mistrim"
    SEPARATION = "separation"
    ELEVATOR_JAM = "elevator-jam"
    LOAD_SHIFT_AFT = "load-shift-aft"
    LOAD_SHIFT_FORWARD = "load-shift-forward"
    POWER_LOSS_ONE = "power-loss-one"
    POWER_LOSS_ALL = "power-loss-all"
    WING_STALL = "wing-stall"
    TAILPLANE_STALL = "tailplane-stall"
    STRUCTURAL_FAILURE = "structural-failure"
    WIND_SHEAR = "wind-shear"
    SPIRAL_DIVE = "spiral-dive"
    SOMATOGRAVIC_INPUT = "somatogravic-input"
    CONTROL_INPUT = "control-input"
    INCAPACITATION = "incapacitation"
    UNLISTED = "unlisted"

    @property
    def title(self) -> str:  # pyright: ignore[reportIncompatibleMethodOverride]
        """As printed in a table or heading."""
        return _TITLES[self]

    @property
    def spoken(self) -> str:
        """The title as it stands within a sentence."""
        return self.title[:1].lower() + self.title[1:]

    @property
    def mechanism(self) -> Mechanism:
        """What the cause changes."""
        return _MECHANISMS[self]


_TITLES = {
    CauseName.NO_FAILURE: "No failure (manual flight, turbulence)",
    CauseName.STABILIZER_RUNAWAY: "Stabilizer trim runaway",
    CauseName.TAB_RUNAWAY: "Trim-tab runaway",
    CauseName.INTERMITTENT_RUNAWAY: "Intermittent trim runaway",
    CauseName.AUTOPILOT_MISTRIM: "Autopilot mistrim then disconnect",
    CauseName.AUTOPILOT_HARDOVER: "Autopilot hard-over",
    CauseName.TAKEOFF_MISTRIM: "Wrong trim or loading at takeoff",
    CauseName.SEPARATION: "Trim or elevator separation",
    CauseName.ELEVATOR_JAM: "Elevator jam",
    CauseName.LOAD_SHIFT_AFT: "Aft load shift",
    CauseName.LOAD_SHIFT_FORWARD: "Forward load shift",
    CauseName.POWER_LOSS_ONE: "Power loss, one engine",
    CauseName.POWER_LOSS_ALL: "Power loss, all engines",
    CauseName.WING_STALL: "Wing stall",
    CauseName.TAILPLANE_STALL: "Ice-contaminated tailplane stall",
    CauseName.STRUCTURAL_FAILURE: "Structural failure",
    CauseName.WIND_SHEAR: "Wind shear",
    CauseName.SPIRAL_DIVE: "Spiral dive (spatial disorientation)",
    CauseName.SOMATOGRAVIC_INPUT: "Nose-down input (somatogravic illusion)",
    CauseName.CONTROL_INPUT: "Control input",
    CauseName.INCAPACITATION: "Pilot incapacitation",
    CauseName.UNLISTED: "Unlisted cause",
}

_MECHANISM_TITLES = {
    Mechanism.NO_FAILURE: "No failure",
    Mechanism.TRIM_DRIVE: "Trim drive and autopilot",
    Mechanism.CONTROL_RUN: "Control run",
    Mechanism.LOADING: "Loading",
    Mechanism.ENGINE: "Engine",
    Mechanism.AERODYNAMICS: "Stall",
    Mechanism.STRUCTURE: "Structure",
    Mechanism.AIR: "Air",
    Mechanism.PERSON: "Person",
    Mechanism.UNLISTED: "Unlisted",
}

_MECHANISMS = {
    CauseName.NO_FAILURE: Mechanism.NO_FAILURE,
    CauseName.STABILIZER_RUNAWAY: Mechanism.TRIM_DRIVE,
    CauseName.TAB_RUNAWAY: Mechanism.TRIM_DRIVE,
    CauseName.INTERMITTENT_RUNAWAY: Mechanism.TRIM_DRIVE,
    CauseName.AUTOPILOT_MISTRIM: Mechanism.TRIM_DRIVE,
    CauseName.AUTOPILOT_HARDOVER: Mechanism.TRIM_DRIVE,
    CauseName.TAKEOFF_MISTRIM: Mechanism.LOADING,
    CauseName.SEPARATION: Mechanism.CONTROL_RUN,
    CauseName.ELEVATOR_JAM: Mechanism.CONTROL_RUN,
    CauseName.LOAD_SHIFT_AFT: Mechanism.LOADING,
    CauseName.LOAD_SHIFT_FORWARD: Mechanism.LOADING,
    CauseName.POWER_LOSS_ONE: Mechanism.ENGINE,
    CauseName.POWER_LOSS_ALL: Mechanism.ENGINE,
    CauseName.WING_STALL: Mechanism.AERODYNAMICS,
    CauseName.TAILPLANE_STALL: Mechanism.AERODYNAMICS,
    CauseName.STRUCTURAL_FAILURE: Mechanism.STRUCTURE,
    CauseName.WIND_SHEAR: Mechanism.AIR,
    CauseName.SPIRAL_DIVE: Mechanism.PERSON,
    CauseName.SOMATOGRAVIC_INPUT: Mechanism.PERSON,
    CauseName.CONTROL_INPUT: Mechanism.PERSON,
    CauseName.INCAPACITATION: Mechanism.PERSON,
    CauseName.UNLISTED: Mechanism.UNLISTED,
}
