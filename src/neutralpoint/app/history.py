"""Every change of a case can be taken back: texts before and after, and files moved, on disk.

`CASE/.history/` holds one small JSON file for each change and `at`, the number of the last change
that stands. A file that is removed or replaced is moved to `CASE/.removed/` and never deleted.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from neutralpoint.app.folders import HISTORY, REMOVED
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_folder, read_own, write_whole

# Of a change that somebody else wrote.
DAMAGED = (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError)
KEPT = 100  # changes that can be taken back
Move = tuple[str, str]  # from and to, below the case folder


@dataclass(frozen=True)
class Change:
    """One change of a case.

    Attributes:
        texts: Before and after by file name; None where there is no such file.
        moves: Files moved, in order.
    """

    texts: Mapping[str, tuple[str | None, str | None]]
    moves: tuple[Move, ...] = ()


class History:
    """The changes of one case; the caller holds the lock of the case."""

    def __init__(self, folder: Path) -> None:
        self._case, self._folder = folder, folder / HISTORY

    def can_undo(self) -> bool:
        """Whether a change stands that can be taken back."""
        return self._at() in self._numbers()

    def can_redo(self) -> bool:
        """Whether a change was taken back that can be made again."""
        return any(number > self._at() for number in self._numbers())

    def next_number(self) -> int:
        """Number that the next change gets."""
        return self._at() + 1

    def make(self, change: Change) -> None:
        """Make a change, and remember it; changes that were taken back are forgotten.

        Args:
            change: The change.
        """
        own_folder(self._folder, make=True)
        self._apply(change.texts, change.moves)
        number = self.next_number()
        for old in self._numbers():
            if old >= number or old <= number - KEPT:
                self._path(old).unlink(missing_ok=True)
        written = {"texts": {k: list(v) for k, v in change.texts.items()}, "moves": change.moves}
        write_whole(self._path(number), json.dumps(written).encode())
        write_whole(self._folder / "at", str(number).encode())

    def undo(self) -> None:
        """Take the last change back.

        Raises:
            NeutralPointError: `revision-old` where there is none, or the files are others now.
        """
        number = self._at()
        change = self._read(number, "undo")
        back = {name: (after, before) for name, (before, after) in change.texts.items()}
        self._apply(back, tuple((to, come) for come, to in reversed(change.moves)))
        below = [n for n in self._numbers() if n < number]
        write_whole(self._folder / "at", str(max(below, default=number - 1)).encode())

    def redo(self) -> None:
        """Make the change again that was taken back last.

        Raises:
            NeutralPointError: `revision-old` where there is none, or the files are others now.
        """
        above = [n for n in self._numbers() if n > self._at()]
        change = self._read(min(above, default=-1), "redo")
        self._apply(change.texts, change.moves)
        write_whole(self._folder / "at", str(min(above)).encode())

    def _apply(
        self, texts: Mapping[str, tuple[str | None, str | None]], moves: tuple[Move, ...]
    ) -> None:
        """All of it or nothing: texts must be as they were, and no move may meet a file."""
        for name, (before, _) in texts.items():
            if read_text(self._case / name) != before:
                raise _old(f"{name} was changed since.", name)
        there = {name for move in moves for name in move if (self._case / name).is_file()}
        for come, to in moves:
            if come not in there or to in there:
                raise _old(f"{Path(come).name} is no longer where it was.", come)
            there = (there - {come}) | {to}
        for come, to in moves:
            own_folder((self._case / to).parent, make=True)
            (self._case / come).rename(self._case / to)
        for name, (_, after) in texts.items():
            if after is None:
                (self._case / name).unlink()
            else:
                write_whole(self._case / name, after.encode())

    def _path(self, number: int) -> Path:
        return self._folder / f"{number:06d}.json"

    def _numbers(self) -> list[int]:
        if not self._folder.is_dir():
            return []
        return sorted(int(p.stem) for p in self._folder.glob("*.json") if p.stem.isdigit())

    def _at(self) -> int:
        with contextlib.suppress(OSError, ValueError):
            return int(read_own(self._folder / "at"))
        return 0

    def _read(self, number: int, what: str) -> Change:
        try:
            kept = json.loads(read_own(self._path(number)))
            texts = {str(k): (_text(v[0]), _text(v[1])) for k, v in kept["texts"].items()}
            moves = tuple((str(a), str(b)) for a, b in kept["moves"])
        except DAMAGED as gone:
            raise _old(f"There is nothing to {what}.", what) from gone
        for name in (*texts, *(part for move in moves for part in move)):
            parts = Path(name).parts
            if ".." in parts or Path(name).is_absolute() or parts[:-1] not in ((), (REMOVED,)):
                raise _old("The history of the case is damaged.", what)
        return Change(texts, moves)


def _text(value: object) -> str | None:
    if value is not None and not isinstance(value, str):
        raise TypeError("no text")
    return value


def read_text(path: Path) -> str | None:
    """The text of a file as it is; None where there is none."""
    try:
        return read_own(path).decode("utf-8", "replace")
    except FileNotFoundError:
        return None


def _old(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "revision-old", message, where=where, hint="Load the page again to see the case as it is."
    )
