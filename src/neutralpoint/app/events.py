"""What happened, told to every page that listens: server-sent events."""

from __future__ import annotations

import asyncio
import contextlib
import json
import threading
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from neutralpoint.app.folders import RESULTS
from neutralpoint.app.replies import finite

WAITING = 256  # events kept for a slow page; the oldest go first
HEARTBEAT = 15.0  # s between signs of life, which also find out that a page is gone
LOOK = 1.0  # s between looks at the folders of cases that somebody listens to


@dataclass(eq=False)
class _Listener:
    case: str
    loop: asyncio.AbstractEventLoop
    queue: asyncio.Queue[str | None]

    def put(self, text: str | None) -> None:
        if self.queue.full():
            self.queue.get_nowait()
        self.queue.put_nowait(text)


class Hub:
    """Hands events to listeners; may be told from any thread."""

    def __init__(self) -> None:
        self._listeners: set[_Listener] = set()
        self._lock = threading.Lock()
        self._closed = False

    def tell(self, case: str, kind: str, value: Any) -> None:
        """Tell the pages of a case.

        Args:
            case: Name of the case.
            kind: Name of the event.
            value: JSON value.
        """
        self._tell(case, f"event: {kind}\ndata: {json.dumps(finite(value))}\n\n")

    def heard(self) -> set[str]:
        """Cases that somebody listens to."""
        with self._lock:
            return {listener.case for listener in self._listeners}

    def close(self) -> None:
        """End every stream; new ones end at once."""
        self._closed = True
        self._tell(None, None)

    def _tell(self, case: str | None, text: str | None) -> None:
        with self._lock:
            chosen = [one for one in self._listeners if case in (None, one.case)]
        for one in chosen:
            with contextlib.suppress(RuntimeError):  # its loop has ended
                one.loop.call_soon_threadsafe(one.put, text)

    async def stream(self, case: str) -> AsyncIterator[str]:
        """Events of a case as the text of a stream, until the page leaves or the hub closes."""
        listener = _Listener(case, asyncio.get_running_loop(), asyncio.Queue(WAITING))
        with self._lock:
            self._listeners.add(listener)
        try:
            yield "retry: 1000\n\n"
            while not self._closed:
                try:
                    text = await asyncio.wait_for(listener.queue.get(), HEARTBEAT)
                except TimeoutError:
                    text = ": still here\n\n"
                if text is None:
                    break
                yield text
        finally:
            with self._lock:
                self._listeners.discard(listener)


async def watch(hub: Hub, folders: dict[str, Path]) -> None:
    """Tell `state` whenever a file of a case that is listened to changes on disk.

    Args:
        hub: Whom to tell.
        folders: Folder of each case.
    """
    seen: dict[str, Any] = {}
    while True:
        for case in hub.heard():
            now = await asyncio.to_thread(fingerprint, folders[case])
            if seen.setdefault(case, now) != now:
                seen[case] = now
                hub.tell(case, "state", {})
        await asyncio.sleep(LOOK)


def fingerprint(folder: Path) -> tuple[tuple[str, int, int], ...]:
    """Name, size and time of every file of a case and of its results."""
    found = []
    for place in (folder, folder / RESULTS):
        with contextlib.suppress(OSError):
            for path in sorted(place.iterdir()):
                with contextlib.suppress(OSError):
                    about = path.stat()
                    if not path.name.startswith("."):
                        found.append((path.name, about.st_size, about.st_mtime_ns))
    return tuple(found)
