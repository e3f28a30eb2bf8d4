"""The central type: a cause, and what it may change at one instant.

A cause computes no force. It says what is done to the airplane, its controls, loading, engines,
air or pilot; the flight model flies that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from neutralpoint.dynamics.state import Inputs, State
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName

OFF = -2.0  # of an autopilot


class Effect(NamedTuple):
    """What a cause changes at one instant; the defaults change nothing.

    Args:
        motor: The fault drives the trim motor: share of its normal rate, nose down positive.
        interrupted: 1 while the fault or the crew keeps the motor from moving, whatever drives it.
        autopilot: 1 while the autopilot must be on, -1 once it has let go, `OFF` where it is off
            if it was on and changes nothing if not.
        trim_offset: Trim surface away from where its drive holds it, rad, nose down positive.
        disconnected: 1 where the column no longer moves the elevator.
        jammed: 1 where the elevator is stuck.
        jam_angle: Elevator there, away from its setting at the start, rad.
        cg_shift: Centre of gravity moved aft, m.
        engine_out: Share of output lost: one number each for the first two engines; further
            engines follow the second.
        feather: Share of the failed engines' propellers that is feathered.
        lever: Change of the power levers, 0 to 1.
        flap: Change of the flaps, 0 to 1.
        lift_limit: Factor on both stall angles.
        drag: Factor on the zero-lift drag.
        roll_damping: Factor on the roll damping beyond the stall.
        tail_loss: Share of the tailplane's lift that has separated or gone.
        wing_loss: Share of the wing's lift that has gone.
        hinge: Hinge moment coefficient added at the elevator.
        tailwind: Wind along the heading beside the mean wind, m/s.
        downdraught: m/s.
        gust: Standard deviation of turbulence, m/s.
        hands_on: 0 where nobody flies.
        body_force: Column force of a body, N, pull positive.
        unaware: 1 where nobody looks at airspeed or heeds the stall warning.
        bank_care: 0 where nobody looks after the bank.
        aileron: Aileron out of rig or leant on, rad.
        illusion: Share of the felt pitch that replaces the true one.
        load: Column force that somebody or something applies while the autopilot is on, N.
        climb: Change of the vertical speed that pilot or autopilot mean to hold, m/s.
    """

    motor: Scalar = 0.0
    interrupted: Scalar = 0.0
    autopilot: Scalar = 0.0
    trim_offset: Scalar = 0.0
    disconnected: Scalar = 0.0
    jammed: Scalar = 0.0
    jam_angle: Scalar = 0.0
    cg_shift: Scalar = 0.0
    engine_out: tuple[Scalar, Scalar] = (0.0, 0.0)
    feather: Scalar = 0.0
    lever: Scalar = 0.0
    flap: Scalar = 0.0
    lift_limit: Scalar = 1.0
    drag: Scalar = 1.0
    roll_damping: Scalar = 1.0
    tail_loss: Scalar = 0.0
    wing_loss: Scalar = 0.0
    hinge: Scalar = 0.0
    tailwind: Scalar = 0.0
    downdraught: Scalar = 0.0
    gust: Scalar = 0.0
    hands_on: Scalar = 1.0
    body_force: Scalar = 0.0
    unaware: Scalar = 0.0
    bank_care: Scalar = 1.0
    aileron: Scalar = 0.0
    illusion: Scalar = 0.0
    load: Scalar = 0.0
    climb: Scalar = 0.0


class Moment(NamedTuple):
    """What a cause may look at.

    Args:
        time: s.
        state: Of the airplane.
        inputs: Those that held the steady flight.
        passed: Largest so far of speed over never-exceed speed and load factor over its limit.
        force_per_g: Column force of one more g at the start, N.
    """

    time: Scalar
    state: State
    inputs: Inputs
    passed: Scalar = 0.0
    force_per_g: Scalar = 100.0


Parameters = Mapping[str, Scalar]  # values of one flight, SI, by name
Act = Callable[[Parameters, Moment], Effect]


@dataclass(frozen=True)
class Cause:
    """One candidate cause.

    Args:
        name: Key, as typed on the command line; carries the title.
        mechanism: One sentence.
        changes: Among "trim drive", "loading", "engine", "control run", "aerodynamics", "air",
            "pilot".
        parameters: With priors.
        cannot_explain: What it could not have done.
        evidence: Physical evidence that discriminates.
        not_separable: What the track alone cannot tell it from.
        act: What it changes; None where it cannot be flown.
        needs_trim: "stabilizer" or "tab" where only that drive can do it, "any" where some pitch
            trim must be there, "" otherwise.
        needs_rate: Field of the trim drive that must not be 0: the motor that the cause drives it
            with; "" where it drives none.
        needs_autopilot: Whether an autopilot must be fitted.
        needs_engines: Smallest number of engines that it makes sense with.
        turbulent: Whether the air must be stirred.
    """

    name: CauseName
    mechanism: str
    changes: tuple[str, ...]
    parameters: tuple[Parameter, ...]
    cannot_explain: tuple[str, ...]
    evidence: tuple[str, ...]
    not_separable: tuple[str, ...]
    act: Act | None
    needs_trim: str = ""
    needs_rate: Literal["", "rate", "autopilot_rate"] = ""
    needs_autopilot: bool = False
    needs_engines: int = 0
    turbulent: bool = False

    @property
    def title(self) -> str:
        """As a table prints it."""
        return self.name.title

    @property
    def spoken(self) -> str:
        """The title as it stands within a sentence."""
        return self.name.spoken

    def effect(self, parameters: Parameters, moment: Moment) -> Effect:
        """What it changes at one instant.

        Args:
            parameters: Its own.
            moment: Now.

        Returns:
            The effect.

        Raises:
            NeutralPointError: `argument-invalid` for a cause that cannot be flown.
        """
        if self.act is None:
            raise NeutralPointError(
                "argument-invalid",
                f"The cause {self.name} cannot be flown.",
                where="cause",
                hint="It is weighed by what no listed cause explains",
            )
        return self.act(parameters, moment)

    def with_priors(self, **priors: Prior) -> Cause:
        """The same cause with other priors.

        Args:
            **priors: By name of the parameter.

        Returns:
            The cause.

        Raises:
            NeutralPointError: `argument-invalid` for a name it does not have.
        """
        self.check_names(priors)
        changed = tuple(
            replace(p, prior=priors[p.name], source="stated by the analyst")
            if p.name in priors
            else p
            for p in self.parameters
        )
        return replace(self, parameters=changed)

    def check_names(self, names: Iterable[str]) -> None:
        """Refuse parameters that this cause does not have.

        Args:
            names: Anything that yields names.

        Raises:
            NeutralPointError: `argument-invalid`.
        """
        known = [p.name for p in self.parameters]
        for name in names:
            if name not in known:
                raise NeutralPointError(
                    "argument-invalid",
                    f"The cause {self.name} has no parameter {name}.",
                    where=f"{self.name}.{name}",
                    hint=f"It has {', '.join(known) or 'none'}.",
                )

    def middle(self) -> dict[str, float]:
        """Every parameter at the median of its prior.

        Returns:
            Values by name.
        """
        return {p.name: p.prior.middle for p in self.parameters}


def after(time: Scalar, start: Scalar) -> Scalar:
    """1 from a time on, 0 before.

    Args:
        time: s.
        start: s.

    Returns:
        0 or 1.
    """
    return (time >= start) * 1.0


def ramp(time: Scalar, start: Scalar, duration: Scalar) -> Scalar:
    """Share of a change that has happened, linear in time.

    Args:
        time: s.
        start: s.
        duration: s, positive.

    Returns:
        0 to 1.
    """
    share = (time - start) / duration
    return (share > 0.0) * (share < 1.0) * share + (share >= 1.0) * 1.0
