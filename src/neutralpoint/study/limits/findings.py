"""Limits passed, as the findings document holds them."""

from __future__ import annotations

import numpy as np

from neutralpoint.case import Case
from neutralpoint.findings import Banded90
from neutralpoint.findings.limits import (
    ExcessPower,
    LimitLeftOut,
    LimitRow,
    LimitsFindings,
    LoadDiagram,
    PassedTogether,
)
from neutralpoint.limits import passed_any, passed_together, passing, trusted_until
from neutralpoint.limits.passing import DISTRUST
from neutralpoint.numerics.arrays import Array
from neutralpoint.numerics.extremes import lowest
from neutralpoint.study.limits.work_out import ComparedLimit, LimitsPassed
from neutralpoint.vocabulary.limit import STRENGTHS

LIMITS_FILE = "limits.nc"
LEVELS = (0.05, 0.5, 0.95)  # ends and middle of a 90% band
LEAST = 0.005  # chance below which a pair is not listed; analyst's


def band90(values: Array) -> Banded90:
    """Median and 90% band of samples.

    Args:
        values: Shape (n,).

    Returns:
        For the findings document.
    """
    low, middle, high = (float(x) for x in np.quantile(values, LEVELS))
    return Banded90(low90=low, median=middle, high90=high)


def _of(found: tuple[float, float, float]) -> Banded90:
    return Banded90(low90=found[0], median=found[1], high90=found[2])


def limits_findings(found: LimitsPassed, case: Case) -> LimitsFindings:
    """What the stage hands on.

    Args:
        found: Of the stage.
        case: The case.

    Returns:
        Its findings.
    """
    margins = [asked.margin for asked in found.asked]
    strengths = [margin for margin in margins if margin.name in STRENGTHS]
    return LimitsFindings(
        file=LIMITS_FILE,
        begin=float(found.time[0]),
        end=float(found.time[-1]),
        window=found.window,
        rows=[_row(asked, found) for asked in found.asked],
        together=[
            PassedTogether(first=one, second=other, probability=share)
            for one, other, share in passed_together(margins)
            if share >= LEAST
        ],
        passed_any=passed_any(margins),
        left_out=[LimitLeftOut(limit=name, reason=reason) for name, reason in found.left_out],
        trusted_until=trusted_until(strengths, found.time),
        distrust=DISTRUST,
        diagram=_diagram(found, case),
        excess=_excess(found),
    )


def _row(asked: ComparedLimit, found: LimitsPassed) -> LimitRow:
    said = passing(asked.margin, found.time, found.step)

    def when(chance: float) -> float | None:
        reached = np.flatnonzero(said.by >= chance)
        return float(found.time[reached[0]]) if reached.size else None

    return LimitRow(
        limit=said.name,
        quantity=asked.quantity,
        value=said.limit,
        above=asked.margin.above,
        source=asked.source,
        probability=said.probability,
        by10=when(0.1),
        by50=when(0.5),
        by90=when(0.9),
        duration=None if said.duration is None else _of(said.duration),
        extreme=_of(said.extreme),
    )


def _diagram(found: LimitsPassed, case: Case) -> LoadDiagram:
    design, lines = found.design, found.diagram
    limits = case.described.document.limits
    return LoadDiagram(
        mass=design.mass,
        altitude=design.altitude,
        cruise_speed=design.cruise_speed,
        dive_speed=design.dive_speed,
        maneuver_speed=lines.maneuver_speed,
        defaults=limits.cruise_speed is None or limits.dive_speed is None,
        **{
            name: [round(float(x), 4) for x in getattr(lines, name)]
            for name in (
                *("speed", "stall", "stall_inverted", "upper", "lower"),
                *("gust_upper", "gust_lower"),
            )
        },
    )


def _excess(found: LimitsPassed) -> ExcessPower:
    flown, full, idle = found.excess.flown, found.excess.full, found.excess.idle
    least = lowest(flown)
    rows = np.arange(len(flown))
    height = found.energy_height
    return ExcessPower(
        change=band90(height[:, -1] - height[:, 0]),
        lowest=band90(least.value),
        lowest_at=float(np.median(found.time[least.node])),
        full_there=band90(full[rows, least.node]),
        above_full=float((np.median(flown - full, axis=0) > 0.0).mean()),
        below_idle=float((np.median(flown - idle, axis=0) < 0.0).mean()),
    )
