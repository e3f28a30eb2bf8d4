"""`weighing.json` and `weighing.nc`: what a weighing found, for people and for Bayesian tools.

`weighing.nc` has the groups that ArviZ reads: `posterior`, `sample_stats`, `posterior_predictive`,
`observed_data` and `constant_data`; `nearest` holds the flight of each cause that comes nearest
to the one seen, for the report. Each cause is a model of its own; parameters carry its name,
and flights have a dimension `cause`.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.airplane.model import TrimDrive
from neutralpoint.case import Case
from neutralpoint.explanations import CAUSES
from neutralpoint.findings import NearestFlight, PriorFindings, PriorReading, PriorWeight
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.motion.file import time_attributes
from neutralpoint.study.weighing.evidence import SEPARATION
from neutralpoint.study.weighing.nearest import nearest_flights
from neutralpoint.study.weighing.saved import (
    WEIGHING_FILE,
    SavedCause,
    SavedDetail,
    SavedEvidence,
    SavedMechanism,
    SavedOdds,
    SavedParameter,
    SavedTrim,
    SavedWeighing,
)
from neutralpoint.study.weighing.score import stratum_of
from neutralpoint.study.weighing.work_out import Weighing
from neutralpoint.vocabulary import QUANTITIES, CauseName, Mechanism
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.flights import Flown
from neutralpoint.weighing.mechanism import (
    CHANCES,
    by_mechanism,
    grouped_prior,
    mechanisms_of,
)
from neutralpoint.weighing.odds import (
    NOTHING,
    Odds,
    bayes_factor_words,
)
from neutralpoint.weighing.odds import posterior as bayes
from neutralpoint.weighing.parameters import PARTICLES
from neutralpoint.weighing.signatures import picked
from neutralpoint.weighing.weigh import reweigh

WEIGHING_DATA = "weighing.nc"
DRAWS = 40  # flights of each cause that are kept, drawn by how well they follow the track
QUANTILES = (0.05, 0.5, 0.95)
CONTROLS = ("trim", "column_force")
PRIOR_COMMENT = f"What it rests on: `prior` of {WEIGHING_FILE}."
COMMENT = (
    "Flights of a model under each cause show what it would look like, not what happened. "
    + IN_BRIEF
)


def variable_of(cause: str, name: str) -> str:
    """How `weighing.nc` calls a quantity of one cause."""
    return f"{name}_{cause.replace('-', '_')}"


def weighing_document(found: Weighing, drive: TrimDrive) -> SavedWeighing:
    """What is kept of a weighing for the odds and what follows from them.

    Args:
        found: What was found.
        drive: Of the airplane's trim.

    Returns:
        The content of `weighing.json`.
    """
    odds = found.odds
    return SavedWeighing(
        place=found.place.verdict,
        stratum=stratum_of(found.error),
        begin=found.begin,
        seeds=len(found.track.runs),
        held_out_log_score=_number(found.track.held_out),
        leader=CauseName(found.leader),
        twin=CauseName(found.twin),
        prior=_prior(found),
        readings=readings(found),
        runs=[[float(x) for x in row] for row in found.track.runs],
        evidence=[
            SavedEvidence(
                name=item.name,
                doubt=item.doubt,
                caution=item.caution,
                source=item.source,
                log_likelihood=[float(x) for x in item.log_likelihood],
                nats=[float(x) for x in item.nats(odds.prior)],
            )
            for item in found.evidence
        ],
        items_given=list(found.given),
        trim=SavedTrim(
            drive=drive.kind,
            travel=(float(drive.travel_min), float(drive.travel_max)),
            at=float(np.median(found.flown[0].trim[:, 0])),
        ),
        mechanisms=mechanism_rows(found),
        causes=[
            SavedCause(**dict(row), **dict(_detail(found, row.name)))
            for row in odds_rows(odds, against=found.leader)
        ],
    )


def _prior(found: Weighing) -> PriorFindings:
    belief = found.belief
    return PriorFindings(
        failed=belief.failed,
        failed_stated=belief.said,
        weights=[
            PriorWeight(of=_of(entry.cause), weight=entry.weight, reason=entry.reason)
            for entry in belief.stated
        ],
    )


def _of(name: str) -> CauseName | Mechanism:
    """A cause, else the mechanism that has the name."""
    return CauseName(name) if name in list(CauseName) else Mechanism(name)


def readings(found: Weighing) -> list[PriorReading]:
    """The same evidence under other prior weights: nothing is flown.

    Args:
        found: What was found.

    Returns:
        One entry a prior: what it is, and probability by cause.
    """
    names, beside = found.odds.causes, found.beside

    def reading(
        kind: Literal["stated", "equal", "chance"], chance: float | None, prior: Array
    ) -> PriorReading:
        each = map(float, reweigh(names, prior, found.track.runs, beside).probability)
        chances = {CauseName(name): min(p, 1.0) for name, p in zip(names, each, strict=True)}
        return PriorReading(kind=kind, chance=chance, probability=chances)

    rows = [
        reading("stated", None, found.odds.prior),
        reading("equal", None, grouped_prior(names, None)),
    ]
    if NOTHING in names:
        rows += [reading("chance", c, grouped_prior(names, c)) for c in CHANCES]
    return rows


def mechanism_rows(found: Weighing) -> list[SavedMechanism]:
    """Odds summed by mechanism, with their band over the seeds and at other chances of a failure.

    Args:
        found: What was found.

    Returns:
        One entry a mechanism, most probable first.
    """
    odds, beside = found.odds, found.beside
    names, runs = odds.causes, found.track.runs
    each = by_mechanism(names, bayes(odds.prior, runs + beside))
    prior, mean = by_mechanism(names, odds.prior), by_mechanism(names, odds.probability)
    weights = {s.cause: s.weight for s in found.belief.stated if s.cause != NOTHING}
    others = {
        f"{c:g}": by_mechanism(
            names, reweigh(names, grouped_prior(names, c, weights), runs, beside).probability
        )
        for c in CHANCES
        if NOTHING in names
    }
    rows = [
        SavedMechanism(
            name=group,
            title=group.title,
            causes=[CauseName(name) for name in names if CauseName(name).mechanism == group],
            prior=float(prior[i]),
            probability=float(mean[i]),
            low=float(each[:, i].min()),
            high=float(each[:, i].max()),
            if_failed={chance: float(values[i]) for chance, values in others.items()},
        )
        for i, group in enumerate(mechanisms_of(names))
    ]
    return sorted(rows, key=lambda row: -row.probability)


def odds_rows(odds: Odds, against: str) -> list[SavedOdds]:
    """The odds as rows, in the order of the causes.

    Args:
        odds: The odds.
        against: Cause that Bayes factors compare with.

    Returns:
        One entry a cause.
    """
    base = odds.log_evidence[odds.causes.index(against)]
    return [
        SavedOdds(
            name=CauseName(name),
            title=CAUSES[name].title,
            prior=float(odds.prior[i]),
            probability=float(odds.probability[i]),
            low=float(odds.low[i]),
            high=float(odds.high[i]),
            log_evidence=float(odds.log_evidence[i]),
            log_evidence_error=_number(odds.log_evidence_error[i]),
            log_bayes_factor=float(odds.log_evidence[i] - base),
            words=bayes_factor_words(float(odds.log_evidence[i] - base)),
        )
        for i, name in enumerate(odds.causes)
    ]


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _detail(found: Weighing, name: CauseName) -> SavedDetail:
    """Parameters, nearest flight and trim of one cause; empty for the unlisted one."""
    batch = next((f for f in found.flown if f.cause == name), None)
    if batch is None:
        return SavedDetail()
    near = found.predictive[name]
    ends = near.flown.trim[:, 0 if name == SEPARATION else -1]
    drawn = np.sort(ends[picked(near.weight, DRAWS)])
    return SavedDetail(
        parameters=_parameters(found, batch),
        nearest=NearestFlight(
            distance=near.distance,
            fails_in=near.fails_in,
            fails_at=float(found.begin + near.fails_at),
            fails_by=near.fails_by,
            flights=near.effective,
        ),
        trim_end=[] if near.trim_end is None else [float(x) for x in near.trim_end[::2]],
        traced=found.track.traced[name],
        trim_draws=[float(x) for x in drawn],
    )


def _parameters(found: Weighing, batch: Flown) -> dict[str, SavedParameter]:
    if batch.cause not in found.track.parameters:
        return {}
    posterior = found.track.parameters[batch.cause]
    about = {p.name: p for p in CAUSES[batch.cause].parameters}
    return {
        key: SavedParameter(
            unit=about[key].unit,
            meaning=about[key].meaning,
            quantiles=[float(x) for x in np.quantile(column, QUANTILES)],
            prior=[float(x) for x in np.quantile(batch.values[:, i], QUANTILES)],
        )
        for i, (key, column) in enumerate(zip(posterior.names, posterior.draws.T, strict=True))
    }


def weighing_tree(found: Weighing, case: Case) -> xr.DataTree:
    """The same for Bayesian tools, with draws and flights.

    Args:
        found: What was found.
        case: The case.

    Returns:
        Groups as ArviZ reads them; the root holds what the report draws.
    """
    axis = found.flown[0].course.time
    time = ("time", found.begin + axis, time_attributes(case.track.epoch))
    listed = ("cause", list(found.listed), {"long_name": "Cause that was flown"})
    rows = {name: picked(near.weight, DRAWS) for name, near in found.predictive.items()}
    attributes = {
        "Conventions": "CF-1.11",
        "title": "Odds between causes of one flight",
        "source": f"Neutral Point {neutralpoint.__version__}",
        "inference_library": "neutralpoint",
        "comment": COMMENT,
    }
    return xr.DataTree.from_dict(
        {
            "/": xr.Dataset(_drawn(found, rows), {"time": time}, attributes),
            "/posterior": _posterior(found),
            "/sample_stats": _statistics(found),
            "/posterior_predictive": xr.Dataset(
                _predictive(found, rows), {"time": time, "cause": listed}
            ),
            "/nearest": xr.Dataset(nearest_flights(found), {"time": time, "cause": listed}),
            "/observed_data": xr.Dataset(_observed(found, axis), {"time": time}),
            "/constant_data": _constant(found),
        }
    )


def _drawn(found: Weighing, rows: dict) -> dict:
    """Controls under the favourite and under its twin, as the report draws them."""
    data = {}
    for name in (found.leader, found.twin):
        batch = found.predictive[name].flown
        for control in CONTROLS:
            about = _about(control)
            data[variable_of(name, control)] = (
                ("sample", "time"),
                getattr(batch, control)[rows[name]].astype(np.float32),
                about | {"long_name": f"{about['long_name']}, if it was: {CAUSES[name].title}"},
            )
    return data


def _posterior(found: Weighing) -> xr.Dataset:
    data = {}
    for cause, posterior in found.track.parameters.items():
        about = {p.name: p for p in CAUSES[cause].parameters}
        chains = max(len(posterior.draws) // PARTICLES, 1)
        for name, column in zip(posterior.names, posterior.draws.T, strict=True):
            data[variable_of(cause, name)] = (
                ("chain", "draw"),
                column.reshape(chains, -1),
                {
                    "units": about[name].unit or "1",
                    "long_name": about[name].meaning,
                    "cause": str(cause),
                    "parameter": name,
                },
            )
    return xr.Dataset(data)


def _statistics(found: Weighing) -> xr.Dataset:
    track, names = found.track, list(found.odds.causes)
    settled = [name in track.parameters and track.parameters[name].settled for name in names]
    error = [
        track.parameters[name].log_evidence_error if name in track.parameters else np.nan
        for name in names
    ]
    return xr.Dataset(
        {
            "log_evidence": (
                ("network", "weighed"),
                track.runs,
                {"long_name": "ln p(track | cause) up to one constant, network by network"},
            ),
            "settled": (
                "weighed",
                np.array(settled, np.int8),
                {"long_name": "Whether the sampler reached the posterior of the parameters"},
            ),
            "sampler_error": (
                "weighed",
                np.array(error),
                {"long_name": "Standard error of ln Z of the summaries over sampler seeds"},
            ),
        },
        {"weighed": names},
    )


def _predictive(found: Weighing, rows: dict) -> dict:
    data = {}
    for name in COLUMNS:
        values = [getattr(near.flown.course, name)[rows[c]] for c, near in found.predictive.items()]
        data[name] = _flights(np.stack(values, axis=1), _about(name))
    for name in CONTROLS:
        values = [getattr(near.flown, name)[rows[c]] for c, near in found.predictive.items()]
        data[name] = _flights(np.stack(values, axis=1), _about(name))
    return data


def _flights(values: Array, about: dict) -> tuple:
    return ("chain", "draw", "cause", "time"), values[None].astype(np.float32), about


def _about(name: str) -> dict:
    known = QUANTITIES["pressure_altitude" if name == "altitude" else name]
    return {"units": known.udunits, "long_name": known.long_name}


def _observed(found: Weighing, axis: Array) -> dict:
    data = {}
    for name in COLUMNS:
        middle = np.median(getattr(found.observed, name), axis=0)
        seen = np.interp(axis, found.observed.time, middle, right=np.nan)
        data[name] = ("time", seen, _about(name) | {"comment": "Median of the motion"})
    return data


def _constant(found: Weighing) -> xr.Dataset:
    data: dict = {"prior": ("weighed", found.odds.prior, {"comment": PRIOR_COMMENT})}
    coordinates: dict = {"weighed": list(found.odds.causes)}
    if found.evidence:
        coordinates["item"] = [item.name for item in found.evidence]
        data["evidence"] = (
            ("item", "weighed"),
            np.stack([item.log_likelihood for item in found.evidence]),
            {"long_name": "ln p(item | cause) up to one constant"},
        )
    return xr.Dataset(data, coordinates)
