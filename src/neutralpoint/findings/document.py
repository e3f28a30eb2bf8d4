"""The findings document: what a study hands to reports, figures, films and pages.

SI units and radians throughout; times are seconds after `epoch`. A reader needs nothing else but
the NetCDF files listed under `results`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime, Field

from neutralpoint.findings.conclusions import CauseOdds, CauseVerdict, Score, Settling
from neutralpoint.findings.part import Digest, Kind, Part

SCHEMA_VERSION = 2

Stage = Literal["track", "motion", "moments", "explanations", "weighing", "response", "evidence"]


class Subject(Part):
    """What the case is about, in the analyst's words."""

    title: str
    question: str
    airplane: str
    place: str = ""
    invented: bool = Field(default=False, description="True for a made-up case.")


class ReadingStep(Part):
    """The smallest change that a source can report."""

    quantity: str
    step: float = Field(ge=0.0, description="0 where no step is visible.")
    unit: str = Field(description="SI unit or rad.")
    count: int | None = Field(default=None, ge=0, description="Readings of it that the file holds.")
    interval: float | None = Field(default=None, description="Median time between them, s.")


class DataGap(Part):
    """A stretch without data."""

    start: float
    end: float


class RefusedRows(Part):
    """Rows that a reader could not use, by reason."""

    reason: str
    count: int = Field(ge=1)
    rows: list[int] = Field(default=[], description="The first few file rows concerned.")


class FlaggedRow(Part):
    """A value that was kept but down-weighted or marked."""

    source: str
    row: int
    time: float
    quantity: str
    reason: str
    residual: float | None = Field(default=None, description="Value less estimate, SI.")
    unit: str = ""


class Source(Part):
    """One input file, untouched, and what its reader found."""

    role: str = Field(description="track, wind, temperature, airplane, events ...")
    path: str = Field(description="Relative to the case folder.")
    sha256: Digest
    size: int = Field(ge=0, description="Bytes.")
    rows_read: int | None = None
    refused: list[RefusedRows] = Field(default=[])
    first: float | None = None
    last: float | None = None
    interval: float | None = Field(default=None, description="Median interval of rows, s.")
    clock: str = Field(default="", description="What is known of the clock.")
    steps: list[ReadingStep] = Field(default=[])
    gaps: list[DataGap] = Field(default=[])
    assumed: list[str] = Field(default=[])


class Assumption(Part):
    """Something taken as given, with its origin."""

    name: str
    value: str = Field(description="As the analyst would write it, with unit and +-.")
    source: str
    effect: str = Field(default="", description="What it moves, in a sentence.")


class ResolutionRow(Part):
    """What this data rate and quantization can resolve of one quantity."""

    quantity: str
    window: float = Field(gt=0.0, description="s")
    sigma: float = Field(ge=0.0, description="Standard deviation of the quantity, SI.")
    unit: str
    usable: bool
    sentence: str


class EstimatedValue(Part):
    """A level, latency or lag that was estimated from the data themselves."""

    name: str
    value: float
    sigma: float | None = None
    unit: str
    sentence: str = ""


class Event(Part):
    """Something that happened at a time known with an error."""

    time: float = Field(description="On the corrected clock.")
    half_width: float = Field(
        default=0.0, ge=0.0, description="95 % half-width, s, with that of the clock."
    )
    kind: Literal["voice", "warning", "radar", "witness", "record", "derived"]
    text: str
    source: str = ""
    clock_offset: float = Field(
        default=0.0, description="Clock of the source less the corrected clock, s; taken off."
    )
    clock_half_width: float = Field(default=0.0, ge=0.0, description="95 % half-width of it, s.")
    clock_basis: str = Field(default="", description="What the offset rests on.")


class Banded(Part):
    """A value with its 50 % and 90 % bands, SI."""

    median: float
    low50: float
    high50: float
    low90: float
    high90: float
    unit: str
    observable: bool = True


class KeyTime(Part):
    """A row of the table at key times."""

    time: float
    label: str
    kind: Kind
    values: dict[str, Banded]


class Statement(Part):
    """A sentence with its standing and what it rests on."""

    kind: Kind
    text: str
    basis: list[str] = Field(default=[], description="Files, variables, documents.")
    caution: str = ""


class SectionTable(Part):
    """A small table made by a stage."""

    caption: str
    kind: Kind
    columns: list[str]
    rows: list[list[str]]


class Limit(Part):
    """A level drawn across a panel."""

    value: float
    label: str


class PanelRequest(Part):
    """A strip chart that a stage asks for: one variable of one result file."""

    file: str
    variable: str
    label: str
    unit: str = Field(description="SI unit or rad of the variable.")
    limits: list[Limit] = Field(default=[])


class MovedReference(Part):
    """What is said with the reference moved by some seconds; the first entry is as it is."""

    seconds: float = Field(description="By how much it was moved, later positive.")
    end: float = Field(description="Its last moment, s after the epoch of the track.")
    force: list[float] | None = Field(
        default=None, description="Largest column force needed: 5, 50 and 95 %, N, pull positive."
    )
    words: dict[str, str] = Field(description="Verdict by name of the cause.")


class StageSection(Part):
    """What one stage after the motion hands to the report."""

    stage: Stage
    title: str
    cautions: list[str] = Field(default=[], description="Said beside the title of the section.")
    statements: list[Statement] = Field(default=[])
    verdicts: list[CauseVerdict] = Field(default=[])
    odds: list[CauseOdds] = Field(default=[])
    scores: list[Score] = Field(default=[], description="Calibration, shown beside conclusions.")
    settling: list[Settling] = Field(default=[], description="Most telling evidence first.")
    tables: list[SectionTable] = Field(default=[])
    moved: list[MovedReference] = Field(default=[])
    panels: list[PanelRequest] = Field(default=[])


class ResultFile(Part):
    """A NetCDF file beside the document."""

    stage: Stage
    path: str
    sha256: Digest


class Warned(Part):
    """A warning that affects a result: the four fields of every error."""

    code: str
    message: str
    where: str
    hint: str


class Correction(Part):
    """A published result that was changed later."""

    date: str
    what: str
    why: str


class Findings(Part):
    """One study, complete."""

    schema_version: Literal[2] = SCHEMA_VERSION
    program_version: str
    seed: int
    cut_off: str = Field(description="Date after which no data were taken in, ISO 8601.")
    epoch: AwareDatetime
    subject: Subject
    cautions: list[str]
    sources: list[Source]
    assumptions: list[Assumption]
    resolution: list[ResolutionRow] = Field(default=[])
    estimates: list[EstimatedValue] = Field(default=[])
    flagged: list[FlaggedRow] = Field(default=[])
    events: list[Event] = Field(default=[])
    key_times: list[KeyTime] = Field(default=[])
    statements: list[Statement] = Field(default=[])
    undetermined: list[Statement] = Field(default=[])
    sections: list[StageSection] = Field(default=[])
    results: list[ResultFile] = Field(default=[])
    warnings: list[Warned] = Field(default=[])
    corrections: list[Correction] = Field(default=[])
