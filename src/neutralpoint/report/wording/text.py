"""The file of the analyst's own text; nothing slow is loaded to find that it is none."""

from __future__ import annotations

from pathlib import Path

from neutralpoint.errors import NeutralPointError

LARGEST = 5_000_000  # bytes of a text; a book has about one million


def read_text(path: Path) -> str:
    """A text file of the analyst.

    Args:
        path: Markdown or plain text in UTF-8.

    Returns:
        Its text.

    Raises:
        NeutralPointError: `file-missing`, `file-too-large` or `file-format`.
    """
    if not path.is_file():
        raise NeutralPointError(
            "file-missing", "There is no such text.", where=str(path),
            hint="Name a Markdown or plain text file.",
        )  # fmt: skip
    if path.stat().st_size > LARGEST:
        raise NeutralPointError(
            "file-too-large", f"The text is larger than {LARGEST} bytes.", where=str(path),
            hint="Split it.",
        )  # fmt: skip
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as broken:
        raise NeutralPointError(
            "file-format", f"The text is not in UTF-8: {broken.reason}.", where=str(path),
            hint="Save it as UTF-8 text.",
        ) from broken  # fmt: skip
