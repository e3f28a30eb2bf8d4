"""What the signature sheet says of each cause: whether its flights stay with the data."""

from __future__ import annotations

from neutralpoint.findings import (
    CauseJudgement,
    Findings,
    Parting,
    SectionTable,
    SignatureFindings,
    SignatureRow,
    StageSection,
    Statement,
)
from neutralpoint.report.figures.display import SHOWN, printed
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import inferred, small_percent, time_of_day

NAMED = ("altitude", "calibrated_airspeed", "pitch_angle")
LOWERED = dict(
    zip(
        NAMED,
        (
            ("height", "too low", "too high"),
            ("airspeed", "too slow", "too fast"),
            ("pitch", "too low", "too high"),
        ),
        strict=True,
    )
)
FEW = 5  # causes that are named
CAUTION = (
    "flights of a model show what a cause would look like here; a likeness is no proof, and what "
    "the hands did is not known."
)


def signatures_section(findings: Findings) -> StageSection | None:
    """The section of the signature sheet; its figure is drawn from the file.

    Args:
        findings: The document.

    Returns:
        The section; None without the sheet.
    """
    found = findings.signatures
    if found is None or not found.rows:
        return None
    return StageSection(
        stage="signatures",
        title=STAGES["signatures"],
        cautions=[CAUTION],
        statements=[_lead(found), _start(found, findings)],
        tables=[_table(found, findings)],
    )


def _lead(found: SignatureFindings) -> Statement:
    """Which causes stay with the data, and which leave them."""
    stay = [row.cause.spoken for row in found.rows if row.first is None]
    first, span = found.rows[0], found.end - found.begin
    opening = f"Of {len(found.rows)} causes flown from the last trimmed flight, "
    if not stay:
        text = f"{opening}none stays with height, airspeed and pitch of the data for {span:.0f} s"
    elif len(stay) <= FEW:
        text = f"{opening}{_count(len(stay))} with the data for {span:.0f} s ({', '.join(stay)})"
    else:
        text = f"{opening}{_count(len(stay))} with the data for {span:.0f} s"
    lead = ""
    if (leaves := first.first) is not None:
        after = leaves - found.begin
        lead = f"; even {first.cause.spoken}, the most probable, leaves them after {after:.0f} s"
    return inferred(f"{text}{lead}.", found.file)


def _count(stay: int) -> str:
    return f"{stay} {'stays' if stay == 1 else 'stay'}"


def _start(found: SignatureFindings, findings: Findings) -> Statement:
    return inferred(
        f"Each starts at {time_of_day(findings, found.begin)} UTC, the end of the last trimmed "
        "flight. With a pilot: the flights of the cause that come nearest, their 90% band and the "
        f"nearest one. Hands off: {found.flights} of the same flights, the same fault and gusts, "
        "controls free in pitch and the wings held level; of a cause that works on the pilot "
        "alone little is left then.",
        found.file,
    )


def stays(row: SignatureRow, begin: float) -> str:
    """Where the flights of a cause leave the data, with a pilot or else hands off, and by how much.

    Args:
        row: Of one cause.
        begin: When the flights start, s after the epoch.

    Returns:
        Such as `apart from 12 s: pitch 8\u00b0 too low`.
    """
    first = _first(row.with_pilot)
    if first is not None:
        return f"apart from {_when(first) - begin:.0f} s: {gap_words(first)}"
    off = _first(row.hands_off)
    if off is None:
        return "bands overlap with a pilot" + ("" if not row.hands_off else " and hands off")
    return f"bands overlap with a pilot; hands off apart from {_when(off) - begin:.0f} s"


def pair_title(rows: list[SignatureRow]) -> str:
    """What the flights of a few causes show, those that show the same named together."""
    told: dict[str, list[str]] = {}
    for row in rows:
        told.setdefault(headline(row), []).append(row.cause.title.split(" (")[0])
    parts = []
    for said, names in told.items():
        rest = [f"{name[:1].lower()}{name[1:]}" for name in names[1:]]
        leaves = said.replace("leaves", "leave") if rest else said
        parts.append(f"{' and '.join([names[0], *rest])}: {leaves}")
    return "; ".join(parts)


def headline(row: SignatureRow) -> str:
    """Whether the flights of a cause stay with the data, with a pilot and hands off."""
    if _first(row.with_pilot) is not None:
        return "leaves the data, also with a simulated pilot"
    if not row.hands_off:
        return "90% bands touch the data with a simulated pilot"
    if _first(row.hands_off) is None:
        return "90% bands touch the data, with a simulated pilot and hands off"
    return "90% bands touch the data with a simulated pilot, not hands off"


