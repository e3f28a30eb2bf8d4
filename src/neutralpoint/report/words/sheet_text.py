"""The sentences of the answer sheet: what happened, what remains, what cannot be told."""

from __future__ import annotations

from neutralpoint.findings import Findings, KeyTime, likelihood_word
from neutralpoint.findings.judgement import CauseJudgement
from neutralpoint.report.sheet.choose import LIKELY, Chosen
from neutralpoint.report.sheet.said import Bound, Said, joined, say
from neutralpoint.report.words.sheet_numbers import (
    chance,
    clock_of,
    feet,
    gees,
    knots,
    ratio,
    share,
    tenth,
    whole_degrees,
)
from neutralpoint.vocabulary import CauseName

FIRST, MIDDLE, LAST = 0, 2, 4  # of the quantiles of an onset
# Label of the key time, quantity, how it is printed, verb, and whether the value is worth saying:
# beyond these an ordinary flight hardly goes. Analyst's choice.
EXTREMES = (
    ("highest load factor", "normal_load_factor", gees, "load factor up to", 1.4, None),
    ("lowest load factor", "normal_load_factor", gees, "load factor down to", None, 0.6),
    ("steepest descent", "flight_path_angle", whole_degrees, "flight path down to", None, -0.12),
)
MOST_EXTREMES = 2
ORDER = ("normal_load_factor", "flight_path_angle")


def headline(findings: Findings, chosen: Chosen, bound: Bound) -> Said:
    """The answer in one line.

    Args:
        findings: The document, with its judgement.
        chosen: What is shown.
        bound: Prints findings.

    Returns:
        The line; no cause is favored where none comes near, or where the odds do not decide.
    """
    judged = findings.judgement
    if judged is None or not chosen.odds:
        return say("What the airplane did is known; its cause was not weighed.")
    if chosen.none_near:
        return say("No listed cause comes near this flight.")
    first = judged.rows[chosen.open[0]]
    if _probability(first) >= LIKELY:
        name = "A cause that is not listed" if _unlisted(first) else first.cause.title
        return say("{}: {}.", name, _likelihood(chosen.open[0], bound))
    if len(chosen.open) <= MOST_NAMED:
        named = [
            say("{} {}", _name(judged.rows[i].cause, first=n == 0), _number(i, bound))
            for n, i in enumerate(chosen.open)
        ]
        return say("{}: these data do not decide.", joined(named, ", ", " or "))
    count = bound.count("judgement.rows", list(chosen.open))
    return say("These data do not tell the cause: {} hold 90% of the odds.", count)


MOST_NAMED = 3
CLEAR = 1.0  # ln B below which evidence is not worth more than a mention (Kass and Raftery, 1995)


def _probability(row: CauseJudgement) -> float:
    return 0.0 if row.odds is None else row.odds.probability


def _unlisted(row: CauseJudgement) -> bool:
    return row.cause is CauseName.UNLISTED


def _name(cause: CauseName, *, first: bool = False) -> str:
    text = cause.title if first else cause.spoken
    return text.split(" (")[0]


def _odds_key(place: int) -> str:
    return f"judgement.rows.{place}.odds.probability"


def _number(place: int, bound: Bound):
    return bound(_odds_key(place), lambda value: f"({chance(value)})")


def _likelihood(place: int, bound: Bound):
    return bound(_odds_key(place), lambda value: f"{likelihood_word(value)} ({chance(value)})")


def answer(findings: Findings, chosen: Chosen, bound: Bound) -> tuple[Said, ...]:
    """The answer in at most three sentences.

    Args:
        findings: The document, with its judgement.
        chosen: What is shown.
        bound: Prints findings.

    Returns:
        What happened; which causes remain; what the data cannot tell.
    """
    said = [_happened(findings, bound), _remains(findings, chosen, bound)]
    said.append(_untold(findings, chosen, bound))
    return tuple(sentence for sentence in said if sentence.pieces)


