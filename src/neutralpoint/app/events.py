"""What happened, told to every page that listens: server-sent events."""

from __future__ import annotations

import asyncio
import contextlib
import json
import threading
from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from neutralpoint.app.folders import RESULTS
from neutralpoint.app.replies import finite

WAITING = 256  # events kept for a slow page; the oldest go first
HEARTBEAT = 15.0  # s between signs of life, which also find out that a page is gone
LOOK = 1.0  # s between looks at the folders of cases that pages show


@dataclass(eq=False)
class _Listener:
    loop: asyncio.AbstractEventLoop
    queue: asyncio.Queue[str | None]

    def put(self, text: str | None) -> None:
        if self.queue.full():
            self.queue.get_nowait()
        self.queue.put_nowait(text)


class Hub:
    """Hands events of all cases to whoever listens; may be told from any thread.

    A browser holds few connections to a host, so one stream serves all its tabs, whatever case
    each shows.
    """

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
        told = {"case": case, "value": finite(value)}
        self._tell(f"event: {kind}\ndata: {json.dumps(told)}\n\n")

    def heard(self) -> bool:
        """Whether anybody listens."""
        with self._lock:
            return bool(self._listeners)

    def close(self) -> None:
        """End every stream; new ones end at once."""
        self._closed = True
        self._tell(None)

    def _tell(self, text: str | None) -> None:
        with self._lock:
            chosen = list(self._listeners)
        for one in chosen:
            with contextlib.suppress(RuntimeError):  # its loop has ended
                one.loop.call_soon_threadsafe(one.put, text)

    async def stream(self) -> AsyncIterator[str]:
        """Events as the text of a stream, until the page leaves or the hub closes."""
        listener = _Listener(asyncio.get_running_loop(), asyncio.Queue(WAITING))
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


async def watch(
    hub: Hub, shown: Callable[[], Mapping[str, Path]], changed: Callable[[str], None]
) -> None:
    """Say of a case that a page shows whenever a file of it changes on disk.

    Args:
        hub: Where pages listen; while none does, nothing is looked at.
        shown: Folder of each case that a page has asked for.
        changed: Told the name of a case that is another now.
    """
    known: dict[str, Any] = {}
    while True:
        for case, folder in shown().items() if hub.heard() else ():
            now = await asyncio.to_thread(fingerprint, folder)
            if known.setdefault(case, now) != now:
                known[case] = now
                changed(case)
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