def gaps_said(row: SignatureRow, findings: Findings) -> str:
    """Until when bands touch, by the clock: with a pilot and hands off.

    Args:
        row: Of one cause.
        findings: The document, for its clock.

    Returns:
        Sentences.
    """
    first, off = _first(row.with_pilot), _first(row.hands_off)
    told = [
        "With a simulated pilot the 90% bands of its flights and of the data touch at every moment"
        if first is None
        else f"With a simulated pilot its flights are {_apart(row.with_pilot, first, findings)}"
    ]
    if row.hands_off:
        told.append("hands off they touch too" if off is None
                    else f"hands off they part at {_clock(findings, _when(off))} UTC")  # fmt: skip
    told.append("wide bands touch easily")
    return f"{'; '.join(told)}."


def miss_title(row: SignatureRow, near: list[tuple[str, float, float]]) -> str:
    """How far the nearest flight of a cause is from the data at most, in one line."""
    name = row.cause.title.split(" (")[0]
    if not near:
        return f"{name}: {headline(row)}"
    listed = [_size(quantity, gap) for quantity, gap, _ in near]
    return f"{name}: nearest flight misses by up to {', '.join(listed[:-1])} and {listed[-1]}"


def _apart(rows: list[Parting], first: Parting, findings: Findings) -> str:
    gaps = ", ".join(gap_words(one) for one in rows if one.time is not None)
    return f"first apart at {_clock(findings, _when(first))} UTC, at the widest with {gaps}"


def _clock(findings: Findings, seconds: float) -> str:
    """The clock to the second, which is as fine as flights are compared."""
    return time_of_day(findings, seconds)[:-2]


def _size(name: str, gap: float) -> str:
    """A gap in the unit shown, angles in whole degrees."""
    shown = SHOWN[name]
    return shown.with_unit(printed(abs(gap) / shown.factor, 0))


def _first(rows: list[Parting]) -> Parting | None:
    parted = [one for one in rows if one.time is not None]
    return min(parted, key=_when) if parted else None


def _when(one: Parting) -> float:
    return float("inf") if one.time is None else one.time


def gap_words(one: Parting) -> str:
    """The widest gap of one quantity."""
    name, below, above = LOWERED[one.quantity]
    size = _size(one.quantity, one.gap)
    return f"{name} up to {size} {above if one.gap > 0.0 else below}"


def excluded_reason(judged: CauseJudgement | None) -> str:
    """Why a cause is excluded, in a few words; empty where it is not.

    Args:
        judged: All that is said of it; None where nothing is.

    Returns:
        The reason.
    """
    if judged is None or judged.word != "cannot":
        return ""
    if "airplane-or-facts" in judged.excluded_by:
        return "airplane or facts exclude it"
    if "moment" in judged.excluded_by and judged.moment_probability is not None:
        share = small_percent(judged.moment_probability)
        return f"p-value of its moment {share}"
    if judged.p_value is not None:
        return f"p-value of its flights {small_percent(judged.p_value)}"
    return "no flight of it comes near"


def judged_by_cause(findings: Findings) -> dict[str, CauseJudgement]:
    """What is said of each cause, by its name."""
    rows = [] if findings.judgement is None else findings.judgement.rows
    return {str(row.cause): row for row in rows}


def never_flown(findings: Findings) -> list[tuple[str, str]]:
    """Causes that the airplane or the facts exclude: title and reason."""
    gated = [] if findings.weighing is None else findings.weighing.gated
    return [(row.title, row.reason) for row in gated]


def _table(found: SignatureFindings, findings: Findings) -> SectionTable:
    judged = judged_by_cause(findings)
    return SectionTable(
        caption="Where the flights of each cause leave the data: seconds after the last trimmed "
        "flight, and the widest gap between the 90% bands",
        kind="inferred",
        detail=True,
        columns=["cause", "odds", "with a pilot", "hands off", "excluded"],
        rows=[
            [
                row.cause.title,
                f"{row.probability:.2f}",
                _partings(row.with_pilot, found.begin),
                _partings(row.hands_off, found.begin),
                excluded_reason(judged.get(str(row.cause))) or "no",
            ]
            for row in found.rows
        ],
    )


def _partings(rows: list[Parting], begin: float) -> str:
    if not rows:
        return "not flown"
    parted = sorted((one for one in rows if one.time is not None), key=_when)
    if not parted:
        return "stays"
    return "; ".join(f"{_when(one) - begin:.0f} s {gap_words(one)}" for one in parted)
