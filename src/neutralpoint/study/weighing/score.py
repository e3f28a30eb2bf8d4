"""How well the odds did on flights whose cause was known: of the case, else as shipped."""

from __future__ import annotations

import json
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np
from pydantic import ValidationError

import neutralpoint
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_file, read_own
from neutralpoint.findings import (
    BlindCases,
    CalibratedCause,
    Calibration,
    Elsewhere,
    ReliabilityDiagram,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.weighing.blind import BlindResult
from neutralpoint.weighing.scores import Reliability

SCORE_FILE = "calibration.json"
# Kinds of data that shipped scores are kept for, by the error over that of a track with a fix a
# second, with the limit of each; analyst's choice.
STRATA = (("data fine", 1.2), ("data middling", 3.0), ("data coarse", float("inf")))


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


@dataclass(frozen=True)
class MethodScore:
    """How well the method did, and where that was measured.

    Attributes:
        blind: Scores on blind cases.
        of_this_case: Whether they start as this case does.
        stratum: Of the shipped score; empty for all of it.
    """

    blind: BlindCases
    of_this_case: bool
    stratum: str


def score(results: Path | None = None, stratum: str = "") -> MethodScore:
    """The score on blind cases.

    Args:
        results: Results folder; its own score comes first.
        stratum: Of the shipped score; empty for all of it.

    Returns:
        The score; of a stratum with the reliability diagram of all.

    Raises:
        NeutralPointError: `results-version` for a file that is none of `neutralpoint calibrate`.
    """
    if results is not None and (path := own_file(results, SCORE_FILE)) is not None:
        return MethodScore(_own(path), of_this_case=True, stratum="")
    text = files("neutralpoint.study.weighing").joinpath("score.json").read_text("utf-8")
    shipped = json.loads(text)
    shipped |= shipped["strata"].get(stratum, {})
    return MethodScore(BlindCases.model_validate(shipped), of_this_case=False, stratum=stratum)


def elsewhere(stratum: str) -> Elsewhere:
    """How the shipped odds did on upsets of a simulator that no network has learned from.

    Args:
        stratum: Of the case; coarse data are held against a radar, others against a fix a second.

    Returns:
        The score, by benchmarks/other_networks.py.
    """
    text = files("neutralpoint.study.weighing").joinpath("elsewhere.json").read_text("utf-8")
    rare = stratum == STRATA[-1][0]
    return Elsewhere.model_validate(json.loads(text)["radar" if rare else "a fix a second"])


def _own(path: Path) -> BlindCases:
    """The score of a case."""
    try:
        return BlindCases.model_validate_json(read_own(path))
    except (ValidationError, RecursionError) as other:
        raise NeutralPointError(
            "results-version",
            f"{SCORE_FILE} was written by an older version, or damaged.",
            where=str(path),
            hint="Run `neutralpoint calibrate CASE` again, or remove the file.",
        ) from other


def calibration_of(judged: BlindResult, *, where: str, seed: int) -> Calibration:
    """What was judged, as `calibration.json` holds it.

    Args:
        judged: Scores on blind cases.
        where: Start and data that they were flown from.
        seed: Of the cases.

    Returns:
        The document.
    """
    return Calibration(
        cases=judged.cases,
        mean_log_score=judged.mean_log_score,
        log_score_error=judged.log_score_error,
        prior_log_score=judged.prior_log_score,
        brier=judged.brier,
        true_cause_below_1_percent=judged.below_1_percent,
        cover_of_90_percent_sets=judged.covered,
        true_cause_leads=judged.leads,
        reliability=_diagram(judged.reliability),
        by_cause={name: CalibratedCause(**vars(one)) for name, one in judged.by_cause.items()},
        where=where,
        seed=seed,
        program=neutralpoint.__version__,
    )


def _diagram(found: Reliability) -> ReliabilityDiagram:
    return ReliabilityDiagram(
        edges=found.edges.tolist(),
        stated=_known(found.stated),
        happened=_known(found.happened),
        count=found.count.tolist(),
    )


def _known(values: Array) -> list[float | None]:
    return [float(x) if np.isfinite(x) else None for x in values]
