"""Boxes of physics that a reader can check by hand: a formula, the numbers put in, one sentence."""

from __future__ import annotations

import math

from neutralpoint.findings import (
    Banded90,
    Findings,
    MistrimBox,
    PhugoidBox,
    ShiftBox,
    StageSection,
    TrimTrial,
    WordedBox,
)
from neutralpoint.quantities import DEGREE, FOOT, GRAVITY, KNOT, POUND_FORCE
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import derived, percent, small_percent, time_of_day

FOOT_POUND = FOOT * POUND_FORCE
DIVE = -10.0 * DEGREE  # path angle from which a descent is compared with a dive; analyst's
NEAR = 0.06  # of the speed: as far as the closed form and the flown mean may differ to agree
LISTED = "with all loose items in the aft-most place"
CAUTION = (
    "the boxes explain the physics with the numbers of this case; they are not evidence of a cause."
)
TRIALS = {
    "idle": "power to idle",
    "full": "power to full",
    "push": "a push of some seconds, then released",
}


def physics_section(findings: Findings) -> StageSection | None:
    """The section of the boxes.

    Args:
        findings: The document.

    Returns:
        The section; None where no box applies.
    """
    found = findings.physics
    trials = [] if findings.signatures is None else findings.signatures.trials
    boxes = []
    if found is not None and found.shift is not None:
        boxes.append(_shift(found.shift, findings))
    if trials:
        boxes.append(_trials(trials, findings))
    if found is not None and found.mistrim is not None:
        boxes.append(_mistrim(found.mistrim))
    if found is not None and found.phugoid is not None:
        boxes.append(_phugoid(found.phugoid))
    if not boxes:
        return None
    lead = derived(
        f"{len(boxes)} results that can be checked with a pocket calculator, with the numbers of "
        "this case and their 90% bands.",
        "findings.json: physics",
    )
    return StageSection(
        stage="physics", title=STAGES["physics"], cautions=[CAUTION], statements=[lead], boxes=boxes
    )


def _number(value: float, factor: float = 1.0, decimals: int = 0, *, sign: bool = False) -> str:
    scaled = round(value / factor, decimals) + 0.0
    return f"{scaled:{'+' if sign else ''},.{decimals}f}".replace("-", "\u2212")


def _band(span: Banded90, factor: float, decimals: int, unit: str, *, sign: bool = False) -> str:
    """A value with its 90 % band."""
    low, median, high = (
        _number(value, factor, decimals, sign=sign)
        for value in (span.low90, span.median, span.high90)
    )
    return f"{median} {unit} (90%: {low} to {high})"


def _shift(box: ShiftBox, findings: Findings) -> WordedBox:
    pounds, moment = box.weight / POUND_FORCE, box.moment.median / FOOT_POUND
    load = box.load_factor.median
    at = time_of_day(findings, box.time)
    given = [
        f"M = {_band(box.moment, FOOT_POUND, 0, 'lb ft', sign=True)}: what the path asked for, "
        f"controls free, at {at} UTC",
        f"n = {_band(box.load_factor, 1.0, 2, 'g')}",
        f"W = {_number(pounds)} lb",
    ]
    worked = [
        f"\u0394x = {_number(moment, sign=True)} lb ft / ({_number(load, decimals=2)} \u00d7 "
        f"{_number(pounds)} lb) = {_number(moment / (load * pounds), decimals=2, sign=True)} ft; "
        f"over the sample paths {_band(box.shift, FOOT, 2, 'ft', sign=True)}, aft positive",
    ]
    if box.aft is not None and box.forward is not None:
        worked.append(
            f"the loose load can give {_number(box.forward, FOOT, 2, sign=True)} to "
            f"{_number(box.aft, FOOT, 2, sign=True)} ft"
        )
    return WordedBox(
        key="shift",
        title="Why an aft center of gravity raises the nose",
        formula="\u0394x = M / (n W)",
        given=given,
        worked=worked,
        sentence=_shift_sentence(box),
        source="FAA-H-8083-1B, chapter 2; Etkin and Reid (1996), section 2.3.",
    )


def _shift_sentence(box: ShiftBox) -> str:
    way = "aft" if box.shift.median > 0.0 else "forward"
    raises = (
        "The lift stays where it is; weight moved aft of it turns the nose up until a lower speed "
        "balances again"
    )
    settles = ""
    if box.speed_after is not None and box.aft:
        settles = (
            f" (here from {_number(box.speed.median, KNOT)} to "
            f"{_number(box.speed_after.median, KNOT)} kt equivalent airspeed, {LISTED})"
        )
    elif box.aft:
        settles = f" (here at no speed: {LISTED} the static margin is used up)"
    needs = f"the path asked for {_number(abs(box.shift.median), FOOT, 2)} ft {way}"
    if way == "forward":
        needs += ", the way that lowers the nose"
    if box.within is None:
        return f"{raises}{settles}; {needs}; the case lists no load to compare with."
    return (
        f"{raises}{settles}; {needs}, and the probability that the loose load reaches it is "
        f"{small_percent(box.within)}."
    )


