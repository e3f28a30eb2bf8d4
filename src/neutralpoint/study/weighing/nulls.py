"""The shipped null tables of the check of each cause, as `training/nulls.py` makes them."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.study.weighing.networks import DIGEST
from neutralpoint.weighing.check import Nulls

FILE = "nulls.json"
NUMBERS = ("levels", "quantiles", "steep", "shift", "beyond", "unlisted")


@cache
def load_nulls() -> Nulls:
    """Read the tables.

    Returns:
        Them.

    Raises:
        NeutralPointError: `networks-damaged` where they belong to other networks.
    """
    held = json.loads(files("neutralpoint.study.weighing").joinpath(FILE).read_text("utf-8"))
    if held["networks"] != DIGEST:
        raise NeutralPointError(
            "networks-damaged",
            "The null tables of the check were made for other networks.",
            where=f"neutralpoint/study/weighing/{FILE}",
            hint="Install the package again, or make the tables with training/nulls.py.",
        )
    return Nulls(
        tuple(held["causes"]),
        *(np.array(held[name]) for name in NUMBERS),
    )
