"""What time and strength come to, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.explanations import POPULATION
from neutralpoint.findings import (
    HoldingFindings,
    HoldingForce,
    LatestAction,
    LeftOut,
    LessonRow,
    PilotSpread,
    ProcedureRow,
    RecoveredRule,
    ResponseFindings,
    ResponseRow,
    ResponseStart,
    SampledShare,
    StartReading,
)
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.response import (
    LEVEL_BANK,
    LEVEL_CLIMB,
    LEVEL_RISE,
    LEVEL_TIME,
    REGULATORY_DELAYS,
    Outcome,
    saved,
    saved_over_height,
    share_interval,
)
from neutralpoint.study.response.answered import Answered, Force
from neutralpoint.study.response.file import (
    RESPONSE_FILE,
    equivalent_speed,
    latest_quantiles,
    over_pilots,
    stalled,
    within_limits,
)
from neutralpoint.study.response.work_out import DELAY, LONGEST, Responses
from neutralpoint.vocabulary.strength import TWO_HANDS

NO_DIFFERENCE = 0.5  # share of the height above which no more are saved that is worth saying
FORCE_TIMES = (5.0, 10.0, 15.0)  # s after the fault began, that are listed


def response_findings(of: Responses, starts: list[ResponseStart]) -> ResponseFindings:
    """Everything the stage hands on.

    Args:
        of: What was found.
        starts: References that flights could start from.

    Returns:
        The findings of the stage.
    """
    prior = of.reaction.prior
    return ResponseFindings(
        file=RESPONSE_FILE,
        begin=of.begin,
        starts=_started(of, starts),
        height=of.height,
        height_source=of.height_source,
        reaction_median=prior.low,
        reaction_factor=float(np.exp(prior.high)),
        reaction_source=of.reaction.source,
        pull_median=float(POPULATION.median),
        pull_spread=float(POPULATION.spread),
        one_hand=float(POPULATION.one_hand),
        short_term=TWO_HANDS.force,
        rule_delays=[float(delay) for delay in REGULATORY_DELAYS],
        delays=[float(delay) for delay in DELAY],
        longest=LONGEST,
        recovered=RecoveredRule(
            lasting=LEVEL_TIME, sink=-LEVEL_CLIMB, bank=LEVEL_BANK, rise=LEVEL_RISE
        ),
        rows=[_row(found, of) for found in of.answered],
        left_out=[LeftOut(title=title, reason=reason) for title, reason in of.left_out],
    )


def _row(found: Answered, of: Responses) -> ResponseRow:
    kept = np.asarray(saved(found.stated, of.height))
    first = found.procedures.index(found.reference)
    return ResponseRow(
        cause=found.cause.name,
        direction=found.flown.direction,
        direction_from=found.flown.reason,
        nose_up=found.flown.nose_up,
        nothing=found.procedures[0],
        nothing_saved=_share(kept[0]),
        reference=found.reference,
        reference_saved=_share(kept[first]),
        enough_height=_enough_height(found, of, first),
        procedures=_procedures(found, of, kept),
        lessons=_lessons(found, kept),
        holding=None if found.force is None else _holding(found.force),
    )


def _started(of: Responses, starts: list[ResponseStart]) -> list[ResponseStart]:
    """The references, each with what its own pilots came to."""
    if len(of.places) < 2:
        return starts
    parts = {place.begin: part for place, part in zip(of.places, of.by_place, strict=True)}
    return [
        start.model_copy(update=_reading(parts[start.end], of.height))
        if parts.get(start.end)
        else start
        for start in starts
    ]


def _reading(part: tuple[Answered, ...], height: float) -> dict:
    rows = []
    for found in part:
        first = found.procedures.index(found.reference)
        kept = np.asarray(saved(found.stated, height))[first]
        middle = latest_quantiles(found.latest)[first, 1]
        rows.append(
            StartReading(
                cause=found.cause.name, saved=_share(kept), latest=LatestAction.of(float(middle))
            )
        )
    return {"rows": rows, "pilots": part[0].stated.height_lost.shape[-1]}


def _enough_height(found: Answered, of: Responses, number: int) -> float | None:
    """Height from which more of it would have saved nobody more, where that is worth saying."""
    stated = Outcome(*(leaf[number] for leaf in found.stated))
    share = saved_over_height(stated, of.level)
    enough = float(of.level[np.argmax(share >= share[-1])])
    return enough if enough <= NO_DIFFERENCE * of.height else None


def _share(kept: Flags) -> SampledShare:
    """A share with its sampling error: 95 %, Wilson."""
    share = float(np.mean(kept))
    return _sampled(share, kept.size)


def _sampled(share: float, count: int) -> SampledShare:
    low, high = share_interval(np.array(share), count)
    ends = np.clip([float(low), float(high)], 0.0, 1.0)
    return SampledShare(share=share, low95=ends[0], high95=ends[1])


def _shown(found: Answered, kept: Flags) -> list[int]:
    """Nothing done, the reference, and what saves most; the file has all."""
    own = len(found.procedures) - len(found.lessons)
    best = int(np.argmax(kept.mean(axis=-1)[:own]))
    return sorted({0, found.procedures.index(found.reference), best})


def _procedures(found: Answered, of: Responses, kept: Flags) -> list[ProcedureRow]:
    outcome = found.stated
    within = within_limits(outcome, of.setting, of.height, flown=found.flown)
    lost = over_pilots(outcome.height_lost, kept)
    speed = over_pilots(equivalent_speed(outcome.lowest_pressure), kept)
    load = over_pilots(outcome.load_factor_high, kept)
    slowest = over_pilots(equivalent_speed(outcome.pressure_low), kept)
    pitch = over_pilots(outcome.pitch_high, kept)
    gained, dropped = (over_pilots(x, kept) for x in (outcome.height_gained, outcome.dropped))
    latest = latest_quantiles(found.latest)
    by_rule = saved_over_height(found.regulatory, np.array([of.height]))[..., 0]
    count = found.regulatory.height_lost.shape[-1]
    by_delay = saved_over_height(found.over_height, np.array([of.height]))[..., 0]
    pilots = found.over_height.height_lost.shape[-1]
    rows = []
    for number in _shown(found, kept):
        begun = not np.isnan(found.latest[number]).any()
        rows.append(
            ProcedureRow(
                procedure=found.procedures[number],
                latest=[LatestAction.of(float(x)) for x in latest[number]] if begun else [],
                too_late=_share(found.latest[number] < 0.0) if begun else None,
                by_rule=[_sampled(float(s), count) for s in by_rule[number]],
                by_delay=[_sampled(float(s), pilots) for s in by_delay[number]],
                saved=_share(kept[number]),
                within_limits=_share(within[number]),
                height_lost=_spread(lost[number]),
                lowest_speed=_spread(speed[number]),
                load_factor=_spread(load[number]),
                slowest=_spread(slowest[number]),
                pitch_highest=_spread(pitch[number]),
                height_gained=_spread(gained[number]),
                dropped=_spread(dropped[number]),
                stalled=_share(stalled(outcome)[number]),
            )
        )
    return rows


def _spread(row: Array) -> PilotSpread | None:
    if np.isnan(row).any():
        return None
    low, middle, high = (float(x) for x in row)
    return PilotSpread(median=middle, low90=low, high90=high)


def _lessons(found: Answered, kept: Flags) -> list[LessonRow]:
    base = found.procedures.index(found.reference)
    latest = latest_quantiles(found.latest)[:, 1]
    rows = []
    for name in found.lessons:
        number = found.procedures.index(name)
        gain, error = _gain(kept[number], kept[base])
        rows.append(
            LessonRow(
                lesson=name,
                gain=gain,
                error=error,
                before=LatestAction.of(float(latest[base])),
                after=LatestAction.of(float(latest[number])),
            )
        )
    return rows


def _gain(kept: Flags, base: Flags) -> tuple[float, float]:
    """Change of share with its 95 % sampling error; the same pilots fly both.

    Half a pilot is added to each way to differ or agree, so that no change in few pilots does not
    look certain: Agresti and Min, Statistics in Medicine 24 (2005), from memory.
    """
    won, lost = float(np.sum(kept & ~base)) + 0.5, float(np.sum(base & ~kept)) + 0.5
    count = len(kept) + 2
    half = 1.96 * np.sqrt(won + lost - (won - lost) ** 2 / count) / count
    return float(np.mean(kept) - np.mean(base)), float(half)


def _holding(force: Force) -> HoldingFindings:
    past = np.flatnonzero(np.abs(force.pull) > TWO_HANDS.force)
    places = [(t, int(np.argmin(np.abs(force.time - t)))) for t in FORCE_TIMES]
    return HoldingFindings(
        span=float(force.time[-1]),
        exceeds_at=max(float(force.time[past[0]]), 0.0) if len(past) else None,
        rows=[
            HoldingForce(
                time=time,
                pull=float(force.pull[at]),
                one_hand=float(np.clip(force.one_hand[at], 0.0, 1.0)),
                two_hands=float(np.clip(force.two_hands[at], 0.0, 1.0)),
            )
            for time, at in places
            if np.isfinite(force.pull[at])
        ],
    )
