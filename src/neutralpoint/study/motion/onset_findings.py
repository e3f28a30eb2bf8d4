"""When the upset began, as the findings document says it."""

from __future__ import annotations

from datetime import datetime, timedelta

from neutralpoint.findings import SectionTable, StageSection, Statement, Warned
from neutralpoint.motion import Onsets, fault_begin
from neutralpoint.study.motion.file import MOTION_FILE

SURE = 0.9  # below it, that there was an upset at all is a finding to be warned of; analyst's
WIDE = 30.0  # s of the 90 % interval from which on one is told to state the onset; analyst's
MASKED = (
    "This is when the motion shows it. An autopilot, or hands, can mask a trim motor for a minute: "
    "what caused it may have begun earlier."
)
STATE = "State `analysis.onset` in the case file where it is known from elsewhere."


def utc(epoch: datetime, time: float) -> str:
    """A moment on the clock of the track, to the tenth of a second.

    Args:
        epoch: UTC time that `time` counts from.
        time: s.

    Returns:
        Hours, minutes and seconds.
    """
    tenths = epoch + timedelta(seconds=round(time, 1))
    return f"{tenths:%H:%M:%S}.{tenths.microsecond // 100_000}"


def onset_section(found: Onsets, epoch: datetime) -> StageSection:
    """The onset under a headline of its own.

    Args:
        found: What the motion shows.
        epoch: UTC time of second 0.

    Returns:
        The section.
    """
    if not found.found:
        return StageSection(stage="motion", title="No onset found", statements=[_none(found)])
    return StageSection(
        stage="motion",
        title="Onset of the upset",
        statements=[_found(found, epoch), _begun(found, epoch)],
        tables=[_table(found, epoch)],
    )


def onset_warnings(found: Onsets, epoch: datetime) -> tuple[Warned, ...]:
    """What a reader must know before results that count from an onset that nobody stated.

    Args:
        found: What the motion shows.
        epoch: UTC time of second 0.

    Returns:
        At most one warning.
    """
    if not found.found:
        return (_warned("onset-none", _none(found).text),)
    first, last = found.interval
    if 1.0 - found.none < SURE or last - first > WIDE:
        return (_warned("onset-unclear", _found(found, epoch).text),)
    return ()


def _warned(code: str, text: str) -> Warned:
    return Warned(code=code, message=text, where="motion.nc: onset_weight", hint=STATE)


def _percent(probability: float) -> str:
    return f"{100.0 * min(max(probability, 0.01), 0.99):.0f}%"


def _none(found: Onsets) -> Statement:
    return Statement(
        kind="derived",
        text="No departure from ordinary flight was found: the probability that the record holds "
        f"one is {_percent(1.0 - found.none)}. Causes are compared with the flight after its "
        "steadiest stretch, and no result of this study says that anything failed before that.",
        basis=[f"{MOTION_FILE}: onset_probability"],
        caution="A fault that hands or an autopilot contained leaves no departure to find. "
        + STATE,
    )


def _found(found: Onsets, epoch: datetime) -> Statement:
    first, last = found.interval
    return Statement(
        kind="derived",
        text=f"The motion left ordinary flight at {utc(epoch, found.median)} UTC (90%: "
        f"{utc(epoch, first)} to {utc(epoch, last)}); the probability that it did at all is "
        f"{_percent(1.0 - found.none)}.",
        basis=[f"{MOTION_FILE}: onset", f"{MOTION_FILE}: onset_weight"],
        caution=MASKED,
    )


def _begun(found: Onsets, epoch: datetime) -> Statement:
    begun = fault_begin(found)
    return Statement(
        kind="inferred",
        text="What caused it began, by the delays of simulated faults, at "
        f"{utc(epoch, begun.median)} UTC (90%: {utc(epoch, begun.quantile(0.05))} to "
        f"{utc(epoch, begun.quantile(0.95))}). References before the onset are weighted by this.",
        basis=[f"{MOTION_FILE}: onset_weight"],
    )


def stated_onset(found: Onsets, epoch: datetime, given: float) -> Statement:
    """An onset that the case states, beside what the motion shows.

    Args:
        found: What the motion shows.
        epoch: UTC time of second 0.
        given: As stated, s.

    Returns:
        The statement.
    """
    shown = "shows no onset"
    if found.found:
        first, last = found.interval
        apart = given - found.median
        inside = "inside" if first <= given <= last else "outside"
        shown = (
            f"shows one {abs(apart):.1f} s {'earlier' if apart > 0.0 else 'later'}; the stated one "
            f"is {inside} its 90% interval"
        )
    return Statement(
        kind="fact",
        text=f"The case states the onset at {utc(epoch, given)} UTC, and results count from there. "
        f"The motion by itself {shown}.",
        basis=["case.toml: analysis.onset", f"{MOTION_FILE}: onset"],
    )


def _table(found: Onsets, epoch: datetime) -> SectionTable:
    """Quantiles of the onset and of the begin of its cause."""
    begun = fault_begin(found)
    levels = (0.05, 0.25, 0.5, 0.75, 0.95)
    rows = [
        [name, *(utc(epoch, each.quantile(level)) for level in levels)]
        for name, each in (("motion leaves ordinary flight", found), ("its cause begins", begun))
    ]
    return SectionTable(
        caption="Time, UTC, before which each began with the probability of the column.",
        kind="derived",
        columns=["event", *(f"{100.0 * level:.0f}%" for level in levels)],
        rows=rows,
    )
