"""The answer sheet in words: time to act, next evidence, what would change the answer."""

from __future__ import annotations

from neutralpoint.findings import (
    EvidenceItem,
    Findings,
    LatestAction,
    OutcomeRow,
    ProcedureRow,
    ResponseRow,
    SwayRow,
)
from neutralpoint.report.sheet.choose import Chosen, choose, with_judgement
from neutralpoint.report.sheet.said import Bound, Said, joined, say
from neutralpoint.report.sheet.sheet import EvidenceLine, Recovery, Sheet, Sway, SwayLine
from neutralpoint.report.words.labels import outdated_words
from neutralpoint.report.words.outside import without_odds
from neutralpoint.report.words.response import hold_word, latest_words
from neutralpoint.report.words.sheet_numbers import chance, feet, figures, in_unit
from neutralpoint.report.words.sheet_rows import cause_line, folded_line, small_line
from neutralpoint.report.words.sheet_text import answer, fit_line, headline
from neutralpoint.vocabulary import CauseName

MOST_EVIDENCE, MOST_SWAYS = 3, 7
COSTS = {"low": "papers or a look", "medium": "an examination", "high": "a laboratory"}
PRELIMINARY = "Preliminary. Data cut-off {}. The official investigation decides."
SHORT_CAUTIONS = (
    "Not for flight.",
    "No blame and no intent: a track shows a path.",
    "Odds are among the listed causes and one unlisted.",
)
SAID = ("onset-none",)  # warnings that the answer itself says
NO_RESPONSE = "Time to act was not computed."
SWAY_UNITS = {"wind": "m/s", "cg": "m", "mass": "kg", "reference": "s"}
FELT = "Without what a pilot may have felt"
SWAY_TITLES = {
    "failed": "Chance that something failed",
    "networks": "Each trained estimate alone",
    "wind": "Headwind",
    "cg": "CG, aft positive",
    "mass": "Mass",
    "reference": "End of trimmed flight",
}


def sheet_of(findings: Findings) -> Sheet:
    """The answer on one page.

    Args:
        findings: The document.

    Returns:
        The sheet; what was not computed is said on it.
    """
    findings = with_judgement(findings)
    chosen, bound = choose(findings), Bound(findings)
    rows = [] if findings.judgement is None else findings.judgement.rows
    recovery = _recovery(findings, chosen, bound)
    sway = _sway(findings, chosen, bound)
    evidence = _evidence(findings, bound)
    return Sheet(
        title=findings.subject.title,
        question=findings.subject.question,
        about=_about(findings),
        invented=findings.subject.invented,
        headline=headline(findings, chosen, bound),
        answer=answer(findings, chosen, bound),
        fit=fit_line(findings, chosen, bound),
        rows=tuple(cause_line(i, rows[i], bound, leads=i in chosen.drawn) for i in chosen.rows),
        small=small_line([(i, rows[i]) for i in chosen.small], bound),
        unweighed=without_odds(findings),
        excluded=tuple(folded_line(i, rows[i], bound) for i in chosen.excluded),
        flights=tuple((rows[i].cause.value, rows[i].cause.title) for i in chosen.drawn),
        time=say(NO_RESPONSE) if recovery is None else recovery.said,
        recovery=recovery,
        evidence=evidence,
        settles=_settles(findings) if evidence else say(_no_evidence(findings)),
        sway=sway,
        no_sway="" if sway else "Not computed: it needs odds.",
        stamp=outdated_words(findings),
        missing=tuple(w.message for w in findings.warnings if w.code not in SAID)[:2],
        cautions=SHORT_CAUTIONS,
        preliminary=PRELIMINARY.format(findings.cut_off),
    )


def _about(findings: Findings) -> tuple[tuple[str, str], ...]:
    subject = findings.subject
    entries = (
        ("Airplane", subject.airplane),
        ("Place", subject.place),
        ("Date", findings.epoch.date().isoformat()),
        ("Data cut-off", findings.cut_off),
        ("Version", f"{findings.program_version}, seed {findings.seed}"),
    )
    return tuple((name, value) for name, value in entries if value)


def _recovery(findings: Findings, chosen: Chosen, bound: Bound) -> Recovery | None:
    """Time to act, if it was the likeliest cause that was flown."""
    found = findings.response
    if found is None or chosen.response is None:
        return None
    row = found.rows[chosen.response]
    key = f"response.rows.{chosen.response}"
    # Of equal ones the procedure that lessons are compared with.
    best = max(
        range(len(row.procedures)),
        key=lambda i: (
            row.procedures[i].saved.share,
            row.procedures[i].procedure == row.reference,
        ),
    )
    return Recovery(
        said=_time(key, row, best, bound),
        title=row.cause.title,
        delays=tuple(found.delays),
        shares={
            one.procedure: tuple(each.share for each in one.by_delay)
            for one in row.procedures
            if len(one.by_delay) == len(found.delays) > 0
        },
    )


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f}%"


