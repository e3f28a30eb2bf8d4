"""How words of findings are set on a page: true signs, names of keys, heads of columns."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

MINUS = re.compile(r"(?:(?<=[\s(\[\u00b1])|^)-(?=\d)")
KEY = re.compile(r"`([^`]+)`")
SYMBOLS = ("p-value", "ln ")  # heads that begin with a symbol, which has a case of its own


def prose(text: object) -> Markup:
    """Words with a true minus and plus-minus sign, and keys of files set as such.

    Args:
        text: As the findings have it.

    Returns:
        HTML, escaped.
    """
    signed = MINUS.sub("\u2212", str(text).replace("+-", "\u00b1"))
    return Markup(KEY.sub(r"<code>\1</code>", str(escape(signed))))


def heading(text: str) -> str:
    """The head of a column with a capital, unless it begins with a symbol."""
    return text if text.startswith(SYMBOLS) else f"{text[:1].upper()}{text[1:]}"
