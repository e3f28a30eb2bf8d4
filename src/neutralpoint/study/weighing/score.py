"""How well the odds did on flights whose cause was known: of the case, else as shipped."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from neutralpoint.files import own_file, read_own

SCORE_FILE = "calibration.json"
# Kinds of data that shipped scores are kept for, by the error over that of a track with a fix a
# second: `training/ship.py` has the same.
STRATA = (("data fine", 0.7), ("data middling", 2.0), ("data coarse", float("inf")))


def stratum_of(error: float) -> str:
    """Which of the shipped scores a case is printed with.

    Args:
        error: Of its data, over that of a track with a fix a second.

    Returns:
        Name of the stratum.
    """
    return STRATA[kind_of_data(error)][0]


def kind_of_data(error: float) -> int:
    """Place of the stratum of a case in `STRATA`.

    Args:
        error: Of its data, over that of a track with a fix a second.

    Returns:
        0 for the finest.
    """
    return next(number for number, (_, most) in enumerate(STRATA) if error < most)


def score(results: Path | None = None, stratum: str = "") -> dict:
    """The score on blind cases.

    Args:
        results: Results folder; its own score comes first.
        stratum: Of the shipped score; empty for all of it.

    Returns:
        As written by `neutralpoint calibrate`, with `of_this_case` and `stratum`.
    """
    if results is not None and (path := own_file(results, SCORE_FILE)) is not None:
        return json.loads(read_own(path)) | {"of_this_case": True, "stratum": ""}
    text = files("neutralpoint.study.weighing").joinpath("score.json").read_text("utf-8")
    shipped = json.loads(text)
    shipped |= shipped["strata"].get(stratum, {})
    return shipped | {"of_this_case": False, "stratum": stratum}
