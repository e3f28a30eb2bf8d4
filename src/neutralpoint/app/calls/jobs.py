"""Long work asked for by a page."""

from __future__ import annotations

from typing import Any

from neutralpoint.app.bodies import wanted
from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.app.kept import keep_before_run
from neutralpoint.app.notebook import Notebook


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
    kind = wanted(call.body, "kind", str)
    if kind == "study":
        with call.notebook.lock:
            keep_before_run(call.notebook.folder)
    return _submit(call.notebook, kind, options)


def _export(call: Call) -> Any:
    return _submit(call.notebook, wanted(call.body, "kind", str), {})


def _submit(notebook: Notebook, kind: str, options: dict[str, Any]) -> Any:
    return notebook.jobs.submit(notebook.name, notebook.folder, kind, options).as_dict()


def _cancel(call: Call) -> Any:
    notebook = call.notebook
    job = notebook.jobs.find(notebook.name, call.place["id"])
    notebook.jobs.cancel(job)
    return job.as_dict()


WORK: tuple[Entry, ...] = (
    ("GET", "jobs", "", _jobs),
    ("POST", "jobs", "json", _start),
    ("GET", "jobs/{id}", "", _job),
    ("DELETE", "jobs/{id}", "", _cancel),
    ("POST", "export", "json", _export),
)
