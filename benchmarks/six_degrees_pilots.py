"""Who flies the judge's airplanes: hands with a lag and a limit of force, and an autopilot.

A hand closes pitch as the crossover model has it (McRuer and Jex, IEEE Trans. HFE-8, 1967, from
memory): gain over the airplane's own, a delay, force alone. Around it lie the path, the speed and
the bank, looked at now and then. Numbers without a source are the analyst's, drawn wide.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from six_degrees import STEP, Array, G, column_need
from six_degrees_faults import HANDS_ONLY, Fault

from neutralpoint.quantities import DEGREE


def crew(rng: np.random.Generator, n: int) -> SimpleNamespace:
    """Crews and autopilots, arrays (N,)."""

    def some(share: float) -> Array:
        return rng.random(n) < share

    return SimpleNamespace(
        crossover=rng.uniform(0.5, 1.3, n),
        delay=rng.uniform(0.2, 0.5, n),
        path_gain=rng.uniform(0.2, 0.7, n),
        lead=rng.uniform(0.0, 0.25, n),
        adapt=rng.uniform(0.1, 0.4, n),
        strong=rng.uniform(220.0, 500.0, n),
        lasting=rng.uniform(100.0, 210.0, n),
        tires=rng.uniform(10.0, 40.0, n),
        quick=rng.uniform(150.0, 500.0, n),
        retrims=some(0.75),
        trim_force=rng.uniform(12.0, 60.0, n),
        startle=np.where(some(0.6), rng.uniform(0.3, 4.0, n), 0.0),
        after=rng.uniform(0.5, 1.7, n),  # what startle makes of the gain
        calm=rng.uniform(1.5, 4.0, n) * DEGREE,
        roll_gain=rng.uniform(0.6, 1.8, n),
        roll_reach=rng.uniform(0.3, 1.0, n),
        foot=np.where(some(0.8), rng.uniform(0.3, 1.0, n), 0.0),
        guards=some(0.85),  # whether low speed is seen
        recovery=rng.uniform(1.0, 5.0, n),
        pulls_on=some(0.25),  # in a stall
        minds_speed=some(0.6),
        most_load=rng.uniform(1.7, 3.0, n),
        least_load=rng.uniform(-0.2, 0.5, n),
        takeover=1.0 + 14.0 * rng.random(n) ** 2.2,
        servo=rng.uniform(60.0, 180.0, n),
        servo_speed=rng.uniform(0.5, 1.5, n),
        servo_trims=some(0.85),
        lets_go=some(0.8),  # whether the autopilot lets go when its servo slips
        patience=rng.uniform(1.0, 8.0, n),
        steep=rng.uniform(35.0, 65.0, n) * DEGREE,
        noise=rng.uniform(0.1, 0.6, n) * DEGREE,
        trim_wait=rng.uniform(2.0, 12.0, n),
    )


class Crew:
    """Hands, autopilot and what they remember, for a batch."""

    def __init__(self, who: SimpleNamespace, a: SimpleNamespace, start: SimpleNamespace) -> None:
        n = a.mass.size
        self.who, self.a, self.start = who, a, start
        self.engaged = start.engaged.copy()
        self.released = np.where(self.engaged, np.inf, -99.0)
        self.trim_angle = start.pitch - start.path
        self.fatigue, self.held, self.force = np.zeros(n), np.zeros(n), np.zeros(n)
        self.slipping, self.pulling = np.zeros(n), np.zeros(n)
        self.frozen_until, self.startled = np.full(n, -1.0), np.zeros(n, bool)
        self.stalled, self.bank_meant = np.full(n, np.inf), np.zeros(n)
        self.lever, self.seen_pitch = start.lever.copy(), start.pitch.copy()
        self.past = [np.zeros(n) for _ in range(round(0.5 / STEP) + 1)]
        self.mean_rate, self.swing, self.foot = np.zeros(n), np.zeros(n), np.zeros(n)
        self.path_meant = start.path.copy()
        # Elevator per g of a servo, and of a hand from where it floats.
        self.per_load = start.per_load

    def hands(self, time: float) -> Array:
        """Whether a person's hands are on the controls."""
        return ~self.engaged & (time >= self.released + self.who.takeover)

    def switch(self, time: float, fault: Fault, seen: SimpleNamespace) -> None:
        """The autopilot lets go, or is let go."""
        who = self.who
        gone = fault.now(time, *HANDS_ONLY, "emergency descent")
        gone |= fault.now(time, "autopilot hard-over") & (fault.since(time) > fault.size.let_go)
        gone |= fault.now(time, "autopilot mistrim") & (fault.since(time) > fault.size.mistrim)
        gone |= fault.now(time, "all engines lost") & (fault.since(time) > 8.0)
        held = fault.now(time, "autopilot hard-over") & ~gone
        slips = who.lets_go & (self.slipping > who.patience)
        slips |= (np.abs(seen.bank) > who.steep) | (np.abs(seen.pitch) > 25.0 * DEGREE)
        slips |= (seen.load < 0.2) | (seen.load > 2.2) | (seen.apart < 0.6)
        gone |= slips & ~held
        new = self.engaged & gone
        self.released = np.where(new, time, self.released)
        meant = new & fault.now(time, *HANDS_ONLY, "emergency descent")
        self.released = np.where(meant, -99.0, self.released)
        self.held = np.where(new, 0.0, self.held)
        self.engaged &= ~gone

    def fly(
        self, time: float, fault: Fault, seen: SimpleNamespace, plan: SimpleNamespace
    ) -> tuple[Array, Array, Array, Array]:
        """Column force, aileron, rudder and lever asked for at a moment."""
        who = self.who
        self.switch(time, fault, seen)
        hands = self.hands(time)
        looks = plan.looks | self.engaged
        climb, bank, lever = self._meant(time, fault, seen, plan)
        self.path_meant = np.where(
            looks,
            self.path_meant + STEP * np.clip((climb - self.path_meant) / 2.0, -0.04, 0.04),
            self.path_meant,
        )
        self.trim_angle += STEP * (seen.pitch - seen.path - self.trim_angle) / 3.0
        rise = self.path_meant - seen.path
        aim = self.trim_angle + self.path_meant + who.path_gain * np.clip(rise, -0.25, 0.25)
        self.seen_pitch = np.where(looks, aim, self.seen_pitch)
        recover = hands & (time > self.stalled + who.recovery) & ~who.pulls_on & (seen.speedy < 1.3)
        self.seen_pitch = np.where(recover, -10.0 * DEGREE, self.seen_pitch)
        wrong = self.seen_pitch - seen.pitch + np.where(self.engaged, 0.0, who.noise * plan.noise)
        self._startle(time, hands, wrong, seen)
        demand = self._demand(wrong, seen)
        force = self._force(time, demand, seen, hands)
        force = self._overruled(time, force, fault, seen)
        return (force, *self._across(time, fault, seen, plan, bank, hands), lever)

    def _meant(self, time, fault, seen, plan):
        """Path angle, bank and lever meant, with what the fault puts in their place."""
        who, size = self.who, fault.size
        climb, bank = plan.climb / seen.speed, plan.bank
        short = fault.now(time, "one engine lost", "all engines lost")
        guarded = (who.guards | ~short) & ~fault.now(time, "wing stall")
        slow = guarded & (seen.speedy < 1.22)
        climb = np.where(slow, np.minimum(climb, -6.0 * (1.22 - seen.speedy)), climb)
        quick = np.clip(seen.pressure / self.a.fast_pressure - 0.95, 0.0, 0.4)
        climb = climb + np.where(seen.speedy > 1.5, 0.3 * quick, 0.0)
        held = fault.now(time, "wing stall")
        climb = np.where(held, np.maximum(climb, -0.01), climb)
        dive = fault.now(time, "emergency descent")
        climb = np.where(dive, -size.steep * (quick < 0.01), climb)
        bank = np.where(dive & (fault.since(time) < 40.0), size.side * size.lean, bank)
        loss = self.start.path_loss
        given, _ = fault.power(time)
        known = short & (fault.since(time) > 2.0 * who.recovery) & who.guards
        climb = np.where(known & (seen.speedy < 1.45), np.minimum(climb, -loss), climb)
        climb, bank = self._figure(time, fault, climb, bank)
        push = np.clip(plan.speed - seen.speed, -8.0, 8.0) * np.where(who.minds_speed, 0.02, 0.003)
        lever = self.start.lever + self.start.lever_per_path * self.path_meant + push + plan.power
        lever = lever + np.where(guarded, np.clip(1.35 - seen.speedy, 0.0, 0.3) * 3.0, 0.0)
        lever = np.where(quick > 0.0, np.where(who.guards, 0.1, lever), lever)
        lever = np.where(dive, 0.03, lever)
        lever = np.where(fault.now(time, "wing stall"), size.idle, lever)
        lever = np.where(fault.now(time, "push on acceleration"), 1.0, lever)
        stalled = np.isfinite(self.stalled) & (time > self.stalled + who.recovery)
        lever = np.where(stalled & ~who.pulls_on & (seen.speedy < 1.4), 0.9, lever)
        lever = np.where(short & who.guards & (given.max(axis=0) > 0.9), lever * 1.6, lever)
        lever = np.clip(lever, 0.03, 1.0)
        kept = fault.now(time, "nobody flies", "spiral") | (~self.engaged & ~self.hands(time))
        self.lever = np.where(kept, self.lever, self.lever + STEP * (lever - self.lever) / 2.5)
        return climb, bank, self.lever

    def _figure(self, time, fault, climb, bank):
        """Aerobatics: wing-over, dive and pull, steep turn."""
        since, size = fault.since(time), fault.size
        on = fault.now(time, "aerobatics") & (since < 24.0)
        beat = np.sin(2.0 * np.pi * since / 24.0)
        over = on & (size.figure == 0)
        climb = np.where(over, 0.45 * beat, climb)
        bank = np.where(over, size.side * 1.3 * np.sin(np.pi * since / 24.0) ** 2, bank)
        climb = np.where(on & (size.figure == 1), -0.45 * beat, climb)
        return climb, np.where(on & (size.figure == 2), size.side * 1.05, bank)

    def _startle(self, time, hands, wrong, seen) -> None:
        """Once, when something is far off, the hand stays where it is for a while."""
        shock = hands & ~self.startled
        shock &= (np.abs(wrong) > 9.0 * DEGREE) | (np.abs(seen.load - 1.0) > 0.6)
        self.frozen_until = np.where(shock, time + self.who.startle, self.frozen_until)
        self.startled |= shock
        new = (seen.apart < 0.55) & np.isinf(self.stalled)
        self.stalled = np.where(new, time, self.stalled)
        over = (seen.apart > 0.9) & (seen.speedy > 1.35)
        self.stalled = np.where(over, np.inf, self.stalled)

    def _demand(self, wrong: Array, seen: SimpleNamespace) -> Array:
        """Elevator asked for, rad, nose-up positive, before hand or servo limit it."""
        who = self.who
        pace = np.where(self.engaged, who.servo_speed, who.crossover)
        pace = pace * np.where(self.startled & ~self.engaged, who.after, 1.0)
        stiff = np.where(self.engaged, *self.per_load) / np.maximum(seen.thick, 0.2) ** 2
        gain = np.minimum(pace * stiff / (G / seen.speed), 4.0)
        # A hand that finds itself in an oscillation lets go a little.
        self.mean_rate += STEP * (seen.pitch_rate - self.mean_rate) / 1.5
        swing = (seen.pitch_rate - self.mean_rate) ** 2
        self.swing += STEP * (swing - self.swing) / 2.0
        gain = gain / (1.0 + np.where(self.engaged, 0.0, self.swing / who.calm**2))
        self.held += STEP * np.where(self.engaged, 0.35, who.adapt) * gain * wrong
        self.held = np.clip(self.held, -0.3, 0.3)
        found = gain * (wrong - who.lead * seen.pitch_rate) + self.held
        found = found - 0.5 * stiff * np.maximum(seen.load - who.most_load, 0.0)
        return found + 0.5 * stiff * np.maximum(who.least_load - seen.load, 0.0)

    def _force(self, time: float, demand: Array, seen: SimpleNamespace, hands: Array) -> Array:
        """Column force, N: of a hand with a delay that tires, or of a servo."""
        who = self.who
        need, stiff = column_need(self.a, seen, seen.elevator, seen.tab)
        self.past.append(demand)
        self.past.pop(0)
        back = len(self.past) - 1 - np.rint(who.delay / STEP).astype(int)
        late = np.stack(self.past)[np.maximum(back, 0), np.arange(demand.size)]
        top = who.lasting + (who.strong - who.lasting) * np.exp(-self.fatigue / who.tires)
        aim = np.clip(stiff * late, -top, top)
        step = np.clip(aim - self.force, -who.quick * STEP, who.quick * STEP)
        frozen = time < self.frozen_until
        by_hand = self.force + np.where(frozen, 0.0, step)
        self.fatigue += STEP * np.where(np.abs(by_hand) > who.lasting, 1.0, -0.5)
        self.fatigue = np.maximum(self.fatigue, 0.0)
        # A servo holds a position: what the column needs there, within what its clutch carries.
        place = np.clip(self.start.elevator - demand, self.a.elevator_min, self.a.elevator_max)
        servo = need - stiff * (place - seen.elevator)
        slips = np.abs(servo) > who.servo
        self.slipping = np.where(self.engaged & slips, self.slipping + STEP, 0.0)
        self.held = np.where(self.engaged & slips, self.held * (1.0 - STEP / 4.0), self.held)
        servo = np.clip(servo, -who.servo, who.servo)
        self.force = np.where(hands, by_hand, 0.0)
        return np.where(self.engaged, servo, self.force)

    def _overruled(self, time: float, force: Array, fault: Fault, seen: SimpleNamespace) -> Array:
        """What a person does who is lost, pushes or is not there; and a servo that runs away."""
        lost = fault.now(time, "spiral")
        tug = fault.size.pulls * np.clip(-seen.path - 0.05, 0.0, 0.4) * 400.0
        force = np.where(lost, np.minimum(tug, self.who.lasting), force)
        own = fault.pushes(time)
        force = np.where(np.isnan(own), force, own)
        hard = fault.now(time, "autopilot hard-over") & (fault.since(time) < fault.size.let_go)
        fights = hard & (fault.since(time) > 1.0 + 0.4 * self.who.takeover)
        against = np.where(fights, -0.6 * np.sign(fault.size.shove) * self.who.lasting, 0.0)
        force = np.where(hard, against, force)
        force = np.where(fault.now(time, "nobody flies"), 0.0, force)
        self.force = np.where(self.engaged, 0.0, force)
        return force

    def _across(self, time, fault, seen, plan, bank, hands):
        """Aileron and rudder."""
        who, a = self.who, self.a
        upset = hands & (seen.path < -0.2) & (np.abs(seen.bank) > 0.6) & ~plan.figure
        bank = np.where(upset, 0.0, bank)
        self.bank_meant = np.where(
            plan.looks | self.engaged,
            self.bank_meant + STEP * np.clip((bank - self.bank_meant) / 1.2, -0.2, 0.2),
            self.bank_meant,
        )
        lost = fault.now(time, "spiral")
        drift = fault.size.side * np.minimum(fault.size.creep * fault.since(time), 1.5)
        aim = np.where(lost, drift, self.bank_meant)
        off = np.mod(aim - seen.bank + np.pi, 2.0 * np.pi) - np.pi
        off = np.where(lost & (off * fault.size.side < 0.0), 0.0, off)
        per = -a.Cl_aileron / a.Cl_p * 2.0 * seen.speed / a.span  # roll rate per aileron
        rate = np.clip(np.where(self.engaged, 1.0, who.roll_gain) * off, -0.4, 0.4)
        most = np.where(self.engaged, 0.5, who.roll_reach) * a.aileron_limit
        aileron = np.clip((rate - 0.3 * seen.roll_rate) / per, -most, most)
        active = self.engaged | hands
        slumped = fault.now(time, "nobody flies")
        aileron = np.where(active & ~slumped, aileron, 0.0)
        aileron = aileron + np.where(slumped, fault.size.turn * a.aileron_limit, 0.0)
        reach = np.minimum(1.0, 2500.0 / np.maximum(seen.pressure, 1.0)) * a.rudder_limit
        slip = np.where(hands & ~slumped & ~lost, who.foot, np.where(self.engaged, 0.25, 0.0))
        self.foot += STEP * (-0.9 * slip * seen.slip - self.foot) / 1.5
        return aileron, np.clip(self.foot, -reach, reach)

    def trims(self, time: float, force: Array, fault: Fault, jammed: Array) -> Array:
        """Trim rate of hand or autopilot, rad/s, in the sense of nose-down."""
        who, a = self.who, self.a
        far = np.where(self.engaged, 12.0, who.trim_force)
        tired = np.abs(force) > far
        self.pulling = np.where(tired, self.pulling + STEP, np.maximum(self.pulling - 2 * STEP, 0))
        may = np.where(self.engaged, who.servo_trims & (self.pulling > 1.5), False)
        by_hand = self.hands(time) & (who.retrims | (np.abs(force) > 0.8 * who.lasting))
        may |= by_hand & (self.pulling > who.trim_wait)
        hand = np.where(a.trim_manual_rate > 0.0, 0.25 * a.trim_manual_rate, 0.7 * a.trim_rate)
        rate = np.where(self.engaged, np.maximum(a.trim_autopilot_rate, 0.004), hand)
        stuck = jammed & self.hands(time) & (np.abs(self.held) > 0.02)
        rate = np.where(may | stuck, -np.sign(np.where(stuck, self.held, force)) * rate, 0.0)
        return np.where(fault.now(time, "nobody flies", "spiral", "push"), 0.0, rate)


