"""`claims.toml` of a case: what the analyst wants to say, and what was corrected."""

from __future__ import annotations

from datetime import UTC
from datetime import datetime as Moment
from datetime import time as Clock
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from neutralpoint.documents.fields import Date, When
from neutralpoint.documents.quantity import parse_quantity
from neutralpoint.documents.refusal import refusal
from neutralpoint.documents.toml import TomlRefused, read_toml
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own
from neutralpoint.findings import Claim, ClaimedNumber, Correction, Findings
from neutralpoint.findings.claims import Extreme
from neutralpoint.findings.likelihood import Agreement, Evidence
from neutralpoint.findings.part import Digest, Fraction, Kind
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.quantity import MOTION

NAME = "claims.toml"
# What a claim may state a number of.
CLAIMED = {q.name for q in MOTION} - {"latitude", "longitude"}
DAY = 86400.0
Text = Annotated[str, Field(min_length=1, max_length=2000)]


class ClaimsPart(BaseModel):
    """A table of the file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ClaimEntry(ClaimsPart):
    """One sentence with everything it rests on."""

    name: Annotated[str, Field(pattern=r"^[a-z0-9-]+$", description="Short name.")]
    says: Text
    kind: Kind
    data: list[str] = Field(min_length=1, description="Files it rests on.")
    method: Text
    quantity: str | None = Field(default=None, description="Variable of motion.nc.")
    at: When | str | None = Field(default=None, description="UTC, or the label of a key time.")
    low: str | None = Field(default=None, description="Lower end, with unit.")
    high: str | None = Field(default=None, description="Upper end, with unit.")
    value: str | None = Field(default=None, description="Middle value, with unit.")
    extreme: Extreme | None = Field(
        default=None, description="Where the number is the highest or lowest of the flight."
    )
    cause: str = Field(default="", description="As the verdicts and odds name it.")
    likelihood: Fraction | None = Field(default=None, description="0 to 1.")
    evidence: Evidence | None = None
    agreement: Agreement | None = None
    results: dict[str, Digest] = Field(
        default={}, description="SHA-256 of the result files it was agreed on."
    )

    @model_validator(mode="after")
    def whole(self) -> ClaimEntry:
        """A number has a quantity, a time and both ends."""
        parts = (self.quantity, self.at, self.low, self.high)
        if any(part is not None for part in parts) and None in parts:
            raise ValueError("give `quantity`, `at`, `low` and `high` together, or none of them")
        if self.value is not None and self.quantity is None:
            raise ValueError("`value` needs `quantity`, `at`, `low` and `high`")
        if self.quantity is not None and self.quantity not in CLAIMED:
            raise ValueError(f"`quantity` is one of {', '.join(sorted(CLAIMED))}")
        return self


class CorrectionEntry(ClaimsPart):
    """A published sentence or result that was changed later."""

    date: Date
    what: Text
    why: Text


class ClaimsDocument(ClaimsPart):
    """The whole file."""

    schema_version: Literal[1] = Field(alias="schema")
    claims: tuple[ClaimEntry, ...] = ()
    corrections: tuple[CorrectionEntry, ...] = ()


def read_claims(case: Path, findings: Findings) -> tuple[list[Claim], list[Correction]]:
    """Read the claims of a case.

    Args:
        case: The case folder.
        findings: For the epoch and the labels of key times.

    Returns:
        Claims in SI and the correction log; both empty without a file.

    Raises:
        NeutralPointError: `claims-invalid`, or a code of quantities, for the first thing wrong.
    """
    path = case / NAME
    try:
        text = read_own(path).decode("utf-8")
    except FileNotFoundError:
        return [], []
    except UnicodeDecodeError as broken:
        raise NeutralPointError(
            "claims-invalid",
            f"The file is not UTF-8 at byte {broken.start}.",
            where=str(path),
            hint="Save it as UTF-8.",
        ) from broken
    return parse_claims(text, findings, str(path))


def parse_claims(
    text: str, findings: Findings, where: str = NAME
) -> tuple[list[Claim], list[Correction]]:
    """The claims in a TOML text.

    Args:
        text: TOML.
        findings: For the epoch and the labels of key times.
        where: What errors call it.

    Returns:
        Claims in SI and the correction log.

    Raises:
        NeutralPointError: As `read_claims`.
    """
    document = _document(text, where)
    claims = [_claim(entry, findings, where) for entry in document.claims]
    log = [
        Correction(date=e.date.isoformat(), what=e.what, why=e.why) for e in document.corrections
    ]
    return claims, log


def _document(text: str, where: str) -> ClaimsDocument:
    try:
        return ClaimsDocument.model_validate(read_toml(text))
    except TomlRefused as broken:
        raise NeutralPointError(
            "claims-invalid",
            f"The file is not valid TOML: {broken}.",
            where=where,
            hint="docs/how-to/make-claims.md shows one.",
        ) from broken
    except ValidationError as invalid:
        raise refusal(invalid, ClaimsDocument, text, where, kind="claims") from invalid


def _claim(entry: ClaimEntry, findings: Findings, where: str) -> Claim:
    place = f"{where}: {entry.name}"
    return Claim(
        **entry.model_dump(exclude={"quantity", "at", "low", "high", "value", "extreme"}),
        number=_number(entry, findings, place),
    )


def _number(entry: ClaimEntry, findings: Findings, where: str) -> ClaimedNumber | None:
    if entry.quantity is None or entry.at is None:
        return None
    unit = QUANTITIES[entry.quantity].unit.removeprefix("1")
    low, high = (
        parse_quantity(text, unit, f"{where}.{key}").value
        for key, text in (("low", entry.low), ("high", entry.high))
    )
    if low > high:
        raise NeutralPointError(
            "claims-invalid",
            f"`low` {entry.low} lies above `high` {entry.high}.",
            where=where,
            hint="Give the smaller end as `low`.",
        )
    value = None
    if entry.value is not None:
        value = parse_quantity(entry.value, unit, f"{where}.value").value
    return ClaimedNumber(
        quantity=entry.quantity, time=_time(entry.at, findings, where), low=low, high=high,
        value=value, extreme=entry.extreme,
    )  # fmt: skip


def _time(at: Clock | Moment | str, findings: Findings, where: str) -> float:
    """s after the epoch; a clock alone is the one nearest to the record."""
    if isinstance(at, Moment):
        aware = at if at.tzinfo is not None else at.replace(tzinfo=UTC)
        return (aware - findings.epoch).total_seconds()
    if isinstance(at, Clock):
        epoch = findings.epoch
        midnight = epoch.hour * 3600 + epoch.minute * 60 + epoch.second + epoch.microsecond * 1e-6
        seconds = at.hour * 3600 + at.minute * 60 + at.second + at.microsecond * 1e-6 - midnight
        middle = middle_of(findings)
        return seconds + DAY * round((middle - seconds) / DAY)
    found = [row.time for row in findings.key_times if row.label == at]
    if not found:
        labels = ", ".join(dict.fromkeys(row.label for row in findings.key_times))
        raise NeutralPointError(
            "claims-invalid",
            f"There is no key time {at!r}.",
            where=where,
            hint=f"Give a time such as 18:57:27, or one of: {labels}.",
        )
    return found[0]


def middle_of(findings: Findings) -> float:
    """Middle of the record, s after the epoch; 0 without key times."""
    times = [row.time for row in findings.key_times]
    return (min(times) + max(times)) / 2.0 if times else 0.0
