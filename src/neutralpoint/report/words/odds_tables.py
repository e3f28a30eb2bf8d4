"""The tables of the odds."""

from __future__ import annotations

from neutralpoint.findings import OddsRow, SectionTable, WeighingFindings
from neutralpoint.quantities import DEGREE
from neutralpoint.report.words.phrases import aside
from neutralpoint.report.words.prior import reading_title
from neutralpoint.vocabulary import CauseName

SHOWN = 0.02  # causes below this probability are left out where a table would be long
READ = 5  # causes whose probability is shown under other priors
DASH = "–"
BARE = "not worth more than a bare mention"
# Kass and Raftery, J. Am. Stat. Assoc. 90 (1995) 773-795: 2 ln B up to 2, 6, 10 and beyond.
WORDS = ((2.0, BARE), (6.0, "positive"), (10.0, "strong"), (float("inf"), "very strong"))


def bayes_words(log_factor: float) -> str:
    """Words for a Bayes factor, of either sign.

    Args:
        log_factor: ln B.

    Returns:
        The words of Kass and Raftery.
    """
    return next(word for limit, word in WORDS if 2.0 * abs(log_factor) <= limit)


def sided(row: OddsRow) -> str:
    """Words for a Bayes factor, with the side that they speak for."""
    if row.strength == BARE:
        return row.strength
    side = "for it" if row.log_bayes_factor > 0.0 else "against it"
    return f"{row.strength} evidence {side}"


def odds_tables(found: WeighingFindings) -> list[SectionTable]:
    """Every table of the odds.

    Args:
        found: Of the stage.

    Returns:
        Tables.
    """
    shown = [aside(_mechanisms(found)), aside(_factors(found)), _readings(found)]
    if found.evidence:
        shown.append(_evidence(found))
    shown += [_nearest(found), _unexplained(found)]
    return [*shown, aside(_parameters(found))]


def _mechanisms(found: WeighingFindings) -> SectionTable:
    chances = [one.chance for one in found.mechanisms[0].if_failed]
    return SectionTable(
        caption="Odds by mechanism, summed over its causes, with the lowest and highest of "
        f"{found.networks} networks and at other priors that something failed",
        kind="inferred",
        columns=[
            *("mechanism", "causes", "prior", "odds"),
            *(f"prior of a failure {chance:g}" for chance in chances),
        ],
        rows=[
            [
                row.mechanism.title,
                ", ".join(cause.spoken for cause in row.causes),
                f"{row.prior:.3f}",
                f"{row.probability:.3f}, {row.lowest:.3f} to {row.highest:.3f}",
                *(f"{one.probability:.3f}" for one in row.if_failed),
            ]
            for row in found.mechanisms
        ],
    )


def _factors(found: WeighingFindings) -> SectionTable:
    count = found.networks
    return SectionTable(
        caption=f"Prior, evidence and Bayes factors. Error: standard deviation of one of {count} "
        "networks; ln B is against the most probable flown cause, in the words of Kass and "
        "Raftery",
        kind="derived",
        columns=[
            *("cause", "prior", f"odds, lowest to highest of {count} networks"),
            *("ln Z", "error", "ln B", "in words"),
        ],
        rows=[
            [
                row.cause.title,
                f"{row.prior:.3f}",
                f"{row.probability:.3f}, {row.lowest:.3f} to {row.highest:.3f}",
                f"{row.log_evidence:.2f}",
                DASH if row.log_evidence_error is None else f"{row.log_evidence_error:.2f}",
                f"{row.log_bayes_factor:+.2f}",
                DASH if row.cause is found.leader else sided(row),
            ]
            for row in found.rows
        ],
    )


def _readings(found: WeighingFindings) -> SectionTable:
    """The same evidence under other prior weights."""
    leading = [row.cause for row in found.rows[:READ] if row.cause is not CauseName.NO_FAILURE]
    causes = [*leading, CauseName.NO_FAILURE]
    return SectionTable(
        caption="Odds from the same evidence under other priors",
        kind="inferred",
        columns=["prior", *(cause.title for cause in causes)],
        rows=[
            [reading_title(one), *(f"{one.probability.get(c, 0.0):.3f}" for c in causes)]
            for one in found.readings
        ],
    )


def _evidence(found: WeighingFindings) -> SectionTable:
    """Every item beside the track, in nats from what all causes expect together."""
    place = {cause: i for i, cause in enumerate(found.weighed)}
    return SectionTable(
        caption="Other evidence: nats for (+) or against (-) each cause, relative to the mean over "
        "all causes",
        kind="inferred",
        columns=["cause", *(f"{row.name} [{row.source}]" for row in found.evidence)],
        rows=[
            [row.cause.title, *(f"{one.nats[place[row.cause]]:+.2f}" for one in found.evidence)]
            for row in found.rows
        ],
    )


def _nearest(found: WeighingFindings) -> SectionTable:
    trim = found.drive != "none"
    columns = ["cause", "misfit, standard deviations", "largest residual in", "after", "residual"]
    return SectionTable(
        caption="Misfit and largest residual of the best flight of each cause, in standard "
        "deviations of data and gusts; times after the last trimmed flight",
        kind="inferred",
        columns=[*columns, f"{found.drive} at the end, deg: 5, 50, 95%"] if trim else columns,
        rows=[_near(row, found.begin, trim=trim) for row in found.rows if row.nearest is not None],
    )


def _near(row: OddsRow, begin: float, *, trim: bool) -> list[str]:
    near = row.nearest
    if near is None:
        return []
    line = [
        row.cause.title,
        f"{near.distance:.2f}",
        near.fails_in,
        f"{near.fails_at - begin:.0f} s",
        f"{near.fails_by:+.1f}",
    ]
    return [*line, ", ".join(f"{x / DEGREE:.2f}" for x in row.trim_end)] if trim else line


def _unexplained(found: WeighingFindings) -> SectionTable:
    """What each cause that is worth a row could not have done."""
    return SectionTable(
        caption="What no setting of a cause can explain, and what the track alone cannot separate "
        "from it",
        kind="inferred",
        columns=["cause", "cannot explain", "not separable"],
        rows=[
            [
                row.cause.title,
                "; ".join(row.cannot_explain) or DASH,
                "; ".join(row.not_separable) or DASH,
            ]
            for row in found.rows
            if row.probability >= SHOWN
        ],
    )


def _parameters(found: WeighingFindings) -> SectionTable:
    rows = []
    for row in found.rows:
        for one in row.parameters:
            scale, unit = (DEGREE, "deg") if one.unit == "rad" else (1.0, one.unit or DASH)
            texts = [
                ", ".join(f"{x / scale:.3g}" for x in band) for band in (one.after, one.before)
            ]
            rows.append([row.cause.title, f"{one.name}: {one.meaning}", unit, *texts])
    return SectionTable(
        caption="Parameters of each cause, if it was the cause: 5, 50 and 95%, with the prior "
        "beside",
        kind="inferred",
        columns=["cause", "parameter", "unit", "after the track", "before it"],
        rows=rows,
    )
