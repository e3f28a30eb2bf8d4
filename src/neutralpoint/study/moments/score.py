"""How often the verdicts were right on blind flights: what stands beside them."""

from __future__ import annotations

import json
from importlib.resources import files

from neutralpoint.findings import VerdictScore


def scores() -> list[VerdictScore]:
    """The score of the verdicts as the findings carry it.

    Returns:
        One entry a measure, as benchmarks/moments_verdicts.py writes them.
    """
    text = files("neutralpoint.study.moments").joinpath("score.json").read_text("utf-8")
    kept = json.loads(text)
    return [VerdictScore(**figure, flights=kept["flights"]) for figure in kept["figures"]]
