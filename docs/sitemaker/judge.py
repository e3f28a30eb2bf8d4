"""Judges the pages of the site: links, anchors, pictures with words, nothing from a network."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

OUTSIDE = re.compile(r"(?:[a-z][a-z0-9+.-]*:|//)", re.IGNORECASE)
# What a browser fetches by itself, by element.
FETCHED = {"img": "src", "script": "src", "link": "href", "iframe": "src", "source": "src"}
IN_STYLE = re.compile(r"url\(\s*['\"]?([^)'\"]+)|@import\s+['\"]([^'\"]+)")
UNRESOLVED = re.compile(r"\{(?:number|results-table|drawn|container)\}|:::|`{3}")


class PageReader(HTMLParser):
    """What one page holds: ids, links, what it fetches, pictures without words."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.links: list[str] = []
        self.fetched: list[str] = []
        self.faults: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        given = dict(attrs)
        if given.get("id"):
            if given["id"] in self.ids:
                self.faults.append(f"the id {given['id']!r} stands twice")
            self.ids.add(str(given["id"]))
        if tag == "a" and given.get("href"):
            self.links.append(str(given["href"]))
        if tag in FETCHED and given.get(FETCHED[tag]):
            self.fetched.append(str(given[FETCHED[tag]]))
        if tag == "img" and (given.get("alt") is None or _is_name(given)):
            self.faults.append(f"a picture without words: {given.get('src')}")
        if tag == "iframe" and not given.get("title"):
            self.faults.append("a frame without a title")


def _is_name(given: dict[str, str | None]) -> bool:
    """Whether the words of a picture are only where it lies, as Sphinx writes without any."""
    return (
        bool(given.get("alt"))
        and str(given["alt"]).split("/")[-1] == str(given.get("src")).split("/")[-1]
    )


def read_page(text: str) -> PageReader:
    """Read a page.

    Args:
        text: HTML.

    Returns:
        What it holds.
    """
    page = PageReader()
    page.feed(text)
    return page


def faults_of(folder: Path, apart: tuple[str, ...] = ("cases",)) -> list[str]:
    """Everything wrong with the pages of a folder.

    Args:
        folder: The site.
        apart: Folders whose pages are made by the program and judged by its own tests.

    Returns:
        Sentences, none for a site that is whole.
    """
    paths = [
        p for p in sorted(folder.rglob("*.html")) if p.relative_to(folder).parts[0] not in apart
    ]
    read = {path.resolve(): read_page(path.read_text("utf-8")) for path in paths}
    faults = []
    for path, page in read.items():
        name = path.relative_to(folder.resolve()).as_posix()
        faults += [f"{name}: {fault}" for fault in page.faults]
        faults += [f"{name}: fetches {link}" for link in page.fetched if OUTSIDE.match(link)]
        faults += [f"{name}: {fault}" for fault in _lost(path, page, read)]
        if found := UNRESOLVED.search(path.read_text("utf-8")):
            faults.append(f"{name}: {found[0]} was not resolved")
    for sheet in sorted(folder.rglob("*.css")):
        targets = [a or b for a, b in IN_STYLE.findall(sheet.read_text("utf-8"))]
        faults += [
            f"{sheet.name}: fetches {target}"
            for target in targets
            if (OUTSIDE.match(target) and not target.startswith("data:"))
            or (not target.startswith("data:") and not (sheet.parent / target).is_file())
        ]
    return faults


def _lost(path: Path, page: PageReader, read: dict[Path, PageReader]) -> list[str]:
    """Links of a page that lead nowhere."""
    lost = []
    for link in [*page.links, *page.fetched]:
        if OUTSIDE.match(link):
            continue
        place, _, anchor = link.partition("#")
        target = (path.parent / unquote(place.partition("?")[0])).resolve() if place else path
        if not target.is_file():
            lost.append(f"{link} leads nowhere")
        elif anchor and target in read and unquote(anchor) not in read[target].ids:
            lost.append(f"{link}: no such place")
    return lost
