"""Two studies of a case beside each other, from what was kept of them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from neutralpoint.app.bodies import wanted
from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.app.kept import keep, kept_names, kept_place, remove_kept
from neutralpoint.report.compare import compare, read_side

NOW = "results as they are now"


def _kept(call: Call) -> Any:
    return {"names": kept_names(call.notebook.folder)}


def _keep(call: Call) -> Any:
    with call.notebook.lock:
        name = keep(call.notebook.folder, wanted(call.body, "name", str).strip())
    return {"kept": name}


def _remove(call: Call) -> Any:
    with call.notebook.lock:
        remove_kept(call.notebook.folder, call.text("name"))
    return {"removed": call.text("name")}


def _compare(call: Call) -> Any:
    """Before and after by the names they are kept under; empty for the results as they are now."""
    sides = [
        read_side(kept_place(call.notebook.folder, name), name or NOW)
        for name in (call.text("before"), call.text("after"))
    ]
    return asdict(compare(*sides))


COMPARING: tuple[Entry, ...] = (
    ("GET", "kept", "", _kept),
    ("POST", "kept", "json", _keep),
    ("DELETE", "kept", "", _remove),
    ("GET", "compare", "", _compare),
)
