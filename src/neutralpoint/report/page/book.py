"""The order of a report: numbered chapters and appendices, their tables and figures by number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from neutralpoint.findings import CauseOdds, Score, SectionTable, StageSection, Statement
from neutralpoint.report.figures.figure import Strips


@dataclass(frozen=True)
class Label:
    """A number that can be cited.

    Attributes:
        name: Such as `Table 3` or `Figure B1`.
        anchor: Where links lead.
    """

    name: str
    anchor: str


@dataclass(frozen=True)
class PrintedTable:
    """A table with its number; `whole` is where all of its rows stand, if not here."""

    label: Label
    table: SectionTable
    whole: Label | None = None


@dataclass(frozen=True)
class Plate:
    """A printed figure with its number."""

    label: Label
    title: str
    address: str


@dataclass(frozen=True)
class Chapter:
    """A section of the body or an appendix.

    Attributes:
        key: Its name in the code.
        number: `1`, `2` or `A`, `B`.
        title: Of the heading.
        lead: Its result in one sentence.
        section: The stage that it tells; None for what is of no one stage.
        statements: After the lead.
        tables: With their numbers.
        plates: Printed figures.
        labels: Numbers of the tables that the page lays out itself.
        odds: Rows of the odds shown.
        rest: Rows of the odds that are folded.
        strips: Charts for the screen.
        more: The appendix that goes on.
        scores: How often the method was right, beside conclusions.
        scores_at: An earlier chapter that shows them.
    """

    key: str
    number: str
    title: str
    lead: Statement | None = None
    section: StageSection | None = None
    statements: Sequence[Statement] = ()
    tables: Sequence[PrintedTable] = ()
    plates: Sequence[Plate] = ()
    labels: dict[str, Label] = field(default_factory=dict)
    odds: Sequence[CauseOdds] = ()
    rest: Sequence[CauseOdds] = ()
    strips: Strips | None = None
    more: Chapter | None = None
    scores: Sequence[Score] = ()
    scores_at: Chapter | None = None

    @property
    def judges(self) -> bool:
        """Whether it concludes on causes, so that calibration stands beside it."""
        section = self.section
        return section is not None and bool(section.verdicts or section.odds or section.settling)

    @property
    def anchor(self) -> str:
        """Where links lead."""
        return f"c-{self.key}"

    @property
    def name(self) -> str:
        """How it is cited."""
        return f"{'Appendix' if self.number.isalpha() else 'Section'} {self.number}"


@dataclass(frozen=True)
class Book:
    """A report in order."""

    body: tuple[Chapter, ...]
    appendices: tuple[Chapter, ...]

    def __getitem__(self, key: str) -> Chapter:
        """A chapter by its name in the code."""
        return next(c for c in (*self.body, *self.appendices) if c.key == key)


class Numbers:
    """Counts tables and figures, through the body or of one appendix."""

    def __init__(self, letter: str = "") -> None:
        self.letter = letter
        self.counted = {"Table": 0, "Figure": 0}

    def next(self, kind: str) -> Label:
        """The next number of a kind."""
        self.counted[kind] += 1
        number = f"{self.letter}{self.counted[kind]}"
        return Label(f"{kind} {number}", f"{kind.lower()}-{number}")

    def plates(self, drawn: Sequence[tuple[str, str]]) -> list[Plate]:
        """Figures with the next numbers."""
        return [Plate(self.next("Figure"), title, address) for title, address in drawn]
