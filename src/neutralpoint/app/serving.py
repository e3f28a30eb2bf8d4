"""The server itself: an address on this machine, held until it is interrupted."""

from __future__ import annotations

import contextlib
import importlib
import socket
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from neutralpoint.app.calls_reading import POINTS
from neutralpoint.app.workbench import UPLOAD_LIMIT, Workbench, make_app
from neutralpoint.errors import NeutralPointError

LOOPBACK = ("127.0.0.1", "localhost", "::1")
LINGER = 2  # s that open streams are waited for when the server ends


@dataclass(frozen=True)
class Served:
    """Where the workbench is found.

    Attributes:
        address: For a browser.
        loopback: Whether only this machine can reach it.
    """

    address: str
    loopback: bool


def serve(
    root: Path,
    announce: Callable[[Served], None],
    *,
    host: str = "127.0.0.1",
    port: int = 0,
    show: bool = True,
    upload_limit: int = UPLOAD_LIMIT,
) -> None:
    """Serve until interrupted; jobs and flights end with it.

    Args:
        root: A case folder, or a folder of cases.
        announce: Told the address once it is held.
        host: Address to bind.
        port: 0 for any that is free.
        show: Whether to open the page in a browser.
        upload_limit: Bytes of an uploaded file.

    Raises:
        NeutralPointError: `case-missing`, or `argument-invalid` for an address that cannot be
            held.
    """
    listening = _bound(host, port)
    number = listening.getsockname()[1]
    app = make_app(root, hosts=_hosts(host, number), upload_limit=upload_limit)
    address = f"http://{_shown(host)}:{number}/"
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=LINGER,
        ws="none",
        lifespan="on",
    )
    server = _Server(config, app.state.workbench.hub.close)
    announce(Served(address, loopback=host in LOOPBACK))
    ready = threading.Thread(target=_ready, args=(app.state.workbench,), daemon=True)
    ready.start()
    if show:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    try:
        with contextlib.suppress(KeyboardInterrupt):  # the usual end
            server.run(sockets=[listening])
    finally:
        app.state.workbench.close()
        listening.close()
        ready.join()  # a library that is only half loaded when Python ends may hang


def _ready(bench: Workbench) -> None:
    """Load what the first page will ask for, while a browser is still opening it."""
    first = next(iter(bench.notebooks.values()))
    importlib.import_module("neutralpoint.study")
    with contextlib.suppress(NeutralPointError, OSError):
        first.state()
        first.shelf.figure("motion", points=POINTS)


class _Server(uvicorn.Server):
    """A server that ends its event streams first, so that nobody is waited for in vain."""

    def __init__(self, config: uvicorn.Config, ending: Callable[[], None]) -> None:
        super().__init__(config)
        self._ending = ending

    def handle_exit(self, sig: int, frame: object) -> None:
        """Take a signal to end."""
        self._ending()
        super().handle_exit(sig, frame)


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
        listening.listen(128)
    except (OSError, OverflowError) as broken:
        listening.close()
        raise NeutralPointError(
            "argument-invalid",
            f"The address {host}:{port} cannot be held: {broken}.",
            where="--host, --port",
            hint="Choose another port, or --port 0 for one that is free.",
        ) from broken
    return listening


def _shown(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _hosts(host: str, port: int) -> frozenset[str]:
    """Host headers that mean this server: its own names, each with the port."""
    names = {_shown(host)}
    if host in LOOPBACK:
        names |= {"127.0.0.1", "localhost", "[::1]"}
    elif host in ("0.0.0.0", "::"):
        names = {"127.0.0.1", "localhost", "[::1]", socket.gethostname()}
        names |= {_shown(str(a[4][0])) for a in _own_addresses()}
    return frozenset(f"{name}:{port}" for name in names)


def _own_addresses() -> list:
    try:
        return socket.getaddrinfo(socket.gethostname(), None)
    except OSError:
        return []