def _time(key: str, row: ResponseRow, best: int, bound: Bound) -> Said:
    name = _plain(row.cause)
    place = f"{key}.procedures.{best}"
    rows = [] if bound.findings.judgement is None else bound.findings.judgement.rows
    leads = max(rows, key=lambda r: r.odds.probability if r.odds else -1.0, default=None)
    calm = leads is not None and leads.cause is CauseName.NO_FAILURE
    before = "If there was no failure, no action was needed. " if calm else ""
    said = say(
        "{}If {}, from {} above the ground: {} ({} to {}) of simulated pilots recover by "
        "\u201c{}\u201d begun after the stated reaction (median {})",
        before,
        name,
        bound("response.height", feet),
        bound(f"{place}.saved.share", _percent),
        bound(f"{place}.saved.low95", _percent),
        bound(f"{place}.saved.high95", _percent),
        bound(f"{place}.procedure"),
        bound("response.reaction_median", lambda s: f"{s:g} s"),
    )
    return say(
        "{}{}{}.", said, _latest(place, row.procedures[best], bound), _force(key, row, bound)
    )


def _latest(place: str, one: ProcedureRow, bound: Bound) -> Said:
    """The latest moment for half of the pilots."""
    if not one.latest:
        return Said()
    longest = bound.findings.response.longest if bound.findings.response else 0.0

    def printed(action: LatestAction) -> str:
        return latest_words(action, longest)

    return say(
        "; latest effective action for half of them: {}", bound(f"{place}.latest.1", printed)
    )


def _force(key: str, row: ResponseRow, bound: Bound) -> Said:
    """When holding on passes the limit of rules."""
    if row.holding is None or row.holding.exceeds_at is None:
        return Said()
    return say(
        "; holding level takes a {} over {} from {} after the fault",
        hold_word(row.holding),
        bound("response.short_term", in_unit("N")),
        bound(f"{key}.holding.exceeds_at", lambda s: f"{s:.0f} s"),
    )


SETTLED = 0.90  # odds from which an outcome would settle a case; "very likely" of the scale
RARE = 0.05  # chance below which an outcome is not counted on; analyst's


def _settles(findings: Findings) -> Said:
    """Whether any item may settle the case by itself."""
    items = [] if findings.evidence is None else findings.evidence.items
    now = (
        {row.cause: row.probability for row in findings.weighing.rows} if findings.weighing else {}
    )
    hopes = [
        outcome
        for item in items
        for outcome in item.outcomes
        if outcome.chance >= RARE
        and outcome.leaders[0].probability >= SETTLED
        and now.get(outcome.leaders[0].cause, 0.0) < SETTLED
    ]
    if max(now.values(), default=0.0) >= SETTLED:
        return say("One cause already leads clearly; these would support or upset it.")
    if hopes:
        return say("An outcome that is to be expected may settle it.")
    return say("None of the listed items is expected to settle it alone.")


def _no_evidence(findings: Findings) -> str:
    if findings.evidence is None:
        return "Not computed: it needs odds."
    return "No item of the list would tell these causes apart."


def _evidence(findings: Findings, bound: Bound) -> tuple[EvidenceLine, ...]:
    if findings.evidence is None:
        return ()
    return tuple(
        _item(f"evidence.items.{i}", item, findings, bound)
        for i, item in enumerate(findings.evidence.items[:MOST_EVIDENCE])
    )


def _item(key: str, item: EvidenceItem, findings: Findings, bound: Bound) -> EvidenceLine:
    telling = _telling(item, findings)
    outcome = f"{key}.outcomes.{telling}"
    first = item.outcomes[telling].leaders[0]
    return EvidenceLine(
        item=say("{}", bound(f"{key}.item")),
        worth=say("expected gain {} bit, {}", bound(f"{key}.bits", figures), COSTS[item.cost]),
        then=say(
            "\u201c{}\u201d (chance {}) would make {} {}{}",
            bound(f"{outcome}.outcome"),
            bound(f"{outcome}.chance", chance),
            _plain(first.cause),
            bound(f"{outcome}.leaders.0.probability", chance),
            _now(first.cause, findings, bound),
        ),
    )


def _now(cause: CauseName, findings: Findings, bound: Bound) -> Said:
    """What the odds of a cause are without it."""
    rows = findings.weighing.rows if findings.weighing else []
    place = next((i for i, row in enumerate(rows) if row.cause is cause), None)
    if place is None:
        return Said()
    return say(", now {}", bound(f"weighing.rows.{place}.probability", chance))


