"""What is said of the odds."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import (
    CauseOdds,
    Findings,
    Limit,
    MechanismRow,
    NearestFlight,
    OddsRow,
    PanelRequest,
    StageSection,
    Statement,
    WeighingFindings,
    printed_probability,
    said_likelihood,
)
from neutralpoint.report.words import odds_tables as tables
from neutralpoint.report.words.fit import no_cause_fits
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.onset import window_statements, window_tables
from neutralpoint.report.words.outside import judged_elsewhere
from neutralpoint.report.words.phrases import aside, inferred, misfit_words, percent, time_of_day
from neutralpoint.report.words.prior import prior_sentence
from neutralpoint.report.words.score import place_sentence, score_rows
from neutralpoint.vocabulary import QUANTITIES, CauseName

CAUTION = (
    "Probabilities of listed causes under this model; no finding of fault. The official "
    "investigation decides."
)
CLEAR = 0.95  # share of flights with a trace above which nothing is said of it
RARE = 0.01  # share of flights with a failure for which no failure is told too
# Causes that are flown as if an illusion were whole.
PERCEIVED = (CauseName.SOMATOGRAVIC_INPUT, CauseName.SPIRAL_DIVE)
MOVED = 0.02  # of a probability, from which what moved it stands in the body; analyst's
REMAINING = 0.02  # odds from which it is told that flights of a cause break; analyst's
POOR = 3.0  # standard deviations by which even the best flight misses, that are pointed out


def odds_section(found: WeighingFindings, findings: Findings) -> StageSection:
    """The section of the odds.

    Args:
        found: Of the stage.
        findings: The document, for the verdicts.

    Returns:
        The section.
    """
    return StageSection(
        stage="weighing",
        title=STAGES["weighing"],
        cautions=[CAUTION, place_sentence(found)],
        statements=[
            *_no_fit(found, findings),
            *_leading(found),
            *window_statements(found, findings),
            aside(_by_mechanism(found)),
            *_chances(found),
            *_no_failure(found, findings),
            *_words_heard(found),
            *_rival(found),
            *_broken(found, findings),
            aside(_unlisted(found)),
            *map(aside, _traces(found)),
            *_gated(found),
            *_evidence(found),
            *_perception(found),
            *map(aside, judged_elsewhere(findings)),
        ],
        odds=[_odds(row, found.leader) for row in found.rows],
        scores=score_rows(found.score),
        tables=[*tables.odds_tables(found), *window_tables(found, findings)],
        panels=_panels(found),
    )


def _no_fit(found: WeighingFindings, findings: Findings) -> list[Statement]:
    text = no_cause_fits(findings.judgement)
    return [inferred(text, found.file)] if text else []


def _leading(found: WeighingFindings) -> list[Statement]:
    first, second = found.rows[0], found.rows[1]
    gap = first.log_evidence - second.log_evidence
    order = "first over the second" if gap >= 0.0 else "second over the first"
    decides = "" if gap >= 0.0 else "; the prior decides"
    word = tables.bayes_words(gap)
    told = f"supports the {order} by {abs(gap):.1f} nats: {word}{decides}"
    if word == tables.BARE:
        told = f"does not separate the two ({abs(gap):.1f} nats for the {order})"
    return [
        inferred(
            f"Most probable cause: {first.cause.spoken}, {said_likelihood(first.probability)}"
            f"{_range(first)}. Second: {second.cause.spoken}, "
            f"{said_likelihood(second.probability)}. The track {told}.",
            found.file,
        ),
        inferred(prior_sentence(found.prior), "case.toml"),
    ]


def _range(row: OddsRow) -> str:
    low, high = printed_probability(row.lowest), printed_probability(row.highest)
    return "" if low == high else f", {low} to {high} over the networks"


def _broken(found: WeighingFindings, findings: Findings) -> list[Statement]:
    """Remaining causes whose flights pass ultimate load before the end of the track."""
    broken = [
        f"{row.cause.spoken}, {percent(row.broke)} from "
        f"{time_of_day(findings, row.broke_from)} UTC on"
        for row in found.rows
        if row.broke_from is not None and row.broke and row.probability >= REMAINING
    ]
    if not broken:
        return []
    return [
        inferred(
            "Broke in flight: share of the flights that follow the track and pass ultimate load "
            f"before its end: {'; '.join(broken)}. From then on the path of the model is not "
            "trusted, and evidence of later moments counts neither for nor against such a flight.",
            found.file,
        )
    ]


def _by_mechanism(found: WeighingFindings) -> Statement:
    """The two most probable mechanisms, with their rows."""
    listed = "; ".join(
        f"{group.mechanism.title.lower()} {said_likelihood(group.probability)}"
        f"{_rows_within(group, found)}"
        for group in found.mechanisms[:2]
    )
    return inferred(f"By mechanism, the odds of its causes summed: {listed}.", found.file)


def _rows_within(group: MechanismRow, found: WeighingFindings) -> str:
    each = [row for row in found.rows if row.cause in group.causes][:2]
    if len(each) < 2:
        return ""
    listed = [f"{row.cause.spoken} {printed_probability(row.probability)}" for row in each]
    return f" ({', '.join(listed)})"


def _chances(found: WeighingFindings) -> list[Statement]:
    """The odds at other chances that something failed, where the case states none."""
    if found.prior.failed_stated or found.prior.failed is None:
        return []
    null = next(g for g in found.mechanisms if g.causes == [CauseName.NO_FAILURE])
    fault = next(g for g in found.mechanisms if g is not null)
    listed = "; ".join(
        f"at {one.chance:g}, no failure {printed_probability(one.probability)} and "
        f"{fault.mechanism.title.lower()} {printed_probability(other.probability)}"
        for one, other in zip(null.if_failed, fault.if_failed, strict=True)
    )
    return [
        inferred(
            "The case states no prior that something failed (something_failed), and the odds "
            f"depend on it: {listed}.",
            found.file,
            caution="Near 0.95 suits an accident, 0.5 a report of something odd, 0.01 a flight of "
            "which nothing is known.",
        )
    ]


def _no_failure(found: WeighingFindings, findings: Findings) -> list[Statement]:
    """No failure possible by its verdict, and yet improbable: both in one sentence."""
    row = next((r for r in found.rows if r.cause is CauseName.NO_FAILURE), None)
    judged = findings.moments.verdicts if findings.moments is not None else []
    verdict = next((v for v in judged if v.cause is CauseName.NO_FAILURE), None)
    if row is None or verdict is None or verdict.word == "cannot" or row.probability <= 0.0:
        return []
    times = found.rows[0].probability / row.probability
    if times < 2.0:
        return []
    word = "possible" if verdict.word == "can" else "possible only on a condition"
    ratio = float(f"{times:.2g}")
    failed = ""
    if found.prior.failed is not None:
        failed = f", given a prior of {found.prior.failed:g} that something failed"
    return [
        inferred(
            f"No failure: {word}, but {ratio:,.0f} times less likely than the leading "
            f"cause{failed}{_if_rare(found)}.",
            found.file,
        )
    ]


def _if_rare(found: WeighingFindings) -> str:
    """The odds of no failure at the lowest prior of a failure that was worked out."""
    null = next((g for g in found.mechanisms if g.causes == [CauseName.NO_FAILURE]), None)
    rare = min(null.if_failed, key=lambda one: one.chance, default=None) if null else None
    if rare is None or rare.chance > RARE:
        return ""
    chance = percent(rare.chance)
    odds = printed_probability(rare.probability)
    return f"; {odds} if only {chance} of such flights have a failure"


def _words_heard(found: WeighingFindings) -> list[Statement]:
    """Whether words on the radio entered the odds."""
    words = [row.name for row in found.evidence if row.kind == "words"]
    if words:
        text = (
            f"Words on the radio enter the odds by a stated likelihood alone: {'; '.join(words)}."
        )
    elif found.heard:
        text = "Words on the radio are shown with their times and do not enter the odds."
    else:
        return []
    return [inferred(text, "case.toml")]


def _rival(found: WeighingFindings) -> list[Statement]:
    by_cause = {row.cause: row for row in found.rows}
    leader, rival = by_cause[found.leader], by_cause[found.rival]
    if leader.nearest is None or rival.nearest is None:
        return []
    return [
        inferred(
            f"Nearest rival: {rival.cause.spoken}, {misfit_words(rival.nearest.distance)} (best "
            f"flight); {leader.cause.spoken}, {misfit_words(leader.nearest.distance)}. "
            f"{_fails(leader.nearest, found.begin)}",
            found.file,
        )
    ]


def _fails(near: NearestFlight, begin: float) -> str:
    end = (
        ", which no simulated flight of this cause explains." if abs(near.fails_by) > POOR else "."
    )
    return (
        f"Largest residual of the latter: {near.fails_in}, {near.fails_by:+.1f} standard "
        f"deviations {near.fails_at - begin:.0f} s after the last trimmed flight{end}"
    )


def _unlisted(found: WeighingFindings) -> Statement:
    row = next(row for row in found.rows if row.cause is CauseName.UNLISTED)
    return inferred(
        f"Unlisted cause: {said_likelihood(row.probability)}. The row stands for flights around "
        "all simulated ones; what lies beyond those shows in the misfit of the best flight.",
        found.file,
    )


def _traces(found: WeighingFindings) -> list[Statement]:
    faint = [
        f"{row.cause.spoken} {percent(row.traced)}"
        for row in found.rows
        if row.traced is not None and row.traced < CLEAR
    ]
    if not faint:
        return []
    return [
        inferred(
            "A fault that leaves no trace in data like these looks like no failure. Share of "
            f"simulated flights on which a trace was left: {'; '.join(faint)}; other causes "
            f"{percent(CLEAR)} or more.",
            found.file,
        )
    ]


def _gated(found: WeighingFindings) -> list[Statement]:
    """Causes that were not weighed because airplane or facts exclude them."""
    if not found.gated:
        return []
    listed = " ".join(f"{row.title}: {row.reason}" for row in found.gated)
    return [
        inferred(
            f"Excluded by the airplane or a fact of the flight. {listed}",
            "case.toml",
        )
    ]


def _evidence(found: WeighingFindings) -> list[Statement]:
    return [
        inferred(
            f"{row.name} ({row.source}) changes the odds between two causes by at most "
            f"{np.ptp(row.log_likelihood):.1f} nats"
            + (
                f", with a chance of {percent(row.doubt)} that it tells nothing."
                if row.doubt
                else "."
            ),
            "case.toml",
            found.file,
            caution=row.caution,
        )
        for row in found.evidence
        if row.kind != "perception"
    ]


def _perception(found: WeighingFindings) -> list[Statement]:
    """The odds of what the models of the vestibular organs bear on, with them and without."""
    row = next((one for one in found.evidence if one.kind == "perception"), None)
    if row is None:
        return []
    by_cause = {one.cause: one.probability for one in found.rows}
    nats = dict(zip(found.weighed, row.log_likelihood, strict=True))
    apart = {name: by_cause[name] * float(np.exp(-nats[name])) for name in found.weighed}
    whole = sum(apart.values())
    asked = [name for name in PERCEIVED if name in apart]
    listed = "; ".join(
        f"{name.spoken} {printed_probability(by_cause[name])}, without it "
        f"{printed_probability(apart[name] / whole)}"
        for name in asked
    )
    moved = max((abs(by_cause[n] - apart[n] / whole) for n in asked), default=0.0)
    told = [
        inferred(
            "What two models of the vestibular organs perceive on flights of the causes that take "
            f"an illusion as given changes the odds so: {listed}.",
            found.file,
            caution=row.caution,
        )
    ]
    return told if moved >= MOVED else list(map(aside, told))


def _odds(row: OddsRow, leader: CauseName) -> CauseOdds:
    words = (
        "Most probable cause; the Bayes factors of the others are against it."
        if row.cause is leader
        else f"ln B {row.log_bayes_factor:+.1f} against {leader.spoken}: {tables.sided(row)}."
    )
    return CauseOdds(
        cause=row.cause,
        title=row.cause.title,
        probability=row.probability,
        lowest=row.lowest,
        highest=row.highest,
        listed=row.cause is not CauseName.UNLISTED,
        sentence=words,
    )


def _panels(found: WeighingFindings) -> list[PanelRequest]:
    travel = [Limit(value=end, label="travel") for end in found.travel]
    wanted = [("column_force", "Column pull", [])]
    if found.drive != "none":
        wanted.append(("trim", found.drive.capitalize(), travel))
    return [
        PanelRequest(
            file=found.data_file,
            variable=f"{control}_{cause.replace('-', '_')}",
            label=f"{label}, if {cause.spoken}",
            unit=QUANTITIES[control].unit,
            limits=ends,
        )
        for cause in (found.leader, found.rival)
        for control, label, ends in wanted
    ]
