"""The two pages, made of the templates beside this module."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

import neutralpoint
from neutralpoint.app.contents import FILES, FINDINGS, document_of, words
from neutralpoint.app.folders import RESULTS
from neutralpoint.findings import CAUTIONS

STAGE_WORDS = {
    "motion": "what it did",
    "moments": "what it took",
    "weighing": "the odds",
    "response": "time and strength",
}
STATIC = Path(__file__).parent / "static"
STATIC_TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
}


def cases_page(folders: dict[str, Path]) -> str:
    """The list of cases as HTML."""
    cases = [
        {"name": name, **words(f), "stages": [STAGE_WORDS[s] for s in _made(f)]}
        for name, f in folders.items()
    ]
    return _page("cases.html.j2", cases=cases)


def notebook_page(name: str, folder: Path, token: str) -> str:
    """The notebook of one case as HTML.

    Args:
        name: Of the case.
        folder: Its folder.
        token: What the page must send with everything that writes.

    Returns:
        HTML; all words of the case are escaped.
    """
    said, document = words(folder), document_of(folder)[0]
    return _page(
        "notebook.html.j2",
        case=name,
        title=said["title"] or name,
        question=said["question"],
        invented=document is not None and document.invented,
        token=token,
        made=_made(folder),
    )


def _made(folder: Path) -> list[str]:
    """Stages that have results to show; a test of files alone, so that the page comes at once."""
    results = folder / RESULTS
    if not (results / FINDINGS).is_file():
        return []
    return [stage for stage, name in FILES.items() if (results / name).is_file()]


def _page(template: str, **values: Any) -> str:
    return (
        _environment()
        .get_template(template)
        .render(cautions=list(CAUTIONS), version=neutralpoint.__version__, **values)
    )


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("neutralpoint.app"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
