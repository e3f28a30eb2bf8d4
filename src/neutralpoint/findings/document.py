"""The findings document: what a study hands to reports, figures, films and pages.

SI units and radians throughout; times are seconds after `epoch`. A reader needs nothing else but
the NetCDF files listed under `results`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime, Field

from neutralpoint.findings.felt import FeltFindings
from neutralpoint.findings.heard import HeardFindings
from neutralpoint.findings.history import HistoryFindings
from neutralpoint.findings.judgement import JudgementFindings
from neutralpoint.findings.limits import LimitsFindings
from neutralpoint.findings.moments import MomentsFindings
from neutralpoint.findings.motion import EstimatedValue, MotionFindings, ResolutionRow
from neutralpoint.findings.onset import OnsetHeadline
from neutralpoint.findings.outside import OutsideFindings
from neutralpoint.findings.part import Digest, Kind, Part
from neutralpoint.findings.physics import PhysicsFindings
from neutralpoint.findings.response import ResponseFindings
from neutralpoint.findings.signatures import SignatureFindings
from neutralpoint.findings.weighing import EvidenceFindings, WeighingFindings
from neutralpoint.findings.worded import Stage, Worded
from neutralpoint.findings.wreckage import CauseEnding, WreckageFindings

SCHEMA_VERSION = 4


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
    reason: str = Field(default="", description="Of its reader; empty: off the motion.")
    deviations: float | None = Field(
        default=None, description="Reading less motion, standard deviations."
    )
    weight: float | None = Field(default=None, description="Left to it in the motion.")


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


class Event(Part):
    """Something that happened at a time known with an error."""

    time: float = Field(description="On the corrected clock.")
    half_width: float = Field(
        default=0.0, ge=0.0, description="95% half-width, s, with that of the clock."
    )
    kind: Literal["voice", "warning", "radar", "witness", "record", "derived"]
    text: str
    source: str = ""
    clock_offset: float = Field(
        default=0.0, description="Clock of the source less the corrected clock, s; taken off."
    )
    clock_half_width: float = Field(default=0.0, ge=0.0, description="95% half-width of it, s.")
    clock_basis: str = Field(default="", description="What the offset rests on.")


class Banded(Part):
    """A value with its 50% and 90% bands, SI."""

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

    schema_version: Literal[4] = SCHEMA_VERSION
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
    motion: MotionFindings | None = None
    onset: OnsetHeadline | None = Field(
        default=None, description="Whether an onset was found, in one word."
    )
    moments: MomentsFindings | None = None
    physics: PhysicsFindings | None = None
    history: HistoryFindings | None = None
    weighing: WeighingFindings | None = None
    signatures: SignatureFindings | None = None
    evidence: EvidenceFindings | None = None
    response: ResponseFindings | None = None
    judgement: JudgementFindings | None = None
    limits: LimitsFindings | None = None
    wreckage: WreckageFindings | None = None
    heard: HeardFindings | None = None
    felt: FeltFindings | None = None
    outside: OutsideFindings | None = None
    endings: list[CauseEnding] = Field(
        default=[], description="How the flights of each remaining cause would come down."
    )
    worded: Worded = Field(default=Worded(), description="Of a document of version 2.")
    results: list[ResultFile] = Field(default=[])
    warnings: list[Warned] = Field(default=[])
    outdated: list[str] = Field(
        default=[], description="Stages whose numbers are older than the case or the program."
    )
    corrections: list[Correction] = Field(default=[])
