"""Documents of earlier versions: brought up to date, or refused with the reason."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from neutralpoint.findings.document import SCHEMA_VERSION
from neutralpoint.findings.judged import judgement_of
from neutralpoint.findings.moments import MomentsFindings
from neutralpoint.findings.weighing import WeighingFindings

Raw = dict[str, Any]


def _from_1(raw: Raw) -> Raw:
    """Version 2 added clock offsets, odds, scores and evidence; each may be empty."""
    return raw | {"schema_version": 2}


# Names of estimates in version 2.
ESTIMATES = {
    "age of altitudes at their time stamps": "altitude-age",
    "age of the velocity against the position": "velocity-latency",
    "lag of the vertical rate": "vertical-rate-lag",
}
PRINTED_VERDICT = (
    *("cause", "title", "word", "probability", "condition", "closest_miss", "sentence", "basis"),
)


def _from_2(raw: Raw) -> Raw:
    """Version 3 holds numbers where version 2 held sentences: those are kept as they are."""
    worded = {
        "statements": raw.pop("statements", []),
        "undetermined": raw.pop("undetermined", []),
        "sections": [_section(section) for section in raw.pop("sections", [])],
    }
    return raw | {
        "schema_version": 3,
        "worded": worded,
        "resolution": [_resolution(row) for row in raw.get("resolution", [])],
        "estimates": [_estimate(row) for row in raw.get("estimates", [])],
        "flagged": [_flagged(row) for row in raw.get("flagged", [])],
    }


def _section(raw: Raw) -> Raw:
    """What were called bands of the odds are ranges over the networks."""
    verdicts = [
        {key: row[key] for key in PRINTED_VERDICT if key in row} for row in raw.get("verdicts", [])
    ]
    ranges = {
        part: [_renamed(row, {"low90": "lowest", "high90": "highest"}) for row in raw.get(part, [])]
        for part in ("odds", "settling")
    }
    kept = {key: value for key, value in raw.items() if key != "moved"}
    return kept | ranges | {"verdicts": verdicts}


def _renamed(raw: Raw, names: dict[str, str]) -> Raw:
    return {names.get(key, key): value for key, value in raw.items()}


def _resolution(raw: Raw) -> Raw:
    words = raw["quantity"].removeprefix("load factor from ").removesuffix(" alone")
    kept = {key: raw[key] for key in ("window", "sigma", "usable")}
    return kept | {"origin": words.replace(" ", "-")}


def _estimate(raw: Raw) -> Raw:
    kept = {key: raw.get(key) for key in ("value", "sigma", "unit")}
    if raw["name"] in ESTIMATES:
        return kept | {"name": ESTIMATES[raw["name"]]}
    readings = raw["name"].removeprefix("noise of ").replace(" ", "_")
    return kept | {"name": "noise", "readings": readings}


def _flagged(raw: Raw) -> Raw:
    return {key: raw[key] for key in ("source", "row", "time", "quantity", "reason")}


def _from_3(raw: Raw) -> Raw:
    """Version 4 joins moment and odds in one judgement a cause; both parts hold what it needs."""
    moments, weighing = raw.get("moments"), raw.get("weighing")
    judgement = judgement_of(
        None if moments is None else MomentsFindings.model_validate(moments),
        None if weighing is None else WeighingFindings.model_validate(weighing),
    )
    kept = None if judgement is None else judgement.model_dump(mode="json")
    return raw | {"schema_version": 4, "judgement": kept}


# From which version: how to make the next one.
UPGRADES: dict[int, Callable[[Raw], Raw]] = {1: _from_1, 2: _from_2, 3: _from_3}


def refusal_of(version: object) -> str | None:
    """Why a document of a version is not read.

    Args:
        version: As it stands in the document.

    Returns:
        The reason in a sentence; None where it is read.
    """
    if not isinstance(version, int) or isinstance(version, bool):
        return f"The document names no schema version: {version!r} was found."
    if version > SCHEMA_VERSION:
        return (
            f"The document has schema version {version}, made by a later program; "
            f"this one reads up to {SCHEMA_VERSION}."
        )
    if version != SCHEMA_VERSION and version not in UPGRADES:
        return f"There never was a findings document of schema version {version}."
    return None


def upgraded(raw: Raw) -> Raw:
    """A document brought to this version, step by step.

    Args:
        raw: Parsed JSON of a version that `refusal_of` does not refuse.

    Returns:
        The same content in this version.
    """
    while raw["schema_version"] != SCHEMA_VERSION:
        raw = UPGRADES[raw["schema_version"]](raw)
    return raw