def _printed_speed(trial: TrimTrial) -> float:
    """The formula with the medians that are printed, m/s."""
    slopes = math.cos(trial.path_after.median) / math.cos(trial.path_before.median)
    return trial.speed_before.median * math.sqrt(slopes * trial.density_ratio.median)


def _trials(trials: list[TrimTrial], findings: Findings) -> WordedBox:
    first = trials[0]
    before, path = first.speed_before, first.path_before
    return WordedBox(
        key="trim-speed",
        title="Why power or gravity alone do not steepen a dive",
        formula="V\u2032 = V \u221a( cos \u03b3\u2032 / cos \u03b3 \u00b7 \u03c1 / \u03c1\u2032 )",
        given=[
            f"V = {_band(before, KNOT, 0, 'kt')} true airspeed in the last trimmed flight",
            f"\u03b3 = {_band(path, DEGREE, 1, 'deg', sign=True)} path angle there",
            f"flown for {first.seconds:.0f} s, trim untouched, hands off, no failure; V\u2032 and "
            f"\u03b3\u2032 are means over the last {first.averaged:.0f} s",
        ],
        worked=[_trial(one) for one in trials],
        sentence=_trial_sentence(trials, findings),
        source="Etkin and Reid (1996), section 2.1; flown with the flight model of this case.",
    )


def _trial(one: TrimTrial) -> str:
    slope, ratio = one.path_after.median, one.density_ratio.median
    return (
        f"{TRIALS[one.trial]}: V\u2032 = {_number(one.speed_before.median, KNOT)} kt \u00d7 "
        f"\u221a(cos {_number(slope, DEGREE, 1)}\u00b0 / cos "
        f"{_number(one.path_before.median, DEGREE, 1)}\u00b0 \u00d7 {ratio:.3f}) = "
        f"{_number(_printed_speed(one), KNOT)} kt; flown "
        f"{_band(one.speed_after, KNOT, 0, 'kt')}; path on the way between "
        f"{_number(one.steepest.median, DEGREE, 1, sign=True)}\u00b0 and "
        f"{_number(one.highest.median, DEGREE, 1, sign=True)}\u00b0"
    )


def _trial_sentence(trials: list[TrimTrial], findings: Findings) -> str:
    off = [one for one in trials if abs(one.speed_after.median / one.predicted.median - 1.0) > NEAR]
    steepest = min(one.steepest.low90 for one in trials)
    if off:
        listed = " and ".join(TRIALS[one.trial] for one in off)
        text = (
            "At fixed trim the airplane seeks the speed that its trim belongs to; with "
            f"{listed} the mean at the end is not that speed, because thrust turns this airplane "
            "as well or the time is too short to settle"
        )
    else:
        text = "At fixed trim the airplane goes back to the speed that its trim belongs to"
    text += f"; no path was steeper than {_number(steepest, DEGREE, 0)} deg (95% of the flights)"
    flown = _steepest(findings)
    if flown is None or flown > DIVE:
        return f"{text}."
    if flown < steepest:
        return (
            f"{text}, and this flight reached {_number(flown, DEGREE, 0)} deg: something held the "
            "nose down."
        )
    return f"{text}; this flight reached {_number(flown, DEGREE, 0)} deg."


def _steepest(findings: Findings) -> float | None:
    for entry in findings.key_times:
        value = entry.values.get("flight_path_angle")
        if entry.label == "steepest descent" and value is not None and value.observable:
            return value.median
    return None


def _mistrim(box: MistrimBox) -> WordedBox:
    force, speed = box.force.median / POUND_FORCE, box.speed.median / KNOT
    fast, available = box.other.median / KNOT, box.available / POUND_FORCE
    way = "nose down" if box.nose_down else "nose up"
    kind = "push" if not box.nose_down else "pull"
    crossing = speed * math.sqrt(available / force)
    return WordedBox(
        key="mistrim",
        title="How the force to hold a mistrim grows",
        formula="F\u2032 = F (V\u2032 / V)\u00b2, so V\u2093 = V \u221a(F\u2093 / F)",
        given=[
            f"mistrim {_band(box.mistrim, DEGREE, 1, 'deg', sign=True)} of {box.drive}, {way}: "
            "most that the path asked for had trim alone made it",
            f"V = {_band(box.speed, KNOT, 0, 'kt')} equivalent airspeed in trimmed flight",
            f"F = {_band(box.force, POUND_FORCE, 0, 'lb')} {kind} at V "
            f"({_number(box.force.median)} N)",
            f"V\u2032 = {_band(box.other, KNOT, 0, 'kt')}, the speed after it that differs most",
        ],
        worked=[
            f"F\u2032 = {_number(force)} lb \u00d7 ({_number(fast)} / {_number(speed)})\u00b2 = "
            f"{_number(force * (fast / speed) ** 2)} lb "
            f"({_number(box.force_other.low90, POUND_FORCE)} to "
            f"{_number(box.force_other.high90, POUND_FORCE)}); the flight model has "
            f"{_number(box.force_model.median, POUND_FORCE)} lb",
            f"V\u2093 = {_number(speed)} kt \u00d7 \u221a({_number(available)} lb / "
            f"{_number(force)} lb) = {_number(crossing)} kt "
            f"({_number(box.crossover.low90, KNOT)} to {_number(box.crossover.high90, KNOT)}): "
            f"beyond it the mistrim takes more than {_number(available)} lb, the short-term limit "
            "of the rules for two hands",
            _elevator(box),
        ],
        sentence=_mistrim_sentence(box, kind),
        source="Etkin and Reid (1996), sections 2.4 and 2.6; 14 CFR 23.143(c), 25.143(d).",
    )


