"""The airplanes that a case may name, as cards: what each is, what it carries, and its limits."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from neutralpoint.airplane_file.build import DescribedAirplane, load_airplane
from neutralpoint.airplane_file.catalogue import CATALOGUE, catalogue_names
from neutralpoint.app.folders import missing, plain_name
from neutralpoint.errors import NeutralPointError


def airplane_cards(folder: Path, case: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The catalogue, and the airplane file of the case where it has one of its own.

    Args:
        folder: The case folder.
        case: The case file as TOML.

    Returns:
        One card each; `chosen` is the one that the case names.
    """
    airplane = case.get("airplane")
    named = str(airplane.get("file", "")) if isinstance(airplane, dict) else ""
    cards = [_catalogue_card(name) | {"chosen": name == named} for name in catalogue_names()]
    if named and named not in catalogue_names() and (folder / plain_name(named)).is_file():
        try:
            own = _card(load_airplane(folder / named))
        except NeutralPointError as error:
            own = {"title": named, "fault": error.message}
        cards.insert(0, {**own, "name": named, "own": True, "chosen": True})
    return cards


def catalogue_file(name: str) -> bytes:
    """An airplane file of the catalogue as it stands.

    Raises:
        NeutralPointError: `not-found`.
    """
    if name not in catalogue_names():
        raise missing(f"The catalogue has no airplane {name[:60]!r}.", "name")
    return (CATALOGUE / f"{name}.toml").read_bytes()


@cache
def _catalogue_card(name: str) -> dict[str, Any]:
    return {**_card(load_airplane(name)), "name": name, "own": False}


def _card(described: DescribedAirplane) -> dict[str, Any]:
    """What is printed and drawn of an airplane, SI."""
    document, loading = described.document, described.loading
    properties = described.airplane.mass
    return {
        "title": document.name,
        "description": document.description,
        "class": document.airplane_class.replace("_", " "),
        "engines": len(document.engines),
        "span": document.wing.span.value,
        "area": document.wing.area.value,
        "trim": document.trim.kind.replace("_", " "),
        "mass": float(properties.mass),
        "station": float(properties.cg_station),
        "empty": {"mass": float(loading.empty.mass), "station": float(loading.empty.cg_station)},
        "items": [
            *(
                {"name": i.name, "mass": i.mass, "station": float(i.position[0]), "most": None}
                for i in loading.items
            ),
            *(
                {
                    "name": t.name,
                    "mass": t.contents,
                    "station": float(t.position[0]),
                    "most": t.capacity,
                }
                for t in loading.tanks
            ),
        ],
        "envelopes": [
            {"name": e.name, "corners": [list(corner) for corner in e.vertices]}
            for e in described.envelopes
        ],
    }
