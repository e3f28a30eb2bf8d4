"""What the required moment establishes, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import (
    ClosestMiss,
    Curve,
    CurveMark,
    Discrimination,
    Estimated,
    FastestTrim,
    Granted,
    HandsRow,
    LoadReachRow,
    MomentsFindings,
    MovedReference,
    Need,
    ReferenceRow,
    ThrustChange,
    TimeAboveForce,
    Verdict,
)
from neutralpoint.moments import Ability, GrantedCondition, Judgement
from neutralpoint.moments.trim_rate import SPAN
from neutralpoint.moments.trimmed import unsteadiness
from neutralpoint.study.moments.file import MOMENTS_FILE, moment_flags, moment_paths
from neutralpoint.study.moments.readings import Moved, extreme
from neutralpoint.study.moments.score import scores
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.strength import ONE_HAND, PROLONGED, TWO_HANDS

MAXIMUM_ITEMS = 8  # loads listed
# Curves worth drawing, of those that the airplane has.
DRAWN = (
    "standing_coefficient",
    "needed_stabilizer",
    "needed_tab",
    "needed_elevator",
    "needed_column_force",
    "needed_cg_shift",
    "needed_thrust",
)
# Probability of a surface below which the test of growth is wrong as often as right:
# benchmarks/results/moments_recovery.md.
MISLED = 0.3


def moments_findings(found: Moments, onset: float | None) -> MomentsFindings:
    """Everything the stage hands on.

    Args:
        found: What the stage found.
        onset: As the case states it, s; None without one.

    Returns:
        The findings of the stage.
    """
    required = found.required
    inside = required.time[required.trimmed]
    return MomentsFindings(
        file=MOMENTS_FILE,
        first=float(required.time[0]),
        reference_from=float(inside[0]),
        reference_to=float(inside[-1]),
        steady=bool(unsteadiness(found.flight)[required.trimmed].min() <= 1.0),
        window=found.window,
        stated_onset=onset,
        references=_references(found),
        moved=_moved(found),
        discrimination=_discrimination(found),
        rate=_rate(found),
        thrust=_thrust(found),
        lost=_lost(found),
        forces=_forces(found),
        loads=_loads(found),
        verdicts=[_verdict(judged) for judged in found.verdicts],
        scores=scores(),
        curves=_curves(found),
    )


def _references(found: Moments) -> list[ReferenceRow]:
    return [
        ReferenceRow(
            end=reading.reference.end,
            weight=_share(reading.reference.weight),
            words={verdict.cause: verdict.word.value for verdict in reading.verdicts},
        )
        for reading in found.readings
    ]


def _moved(found: Moments) -> list[MovedReference]:
    """What changes where reference or stated onset are moved; as they are first."""
    main = max(found.readings, key=lambda reading: reading.reference.weight)
    inside = found.judged.inside & ~found.judged.required.stalled
    as_is = Moved(
        "reference",
        0.0,
        main.reference.end,
        extreme(found.judged.required.column_force[:, inside]),
        main.verdicts,
    )
    return [
        MovedReference(
            what=each.what,
            seconds=each.seconds,
            end=each.end,
            force=None if np.isnan(each.force[1]) else list(each.force),
            words={verdict.cause: verdict.word.value for verdict in each.verdicts},
        )
        for each in (as_is, *found.moved)
    ]


def _discrimination(found: Moments) -> Discrimination | None:
    """What is told apart; nothing where a load would lead, for hands on the column lead to that.

    A pilot who holds against a moving surface leaves a moment that grows with the lift, as a load's
    does: of 41 simulated flights that gave a surface less than `MISLED` it had been one in 61 %.
    """
    scaling = found.scaling
    if scaling is None or scaling.surface() < MISLED:
        return None
    return Discrimination(
        laws=list(scaling.laws),
        posterior=[_share(p) for p in scaling.posterior],
        power=[[_share(p) for p in row] for row in scaling.power],
        separable=scaling.separable,
        surface=_share(scaling.surface()),
        surface_power=_share(scaling.surface_power()),
    )


def _share(value: float) -> float:
    """A probability without rounding error beyond its ends."""
    return float(np.clip(value, 0.0, 1.0))


def _rate(found: Moments) -> FastestTrim | None:
    rate, drive = found.rate, found.airplane.airplane.trim_drive
    if rate is None:
        return None
    return FastestTrim(
        drive=drive.kind,
        time=float(rate.time),
        span=SPAN,
        median=rate.median,
        low90=rate.low,
        high90=rate.high,
        motor=float(drive.rate) != 0.0,
        loaded=float(drive.loaded_rate),
        unloaded=float(drive.rate),
        beyond_loaded=rate.beyond[0],
        beyond_unloaded=rate.beyond[1],
    )


def _thrust(found: Moments) -> ThrustChange | None:
    change = found.change
    if change is None:
        return None
    return ThrustChange(
        before=change.before,
        change=change.change,
        low90=change.low,
        high90=change.high,
        fell=change.fell,
        rose=change.rose,
        idle=change.idle_after,
    )


def _lost(found: Moments) -> dict[str, float]:
    """Share of the time in which a limited variable is not observable; those always seen are not
    listed."""
    flags = moment_flags(found, moment_paths(found))
    return {
        name: float((~known).mean())
        for name, known in flags.items()
        if QUANTITIES[name].limit is not None and not known.all()
    }


def _forces(found: Moments) -> list[TimeAboveForce]:
    return [
        TimeAboveForce(
            name=row.limit.name,
            force=row.limit.force,
            source=row.limit.source,
            median=row.median,
            low90=row.low,
            high90=row.high,
            probability=row.probability,
        )
        for row in found.forces
    ]


def _loads(found: Moments) -> list[LoadReachRow]:
    return [
        LoadReachRow(
            name=item.name,
            mass=item.mass,
            loose=item.loose,
            forward=item.forward,
            aft=item.aft,
            probability=_number(item.enough),
        )
        for item in found.reach.items[:MAXIMUM_ITEMS]
    ]


def _verdict(judged: Judgement) -> Verdict:
    """A judgement as the document carries it."""
    miss = judged.miss
    return Verdict(
        cause=judged.cause,
        word=judged.word.value,
        reason=judged.reason.value if judged.reason else None,
        probability=_number(judged.probability),
        judged_from=judged.judged[0],
        judged_to=judged.judged[1],
        hands=[_hands(row) for row in judged.abilities],
        needs=[
            Need(
                quantity=row.quantity.value,
                low90=row.needed.low,
                median=row.needed.median,
                high90=row.needed.high,
                least=_number(row.low),
                most=_number(row.high),
            )
            for row in judged.comparisons
        ],
        estimates=[
            Estimated.model_validate(
                {"name": name, "low90": band.low, "best": band.median, "high90": band.high}
            )
            for name, band in judged.estimates
        ],
        granted=None if judged.condition is None else _granted(judged.condition),
        miss=None
        if miss is None
        else ClosestMiss(time=miss.time, deviations=miss.deviations, moment=_number(miss.moment)),
    )


def _hands(row: Ability) -> HandsRow:
    end = "none" if np.isnan(row.price) else "beyond-measured" if np.isinf(row.price) else "known"
    return HandsRow(
        hands=row.hands.value, probability=row.probability, price=_number(row.price), end=end
    )


def _granted(condition: GrantedCondition) -> Granted:
    end = "beyond-measured" if np.isinf(condition.value) else "known"
    return Granted(grant=condition.grant.value, value=_number(condition.value), end=end)


def _number(value: float) -> float | None:
    """A finite number, or nothing."""
    return float(value) if np.isfinite(value) else None


def _curves(found: Moments) -> list[Curve]:
    """Curves of what alone would supply the moment, with travel and strength drawn in."""
    airplane, setting = found.airplane.airplane, float(np.median(found.required.setting))
    drive, control, shift = airplane.trim_drive, airplane.pitch_control, found.reach
    marks = {
        "needed_column_force": [
            CurveMark(value=sign * level.force, kind="strength", strength=level.name)
            for level in (PROLONGED, ONE_HAND, TWO_HANDS)
            for sign in (1.0, -1.0)
        ],
        "needed_elevator": [
            CurveMark(value=float(control.elevator_min), kind="stop"),
            CurveMark(value=float(control.elevator_max), kind="stop"),
        ],
        "needed_cg_shift": [
            CurveMark(value=shift.aft, kind="loose-aft"),
            CurveMark(value=shift.forward, kind="loose-forward"),
        ],
    }
    if drive.kind != "none":
        marks[f"needed_{drive.kind}"] = [
            CurveMark(value=float(drive.travel_min) - setting, kind="travel"),
            CurveMark(value=float(drive.travel_max) - setting, kind="travel"),
        ]
    paths = moment_paths(found)
    return [
        Curve(variable=name, quantity=name, marks=marks.get(name, []))
        for name in DRAWN
        if name in paths
    ]
