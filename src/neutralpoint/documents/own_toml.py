"""A TOML file that an analyst lays beside the case, read by one set of steps."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from neutralpoint.documents.refusal import refusal
from neutralpoint.documents.toml import TomlRefused, read_toml
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own

Document = TypeVar("Document", bound=BaseModel)


def read_document(path: Path, model: type[Document], *, kind: str, hint: str) -> Document | None:
    """Read a document that may be missing.

    Args:
        path: The file.
        model: What it holds.
        kind: Of the file; errors have the code `KIND-invalid`.
        hint: What to do about a file that is no TOML.

    Returns:
        The document; None without a file.

    Raises:
        NeutralPointError: `KIND-invalid` for the first thing wrong.
    """
    try:
        text = read_own(path).decode("utf-8")
    except FileNotFoundError:
        return None
    except UnicodeDecodeError as broken:
        raise NeutralPointError(
            f"{kind}-invalid", f"The file is not UTF-8 at byte {broken.start}.",
            where=str(path), hint=hint,
        ) from broken  # fmt: skip
    return parse_document(text, model, where=str(path), kind=kind, hint=hint)


def parse_document(
    text: str, model: type[Document], *, where: str, kind: str, hint: str
) -> Document:
    """Read a document from its text.

    Args:
        text: TOML.
        model: What it holds.
        where: Named in errors.
        kind: Of the file; errors have the code `KIND-invalid`.
        hint: What to do about a text that is no TOML.

    Returns:
        The document.

    Raises:
        NeutralPointError: `KIND-invalid` for the first thing wrong.
    """
    try:
        return model.model_validate(read_toml(text))
    except TomlRefused as broken:
        raise NeutralPointError(
            f"{kind}-invalid", f"The file is not valid TOML: {broken}.", where=where, hint=hint
        ) from broken
    except ValidationError as invalid:
        raise refusal(invalid, model, text, where, kind=kind) from invalid
