"""From findings to a report in order: which chapters there are, and what stands in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from string import ascii_uppercase

from neutralpoint.findings import Findings, Score, SectionTable, StageSection, Statement
from neutralpoint.report.claims.ledger import Ledger
from neutralpoint.report.figures.compose import compose_stage
from neutralpoint.report.page.book import Book, Chapter, Label, Numbers, PrintedTable
from neutralpoint.report.page.folding import (
    folded,
    folded_odds,
    is_long,
    leading_causes,
    set_aside,
    told,
)
from neutralpoint.report.page.plates import Plates
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.leads import (
    claims_lead,
    moments_lead,
    odds_lead,
    path_lead,
    response_lead,
)
from neutralpoint.report.words.sections import sections_of
from neutralpoint.report.words.sentences import cannot_show
from neutralpoint.vocabulary import CauseName

SCREEN_TIMES = 1600
# Findings first, then what they rest on; the flight path stands before the required moment.
ORDER = (
    "weighing",
    "signatures",
    "response",
    "evidence",
    "explanations",
    "motion",
    "track",
    "moments",
    "physics",
    "limits",
    "wreckage",
    "heard",
    "felt",
    "history",
    "outside",
)
AFTER_THE_PATH = ("moments", "physics", "limits", "wreckage", "heard", "felt", "history", "outside")
ALWAYS_FIRST = (("reading", "How to read this report"), ("path-full", "Flight path in full"))
ALWAYS_LAST = (
    ("drafts", "Drafts of claims"),
    ("scores", "How often this method is right"),
    ("data", "Data as received"),
    ("given", "Assumptions"),
    ("glossary", "Glossary"),
    ("version", "Version and corrections"),
)


def bind(findings: Findings, ledger: Ledger, plates: Plates) -> Book:
    """Put a report in order.

    Args:
        findings: The document.
        ledger: What the analyst says of it.
        plates: Its figures.

    Returns:
        Chapters and appendices.
    """
    sections = sorted(sections_of(findings), key=lambda section: ORDER.index(section.stage))
    binder = _Binder(findings, plates, leading_causes(findings), sections)
    first = [binder.appendix(key, title) for key, title in ALWAYS_FIRST]
    staged = [binder.stage_appendix(section) for section in sections]
    last = [binder.appendix(key, title) for key, title in ALWAYS_LAST]
    drafts, path = last[0], first[1]
    for section, appendix in zip(sections, staged, strict=True):
        if section.stage in AFTER_THE_PATH and not binder.holds("path"):
            binder.path(path)
        if not (appendix is not None and _all_aside(section)):
            binder.stage(section, appendix)
    staged = [binder.cross_named(appendix) for appendix in staged if appendix is not None]
    if not binder.holds("path"):
        binder.path(path)
    binder.claims(ledger, drafts)
    return Book(
        body=tuple(binder.body),
        appendices=(*first, *staged, *last),
    )


@dataclass
class _Binder:
    """Binds one chapter after the other.

    Args:
        findings: The document.
        plates: Its figures.
        leaders: Causes that the report follows.
        sections: Of all stages.
    """

    findings: Findings
    plates: Plates
    leaders: list[CauseName]
    sections: list[StageSection]

    def __post_init__(self) -> None:
        self.body: list[Chapter] = []
        self.numbers = Numbers()
        self.letters = iter(ascii_uppercase)

    def holds(self, key: str) -> bool:
        """Whether a chapter stands already."""
        return any(chapter.key == key for chapter in self.body)

    @property
    def number(self) -> str:
        """Of the next chapter."""
        return str(len(self.body) + 1)

    def appendix(self, key: str, title: str) -> Chapter:
        """An appendix that tells of no one stage."""
        letter = next(self.letters)
        drawn = self.plates.path_full() if key == "path-full" else []
        return Chapter(key, letter, title, plates=Numbers(letter).plates(drawn))

    def stage_appendix(self, section: StageSection) -> Chapter | None:
        """What of a stage is set aside; None where nothing is."""
        if not _sets_aside(section):
            return None
        letter = next(self.letters)
        numbers = Numbers(letter)
        labels = {
            name: numbers.next("Table")
            for name in ("verdicts", "settling")
            if _holds(section, name)
        }
        tables = [PrintedTable(numbers.next("Table"), one) for one in _whole(section)]
        return Chapter(
            f"{section.stage}-{letter.lower()}",
            letter,
            f"{section.title} in full",
            section=section,
            statements=set_aside(section.statements),
            tables=tables,
            plates=numbers.plates(self.plates.stage_full(section)),
            labels=labels,
            strips=compose_stage(self.plates.results, section.panels, limit=SCREEN_TIMES)
            if section.panels
            else None,
        )

    def stage(self, section: StageSection, appendix: Chapter | None) -> None:
        """The chapter of a stage."""
        lead, rest = self._told(section)
        odds, others = folded_odds(section)
        scores, at = self._scores(section)
        names = ("odds", "verdicts", "settling")
        labels = {n: self.numbers.next("Table") for n in names if getattr(section, n)}
        self.body.append(
            Chapter(
                f"{section.stage}-{self.number}",
                self.number,
                section.title,
                lead=lead,
                section=section,
                statements=rest,
                tables=self._tables(section, appendix),
                plates=self.numbers.plates(self.plates.stage_brief(section)),
                labels=labels,
                odds=odds,
                rest=others,
                more=appendix,
                scores=scores,
                scores_at=at,
            )
        )

    def _scores(self, section: StageSection) -> tuple[list[Score], Chapter | None]:
        """Calibration of a section: its own, or where that of the others stands."""
        if section.scores:
            return section.scores, None
        others_of = [c for c in self.body if c.section and c.section.stage != "moments"]
        shown = next((c for c in others_of if c.scores), None)
        others = [s for one in self.sections if one.stage != "moments" for s in one.scores]
        return ([], shown) if shown else (others, None)

    def _told(self, section: StageSection) -> tuple[Statement | None, list[Statement]]:
        """The result of a stage, and what else is said in the body."""
        said = told(section.statements, self.leaders)
        lead = None
        if section.stage == "moments" and self.findings.moments is not None:
            lead = moments_lead(self.findings.moments)
        if section.stage == "response" and self.findings.response is not None:
            lead = response_lead(self.findings.response, self.leaders)
        if lead is None and not said:
            lead = odds_lead(section)
        return (lead, said) if lead is not None else (next(iter(said), None), said[1:])

    def cross_named(self, appendix: Chapter) -> Chapter:
        """An appendix whose whole tables are named after those of the body."""
        short = {
            one.whole.anchor: one.label.name
            for chapter in self.body
            for one in chapter.tables
            if one.whole is not None
        }
        return replace(
            appendix,
            tables=[
                replace(
                    one,
                    table=one.table.model_copy(
                        update={"caption": f"{short[one.label.anchor]} with all of its rows"}
                    ),
                )
                if one.label.anchor in short
                else one
                for one in appendix.tables
            ],
        )

    def _tables(self, section: StageSection, appendix: Chapter | None) -> list[PrintedTable]:
        places = (
            {} if appendix is None else {one.table.caption: one.label for one in appendix.tables}
        )
        shown = [
            (folded(table, self.leaders), places.get(table.caption))
            for table in section.tables
            if not table.detail
        ]
        return [
            PrintedTable(self.numbers.next("Table"), table, whole)
            for table, whole in shown
            if table.rows
        ]

    def path(self, appendix: Chapter) -> None:
        """The chapter of the flight path."""
        labels: dict[str, Label] = {}
        plates = self.numbers.plates(self.plates.path_brief())
        if self.findings.key_times:
            labels["key"] = self.numbers.next("Table")
        if self.findings.events:
            labels |= {"events": self.numbers.next("Table"), "clocks": self.numbers.next("Table")}
            plates += self.numbers.plates(self.plates.timeline())
        self.body.append(
            Chapter(
                "path",
                self.number,
                "Flight path",
                lead=path_lead(self.findings),
                statements=cannot_show(self.findings),
                plates=plates,
                labels=labels,
                more=appendix,
            )
        )

    def claims(self, ledger: Ledger, drafts: Chapter) -> None:
        """The chapter of what may be said."""
        labels = {"claims": self.numbers.next("Table")} if ledger.claims else {}
        lead = claims_lead(ledger.claims, len(ledger.drafts))
        title = STAGES["findings"]
        self.body.append(
            Chapter("claims", self.number, title, lead=lead, labels=labels, more=drafts)
        )


def _holds(section: StageSection, name: str) -> bool:
    return bool(getattr(section, name))


def _whole(section: StageSection) -> list[SectionTable]:
    """Tables that stand in the appendix: those set aside, and the long ones."""
    return [table for table in section.tables if table.detail or is_long(table)]


def _all_aside(section: StageSection) -> bool:
    """Whether a section stands in its appendix whole: then it has no chapter in the body."""
    held = (section.odds, section.verdicts, section.settling, section.scores)
    kept = [one for one in (*section.statements, *section.tables) if not one.detail]
    return bool(section.statements) and not kept and not any(held)


def _sets_aside(section: StageSection) -> bool:
    held: Sequence[object] = (
        *section.verdicts,
        *section.settling,
        *section.panels,
        *set_aside(section.statements),
        *_whole(section),
    )
    return bool(held)
