"""How well the method did on flights whose cause was known: of the case, else as shipped."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

SCORE_FILE = "calibration.json"
QUICK = "blind, by a quick look"  # among the other worlds of the shipped score


def score(results: Path | None = None, *, full: bool = True) -> dict:
    """The score on blind cases.

    Args:
        results: Results folder; its own score comes first.
        full: Of a whole weighing; else the shipped one of a quick look.

    Returns:
        As written by `neutralpoint calibrate`, with `of_this_case` and `full`.
    """
    path = results / SCORE_FILE if results is not None else None
    if path is not None and path.is_file():
        return json.loads(path.read_text("utf-8")) | {"of_this_case": True, "full": True}
    text = files("neutralpoint.study.weighing").joinpath("score.json").read_text("utf-8")
    shipped = json.loads(text) | {"of_this_case": False, "full": full}
    return shipped if full else shipped | shipped["other_worlds"][QUICK]
