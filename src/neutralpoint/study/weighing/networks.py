"""The file of the shipped networks: read once, and only if it is the one of this version."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

from neutralpoint.errors import NeutralPointError
from neutralpoint.weighing.amortised import Shipped, read_networks

FILE = "networks.npz"
# SHA-256 of the file; `training/ship.py` prints it.
DIGEST = "46e01721566b739b7241197774b8a91f87c5fa14a4f93cbbd1b407680c70aa9c"


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
