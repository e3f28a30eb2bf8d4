"""Figures to be published with the notes on them, and the storyboard of the film."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from neutralpoint.app import editing
from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.errors import NeutralPointError

if TYPE_CHECKING:
    from neutralpoint.app.pictures import AskedPicture

# The drawing library is loaded by the calls that draw: not before the page is up.


def _pictures(call: Call) -> Any:
    from neutralpoint.app.pictures import pictures_of

    return pictures_of(call.notebook.folder, call.notebook.shelf.results())


def _asked(call: Call) -> AskedPicture:
    from neutralpoint.app.pictures import AskedPicture

    within = None
    if call.text("from") or call.text("to"):
        within = (call.number("from", 0.0), call.number("to", 1e9))
        if within[1] <= within[0]:
            raise NeutralPointError(
                "request-invalid", "The stretch ends before it begins.", where="to",
                hint="Give seconds of the record, the end after the beginning.",
            )  # fmt: skip
    return AskedPicture(
        key=call.place["key"],
        form=call.text("form") or "wide",
        ground=call.text("ground") or "light",
        kind=call.text("kind") or "png",
        within=within,
    )


def _picture(call: Call) -> Any:
    from neutralpoint.app.pictures import MEDIA, picture

    asked = _asked(call)
    data = picture(call.notebook.folder, call.notebook.shelf, asked)
    name = f"{asked.key}-{asked.form}-{asked.ground}.{asked.kind}"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=MEDIA[asked.kind], headers=headers)


def _put_notes(call: Call) -> Any:
    from neutralpoint.app.pictures import NOTES_FILE, checked_notes

    checked_notes(call.body)
    return _written(call, NOTES_FILE)


def _film(call: Call) -> Any:
    from neutralpoint.app.pictures import film_of

    return film_of(call.notebook.folder, call.notebook.shelf.results())


def _put_film(call: Call) -> Any:
    from neutralpoint.app.pictures import FILM_FILE, checked_story

    checked_story(call.body)
    _written(call, FILM_FILE)
    return _film(call)


def _written(call: Call, name: str) -> Any:
    notebook = call.notebook
    with notebook.lock:
        editing.replace_words(notebook.folder, name, call.body)
    notebook.changed()
    return {"saved": name}


def _frame(call: Call) -> Any:
    from neutralpoint.app.pictures import MEDIA, film_frame

    notebook = call.notebook
    shape = call.text("shape") or "wide"
    data = film_frame(notebook.folder, notebook.shelf, call.number("at", 0.0), shape)
    return Response(data, media_type=MEDIA["png"])


PICTURING: tuple[Entry, ...] = (
    ("GET", "pictures", "", _pictures),
    ("GET", "picture/{key}", "", _picture),
    ("PUT", "notes", "text", _put_notes),
    ("GET", "film", "", _film),
    ("PUT", "film", "text", _put_film),
    ("GET", "film/frame", "", _frame),
)
