"""What is said of the time to act and the strength it takes."""

from __future__ import annotations

from neutralpoint.findings import (
    Findings,
    HoldingFindings,
    LatestAction,
    LessonRow,
    PilotSpread,
    ProcedureRow,
    ResponseFindings,
    ResponseRow,
    ResponseStart,
    SampledShare,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.quantities import DEGREE, FOOT, KNOT
from neutralpoint.report.words.acting import direction_words, recovered_words
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.lessons import lesson_lines, lesson_name
from neutralpoint.report.words.phrases import (
    aside,
    derived,
    inferred,
    percent,
    pounds,
    time_of_day,
)

CAUTIONS = [
    "Shares are of invented pilots drawn from a stated population; they describe no actual person.",
    "Column force is a pull against a nose-down fault and a push against a nose-up one. Forces are "
    "those of unaccelerated flight at the speed and trim of each moment; a recovery takes more.",
    "No blame: what a design or a habit would have bought is a lesson for design and training.",
    "A flown model shows what such a fault would take, not that there was one.",
]
RULES = "Delays of 1, 1.5 and 3 s are settings of rules and test practice, not what a pilot did."
DASH = "–"
OTHERS = "Shown: nothing done, the first procedure, what saves most; the rest in"


def response_section(found: ResponseFindings, findings: Findings) -> StageSection:
    """The section of time and strength.

    Args:
        found: Of the stage.
        findings: The document, for its clock.

    Returns:
        The section.
    """
    statements = [_premises(found), *_start(found, findings), aside(_population(found))]
    for row in found.rows:
        about = {"about": str(row.cause)}
        statements += [said.model_copy(update=about) for said in _of_cause(row, found)]
    statements += [*_lessons_flown(found), *map(aside, _left_out(found))]
    tables = [
        _latest(found),
        aside(_rules(found)),
        aside(_recovery(found)),
        aside(_nose_high(found)),
        _lessons(found),
        aside(_holding_table(found)),
        aside(_forces(found)),
    ]
    return StageSection(
        stage="response",
        title=STAGES["response"],
        cautions=CAUTIONS,
        statements=statements,
        tables=[table for table in tables if table.rows],
    )


def _left_out(found: ResponseFindings) -> list[Statement]:
    """What was not worked out, one sentence a reason."""
    reasons = dict.fromkeys(one.reason for one in found.left_out)
    return [
        derived(
            "Not computed: "
            f"{', '.join(one.title for one in found.left_out if one.reason == reason)}. {reason}",
            f"{found.file}: left_out",
        )
        for reason in reasons
    ]


def latest_words(action: LatestAction, longest: float) -> str:
    """A latest moment of action in words; its open ends are no numbers.

    Args:
        action: The moment.
        longest: Latest that was tested, s.

    Returns:
        Words.
    """
    if action.end == "not-begun":
        return "no action"
    if action.end == "not-recoverable":
        return "not recoverable even with immediate action"
    return f"later than {longest:.0f} s" if action.time is None else f"{action.time:.1f} s"


def sampled(share: SampledShare) -> str:
    """A share with its 95% sampling error."""
    return f"{percent(share.share)} ({percent(share.low95)} to {percent(share.high95)})"


def height_words(height: float) -> str:
    """A height in feet with meters beside it."""
    return f"{height / FOOT:,.0f} ft ({height:,.0f} m)"


def _basis(row: ResponseRow, found: ResponseFindings, name: str) -> str:
    return f"{found.file}: {row.cause}/{name}"


def _premises(found: ResponseFindings) -> Statement:
    return derived(
        f"Flown from the last trimmed flight, {height_words(found.height)} above the "
        f"ground ({found.height_source}). From recognition to the first action: median "
        f"{found.reaction_median:g} s, one standard deviation a factor "
        f"{found.reaction_factor:.2f} ({found.reaction_source}).",
        f"{found.file}: height_above_ground_m, reaction_median_s, reaction_source",
        caution=RULES,
    )


def _start(found: ResponseFindings, findings: Findings) -> list[Statement]:
    """Which references flights start from, and which reading rests on which."""
    if len(found.starts) < 2:
        return []
    first = max(found.starts, key=lambda start: start.weight)
    flown = [start for start in found.starts if start.rows]
    if len(flown) < 2:
        return [_one_start(found, first, findings)]
    ends = "; ".join(
        f"{time_of_day(findings, one.end)} UTC ({percent(one.weight)}, {one.pilots} pilots, "
        f"{one.speed / KNOT:.0f} kt, {one.altitude / FOOT:,.0f} ft)"
        for one in flown
    )
    said = inferred(
        f"Flights start from {len(flown)} references that may be the last before the fault, and "
        "times and shares are the mean over them; pilots are shared out by the probability of "
        f"each. They end at {ends}. The height above the ground is that of the most probable one.",
        f"{found.file}: start_after_epoch_s",
    )
    return [said, *_parted(found, flown, findings)]


def _one_start(found: ResponseFindings, first: ResponseStart, findings: Findings) -> Statement:
    others = "; ".join(
        f"from {time_of_day(findings, one.end)} UTC ({percent(one.weight)}) "
        f"{(one.speed - first.speed) / KNOT:+.0f} kt and "
        f"{(one.altitude - first.altitude) / FOOT:+,.0f} ft"
        for one in found.starts
        if one is not first
    )
    return inferred(
        f"All flights start from the reference that ends at "
        f"{time_of_day(findings, first.end)} UTC; the probability that it is the last before "
        f"the fault is {percent(first.weight)}. The others differ in true airspeed and "
        f"altitude by: {others}.",
        f"{found.file}: start_after_epoch_s",
        caution="Times and shares would differ from another start; `response --from SECONDS` "
        "computes them from there.",
    )


def _parted(
    found: ResponseFindings, flown: list[ResponseStart], findings: Findings
) -> list[Statement]:
    """Causes of which two references disagree by more than the sampling error."""
    said = []
    for row in found.rows:
        of = {one.end: read for one in flown for read in one.rows if read.cause == row.cause}
        shares = [read.saved for read in of.values()]
        if max(s.low95 for s in shares) <= min(s.high95 for s in shares):
            continue
        parts = "; ".join(
            f"from {time_of_day(findings, end)} UTC {sampled(read.saved)}, latest action of half "
            f"of the pilots {latest_words(read.latest, found.longest)}"
            for end, read in of.items()
        )
        said.append(
            inferred(
                f"{row.cause.title}: what is left to do rests on the reference. Recover with "
                f"'{row.reference}': {parts}.",
                f"{found.file}: start_after_epoch_s",
            )
        )
    if said:
        return said
    return [
        inferred(
            "No cause reads differently from one of them than from another by more than the "
            "sampling error.",
            f"{found.file}: start_after_epoch_s",
        )
    ]


def _population(found: ResponseFindings) -> Statement:
    return derived(
        f"Population: largest short pull with two hands, median {pounds(found.pull_median)}, "
        f"standard deviation of the logarithm {found.pull_spread:g}, one hand "
        f"{found.one_hand:.2f} of it. An analyst's estimate, set so that published findings hold; "
        "no published distribution. It lies below the average of 95 lb that Gough and Beard "
        "measured (NACA TN 550, 1936), because they asked a few pilots of their day, and because "
        "more than half of over 300 people of Beringer (2019) could not pull the 75 lb of 14 CFR "
        "25.143.",
        "explanations/strength.py",
    )


def _of_cause(row: ResponseRow, found: ResponseFindings) -> list[Statement]:
    said = [
        inferred(
            f"If {row.cause.spoken}: {sampled(row.reference_saved)} of simulated pilots recover "
            f"with '{row.reference}' begun after a median {found.reaction_median:g} s reaction, "
            f"{sampled(row.nothing_saved)} with '{row.nothing}' (95% sampling error).",
            _basis(row, found, "saved_stated"),
        )
    ]
    said.append(_direction(row, found))
    if row.enough_height is not None:
        said.append(_enough(row, row.enough_height, found))
    return said if row.holding is None else [*said, _holding(row, row.holding, found)]


def _direction(row: ResponseRow, found: ResponseFindings) -> Statement:
    return aside(
        inferred(
            f"{row.cause.title}: {direction_words(row)} {recovered_words(row)}",
            _basis(row, found, "direction"),
        )
    )


def _enough(row: ResponseRow, enough: float, found: ResponseFindings) -> Statement:
    return inferred(
        f"{row.cause.title}: height made no difference from {height_words(enough)} to "
        f"{height_words(found.height)} above the ground; with '{row.reference}' "
        f"{percent(row.reference_saved.share)} end above it at every height between.",
        _basis(row, found, "saved_stated"),
    )


def _holding(row: ResponseRow, holding: HoldingFindings, found: ResponseFindings) -> Statement:
    force = hold_word(holding)
    when = (
        f"the {force} to hold level flight does not exceed"
        if holding.exceeds_at is None
        else f"from {holding.exceeds_at:.0f} s on, the {force} to hold level flight exceeds"
    )
    return inferred(
        f"{row.cause.title}, median fault, hands off: within {holding.span:.0f} s, {when} "
        f"{pounds(found.short_term)}, the short-term limit of rules with two hands.",
        _basis(row, found, "pull_to_hold"),
    )


def hold_word(holding: HoldingFindings) -> str:
    """Pull or push, by the larger force of those listed.

    Args:
        holding: Of one cause.

    Returns:
        The word; "column force" where none is listed.
    """
    if not holding.rows:
        return "column force"
    return "push" if max(holding.rows, key=lambda row: abs(row.pull)).pull < 0.0 else "pull"


def _each(found: ResponseFindings) -> list[tuple[ResponseRow, ProcedureRow]]:
    return [(row, one) for row in found.rows for one in row.procedures]


def _latest(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="Latest effective action after the fault began: 5th, 50th and 95th percentile of "
        "pilots and faults. Last: share not recoverable even with immediate action, with 95% "
        f"sampling error. {OTHERS} {found.file}; so in the next two tables",
        kind="inferred",
        columns=["if", "procedure", "5%", "50%", "95%", "not recoverable"],
        rows=[
            [
                row.cause.title,
                one.procedure,
                *(latest_words(action, found.longest) for action in one.latest),
                sampled(one.too_late),
            ]
            for row, one in _each(found)
            if one.too_late is not None
        ],
    )


def _rules(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="Share that ends above the ground, by the delay of rules",
        kind="inferred",
        columns=["if", "procedure", *(f"{delay:g} s" for delay in found.rule_delays)],
        rows=[
            [row.cause.title, one.procedure, *map(sampled, one.by_rule)]
            for row, one in _each(found)
        ],
    )


def _spread(value: PilotSpread | None, factor: float = 1.0, decimals: int = 0) -> str:
    if value is None:
        return "too few"
    low, middle, high = (
        f"{x / factor:,.{decimals}f}" for x in (value.low90, value.median, value.high90)
    )
    return f"{middle} ({low} to {high})"


def _recovery(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="At the stated reaction: share that ends above the ground, share that does so "
        "within the airplane's limits, and of those saved the height lost, the equivalent airspeed "
        "at the lowest point and the largest load factor, median and 90% of pilots",
        kind="inferred",
        columns=[
            *("if", "procedure", "saved", "within limits", "height lost, ft"),
            *("speed at the lowest point, kt", "largest load factor, g"),
        ],
        rows=[
            [
                row.cause.title,
                one.procedure,
                sampled(one.saved),
                sampled(one.within_limits),
                _spread(one.height_lost, FOOT),
                _spread(one.lowest_speed, KNOT),
                _spread(one.load_factor, decimals=1),
            ]
            for row, one in _each(found)
        ],
    )


def _nose_high(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="Faults that raise the nose, at the stated reaction: share of all that stalls on "
        "the way, and of those saved the smallest equivalent airspeed, the largest pitch angle, "
        "the height gained, and the height lost from the highest point, median and 90% of pilots",
        kind="inferred",
        columns=[
            *("if", "procedure", "stalls", "smallest speed, kt", "largest pitch angle, deg"),
            *("height gained, ft", "lost from the top, ft"),
        ],
        rows=[
            [
                row.cause.title,
                one.procedure,
                DASH if one.stalled is None else sampled(one.stalled),
                _spread(one.slowest, KNOT),
                _spread(one.pitch_highest, DEGREE),
                _spread(one.height_gained, FOOT),
                _spread(one.dropped, FOOT),
            ]
            for row, one in _each(found)
            if row.direction == "nose-up"
        ],
    )


def _moved(one: LessonRow, longest: float) -> str:
    before, after = (latest_words(x, longest) for x in (one.before, one.after))
    return f"unchanged: {after}" if before == after else f"{before} to {after}"


def _lessons_flown(found: ResponseFindings) -> list[Statement]:
    """What each lesson is, once."""
    flown = lesson_lines([one for row in found.rows for one in row.lessons])
    return [inferred(f"Lessons flown. {' '.join(flown)}", found.file)] if flown else []


def _lessons(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="Lessons for design and training: change against the procedure "
        "named, in share of pilots who recover and in the median latest effective action. The same "
        "pilots fly both; a change within its error shows nothing",
        kind="inferred",
        columns=["if", "lesson", "against", "change of share", "latest effective action, 50%"],
        rows=[
            [
                row.cause.title,
                lesson_name(one.lesson),
                row.reference,
                f"{100.0 * one.gain:+.0f} ± {100.0 * one.error:.0f} points",
                _moved(one, found.longest),
            ]
            for row in found.rows
            for one in row.lessons
        ],
    )


def _holding_table(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="Height that was enough, and when holding the median fault, hands off before, "
        f"exceeds {pounds(found.short_term)}",
        kind="inferred",
        columns=["if", "height from which no more recover", "limit exceeded"],
        rows=[
            [row.cause.title, _enough_cell(row), _exceeds_cell(row.holding)]
            for row in found.rows
            if row.holding is not None or row.enough_height is not None
        ],
    )


def _enough_cell(row: ResponseRow) -> str:
    return DASH if row.enough_height is None else height_words(row.enough_height)


def _exceeds_cell(holding: HoldingFindings | None) -> str:
    if holding is None:
        return DASH
    if holding.exceeds_at is None:
        return f"not within {holding.span:.0f} s"
    return f"from {holding.exceeds_at:.0f} s on"


def _forces(found: ResponseFindings) -> SectionTable:
    return SectionTable(
        caption="Column force that unaccelerated flight would take, hands off before, pull "
        "positive, and the share of the stated population whose short pull reaches it",
        kind="inferred",
        columns=["if", "after the fault", "force", "one hand", "two hands"],
        rows=[
            [
                row.cause.title,
                f"{one.time:.0f} s",
                pounds(one.pull),
                percent(one.one_hand),
                percent(one.two_hands),
            ]
            for row in found.rows
            if row.holding is not None
            for one in row.holding.rows
        ],
    )
