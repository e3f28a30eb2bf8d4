"""`weighing.json`: what is kept of a weighing for the odds and what follows from them."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import present, read_own
from neutralpoint.findings import NearestFlight, PriorFindings, PriorReading
from neutralpoint.findings.moments import Drive
from neutralpoint.findings.weighing import Strength
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName, Mechanism
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.weighing.mechanism import grouped_prior, own_weights
from neutralpoint.weighing.odds import Odds
from neutralpoint.weighing.weigh import reweigh

WEIGHING_FILE = "weighing.json"


class Saved(BaseModel):
    """A part of the file: unknown keys are refused, numbers are finite."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class SavedEvidence(Saved):
    """One item beside the track; `log_likelihood` and `nats` by cause."""

    name: str
    doubt: float
    caution: str
    source: str
    log_likelihood: list[float]
    nats: list[float]


class SavedTrim(Saved):
    """The trim drive, its ends of travel and where it stands at the start, rad."""

    drive: Drive
    travel: tuple[float, float]
    at: float


class SavedMechanism(Saved):
    """Odds summed by mechanism; `low` and `high` of the networks."""

    name: Mechanism
    title: str
    causes: list[CauseName]
    prior: float
    probability: float
    low: float
    high: float
    if_failed: dict[str, float]


class SavedOdds(Saved):
    """Odds of one cause; `low` and `high` of the networks, logarithms natural."""

    name: CauseName
    title: str
    prior: float
    probability: float
    low: float
    high: float
    log_evidence: float
    log_evidence_error: float | None
    log_bayes_factor: float
    words: Strength


class SavedParameter(Saved):
    """A parameter of a cause: 5, 50 and 95%, after the track and before it; SI."""

    unit: str
    meaning: str
    quantiles: list[float]
    prior: list[float]


class SavedDetail(Saved):
    """What was flown of a cause; all empty for the unlisted one."""

    parameters: dict[str, SavedParameter] = {}
    nearest: NearestFlight | None = None
    trim_end: list[float] = []
    traced: float | None = None
    trim_draws: list[float] = []


class SavedCause(SavedDetail, SavedOdds):
    """One cause with its odds."""


class SavedWeighing(Saved):
    """The file. `runs` holds ln p(track | cause) of each network, in the order of `causes`."""

    place: Literal["inside", "at the edge", "outside"]
    stratum: str
    begin: float
    seeds: int
    held_out_log_score: float | None
    leader: CauseName
    twin: CauseName
    prior: PriorFindings
    readings: list[PriorReading]
    runs: list[list[float]]
    evidence: list[SavedEvidence]
    items_given: list[str]
    trim: SavedTrim
    mechanisms: list[SavedMechanism]
    causes: list[SavedCause]
    caution: str = IN_BRIEF

    @property
    def names(self) -> tuple[CauseName, ...]:
        """Names of the causes, in order."""
        return tuple(row.name for row in self.causes)


def read_weighing(results: Path) -> SavedWeighing:
    """Read `weighing.json`.

    Args:
        results: The results folder.

    Returns:
        Its content.

    Raises:
        NeutralPointError: `results-missing` without the file, `results-version` for one that an
            older version wrote.
    """
    path = present(results, WEIGHING_FILE, "weigh")
    try:
        return SavedWeighing.model_validate_json(read_own(path))
    except (ValidationError, RecursionError) as other:
        raise NeutralPointError(
            "results-version",
            f"{WEIGHING_FILE} was written by an older version, or damaged.",
            where=str(path),
            hint="Run `neutralpoint weigh CASE` again.",
        ) from other


def saved_weights(saved: SavedWeighing) -> dict[str, float]:
    """Prior weights of saved odds, as `saved_odds` takes them.

    Args:
        saved: Of `read_weighing`.

    Returns:
        By cause; 1 for what most causes have.
    """
    return own_weights(saved.names, [row.prior for row in saved.causes])


def saved_odds(saved: SavedWeighing, weights: dict[str, float] | None = None) -> tuple[Odds, Array]:
    """Odds from saved evidence: nothing is flown, whatever the prior weights.

    Args:
        saved: Of `read_weighing`.
        weights: Prior weights by cause, all others 1, shared by the rows of a mechanism; None for
            those saved.

    Returns:
        The odds, and those of each run, shape (R, C).

    Raises:
        NeutralPointError: `argument-invalid` for a cause that was not weighed.
    """
    names = saved.names
    prior = np.array([row.prior for row in saved.causes])
    if weights is not None:
        prior = grouped_prior(names, None, weights)
    beside = sum((np.array(item.log_likelihood) for item in saved.evidence), np.zeros(1))
    runs = np.array(saved.runs)
    each = np.array([reweigh(names, prior, row[None], beside).probability for row in runs])
    return reweigh(names, prior, runs, beside), each
