"""Notebooks: run from first cell to last, kept without a trace of the machine, told as pages."""

from __future__ import annotations

import base64
import re
from pathlib import Path
from typing import Any

import nbformat

from sitemaker.quoted import ROOT

FOLDER = ROOT / "docs" / "notebooks"
LONGEST = 900  # s of a cell: a study that compiles
COLORED = re.compile(r"\x1b\[[0-9;]*m")


def notebook_paths() -> list[Path]:
    """All of them, in the order of their numbers."""
    return sorted(FOLDER.glob("*.ipynb"))


def run(path: Path) -> Any:
    """Run a notebook in a fresh kernel.

    Args:
        path: Of the notebook; it runs in its own folder.

    Returns:
        The notebook with what its cells gave, bare of all that names a machine.
    """
    from nbclient import NotebookClient

    book = nbformat.read(path, as_version=4)
    # A fresh kernel of the interpreter that runs this; what is installed beside it is not asked.
    client = NotebookClient(
        book, timeout=LONGEST, kernel_name="python3", record_timing=False,
        resources={"metadata": {"path": str(path.parent)}},
    )  # fmt: skip
    client.execute()
    return bare(book)


def bare(book: Any) -> Any:
    """Take off what differs from run to run and from machine to machine.

    Args:
        book: A notebook, changed.

    Returns:
        The same.
    """
    book.metadata = nbformat.from_dict({"language_info": {"name": "python"}})
    for number, cell in enumerate(book.cells, start=1):
        cell["id"] = f"cell-{number}"
        cell.metadata = nbformat.from_dict({})
        if cell.cell_type == "code":
            cell.outputs = [_bare_output(o) for o in cell.outputs if o.get("name") != "stderr"]
            cell.execution_count = None
    return book


def _bare_output(output: Any) -> Any:
    if "execution_count" in output:
        output.execution_count = None
    if "metadata" in output:
        output.metadata = nbformat.from_dict({})
    if "data" in output:  # the plain form stands for all: pages of other makers' markup are large
        kept = [kind for kind in ("image/png", "text/plain") if kind in output.data][:1]
        output.data = nbformat.from_dict({kind: output.data[kind] for kind in kept})
    return output


def write(path: Path, book: Any) -> None:
    """Write a notebook.

    Args:
        path: Where to.
        book: The notebook.
    """
    path.write_text(nbformat.writes(book, version=4) + "\n", "utf-8")


def page(path: Path, pictures: Path) -> str:
    """A notebook as Markdown.

    Args:
        path: Of the notebook.
        pictures: Folder for its pictures; they are named `NAME-1.png` and so on.

    Returns:
        The text.
    """
    pictures.mkdir(parents=True, exist_ok=True)
    book = nbformat.read(path, as_version=4)
    parts: list[str] = []
    for cell in book.cells:
        if cell.cell_type == "markdown":
            parts.append(cell.source)
            continue
        parts.append(f"```python\n{cell.source}\n```")
        for output in cell.outputs:
            parts.append(_told(output, path.stem, pictures, heading(cell.source)))
    parts.append(
        f"This page is the notebook `docs/notebooks/{path.name}`; `make notebooks` runs it again."
    )
    return "\n\n".join(parts) + "\n"


def heading(source: str) -> str:
    """What a picture shows: the comment that its cell begins with.

    Args:
        source: Of the cell.

    Returns:
        The comment, or a general word.
    """
    first = source.split("\n", 1)[0]
    return first.removeprefix("#").strip() if first.startswith("#") else "What the cell draws"


def _told(output: Any, name: str, pictures: Path, words: str) -> str:
    data = output.get("data", {})
    if "image/png" in data:
        file = pictures / f"{name}-{len(list(pictures.glob(f'{name}-*.png'))) + 1}.png"
        file.write_bytes(base64.b64decode(data["image/png"]))
        return f"![{words}](../../pictures/notebooks/{file.name})"
    text = output.get("text") or data.get("text/plain", "")
    return f"::::{{container}} output\n```text\n{COLORED.sub('', text).rstrip()}\n```\n::::"
