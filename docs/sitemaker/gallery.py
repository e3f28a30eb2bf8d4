"""The pages of the gallery: an entry and a page for every example case."""

from __future__ import annotations

import html
import re
import shutil
from pathlib import Path

from sitemaker.cases import FIGURES, Shown
from sitemaker.gather import put

HEADLINE = re.compile(r'(?s)<p class="sheet-headline">(.*?)</p>')


def lay(shown: list[Shown], source: Path, pages: Path) -> str:
    """Write the pages of the gallery, and put reports beside them.

    Args:
        shown: The cases.
        source: Folder of the source of the site.
        pages: Folder of its pages.

    Returns:
        The list that stands on the page of the gallery.
    """
    entries = []
    for case in shown:
        if case.made is not None:
            put(source / f"docs/gallery/{case.name}.md", _page(case))
            _copy(case, source, pages)
        entries.append(_entry(case))
    inside = "\n".join(case.name for case in shown if case.made is not None)
    tree = f"```{{toctree}}\n:hidden:\n\n{inside}\n```" if inside else ""
    return "\n\n".join([*entries, tree])


def _copy(case: Shown, source: Path, pages: Path) -> None:
    pictures, whole = source / "pictures" / case.name, pages / "cases" / case.name
    for folder in (pictures, whole):
        folder.mkdir(parents=True, exist_ok=True)
    for file in sorted(case.made.iterdir()) if case.made else []:
        shutil.copyfile(file, (pictures if file.suffix == ".png" else whole) / file.name)


def _titles(case: Shown) -> dict[str, str]:
    if case.made is None:
        return {}
    rows = (case.made / "pictures.txt").read_text("utf-8").splitlines()
    return dict(row.split("\t", 1) for row in rows)


def _entry(case: Shown) -> str:
    """A case on the page of the gallery."""
    if case.made is None:
        return f"## {case.title}\n\n*{case.question}*\n\n`neutralpoint study examples/{case.name}`"
    first = next(iter(_titles(case)))
    return (
        f"## [{case.title}]({case.name}.md)\n\n*{case.question}*\n\n{_headline(case)}\n\n"
        f"{_pair(case, first, 'The flight')}\n\n{_links(case)}"
    )


def _headline(case: Shown) -> str:
    """The answer in a sentence, as the sheet has it at its head."""
    sheet = (case.made / "answer.html").read_text("utf-8") if case.made else ""
    found = HEADLINE.search(sheet)
    words = html.unescape(re.sub(r"<[^>]+>", "", found[1])) if found else ""
    return f"**{' '.join(words.split())}**" if words else ""


def _links(case: Shown) -> str:
    place = f"../../cases/{case.name}"
    return (
        f'<a href="{place}/answer.html">Answer sheet</a> · '
        f'<a href="{place}/report.html">Full report</a> · '
        f"`neutralpoint study examples/{case.name}`"
    )


def _pair(case: Shown, key: str, title: str) -> str:
    """A figure for light and for dark pages."""
    about = f"{title}, of the invented case {case.title.split(':')[0]}"
    return "\n".join(
        f"```{{image}} ../../pictures/{case.name}/{key}-{ground}.png\n"
        f":alt: {about}\n:class: only-{ground}\n```"
        for ground in ("light", "dark")
    )


def _page(case: Shown) -> str:
    titles = _titles(case)
    parts = [
        f"# {case.title}",
        f"> {case.question}",
        f"{case.place}. Everything in this case is invented. One command studies it:",
        f"    neutralpoint study examples/{case.name}",
        _headline(case),
        _links(case),
        "## Answer sheet",
        f'<iframe class="answer" src="../../cases/{case.name}/answer.html" loading="lazy" '
        f'title="Answer sheet of {case.title.split(":")[0]}"></iframe>',
        "## Figures",
    ]
    parts += [_pair(case, key, title) for key, title in titles.items() if key in FIGURES]
    parts += ["## Stills of the film", "`neutralpoint film` makes a film of these results."]
    parts += [
        f"```{{image}} ../../pictures/{case.name}/{key}.png\n"
        f":alt: Still of the film, {title}, of the invented case {case.title.split(':')[0]}\n```"
        for key, title in titles.items()
        if key.startswith("still-")
    ]
    return "\n\n".join(parts) + "\n"