def _telling(item: EvidenceItem, findings: Findings) -> int:
    """The outcome that moves the leader most, by its chance."""
    rows = findings.weighing.rows if findings.weighing else []
    now = {row.cause: row.probability for row in rows}

    def moved(outcome: OutcomeRow) -> float:
        first = outcome.leaders[0]
        return outcome.chance * abs(first.probability - now.get(first.cause, 0.0))

    return max(range(len(item.outcomes)), key=lambda i: moved(item.outcomes[i]))


def _sway(findings: Findings, chosen: Chosen, bound: Bound) -> Sway | None:
    weighing = findings.weighing
    if weighing is None or not weighing.sways or chosen.none_near:
        return None
    leader = weighing.rows[0]
    lines = [sway_line(row, leader.cause, leader.probability) for row in weighing.sways]
    return Sway(
        said=_most(weighing.sways, leader.cause, bound),
        title=leader.cause.title,
        stands=leader.probability,
        lines=tuple(lines[:MOST_SWAYS]),
    )


def sway_line(row: SwayRow, leader: CauseName, stands: float) -> SwayLine:
    """An assumption with what it was moved to, and how far the leader hangs on it.

    Args:
        row: The assumption.
        leader: Most probable as the case stands.
        stands: Its probability then.
    """
    held = [end.probability for end in row.ends] + [stands]
    return SwayLine(
        title=f"{_sway_title(row, leader)}{_moved(row)}",
        low=min(held),
        high=max(held),
        turns=any(end.leader is not leader for end in row.ends),
    )


def _sway_title(row: SwayRow, leader: CauseName) -> str:
    if row.assumption == "evidence":
        felt = row.name.startswith("perception:")
        return FELT if felt else f"Without: {row.name}"
    if row.assumption == "weight":
        return f"Prior weight of {_plain(CauseName(row.name) if row.name else leader)}"
    return SWAY_TITLES[row.assumption]


def _plain(cause: CauseName) -> str:
    return cause.spoken.split(" (")[0]


def _moved(row: SwayRow) -> str:
    """What an assumption was moved to, behind its title."""
    words = [_setting(row, place) for place in range(len(row.ends))]
    return "" if "" in words else f", {' to '.join(words)}"


def _setting(row: SwayRow, place: int) -> str:
    """One end: empty where it has no number."""
    value = row.ends[place].setting
    if value is None:
        return ""
    if row.assumption == "failed":
        return f"{value:g}"
    if row.assumption == "weight":
        return f"\u00d7{value:.0f}" if value >= 1.0 else f"\u00f7{1.0 / value:.0f}"
    sign = "+" if value > 0.0 else "\u2212"
    last = place == len(row.ends) - 1
    return f"{sign}{in_unit(SWAY_UNITS[row.assumption], named=last)(abs(value))}"


def _most(rows: list[SwayRow], leader: CauseName, bound: Bound) -> Said:
    """The assumption that moves the leader most, and how many turn it."""
    row = rows[0]
    ends = [_most_end(row, i, leader, bound) for i in range(len(row.ends))]
    turned = [r for r in rows if any(end.leader is not leader for end in r.ends)]
    tested = bound.count("weighing.sways", rows)
    number = bound.count("weighing.sways", turned)
    title = _sway_title(row, leader)
    lowered = title if title[1:2].isupper() else title[:1].lower() + title[1:]
    return say(
        "Odds of {}. {} of {} assumptions tested would change which cause leads (hatched). The "
        "largest effect is that of the {}: {}.",
        _plain(leader),
        number if turned else "None",
        tested,
        lowered,
        joined(ends, "; "),
    )


def _most_end(row: SwayRow, place: int, leader: CauseName, bound: Bound) -> Said:
    end, key = row.ends[place], f"weighing.sways.0.ends.{place}"
    then = "" if end.leader is leader else f", and \u201c{_plain(end.leader)}\u201d leads"
    odds = bound(f"{key}.probability", chance)
    if end.setting is None:
        where = ("left out",) if len(row.ends) == 1 else ("lowest", "highest")
        return say("{} {}{}", where[place], odds, then)
    return say(
        "at {}, odds {}{}", bound(f"{key}.setting", lambda _: _end_word(row, place)), odds, then
    )


def _end_word(row: SwayRow, place: int) -> str:
    """One end with its unit."""
    if row.assumption in ("failed", "weight"):
        return _setting(row, place)
    value = row.ends[place].setting or 0.0
    sign = "+" if value > 0.0 else "\u2212"
    return f"{sign}{in_unit(SWAY_UNITS[row.assumption])(abs(value))}"
