"""An address on this machine, held and told at once, and served until it is interrupted."""

from __future__ import annotations

import contextlib
import socket
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from neutralpoint.app.folders import case_folders
from neutralpoint.errors import NeutralPointError

LOOPBACK = ("127.0.0.1", "localhost", "::1")


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
    host: str,
    port: int,
    show: bool,
    upload_limit: int,
) -> None:
    """Serve until interrupted; jobs and flights end with it.

    The address is held and told first: a browser that opens it waits, for a second or two, for
    what pages need to be loaded.

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
    case_folders(root)
    with contextlib.closing(_bound(host, port)) as listening:
        number = listening.getsockname()[1]
        address = f"http://{_shown(host)}:{number}/"
        announce(Served(address, loopback=host in LOOPBACK))
        if show:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        with contextlib.suppress(KeyboardInterrupt):  # the usual end
            from neutralpoint.app.running import run  # heavy: not before the address is told

            run(root, listening, hosts=_hosts(host, number), upload_limit=upload_limit)


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
