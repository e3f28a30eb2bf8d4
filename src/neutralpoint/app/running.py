"""The server itself, on a socket that is held already."""

from __future__ import annotations

import contextlib
import importlib
import socket
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import uvicorn

from neutralpoint.app.calls.reading import POINTS
from neutralpoint.app.memory import few_arenas
from neutralpoint.app.notebook import FIRST_PAGE, STUDY
from neutralpoint.app.workbench import Workbench, make_app
from neutralpoint.errors import NeutralPointError

LINGER = 2  # s that open streams are waited for when the server ends


def run(root: Path, listening: socket.socket, *, hosts: frozenset[str], upload_limit: int) -> None:
    """Serve until the process is asked to end.

    Args:
        root: A case folder, or a folder of cases.
        listening: The socket.
        hosts: Host headers that are answered.
        upload_limit: Bytes of an uploaded file.
    """
    few_arenas()
    app = make_app(root, hosts=hosts, upload_limit=upload_limit)
    bench = app.state.workbench
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=LINGER,
        ws="none",
        lifespan="on",
    )
    server = _Server(config, bench.hub.close)
    ending = threading.Event()
    ready = threading.Thread(target=_ready, args=(bench, ending), daemon=True)
    ready.start()
    try:
        server.run(sockets=[listening])
    finally:
        ending.set()
        bench.close()
        ready.join()  # a library that is only half loaded when Python ends may hang


def _ready(bench: Workbench, ending: threading.Event) -> None:
    """Load what the first page asks for, and the study once that page is up."""
    first = next(iter(bench.notebooks.values()), None)
    if first is not None:
        with contextlib.suppress(NeutralPointError, OSError):
            first.shelf.figure("motion", points=POINTS)
            first.state()
    if not ending.wait(FIRST_PAGE) or STUDY in sys.modules:  # else nobody has begun to load it
        importlib.import_module(STUDY)


class _Server(uvicorn.Server):
    """A server that ends its event streams first, so that nobody is waited for in vain."""

    def __init__(self, config: uvicorn.Config, ending: Callable[[], None]) -> None:
        super().__init__(config)
        self._ending = ending

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal to end."""
        self._ending()
        super().handle_exit(sig, frame)