def _happened(findings: Findings, bound: Bound) -> Said:
    """The departure, the extremes after it and the last fix."""
    clock = clock_of(findings)
    onset = None if findings.motion is None else findings.motion.onset
    since, start = None, Said()
    if onset is not None and onset.found:
        since = onset.left[FIRST]
        key = "motion.onset"
        start = say(
            "The motion left ordinary flight at {} UTC (90%: {} to {}; probability {})",
            *(bound(f"{key}.left.{k}", clock) for k in (MIDDLE, FIRST, LAST)),
            bound(f"{key}.probability", chance),
        )
    elif onset is not None:
        start = say(
            "No onset found: no departure from ordinary flight (probability of one {})",
            bound("motion.onset.probability", chance),
        )
    parts = [*_extremes(findings, since, bound), *_last(findings, bound)]
    if not start.pieces:
        start = say("The flight path is known")
    return say("{}; {}.", start, joined(parts, "; ")) if parts else say("{}.", start)


def _extremes(findings: Findings, since: float | None, bound: Bound) -> list[Said]:
    """Extremes that an ordinary flight hardly has; without a departure, those that there are."""
    clock = clock_of(findings)
    found = []
    for i, entry in enumerate(findings.key_times):
        for label, quantity, printed, verb, above, below in EXTREMES:
            known = entry.values.get(quantity)
            if known is None or not known.observable:
                continue
            if entry.label != label or (since is not None and entry.time < since):
                continue
            if since is None or _worth(entry, quantity, above, below):
                key = f"key_times.{i}"
                value = f"{key}.values.{quantity}"
                found.append(
                    say(
                        "{} {} ({} to {}) at {}",
                        verb,
                        bound(f"{value}.median", printed),
                        bound(f"{value}.low90", lambda x, printed=printed: printed(x).split()[0]),
                        bound(f"{value}.high90", printed),
                        bound(f"{key}.time", clock),
                    )
                )
    return found[:MOST_EXTREMES]


def _worth(entry: KeyTime, quantity: str, above: float | None, below: float | None) -> bool:
    value = entry.values[quantity]
    high = above is not None and value.median > above
    return high or (below is not None and value.median < below)


def _last(findings: Findings, bound: Bound) -> list[Said]:
    """Altitude, speed and path at the last fix."""
    clock = clock_of(findings)
    found = []
    for i, entry in enumerate(findings.key_times):
        if entry.label != "last fix":
            continue
        named = (
            ("altitude", feet, "{}"),
            ("calibrated_airspeed", knots, "{} calibrated"),
            ("flight_path_angle", whole_degrees, "path {}"),
        )
        parts = [
            say(pattern, bound(f"key_times.{i}.values.{name}.median", printed))
            for name, printed, pattern in named
            if name in entry.values and entry.values[name].observable
        ]
        if parts:
            found.append(say("last fix {}: {}", bound(f"key_times.{i}.time", clock), joined(parts)))
    return found


def _remains(findings: Findings, chosen: Chosen, bound: Bound) -> Said:
    """Which causes remain, which are excluded, how sure."""
    judged = findings.judgement
    if judged is None:
        return say("No cause was tested: {}.", _why_untested(findings))
    excluded = [i for i, row in enumerate(judged.rows) if row.word == "cannot"]
    gone = bound.count("judgement.rows", excluded)
    of = bound.count("judgement.rows", judged.rows)
    if not chosen.odds:
        return say("{} of {} causes are excluded; the others were not weighed.", gone, of)
    if chosen.none_near:
        fit = say(
            "a fit as poor as this or poorer would occur in less than {} of flights of any listed "
            "cause",
            bound("judgement.fit.threshold", share),
        )
        return say("None of {} causes is favored: {}.", of, fit)
    named = joined(
        [
            say("{} {}", _name(judged.rows[i].cause), _number(i, bound))
            for i in chosen.open[:MOST_NAMED]
        ],
        ", ",
        " and ",
    )
    more = len(chosen.open) - MOST_NAMED
    if more > 0:
        others = bound.count("judgement.rows", list(chosen.open[MOST_NAMED:]))
        named = named + say(" and {} more", others)
    sure = _sure(findings, bound)
    hold = "holds" if len(chosen.open) == 1 else "hold"
    pattern = "Of {} causes {} are excluded; {} {} 90% of the odds{}."
    return say(pattern, of, gone, named, hold, sure)


