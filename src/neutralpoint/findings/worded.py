"""Sections in words: what a page, the command line and a document of version 2 hold of a stage.

`report.words` makes these from the typed findings; a document of version 2 holds nothing else. No
program reads a sentence of them.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Kind, Part

Stage = Literal[
    "track",
    "motion",
    "moments",
    "physics",
    "history",
    "explanations",
    "weighing",
    "signatures",
    "response",
    "evidence",
    "limits",
    "wreckage",
    "heard",
    "felt",
    "outside",
]


class Statement(Part):
    """A sentence with its standing and what it rests on."""

    kind: Kind
    text: str
    basis: list[str] = Field(default=[], description="Files, variables, documents.")
    caution: str = ""
    detail: bool = Field(default=False, description="Stands in an appendix of the report.")
    about: str = Field(default="", description="Name of the one cause that it speaks of.")


class SectionTable(Part):
    """A small table of a section."""

    caption: str
    kind: Kind
    columns: list[str]
    rows: list[list[str]]
    detail: bool = Field(default=False, description="Stands in an appendix of the report.")


class Limit(Part):
    """A level drawn across a panel."""

    value: float
    label: str


class PanelRequest(Part):
    """A strip chart of a section: one variable of one result file."""

    file: str
    variable: str
    label: str
    unit: str = Field(description="SI unit or rad of the variable.")
    limits: list[Limit] = Field(default=[])


class CauseVerdict(Part):
    """One cause, in words."""

    cause: str = Field(description="Its name in the data and on the command line.")
    title: str = Field(default="", description="What people read; empty: as the name.")
    word: Literal["cannot", "can if", "can", "not judged"]
    probability: Fraction | None = None
    condition: str = Field(default="", description="What saves it.")
    closest_miss: str = Field(default="", description="What a cause that cannot comes nearest to.")
    sentence: str
    basis: list[str] = Field(default=[])

    @property
    def said(self) -> str:
        """The cause as people read it."""
        return self.title or self.cause


class CauseOdds(Part):
    """Probability of one cause against the others of the list, in words."""

    cause: str = Field(description="Its name in the data and on the command line.")
    title: str = Field(default="", description="What people read; empty: as the name.")
    probability: Fraction = Field(description="Among the causes listed and an unlisted one.")
    lowest: Fraction = Field(description="Of the networks.")
    highest: Fraction = Field(description="Of the networks.")
    listed: bool = Field(default=True, description="False for the row of an unlisted cause.")
    sentence: str = ""

    @property
    def said(self) -> str:
        """The cause as people read it."""
        return self.title or self.cause


class Score(Part):
    """How well the method did on flights whose cause was known, in words."""

    name: str = Field(description="Such as log score, Brier score, coverage of the 90% band.")
    value: float
    low90: float | None = Field(default=None, description="Lower end over the flights drawn.")
    high90: float | None = None
    cases: int = Field(ge=1, description="Number of flights.")
    sentence: str = Field(description="What the figure means, and for which data it holds.")


class Settling(Part):
    """A piece of evidence that is not in hand, and what it would tell, in words."""

    item: str
    gain: float = Field(ge=0.0, description="Expected fall of entropy over the causes, bit.")
    lowest: float | None = Field(default=None, description="Of the networks.")
    highest: float | None = None
    effort: str = Field(default="", description="What it takes to get it.")
    outcomes: list[str] = Field(default=[], description="If this is found, then that follows.")


class WordedBox(Part):
    """Physics that a reader can check by hand: one formula with the numbers of this case."""

    key: str
    title: str
    formula: str
    given: list[str] = Field(description="Each symbol with its value, band and unit.")
    worked: list[str] = Field(description="The numbers put in, one line a use of the formula.")
    sentence: str
    source: str


class StageSection(Part):
    """One stage after the motion, in words."""

    stage: Stage
    title: str
    cautions: list[str] = Field(default=[], description="Printed beside the title of the section.")
    statements: list[Statement] = Field(default=[])
    verdicts: list[CauseVerdict] = Field(default=[])
    odds: list[CauseOdds] = Field(default=[])
    scores: list[Score] = Field(default=[], description="Calibration, shown beside conclusions.")
    settling: list[Settling] = Field(default=[], description="Most telling evidence first.")
    boxes: list[WordedBox] = Field(default=[])
    tables: list[SectionTable] = Field(default=[])
    panels: list[PanelRequest] = Field(default=[])


class Worded(Part):
    """The sentences of a document of version 2; empty in any later one."""

    statements: list[Statement] = Field(default=[])
    undetermined: list[Statement] = Field(default=[])
    sections: list[StageSection] = Field(default=[])
