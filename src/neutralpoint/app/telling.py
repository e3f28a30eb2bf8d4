"""What a case is like, told once for all changes that come while it is being looked at."""

from __future__ import annotations

import threading
from collections.abc import Callable


class OneAtATime:
    """Work that is asked for often and done in a thread of its own, never twice at a time.

    Whoever asks does not wait. Asking while the work goes on has it done once more, however often
    it was asked: many changes, or many pages, cost one look at the case.
    """

    def __init__(self, work: Callable[[], None]) -> None:
        self._work = work
        self._lock = threading.Lock()
        self._due = self._busy = False

    def ask(self) -> None:
        """Have the work done, soon."""
        with self._lock:
            self._due = True
            if self._busy:
                return
            self._busy = True
        threading.Thread(target=self._until_done, daemon=True).start()

    def _until_done(self) -> None:
        while self._taken():
            self._work()

    def _taken(self) -> bool:
        with self._lock:
            self._busy, self._due = self._due, False
            return self._busy
