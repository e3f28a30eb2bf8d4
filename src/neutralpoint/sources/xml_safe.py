"""XML from anywhere: no entities, no document types, limits on size, depth and elements."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import iterparse

from neutralpoint.errors import NeutralPointError

LARGEST = 64 * 1024 * 1024  # bytes; a day of one airplane at 1 Hz is below 20 MB
DEEPEST = 64  # elements inside each other; GPX and KML use below ten
MOST_ELEMENTS = 1_000_000  # a day of one airplane at 1 Hz is below 400,000
# Bytes given to the parser at once: it goes over a long attribute again with every piece.
PIECE = 4 * 1024 * 1024


class _Pieces(BytesIO):
    """A file that is read in large pieces, however small those asked for."""

    def read(self, _size: int | None = None, /) -> bytes:
        """The next piece."""
        return super().read(PIECE)


def elements(data: bytes, where: str) -> Iterator[Element]:
    """Elements of an XML file, each when it is complete.

    Args:
        data: The file.
        where: Its name, for errors.

    Returns:
        Elements one by one, inner ones before outer ones; names carry their namespace in braces.

    Raises:
        NeutralPointError: `file-format` where it is no XML, holds entities or is nested too
            deep, `file-too-large` beyond the limits.
    """
    if len(data) > LARGEST:
        raise NeutralPointError(
            "file-too-large",
            f"The file has {len(data) / 1e6:.0f} MB.",
            where=where,
            hint=f"At most {LARGEST / 1e6:.0f} MB of XML are read; cut the file to the flight.",
        )
    depth = count = 0
    try:
        for event, element in iterparse(
            _Pieces(data), events=("start", "end"), forbid_dtd=True, forbid_external=True
        ):
            depth += 1 if event == "start" else -1
            count += event == "start"
            if depth > DEEPEST or count > MOST_ELEMENTS:
                raise _refused(
                    f"it is nested deeper than {DEEPEST} elements"
                    if depth > DEEPEST
                    else f"it has more than {MOST_ELEMENTS} elements",
                    where,
                )
            if event == "end":
                yield element
    except DefusedXmlException as forbidden:
        raise _refused("it declares a document type or entities", where) from forbidden
    except (ParseError, LookupError, ValueError) as broken:
        raise _refused(str(broken)[:120], where) from broken


def local(element: Element) -> str:
    """Name of an element without its namespace.

    Args:
        element: The element.

    Returns:
        The name.
    """
    return str(element.tag).rsplit("}", 1)[-1]


def _refused(reason: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "file-format",
        f"The file cannot be read as XML: {reason}.",
        where=where,
        hint="Export it again as plain GPX or KML, without a document type.",
    )