def _elevator(box: MistrimBox) -> str:
    angle = _band(box.elevator, DEGREE, 1, "deg", sign=True)
    text = (
        f"elevator that balances it in level flight at V: {angle}, stop "
        f"{_number(box.stop, DEGREE, 1, sign=True)} deg, enough with {percent(box.balanced)} "
        "probability"
    )
    crossing = box.elevator_crossover
    if crossing is None:
        return (
            f"{text}; in this model the angle hardly changes with speed, and no speed takes it to "
            "the stop"
        )
    side = "below" if box.nose_down else "beyond"
    return (
        f"{text}; {side} {_band(crossing, KNOT, 0, 'kt')} full elevator no longer balances it "
        "in level flight"
    )


def _mistrim_sentence(box: MistrimBox, kind: str) -> str:
    outgrown = box.other.median > box.crossover.median
    strength = (
        f"At V\u2032 holding it took more {kind} than that limit"
        if outgrown
        else f"At V\u2032 holding it took a {kind} below that limit"
    )
    share = box.balanced_other
    if share > 0.5:
        return (
            f"{strength}; the elevator itself was enough (probability {small_percent(share)}): "
            "strength runs out before the elevator does."
            if outgrown
            else f"{strength}, and the elevator was enough (probability {small_percent(share)})."
        )
    return f"{strength}; full elevator balanced it with {percent(share)} probability only."


def _phugoid(box: PhugoidBox) -> WordedBox:
    speed = box.speed.median
    period = math.pi * math.sqrt(2.0) * speed / GRAVITY
    worked = [
        f"T = 3.142 \u00d7 1.414 \u00d7 {_number(speed, decimals=1)} m/s / "
        f"{_number(GRAVITY, decimals=2)} m/s\u00b2 = {_number(period)} s "
        f"({_number(box.lanchester.low90)} to {_number(box.lanchester.high90)})",
        "the airplane's own slow mode, column free, has broken up into two that do not oscillate"
        if box.period is None
        else f"the airplane's own slow mode, column free: {_band(box.period, 1.0, 0, 's')}"
        + ("" if box.damping is None else f", damping ratio {box.damping.median:.2f}"),
    ]
    return WordedBox(
        key="phugoid",
        title="How long a phugoid is, and whether this is one",
        formula="T = \u03c0 \u221a2 V / g",
        given=[
            f"V = {_band(box.speed, KNOT, 0, 'kt')} true airspeed in trimmed flight "
            f"({_number(speed, decimals=1)} m/s)",
            f"{_number(box.span)} s of flight were looked at, from the trimmed flight on, at a "
            f"mean of {_number(box.mean_speed.median, KNOT)} kt: room for {box.cycles:.1f} such "
            "periods",
        ],
        worked=worked,
        sentence=_phugoid_sentence(box),
        source="Lanchester, Aerodonetics (1908); Etkin and Reid (1996), section 6.3.",
    )


def _phugoid_sentence(box: PhugoidBox) -> str:
    if box.seen == "too short":
        return (
            "The stretch is too short to show a phugoid: less than one and a half periods, so "
            "what is seen may be part of one or not."
        )
    if box.seen_period is None or box.exchange is None:
        return (
            "No oscillation is seen: beside a parabola one sine explains "
            f"{percent(box.explained)} of the path angle, and 70% are asked for."
        )
    what = f"The path swings with {_band(box.seen_period, 1.0, 0, 's')}"
    if box.seen == "phugoid":
        return (
            f"{what} and gets back {percent(min(box.exchange, 1.0))} of its height as speed: that "
            "is a phugoid, which every airplane flies that is out of trim, hands off."
        )
    return (
        f"{what}, which is not the period of its phugoid: the free exchange of height and speed "
        "alone does not set it."
    )
