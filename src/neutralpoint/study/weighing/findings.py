"""The weighing as the findings document says it: odds, parameters, twin, misfit, other evidence."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from neutralpoint.airplane.model import TrimDrive
from neutralpoint.explanations import CAUSES
from neutralpoint.findings import (
    CauseOdds,
    Limit,
    PanelRequest,
    SectionTable,
    StageSection,
    Statement,
    printed_probability,
    said_likelihood,
)
from neutralpoint.quantities import DEGREE
from neutralpoint.study.weighing.file import (
    WEIGHING_DATA,
    WEIGHING_FILE,
    variable_of,
    weighing_document,
)
from neutralpoint.study.weighing.next_evidence import settling_section
from neutralpoint.study.weighing.score import scores
from neutralpoint.study.weighing.work_out import Weighing
from neutralpoint.weighing.odds import NOTHING, UNLISTED, bayes_factor_words

CAUTION = (
    "Probabilities of listed causes under this model; no finding of fault. The official "
    "investigation decides."
)
QUICK = (
    "This is a quick look with few flights; the command weigh flies more and finds the parameters "
    "of each cause."
)
SHOWN = 0.02  # causes below this probability get no row of parameters; they stay in the file
CLEAR = 0.95  # share of flights with a trace above which nothing is said of it
SHOWN_READINGS = 5  # causes whose probability is shown under other priors
POOR = 3.0  # standard deviations by which even the best flight misses, that are pointed out


def weighing_sections(
    found: Weighing, drive: TrimDrive, results: Path
) -> tuple[StageSection, StageSection]:
    """What the stage hands to the report.

    Args:
        found: What was found.
        drive: Of the airplane's trim.
        results: Results folder; its score is shown where it has one.

    Returns:
        The odds, and what would settle them.
    """
    saved = weighing_document(found, drive, results)
    rows = sorted(saved["causes"], key=lambda row: -row["probability"])
    tables = [
        _mechanisms(saved),
        _factors(rows, saved),
        _readings(saved),
        _nearest(rows, found, drive),
        _unexplained(rows),
    ]
    if found.evidence:
        tables.insert(3, _items(found, rows))
    if found.full:
        tables.append(_parameters(rows))
    odds = StageSection(
        stage="weighing",
        title="How likely each cause is",
        cautions=[CAUTION] if found.full else [CAUTION, QUICK],
        statements=[
            *_leading(found, rows),
            _by_mechanism(saved),
            *_chances(saved),
            *_words_said(found),
            *_twin(found, rows),
            *_unlisted(rows),
            *_traces(rows),
            *_gated(found),
            *_other(found),
        ],
        odds=[_odds(row, saved["leader"]) for row in rows],
        scores=scores(results, full=found.full),
        tables=tables,
        panels=_panels(found, drive),
    )
    return odds, settling_section(saved)


def _inferred(text: str, caution: str = "") -> Statement:
    return Statement(kind="inferred", text=text, basis=[WEIGHING_FILE], caution=caution)


def _leading(found: Weighing, rows: list[dict]) -> list[Statement]:
    first, second = rows[0], rows[1]
    gap = first["log_evidence"] - second["log_evidence"]
    text = (
        f"Of the causes listed and an unlisted one, {_title(first)} is "
        f"{said_likelihood(first['probability'])}, and {_title(second)} "
        f"{said_likelihood(second['probability'])}: the evidence for the first against the second "
        f"is {_factor_words(first, second)} (ln B {gap:+.1f})."
    )
    return [
        _inferred(text, CAUTION),
        Statement(kind="inferred", text=found.belief.sentence, basis=["case.toml"]),
    ]


def _by_mechanism(saved: dict) -> Statement:
    """The two most probable mechanisms, with their rows."""
    told = "; ".join(
        f"{group['title'].lower()} {said_likelihood(group['probability'])}"
        f"{_rows_within(group, saved)}"
        for group in saved["mechanisms"][:2]
    )
    return _inferred(f"By mechanism, the odds of its causes summed: {told}.", CAUTION)


def _rows_within(group: dict, saved: dict) -> str:
    each = [row for row in saved["causes"] if row["name"] in group["causes"]]
    if len(each) < 2:
        return ""
    each = sorted(each, key=lambda row: -row["probability"])[:2]
    told = [f"{_title(row)} {printed_probability(row['probability'])}" for row in each]
    return f" ({', '.join(told)})"


def _chances(saved: dict) -> list[Statement]:
    """The odds at other chances that something failed, where the case states none."""
    if saved["failed_stated"] or saved["failed"] is None:
        return []
    null = next(g for g in saved["mechanisms"] if g["name"] == NOTHING)
    fault = next(g for g in saved["mechanisms"] if g["name"] != NOTHING)
    told = "; ".join(
        f"at {chance}, no failure {printed_probability(null['if_failed'][chance])} and "
        f"{fault['title'].lower()} {printed_probability(fault['if_failed'][chance])}"
        for chance in null["if_failed"]
    )
    return [
        _inferred(
            "The case does not state something_failed, the chance that something failed before "
            f"the track is looked at; the odds hang on it: {told}.",
            "Near 0.95 suits an accident, 0.5 a report of something odd, 0.01 a flight of which "
            "nothing is known.",
        )
    ]


def _words_said(found: Weighing) -> list[Statement]:
    """Whether words on the radio entered the odds, in one sentence."""
    words = [item for item in found.evidence if item.name.startswith(("words:", "voice:"))]
    if words:
        text = (
            "Words on the radio enter the odds by a stated likelihood alone: "
            f"{'; '.join(item.name for item in words)}."
        )
    elif found.heard:
        text = "Words on the radio are shown with their times and do not enter the odds."
    else:
        return []
    return [Statement(kind="inferred", text=text, basis=["case.toml"])]


def _mechanisms(saved: dict) -> SectionTable:
    chances = list(saved["mechanisms"][0]["if_failed"])
    return SectionTable(
        caption="Odds by mechanism: the sums over its causes, with the lowest and highest of "
        f"{saved['seeds']} seeds, and at other chances that something failed",
        kind="inferred",
        columns=[
            "mechanism",
            "causes",
            "prior",
            "probability",
            *(f"if {chance} that something failed" for chance in chances),
        ],
        rows=[
            [
                group["title"],
                ", ".join(_title({"name": name}) for name in group["causes"]),
                f"{group['prior']:.3f}",
                f"{group['probability']:.3f}, {group['low']:.3f} to {group['high']:.3f}",
                *(f"{group['if_failed'][chance]:.3f}" for chance in chances),
            ]
            for group in saved["mechanisms"]
        ],
    )


def _factor_words(first: dict, second: dict) -> str:
    gap = first["log_evidence"] - second["log_evidence"]
    word = bayes_factor_words(gap)
    return word if gap >= 0.0 else f"{word}, and points the other way: the prior decides"


def _title(row: dict) -> str:
    """A cause within a sentence."""
    return CAUSES[row["name"]].spoken


def _head(name: str) -> str:
    """A cause in a table."""
    return CAUSES[name].title


def _twin(found: Weighing, rows: list[dict]) -> list[Statement]:
    by_name = {row["name"]: row for row in rows}
    leader, twin = by_name[found.leader], by_name[found.twin]
    text = (
        f"The nearest flight that another cause made is one of {_title(twin)}: it lies "
        f"{twin['nearest']['distance']:.1f} standard deviations of data and gusts from the flight "
        f"seen, root mean square; the nearest of {_title(leader)} {_near(leader)}. "
        f"{_fails(leader, found.begin)}"
    )
    return [_inferred(text)]


def _near(row: dict) -> str:
    return f"lies {row['nearest']['distance']:.1f} from it"


def _fails(row: dict, begin: float) -> str:
    near = row["nearest"]
    bad = abs(near["fails_by"]) > POOR
    start = "Even that one" if bad else "That one"
    return (
        f"{start} is furthest off in {near['fails_in']}, by {near['fails_by']:+.1f} standard "
        f"deviations {near['fails_at'] - begin:.0f} s after the last trimmed flight"
        f"{': no flight of this cause that was tried explains that.' if bad else '.'}"
    )


def _unlisted(rows: list[dict]) -> list[Statement]:
    row = next(row for row in rows if row["name"] == UNLISTED)
    return [
        _inferred(
            f"A cause that nobody listed is {said_likelihood(row['probability'])}. That row "
            "stands for flights around all simulated ones; what lies beyond even those shows in "
            "the misfit of the nearest flight."
        )
    ]


def _traces(rows: list[dict]) -> list[Statement]:
    faint = [
        f"{_title(row)} {row['traced']:.0%}"
        for row in rows
        if row["traced"] is not None and row["traced"] < CLEAR
    ]
    if not faint:
        return []
    return [
        _inferred(
            "A fault that leaves no trace in data like these counts as nothing failed. Share of "
            f"the simulated flights on which a fault left one: {'; '.join(faint)}; of the other "
            f"causes, {CLEAR:.0%} or more."
        )
    ]


def _unexplained(rows: list[dict]) -> SectionTable:
    """What each cause that is worth a row could not have done."""
    return SectionTable(
        caption="What a cause cannot explain, whatever its parameters, and what of it the track "
        "alone cannot tell from it",
        kind="inferred",
        columns=["cause", "cannot explain", "not separable by the track"],
        rows=[
            [
                _head(row["name"]),
                "; ".join(CAUSES[row["name"]].cannot_explain) or "–",
                "; ".join(CAUSES[row["name"]].not_separable) or "–",
            ]
            for row in rows
            if row["probability"] >= SHOWN
        ],
    )


def _gated(found: Weighing) -> list[Statement]:
    """Causes that were not weighed because airplane or facts exclude them."""
    if not found.gated:
        return []
    told = " ".join(f"{title}: {reason}" for title, reason in found.gated)
    return [
        Statement(
            kind="inferred",
            text=f"Not weighed, because the airplane or a fact of the flight excludes it. {told}",
            basis=["case.toml"],
        )
    ]


def _readings(saved: dict) -> SectionTable:
    """The same evidence under other prior weights."""
    names = [row["name"] for row in sorted(saved["causes"], key=lambda r: -r["probability"])]
    shown = [*[name for name in names[:SHOWN_READINGS] if name != NOTHING], NOTHING]
    return SectionTable(
        caption="The same evidence under other prior weights. Equal weights of the causes are for "
        "a flight of which it is known that something failed",
        kind="inferred",
        columns=["prior", *map(_head, shown)],
        rows=[
            [reading["prior"], *(f"{reading['probability'].get(n, 0.0):.3f}" for n in shown)]
            for reading in saved["readings"]
        ],
    )


def _other(found: Weighing) -> list[Statement]:
    said = [
        Statement(
            kind="inferred",
            text=f"{item.name} ({item.source}) moves the odds between two causes by at most "
            f"{np.ptp(item.log_likelihood):.1f} nats"
            + (f", with a doubt of {item.doubt:.0%} that it says nothing." if item.doubt else "."),
            basis=["case.toml", WEIGHING_FILE],
            caution=item.caution,
        )
        for item in found.evidence
    ]
    return said


def sided(factor: float, words: str) -> str:
    """Words for a Bayes factor, with the side that they speak for."""
    if "bare mention" in words:
        return words
    return f"{words}, for it" if factor > 0.0 else f"{words}, against it"


def _odds(row: dict, leader: str) -> CauseOdds:
    factor = row["log_bayes_factor"]
    words = (
        "Bayes factors of the others are against this one."
        if row["name"] == leader
        else f"ln B {factor:+.1f} against {CAUSES[leader].spoken}: {sided(factor, row['words'])}."
    )
    return CauseOdds(
        cause=row["name"],
        title=_head(row["name"]),
        probability=min(row["probability"], 1.0),
        lowest=min(row["low"], row["probability"]),
        highest=min(max(row["high"], row["probability"]), 1.0),
        listed=row["name"] != UNLISTED,
        sentence=words,
    )


def _factors(rows: list[dict], saved: dict) -> SectionTable:
    seeds = saved["seeds"]
    return SectionTable(
        caption=f"Prior, evidence and Bayes factors. Error: standard deviation of one of {seeds} "
        "seeds; ln B is against the most probable flown cause, in the words of Kass and Raftery",
        kind="derived",
        columns=["cause", "prior", f"probability, lowest to highest of {seeds} seeds", "ln Z",
                 "error", "ln B", "in words"],
        rows=[
            [
                _head(row["name"]),
                f"{row['prior']:.3f}",
                f"{row['probability']:.3f}, {row['low']:.3f} to {row['high']:.3f}",
                f"{row['log_evidence']:.2f}",
                "–" if row["log_evidence_error"] is None else f"{row['log_evidence_error']:.2f}",
                f"{row['log_bayes_factor']:+.2f}",
                "–"
                if row["name"] == saved["leader"]
                else sided(row["log_bayes_factor"], row["words"]),
            ]
            for row in rows
        ],
    )  # fmt: skip


def _items(found: Weighing, rows: list[dict]) -> SectionTable:
    """Every item beside the track, in nats from what all causes expect together."""
    place = {name: i for i, name in enumerate(found.odds.causes)}
    nats = [item.nats(found.odds.prior) for item in found.evidence]
    return SectionTable(
        caption="Evidence beside the track: nats for (+) or against (-) each cause, counted from "
        "what all causes expect together",
        kind="inferred",
        columns=["cause", *(f"{item.name} [{item.source}]" for item in found.evidence)],
        rows=[
            [_head(row["name"]), *(f"{column[place[row['name']]]:+.2f}" for column in nats)]
            for row in rows
        ],
    )


def _nearest(rows: list[dict], found: Weighing, drive: TrimDrive) -> SectionTable:
    listed = [row for row in rows if row["nearest"]]
    columns = ["cause", "nearest flight, standard deviations", "furthest off in", "when", "by"]
    trim = drive.kind != "none"
    if trim:
        columns.append(f"{drive.kind} at the end, deg: 5, 50, 95 %")
    body = []
    for row in listed:
        near = row["nearest"]
        line = [
            _head(row["name"]),
            f"{near['distance']:.2f}",
            near["fails_in"],
            f"{near['fails_at'] - found.begin:.0f} s",
            f"{near['fails_by']:+.1f}",
        ]
        if trim:
            line.append(", ".join(f"{x / DEGREE:.2f}" for x in row["trim_end"]))
        body.append(line)
    return SectionTable(
        caption="Where even the nearest flight of each cause fails, in standard deviations of data "
        "and gusts, and where those that follow the track leave the trim; times after the last "
        "trimmed flight",
        kind="inferred",
        columns=columns,
        rows=body,
    )


def _parameters(rows: list[dict]) -> SectionTable:
    body = []
    for row in rows:
        if row["probability"] < SHOWN:
            continue
        for name, entry in row["parameters"].items():
            scale, unit = (DEGREE, "deg") if entry["unit"] == "rad" else (1.0, entry["unit"])
            texts = [", ".join(f"{x / scale:.3g}" for x in entry[k]) for k in
                     ("quantiles", "prior")]  # fmt: skip
            body.append([_head(row["name"]), f"{name}: {entry['meaning']}", unit or "–", *texts])
    return SectionTable(
        caption="Parameters of each cause, if it was the cause: 5, 50 and 95 %, with the prior "
        "beside",
        kind="inferred",
        columns=["cause", "parameter", "unit", "after the track", "before it"],
        rows=body,
    )


def _panels(found: Weighing, drive: TrimDrive) -> list[PanelRequest]:
    limits = [
        Limit(value=float(end), label="travel") for end in (drive.travel_min, drive.travel_max)
    ]
    wanted = {"column_force": ("N", "Column pull", []), "trim": ("rad", drive.kind, limits)}
    if drive.kind == "none":
        del wanted["trim"]
    return [
        PanelRequest(
            file=WEIGHING_DATA,
            variable=variable_of(name, control),
            label=f"{label[:1].upper() + label[1:]}, if it was {CAUSES[name].spoken}",
            unit=unit,
            limits=ends,
        )
        for name in (found.leader, found.twin)
        for control, (unit, label, ends) in wanted.items()
    ]
