"""From the text of `case.toml` to its document, whole or as far as it has been written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from neutralpoint.case.document import LIFT_KEYS, CaseDocument
from neutralpoint.case.files import NAME
from neutralpoint.documents.fields import INCOMPLETE
from neutralpoint.documents.refusal import refusal, refusals
from neutralpoint.documents.toml import TomlRefused, read_toml
from neutralpoint.errors import NeutralPointError

Lack = tuple[str, NeutralPointError]  # dotted path, and what is said of it


@dataclass(frozen=True)
class Draft:
    """A case file that may be half written.

    Attributes:
        table: What it holds, as TOML.
        document: The case file where it is whole; None otherwise.
        missing: What a study still needs, by path.
        faults: What it holds and must not, by path.
    """

    table: Mapping[str, Any]
    document: CaseDocument | None
    missing: tuple[Lack, ...]
    faults: tuple[Lack, ...]


# A command looks at the case file before it loads what a study needs, and the study reads the same
# text again: it is parsed once. Documents are frozen, so that one may serve both.
@lru_cache(maxsize=1)
def parse_case(text: str, where: str = NAME) -> CaseDocument:
    """The document in a TOML text.

    Args:
        text: TOML.
        where: What errors call it.

    Returns:
        The document.

    Raises:
        NeutralPointError: `case-syntax` where it is no TOML, `case-invalid`, `quantity-invalid`
            or `quantity-unit` for the first key or value that is refused, `case-incomplete`
            for the first that is missing.
    """
    try:
        return CaseDocument.model_validate(_table(text, where))
    except ValidationError as invalid:
        raise refusal(invalid, CaseDocument, text, where) from invalid


def parse_draft(text: str, where: str = NAME) -> Draft:
    """What a TOML text holds of a case: values are checked, and what is missing is listed.

    Args:
        text: TOML.
        where: What errors call it.

    Returns:
        The draft.

    Raises:
        NeutralPointError: `case-syntax` where it is no TOML.
    """
    table = _table(text, where)
    try:
        return Draft(table, CaseDocument.model_validate(table), (), ())
    except ValidationError as invalid:
        found = refusals(invalid, CaseDocument)
    faults = tuple(entry for entry in found if not _lacks(entry))
    lacking = [
        entry
        for entry in found
        # Entries at fault do not count, and the list would be called empty for their sake.
        if _lacks(entry) and entry[0] != "airplane" and not _filled(table, entry[0])
    ]
    return Draft(table, None, (*lacking, *_airplane(table)), faults)


def _lacks(entry: Lack) -> bool:
    """Whether a fault is something missing; without its `schema` a file is no case file."""
    return entry[1].code == INCOMPLETE and entry[0] != "schema"


def _filled(table: Mapping[str, Any], path: str) -> bool:
    """Whether a path is a list of the file that holds entries."""
    held = table.get(path)
    return isinstance(held, list) and len(held) > 0


def _airplane(table: Mapping[str, Any]) -> list[Lack]:
    """What the airplane lacks, key by key, also where there is no airplane at all yet."""
    held = table.get("airplane", {})
    if not isinstance(held, Mapping) or "file" in held:
        return []
    needed = (*(() if "airplane" in table else ("name",)), *LIFT_KEYS)
    return [_lacking(f"airplane.{key}") for key in needed if key not in held]


def _lacking(path: str) -> Lack:
    hint = (
        "Its type."
        if path.endswith(".name")
        else "Give each, or name an airplane file that holds them."
    )
    return path, NeutralPointError(
        INCOMPLETE, f"The key `{path}` is missing.", where=path, hint=hint
    )


def _table(text: str, where: str) -> dict[str, Any]:
    try:
        return read_toml(text)
    except TomlRefused as error:
        raise NeutralPointError(
            "case-syntax",
            f"The case file is not valid TOML: {error}.",
            where=where,
            hint='Texts and quantities need quotes, like mass = "10 900 lb +- 150 lb".',
        ) from error