def _sure(findings: Findings, bound: Bound) -> Said:
    """How often such a set held the true cause."""
    if findings.weighing is None:
        return Said()
    own = bound("weighing.score.covered", share)
    if findings.weighing.score.elsewhere is None:
        return say(" (such a set held the true cause in {} of simulated flights)", own)
    return say(
        " (such a set held the true cause in {} of simulated flights, and in {} of another "
        "simulator's)",
        own,
        bound("weighing.score.elsewhere.covered", share),
    )


def _why_untested(findings: Findings) -> str:
    if findings.moments is None:
        return "that needs an airplane file and an airborne part of the track"
    return "the required moment gave no verdict"


def _untold(findings: Findings, chosen: Chosen, bound: Bound) -> Said:
    """What these data cannot tell."""
    judged = findings.judgement
    if judged is None or not chosen.open or findings.weighing is None or chosen.none_near:
        return say("The track cannot tell why; it shows a path, and nobody's intent.")
    parts = []
    if len(chosen.open) > 1:
        parts.append(_pair(findings, chosen, bound))
    parts += _behind(findings, chosen, bound)
    if not parts:
        return say("The track shows a path, and nobody's intent.")
    return joined(parts, " ")


def _pair(findings: Findings, chosen: Chosen, bound: Bound) -> Said:
    """The two likeliest, and what the evidence says between them."""
    judged, weighing = findings.judgement, findings.weighing
    if judged is None or weighing is None:
        return Said()
    first, second = (judged.rows[i].cause for i in chosen.open[:2])
    rows = {row.cause: i for i, row in enumerate(weighing.rows)}
    gap = f"weighing.rows.{rows[second]}.log_bayes_factor"
    return say(
        "These data hardly tell {} from {}: the track weighs {} to one between them, the rest is "
        "the prior."
        if abs(weighing.rows[rows[second]].log_bayes_factor) < CLEAR
        else "These data cannot tell {} from {} for certain: the track weighs {} to one between "
        "them.",
        _name(first),
        _name(second),
        bound(gap, ratio),
    )


def _behind(findings: Findings, chosen: Chosen, bound: Bound) -> list[Said]:
    """What looks the same as the leader in a track."""
    judged, weighing = findings.judgement, findings.weighing
    if judged is None or weighing is None:
        return []
    cause = judged.rows[chosen.open[0]].cause
    place = next(i for i, row in enumerate(weighing.rows) if row.cause is cause)
    same = weighing.rows[place].not_separable[:2]
    if not same:
        return []
    named = joined(
        [say("{}", bound(f"weighing.rows.{place}.not_separable.{k}")) for k in range(len(same))],
        " or ",
    )
    return [say("On the track alone {} also looks like {}.", _name(cause), named)]


def fit_line(findings: Findings, chosen: Chosen, bound: Bound) -> Said:
    """Does anything fit?

    Args:
        findings: The document, with its judgement.
        chosen: What is shown.
        bound: Prints findings.

    Returns:
        One line, with its p-value where there is one.
    """
    judged = findings.judgement
    if judged is None:
        return say("Not tested.")
    fit = judged.fit
    if fit.best is not None and fit.p_value is not None:
        pattern = "No. The nearest is {}: {}." if chosen.none_near else "Yes. {}: {}."
        # A list that nothing on it fits has a p-value of its own; else it is that of the row.
        place = next(i for i, row in enumerate(judged.rows) if row.cause is fit.best)
        own = f"judgement.rows.{place}.p_value"
        poor = say(
            "a fit as poor as this or poorer would occur in {} of such flights",
            bound("judgement.fit.p_value" if chosen.none_near else own, share),
        )
        name = _name(fit.best, first=not chosen.none_near)
        return say(pattern, name, poor)
    flown = [
        (i, row.best_flight) for i, row in enumerate(judged.rows) if row.best_flight is not None
    ]
    if not flown:
        return say("Not tested: no flights of the causes were compared with the track.")
    i, _ = min(flown, key=lambda pair: pair[1].distance)
    return say(
        "How often a fit so poor occurs was not computed. The nearest of all simulated flights, "
        "one of {}, lies {} standard deviations off.",
        _name(judged.rows[i].cause),
        bound(f"judgement.rows.{i}.best_flight.distance", tenth),
    )
