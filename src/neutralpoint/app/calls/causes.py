"""Causes flown on the page, and the time and strength there were."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from neutralpoint.app.bodies import numbers_of, wanted
from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.app.flights import Superseded
from neutralpoint.app.replies import numbers
from neutralpoint.app.time_and_strength import time_and_strength
from neutralpoint.errors import NeutralPointError

SHORTEST, LONGEST = 1.0, 600.0  # s of a flight
SLOWEST = 60.0  # s from recognition to the first action
SLICE = 0.7  # s that one call looks for a nearer flight


def _causes(call: Call) -> Any:
    """The list; with it the first flight is compiled, before a slider is touched."""
    from neutralpoint.study.flying.cause_list import listed_causes

    notebook = call.notebook
    case = notebook.case()
    axis_start = float(notebook.shelf.results().time[0])
    found = listed_causes(case, axis_start)
    if any(cause.can_act for cause in found.causes):
        notebook.warm()
    return asdict(found)


def _fly(call: Call) -> Any:
    return _flown(call, _asked(call))


def _best(call: Call) -> Any:
    """A slice of the search for the flight that comes nearest to the motion."""
    return _flown(call, _asked(call) | {"seconds": SLICE})


def _asked(call: Call) -> dict[str, Any]:
    body = call.body
    asked = {
        "cause": wanted(body, "cause", str)[:80],
        "values": numbers_of(body.get("values") or {}, "values"),
        "duration": _within(body, "duration", 60.0, SHORTEST, LONGEST),
        "procedure": str(body.get("procedure") or "")[:80],
    }
    # A map has the reaction on one side and hands it over with the values of the other.
    reaction = asked["values"].pop("reaction", body.get("reaction"))
    if reaction is not None:
        asked["reaction"] = _within({"reaction": reaction}, "reaction", 0.0, 0.0, SLOWEST)
    ticket = body.get("ticket")
    if isinstance(ticket, int | float | str):
        asked["ticket"] = ticket if not isinstance(ticket, str) else ticket[:80]
    return asked


def _flown(call: Call, asked: dict[str, Any]) -> Any:
    try:
        data = call.notebook.flights.fly(asked)
    except Superseded:
        return {"superseded": True, "ticket": asked.get("ticket")}
    size = int.from_bytes(data[:4], "little")
    if data[4:13].startswith(b'{"error"'):
        raise NeutralPointError(**_named(json.loads(data[4 : 4 + size])["error"]))
    return numbers(data)


def _named(error: dict[str, str]) -> dict[str, str]:
    return {key: str(error[key]) for key in ("code", "message", "where", "hint")}


def _within(body: dict[str, Any], key: str, default: float, low: float, high: float) -> float:
    value = numbers_of({key: body.get(key, default)}, "body")[key]
    if not low <= value <= high:
        raise NeutralPointError(
            "argument-invalid",
            f"{key} is {value:g} s.",
            where=key,
            hint=f"Give {low:g} to {high:g} s.",
        )
    return value


def _response(call: Call) -> Any:
    return time_and_strength(call.notebook.folder)


CAUSES: tuple[Entry, ...] = (
    ("GET", "causes", "", _causes),
    ("POST", "fly", "json", _fly),
    ("POST", "best", "json", _best),
    ("GET", "response", "", _response),
)
