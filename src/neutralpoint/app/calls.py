"""What can be asked of a case and done with it: one function for each call of the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from neutralpoint.app.bodies import wanted
from neutralpoint.app.folders import missing
from neutralpoint.app.notebook import Notebook
from neutralpoint.app.replies import numbers
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import read_findings

POINTS = 1600  # times of a figure where the page does not say


@dataclass(frozen=True)
class Call:
    """One request to a case.

    Attributes:
        notebook: The case.
        query: After the question mark.
        place: Parts of the address.
        body: JSON, text, or the path of a new file, as the call wants it.
    """

    notebook: Notebook
    query: dict[str, str]
    place: dict[str, str]
    body: Any

    def number(self, key: str, default: float) -> float:
        """A number of the query.

        Raises:
            NeutralPointError: `request-invalid` where it is none.
        """
        text = self.query.get(key, "")
        if not text:
            return default
        try:
            value = float(text)
        except ValueError:
            value = np.nan
        if not np.isfinite(value):
            raise NeutralPointError(
                "request-invalid", f"{text[:40]!r} is no number.", where=key, hint="Give seconds."
            )
        return value


def _state(call: Call) -> Any:
    return call.notebook.state()


def _findings(call: Call) -> Any:
    return read_findings(call.notebook.results).model_dump(mode="json")


def _table(call: Call) -> Any:
    stage = call.place["stage"]
    sections = read_findings(call.notebook.results).sections
    found = [section.model_dump(mode="json") for section in sections if section.stage == stage]
    if not found:
        raise missing(f"The stage {stage[:40]!r} has said nothing yet.", "stage")
    return {"sections": found}


def _figure(call: Call) -> Any:
    within = (call.number("from", -np.inf), call.number("to", np.inf))
    points = int(min(call.number("points", POINTS), 1e6))
    shelf = call.notebook.shelf
    return numbers(shelf.figure(call.place["stage"], points=points, within=within))


def _path(call: Call) -> Any:
    return numbers(call.notebook.shelf.path(points=int(min(call.number("points", POINTS), 1e6))))


def _jobs(call: Call) -> Any:
    notebook = call.notebook
    return [job.as_dict() for job in notebook.jobs.of(notebook.name)]


def _job(call: Call) -> Any:
    notebook = call.notebook
    return notebook.jobs.find(notebook.name, call.place["id"]).as_dict()


def _start(call: Call) -> Any:
    options = call.body.get("options") or {}
    if not isinstance(options, dict):
        options = wanted(call.body, "options", dict)
    return _submit(call.notebook, wanted(call.body, "kind", str), options)


def _export(call: Call) -> Any:
    return _submit(call.notebook, wanted(call.body, "kind", str), {})


def _submit(notebook: Notebook, kind: str, options: dict[str, Any]) -> Any:
    return notebook.jobs.submit(notebook.name, notebook.folder, kind, options).as_dict()


def _cancel(call: Call) -> Any:
    notebook = call.notebook
    job = notebook.jobs.find(notebook.name, call.place["id"])
    notebook.jobs.cancel(job)
    return job.as_dict()


# Method, address below /c/CASE/api/, what the body is, and what is done.
CALLS: tuple[tuple[str, str, str, Callable[[Call], Any]], ...] = (
    ("GET", "state", "", _state),
    ("GET", "findings", "", _findings),
    ("GET", "table/{stage}", "", _table),
    ("GET", "figure/{stage}", "", _figure),
    ("GET", "path3d", "", _path),
    ("GET", "jobs", "", _jobs),
    ("POST", "jobs", "json", _start),
    ("GET", "jobs/{id}", "", _job),
    ("DELETE", "jobs/{id}", "", _cancel),
    ("POST", "export", "json", _export),
)
