"""On which page of a printed PDF each linked place stands, and these numbers set into the page.

The printer knows no page numbers while it lays out a table of contents, so that a report is
printed twice: once to read where its headings fell, once with their numbers set in.
"""

from __future__ import annotations

import re

# Chromium writes the objects of a PDF plain and only their streams compressed.
OBJECT = re.compile(rb"(\d+) 0 obj\n<<(.*?)>>\s*(?:endobj|stream)", re.DOTALL)
KIDS = re.compile(rb"/Kids\s*\[([^\]]*)\]")
REFERENCE = re.compile(rb"(\d+) 0 R")
PLACE = re.compile(rb"/([^\s/\[\]<>()]+)\s*\[(\d+) 0 R /XYZ")
SLOT = re.compile(r'(<span class="page" data-page="([^"]+)">)[^<]*(</span>)')


def places(pdf: bytes) -> dict[str, int]:
    """Page of every place in a PDF of Chromium that a link leads to.

    Args:
        pdf: The file.

    Returns:
        Page, counted from 1, by anchor; empty where the file is not laid out as expected.
    """
    objects = _objects(pdf)
    at = {number: page for page, number in enumerate(_pages(objects), start=1)}
    catalog = next((body for body in objects.values() if b"/Type /Catalog" in body), b"")
    named = re.search(rb"/Dests (\d+) 0 R", catalog)
    listed = b"" if named is None else objects.get(int(named[1]), b"")
    return {
        name.decode("ascii", "replace"): at[int(page)]
        for name, page in PLACE.findall(listed)
        if int(page) in at
    }


def with_pages(html: str, found: dict[str, int]) -> str:
    """A page with the numbers of its contents set in.

    Args:
        html: The report.
        found: Page by anchor.

    Returns:
        The report; a place that is not known stays without a number.
    """
    return SLOT.sub(lambda slot: f"{slot[1]}{found.get(slot[2], '')}{slot[3]}", html)


def _objects(pdf: bytes) -> dict[int, bytes]:
    return {int(number): body for number, body in OBJECT.findall(pdf)}


def _pages(objects: dict[int, bytes]) -> list[int]:
    """Numbers of the page objects, in order."""
    root = next(
        (
            number
            for number, body in objects.items()
            if b"/Type /Pages" in body and b"/Parent" not in body
        ),
        None,
    )
    return [] if root is None else _leaves(root, objects)


def _leaves(number: int, objects: dict[int, bytes]) -> list[int]:
    kids = KIDS.search(objects.get(number, b""))
    if kids is None:
        return [number]
    return [leaf for kid in REFERENCE.findall(kids[1]) for leaf in _leaves(int(kid), objects)]
