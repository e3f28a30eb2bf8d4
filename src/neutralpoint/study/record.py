"""The record of a stage: from what its results were made, and what it says of them.

A record lies beside the results as `stage-NAME.json`. Its results are used again as long as
everything that they were made from is the same and every file has the hash written there.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, JsonValue, ValidationError

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_file, read_own
from neutralpoint.findings import (
    CauseEnding,
    EstimatedValue,
    EvidenceFindings,
    FeltFindings,
    FlaggedRow,
    HeardFindings,
    HistoryFindings,
    LimitsFindings,
    MomentsFindings,
    MotionFindings,
    OutsideFindings,
    PhysicsFindings,
    ResolutionRow,
    ResponseFindings,
    SignatureFindings,
    Warned,
    WeighingFindings,
    WreckageFindings,
)
from neutralpoint.findings.worded import Stage as StageName

# Parts of the package that say or show what others worked out.
OUTER = frozenset({"api", "app", "cli", "report"})
CODE = frozenset({".py", ".toml", ".json", ".npz"})
# Files of a stage: a record may come from a stranger, and those that it names are replaced.
RESULT_NAME = r"^[a-z0-9][a-z0-9-]*\.(nc|json|geojson|kml)$"
# Keys of the case that are printed but change no number.
WORDS = frozenset(
    {
        *("title", "question", "place", "invented", "cut_off", "events"),
        *("airplane.name", "airplane.registration"),
    }
)


# Keys and roles of what is known beside the track: the stages of the track do not look at them.
BESIDE = frozenset({"debris", "history", "recordings", "recording", "outside"})


class Made(BaseModel):
    """What a stage contributes to the findings.

    Attributes:
        motion: What the flight path establishes.
        moments: What the required moment establishes.
        physics: What a reader can check by hand.
        history: Earlier flights.
        weighing: The odds.
        signatures: Every cause beside the data.
        evidence: What would tell the causes apart.
        response: Time and strength.
        limits: Which limits were passed.
        heard: What recordings tell.
        felt: What could be seen and felt.
        outside: What other packages add.
        wreckage: Where the airplane and its parts came down.
        endings: How flights of the remaining causes come down.
        warnings: What may affect its results.
        resolution: What the data can resolve; of the motion.
        estimates: What the data show of themselves; of the motion.
        flagged: Rows that are doubtful; of the motion.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    warnings: tuple[Warned, ...] = ()
    resolution: tuple[ResolutionRow, ...] = ()
    estimates: tuple[EstimatedValue, ...] = ()
    flagged: tuple[FlaggedRow, ...] = ()
    motion: MotionFindings | None = None
    moments: MomentsFindings | None = None
    physics: PhysicsFindings | None = None
    history: HistoryFindings | None = None
    weighing: WeighingFindings | None = None
    signatures: SignatureFindings | None = None
    evidence: EvidenceFindings | None = None
    response: ResponseFindings | None = None
    limits: LimitsFindings | None = None
    wreckage: WreckageFindings | None = None
    heard: HeardFindings | None = None
    felt: FeltFindings | None = None
    outside: OutsideFindings | None = None
    endings: tuple[CauseEnding, ...] = ()


class Record(BaseModel):
    """A stage that was run.

    Attributes:
        stage: Its name.
        basis: Digest of everything that the results were made from but the settings.
        settings: Of the stage.
        files: SHA-256 by file name.
        made: What it says.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    stage: StageName
    basis: str
    settings: dict[str, JsonValue]
    files: dict[Annotated[str, Field(pattern=RESULT_NAME)], str]
    made: Made

    @property
    def identity(self) -> str:
        """Digest of the record, for the stages that start from its results."""
        return _digest([self.stage, self.basis, self.settings, self.files])


def record_path(results: Path, stage: str) -> Path:
    """Where the record of a stage lies."""
    return results / f"stage-{stage}.json"


def read_record(results: Path, stage: str) -> Record | None:
    """The record of a stage whose files are all as it left them.

    Args:
        results: The results folder.
        stage: Name of the stage.

    Returns:
        The record; None where there is none that can be used.
    """
    try:
        record = Record.model_validate_json(read_own(record_path(results, stage)))
        whole = all(_held(results, name) == sha for name, sha in record.files.items())
    except (OSError, ValidationError, UnicodeDecodeError, NeutralPointError):
        return None
    return record if whole else None


def _held(results: Path, name: str) -> str:
    """SHA-256 of a file that a record names; empty where the folder holds none of its own."""
    path = own_file(results, name)
    return "" if path is None else file_digest(path)


def file_digest(path: Path) -> str:
    """SHA-256 of a file, hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def basis_of(
    case: Case, ignored: Iterable[str], upstream: Mapping[str, Record], beside: str = ""
) -> str:
    """Digest of everything that the results of a stage are made from but its settings.

    Args:
        case: The case.
        ignored: Keys of the case file that change no number of the stage, `table.key` for one of a
            table.
        upstream: Records of the stages that it starts from.
        beside: Digest of files that the case does not hold.

    Returns:
        SHA-256, hexadecimal.
    """
    left_out = WORDS | set(ignored)
    return _digest(
        [
            neutralpoint.__version__,
            program_digest(),
            case.document.model_dump(mode="json", exclude=_excluded(left_out)),
            [
                [source.role, source.path, source.sha256]
                for source in case.sources
                if source.role != "case" and source.role not in left_out
            ],
            {name: record.identity for name, record in upstream.items()},
            *([beside] if beside else []),
        ]
    )


def _excluded(keys: Collection[str]) -> dict[str, Any]:
    """Keys and keys of tables as pydantic leaves them out."""
    excluded: dict[str, Any] = {}
    for key in sorted(keys):
        table, _, inner = key.partition(".")
        if inner:
            excluded.setdefault(table, set()).add(inner)
        else:
            excluded[table] = True
    return excluded


@cache
def program_digest() -> str:
    """Digest of the program's own files, for a version is not always counted up."""
    root = Path(neutralpoint.__file__).parent
    files = sorted(
        path
        for path in root.rglob("*")
        if path.suffix in CODE and path.relative_to(root).parts[0] not in OUTER
    )
    return _digest([[path.relative_to(root).as_posix(), file_digest(path)] for path in files])


def _digest(content: object) -> str:
    text = json.dumps(content, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()
