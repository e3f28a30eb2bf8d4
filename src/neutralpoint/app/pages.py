"""The two pages, made of the templates beside this module."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

import neutralpoint
from neutralpoint.app.contents import FILES, FINDINGS, table_of_case, words
from neutralpoint.app.folders import RESULTS
from neutralpoint.findings import CAUTIONS
from neutralpoint.report.words.glossary import TERMS
from neutralpoint.report.words.labels import ENTRIES

STAGE_WORDS = {
    "motion": "flight path",
    "moments": "required moment",
    "limits": "limits",
    "wreckage": "where it came down",
    "heard": "what was heard",
    "felt": "what could be seen and felt",
    "history": "earlier flights",
    "weighing": "odds",
    "response": "time to act",
    "outside": "from other packages",
}
STATIC = Path(__file__).parent / "static"
STATIC_TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}


def cases_page(folders: dict[str, Path], token: str | None) -> str:
    """The list of cases as HTML.

    Args:
        folders: Folder of each case.
        token: What the page must send to begin a case; None where none can be begun.

    Returns:
        HTML; all words of the cases are escaped.
    """
    cases = [
        {"name": name, **words(f), "stages": [STAGE_WORDS[s] for s in _made(f)]}
        for name, f in folders.items()
    ]
    return _page("cases.html.j2", cases=cases, token=token)


def notebook_page(name: str, folder: Path, token: str) -> str:
    """The notebook of one case as HTML.

    Args:
        name: Of the case.
        folder: Its folder.
        token: What the page must send with everything that writes.

    Returns:
        HTML; all words of the case are escaped.
    """
    said = words(folder)
    return _page(
        "notebook.html.j2",
        case=name,
        title=said["title"] or name,
        question=said["question"],
        invented=table_of_case(folder).get("invented") is True,
        token=token,
        made=_made(folder),
        entries=ENTRIES,
        glossary=TERMS,
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