def load_and_rate(a: SimpleNamespace, pressure: Array, speed: Array) -> tuple[Array, Array, Array]:
    """What one more g asks for.

    Args:
        a: Airframes.
        pressure: Dynamic pressure, Pa.
        speed: True airspeed, m/s.

    Returns:
        Elevator that a servo turns and that a hand forces from where it floats, rad per g, trailing
        edge up; stick force, N per g.

    Source: Etkin and Reid (1996), sec. 3.1: manoeuvre points stick fixed and stick free.
    """
    lift = a.mass * G / (pressure * a.wing_area)  # coefficient of 1 g
    behind = (a.cg_station - a.moment_station) / a.mean_chord
    slope = a.Cm_alpha_body + a.Cm_stabilizer * (1 - a.downwash_alpha) + behind * a.CL_alpha
    damp = a.Cm_q_body + 2.0 * a.Cm_stabilizer * a.tail_arm / a.mean_chord
    turn, angle = G / speed, lift / a.CL_alpha  # pitch rate and incidence of one more g
    need = slope * angle + damp * turn * a.mean_chord / (2.0 * speed)
    fixed = np.maximum(need / a.Cm_elevator, 0.3 * DEGREE)
    at_tail = (1.0 - a.downwash_alpha) * angle + turn * a.tail_arm / speed
    area = a.gearing * a.elevator_area * a.elevator_chord * pressure * a.tail_pressure_ratio
    stiff = -area * a.Ch_elevator
    free = fixed + (area * a.Ch_alpha * at_tail + a.bobweight) / stiff
    free = np.maximum(free, 0.2 * DEGREE)
    return fixed, free, free * stiff
