"""One request to a case, as the functions that answer it are given it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from neutralpoint.app.notebook import Notebook
from neutralpoint.errors import NeutralPointError


@dataclass(frozen=True)
class Call:
    """One request to a case.

    Attributes:
        notebook: The case.
        query: After the question mark.
        place: Parts of the address.
        body: JSON, text, or the path of a new file, as the call wants it.
    """

    notebook: Notebook
    query: dict[str, str]
    place: dict[str, str]
    body: Any

    def text(self, key: str) -> str:
        """A text of the query; empty where it is not given."""
        return self.query.get(key, "")

    def number(self, key: str, default: float) -> float:
        """A number of the query.

        Raises:
            NeutralPointError: `request-invalid` where it is none.
        """
        text = self.query.get(key, "")
        if not text:
            return default
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise NeutralPointError(
                "request-invalid", f"{text[:40]!r} is no number.", where=key, hint="Give seconds."
            )
        return value


Handler = Callable[[Call], Any]
# Method, address below /c/CASE/api/, what the body is, and what is done.
Entry = tuple[str, str, str, Handler]
