"""What a page changes of a case: files, the case file, and back again."""

from __future__ import annotations

import secrets
import tomllib
from datetime import UTC, datetime
from typing import Any

from neutralpoint.app import editing
from neutralpoint.app.bodies import wanted
from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.app.columns import preview, with_columns
from neutralpoint.app.contents import case_text, revision_of, table_of_case
from neutralpoint.app.defaults import with_defaults
from neutralpoint.app.folders import file_inside
from neutralpoint.app.form import filled, form_of
from neutralpoint.app.raw import raw_picture
from neutralpoint.app.replies import numbers, packed
from neutralpoint.case import parse_draft

MOST_ROWS = 1e6  # of a first picture that may be asked for; more are never meant


def _put_file(call: Call) -> Any:
    notebook = call.notebook
    with notebook.lock:
        name = editing.add_file(
            notebook.folder, call.text("name"), call.body, replace=call.text("replace") == "1"
        )
    notebook.changed()
    return {"file": name}


def _remove_file(call: Call) -> Any:
    notebook = call.notebook
    with notebook.lock:
        editing.remove_file(notebook.folder, call.text("name"))
    notebook.changed()
    return {"removed": call.text("name")}


def _preview(call: Call) -> Any:
    folder = call.notebook.folder
    return preview(file_inside(folder, call.text("name")), table_of_case(folder))


def _raw(call: Call) -> Any:
    folder = call.notebook.folder
    path = file_inside(folder, call.text("name"))
    rows = int(min(max(call.number("rows", 0.0), 0.0), MOST_ROWS))
    return numbers(packed(raw_picture(path, table_of_case(folder), rows)))


def _defaults(call: Call) -> Any:
    """Give what a first run needs and nobody has stated, with its doubt."""
    notebook = call.notebook
    with notebook.lock:
        text = _toml(case_text(notebook.folder))
        fresh = editing.save_case(notebook.folder, with_defaults(text, datetime.now(UTC).date()))
    return _changed(call, fresh)


def _catalogue(call: Call) -> Any:
    from neutralpoint.app.airplanes import airplane_cards  # loads JAX: not before the page is up

    return airplane_cards(call.notebook.folder, table_of_case(call.notebook.folder))


def _copy_airplane(call: Call) -> Any:
    from neutralpoint.app.airplanes import catalogue_file

    notebook, name = call.notebook, wanted(call.body, "name", str)
    data = catalogue_file(name)
    with notebook.lock:
        fresh = notebook.folder / f".upload-{secrets.token_hex(6)}"
        fresh.write_bytes(data)
        editing.add_file(notebook.folder, f"{name}.toml", fresh, replace=False)
        given = {"airplane.file": f"{name}.toml"}
        if not table_of_case(notebook.folder).get("airplane", {}).get("name"):
            given["airplane.name"] = tomllib.loads(data.decode())["name"]
        text, _ = filled(case_text(notebook.folder), given)
        return _changed(call, editing.save_case(notebook.folder, text))


def _airplane(call: Call) -> Any:
    from neutralpoint.app.airplane_numbers import airplane_numbers, airplane_source

    name = call.text("name")
    return airplane_numbers(airplane_source(call.notebook.folder, name), name)


def _effect(call: Call) -> Any:
    """What other numbers change; nothing is written."""
    from neutralpoint.app.airplane_numbers import airplane_source, effect_of_numbers

    name, values = wanted(call.body, "name", str), wanted(call.body, "values", dict)
    return effect_of_numbers(airplane_source(call.notebook.folder, name), name, values)


def _put_airplane(call: Call) -> Any:
    from neutralpoint.app.airplane_numbers import airplane_source, check_airplane, with_numbers

    notebook = call.notebook
    name, values = wanted(call.body, "name", str), wanted(call.body, "values", dict)
    with notebook.lock:
        file_inside(notebook.folder, name)  # of the case: the catalogue stays as it is
        text = with_numbers(airplane_source(notebook.folder, name), values)
        check_airplane(text, name)
        editing.replace_airplane(notebook.folder, name, text)
    return _changed(call, revision_of(notebook.folder))


def _columns(call: Call) -> Any:
    notebook, name = call.notebook, call.text("name")
    file_inside(notebook.folder, name)
    with notebook.lock:
        text = _toml(case_text(notebook.folder))
        fresh = editing.save_case(
            notebook.folder, with_columns(text, notebook.folder, name, call.body)
        )
    return _changed(call, fresh)


def _form(call: Call) -> Any:
    folder = call.notebook.folder
    with call.notebook.lock:
        text, revision = case_text(folder), revision_of(folder)
    return {"revision": revision, **form_of(_toml(text))}


def _fill(call: Call) -> Any:
    revision, values = wanted(call.body, "revision", str), wanted(call.body, "values", dict)
    notebook = call.notebook
    with notebook.lock:
        _toml(case_text(notebook.folder))
        fresh = editing.fill_form(notebook.folder, revision, values)
    return _changed(call, fresh)


def _text(call: Call) -> Any:
    folder = call.notebook.folder
    with call.notebook.lock:
        return {"text": case_text(folder), "revision": revision_of(folder)}


def _put_text(call: Call) -> Any:
    notebook = call.notebook
    with notebook.lock:
        fresh = editing.replace_case(notebook.folder, call.text("revision"), call.body)
    return _changed(call, fresh)


def _undo(call: Call) -> Any:
    with call.notebook.lock:
        call.notebook.history.undo()
        fresh = revision_of(call.notebook.folder)
    return _changed(call, fresh)


def _redo(call: Call) -> Any:
    with call.notebook.lock:
        call.notebook.history.redo()
        fresh = revision_of(call.notebook.folder)
    return _changed(call, fresh)


def _changed(call: Call, revision: str) -> Any:
    call.notebook.changed()
    call.notebook.retell()
    return {"revision": revision}


def _toml(text: str) -> str:
    """A text that is TOML; whether it holds to the schema is left open."""
    parse_draft(text)
    return text


EDITING: tuple[Entry, ...] = (
    ("PUT", "file", "file", _put_file),
    ("DELETE", "file", "", _remove_file),
    ("GET", "preview", "", _preview),
    ("GET", "raw", "", _raw),
    ("POST", "defaults", "json", _defaults),
    ("GET", "airplanes", "", _catalogue),
    ("POST", "airplanes", "json", _copy_airplane),
    ("GET", "airplane", "", _airplane),
    ("POST", "airplane", "json", _effect),
    ("PUT", "airplane", "json", _put_airplane),
    ("PUT", "columns", "json", _columns),
    ("GET", "form", "", _form),
    ("PUT", "form", "json", _fill),
    ("GET", "case.toml", "", _text),
    ("PUT", "case.toml", "text", _put_text),
    ("POST", "undo", "", _undo),
    ("POST", "redo", "", _redo),
)
