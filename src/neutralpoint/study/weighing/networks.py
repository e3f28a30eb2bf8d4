"""The file of the shipped networks: read once, and only if it is the one of this version."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

from neutralpoint.errors import NeutralPointError
from neutralpoint.weighing.amortised import Shipped, read_networks

FILE = "networks.npz"
# SHA-256 of the file; `training/ship.py` prints it.
DIGEST = "7d54bf08582e8b0c46262df16c7700c9130e2d2ab1dcf91654638f94992579a9"


@cache
def load_shipped() -> Shipped:
    """Read the networks.

    Returns:
        Them.

    Raises:
        NeutralPointError: `networks-damaged` where the file is missing or another.
    """
    path = files("neutralpoint.weighing").joinpath(FILE)
    data = path.read_bytes() if path.is_file() else b""
    if hashlib.sha256(data).hexdigest() != DIGEST:
        raise NeutralPointError(
            "networks-damaged",
            f"The file of the networks has {len(data)} bytes and is not the one of this version.",
            where=f"neutralpoint/weighing/{FILE}",
            hint="Install the package again.",
        )
    return read_networks(data)
