"""Blocks of ASTERIX, bare or inside a packet capture, and their records by edition."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import asterix.generated as specifications
from asterix.base import Bits

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.report import Refusals

CATEGORIES = (21, 48, 62)  # ADS-B reports, plots of a station, system tracks
# Byte orders of a packet capture, by its first four bytes (libpcap file format).
CAPTURES = {
    b"\xd4\xc3\xb2\xa1": "<",
    b"\x4d\x3c\xb2\xa1": "<",
    b"\xa1\xb2\xc3\xd4": ">",
    b"\xa1\xb2\x3c\x4d": ">",
}
CAPTURE_HEADER, PACKET_HEADER = 24, 16  # bytes
LINKS = {1: 14, 101: 0, 113: 16}  # bytes before the internet header: Ethernet, raw, cooked
UDP = 17  # protocol number
# Half a minute and below 1 GiB; an hour of a radar with all its traffic is about as much.
MOST_RECORDS = MOST_BLOCKS = 300_000
LARGEST_BLOCK = 65535  # bytes: the length field has 16 bits


@dataclass(frozen=True)
class Block:
    """One data block.

    Attributes:
        category: ASTERIX category.
        data: Records without the header.
        row: Number of the block in the file, counted from 1.
    """

    category: int
    data: bytes
    row: int


@dataclass(frozen=True)
class BlockEntry:
    """One record.

    Attributes:
        category: ASTERIX category.
        record: As decoded.
        row: Number of its block.
    """

    category: int
    record: Any
    row: int

    def value(self, *names: str) -> float | None:
        """A number of the record.

        Args:
            *names: Item, and part of it.

        Returns:
            In the unit of the specification; None where absent.
        """
        found: Any = self.record
        for name in names:
            try:
                item = found.get_item(name)
            except (KeyError, ValueError, AttributeError):
                return None
            if item is None:
                return None
            found = item.variation
        if hasattr(found, "content"):
            content = found.content
            if hasattr(content, "cv_unit"):
                return float(content.as_quantity(content.cv_unit))
            return float(content.as_uint())
        return float(found.as_uint()) if hasattr(found, "as_uint") else None

    def has(self, name: str) -> bool:
        """Whether an item is there.

        Args:
            name: Of the item.

        Returns:
            True where the record holds it.
        """
        try:
            return self.record.get_item(name) is not None
        except (KeyError, ValueError, AttributeError):
            return False


def blocks(data: bytes, refusals: Refusals, where: str) -> Iterator[Block]:
    """Data blocks of a file, one after the other.

    Args:
        data: The file: bare blocks, or a packet capture with blocks in UDP packets.
        refusals: Counts what is no block.
        where: Name of the file, for errors.

    Returns:
        Blocks in the order of the file, one by one.
    """
    row = 0
    for payload in _payloads(data, refusals):
        at = 0
        while at + 3 <= len(payload):
            category, length = payload[at], struct.unpack_from(">H", payload, at + 1)[0]
            row += 1
            if row > MOST_BLOCKS:
                raise _too_many("blocks", MOST_BLOCKS, where)
            if length < 4 or at + length > len(payload):
                refusals.add("the length of a block does not fit the file", row)
                break
            yield Block(category, payload[at + 3 : at + length], row)
            at += length
        if 0 < len(payload) - at < 3:
            refusals.add("bytes behind the last block", row)


def _payloads(data: bytes, refusals: Refusals) -> Iterator[bytes]:
    order = CAPTURES.get(data[:4])
    if order is None:
        yield data
        return
    if len(data) < CAPTURE_HEADER:
        return
    link = struct.unpack_from(order + "I", data, 20)[0] & 0xFFFF
    at, packet = CAPTURE_HEADER, 0
    while at + PACKET_HEADER <= len(data):
        packet += 1
        size = struct.unpack_from(order + "I", data, at + 8)[0]
        at += PACKET_HEADER
        if size > LARGEST_BLOCK + 100 or at + size > len(data):
            refusals.add("the capture is cut off", packet)
            return
        payload = _datagram(data[at : at + size], link)
        at += size
        if payload is None:
            refusals.add("the packet is no UDP over IPv4", packet)
        else:
            yield payload


def _datagram(packet: bytes, link: int) -> bytes | None:
    start = LINKS.get(link)
    if start is None or len(packet) < start + 28 or packet[start] >> 4 != 4:
        return None
    header = 4 * (packet[start] & 15)
    if packet[start + 9] != UDP or len(packet) < start + header + 8:
        return None
    length = struct.unpack_from(">H", packet, start + header + 4)[0]
    return packet[start + header + 8 : start + header + max(length, 8)]


def editions(category: int) -> dict[str, Any]:
    """Specifications of a category that can be decoded.

    Args:
        category: ASTERIX category.

    Returns:
        Specification by edition such as `2.7`, the newest first.
    """
    start = f"Cat_{category:03d}_"
    names = [n for n in dir(specifications) if n.startswith(start)]
    numbered = {tuple(int(x) for x in n.removeprefix(start).split("_")): n for n in names}
    return {
        ".".join(map(str, key)): getattr(specifications, numbered[key])
        for key in sorted(numbered, reverse=True)
    }


def records(
    data: bytes, chosen: dict[int, str], refusals: Refusals, where: str
) -> tuple[list[BlockEntry], tuple[str, ...]]:
    """Records of the categories that hold tracks.

    Without an edition named, the newest by which no block is broken is taken, else the one that
    breaks fewest.

    Args:
        data: The file.
        chosen: Edition by category, where the case names it.
        refusals: Counts blocks and records left out.
        where: Name of the file, for errors.

    Returns:
        Records in the order of the file, and sentences on the editions.

    Raises:
        NeutralPointError: `case-invalid` for an edition that is not known, `file-too-large`.
    """
    by_category: dict[int, list[Block]] = {}
    for block in blocks(data, refusals, where):
        if block.category in CATEGORIES:
            by_category.setdefault(block.category, []).append(block)
        else:
            refusals.add(f"category {block.category} holds no track", block.row)
    found: list[BlockEntry] = []
    said = []
    for category, mine in sorted(by_category.items()):
        edition, spec = _edition(category, mine, chosen.get(category), where)
        said.append(f"Category {category:03d} is read by edition {edition}.")
        for block in mine:
            parsed = _parsed(spec, block)
            if parsed is None:
                refusals.add(f"the block is broken by edition {edition}", block.row)
                continue
            found += [BlockEntry(category, record, block.row) for record in parsed]
            if len(found) > MOST_RECORDS:
                raise _too_many("records", MOST_RECORDS, where)
    found.sort(key=lambda entry: entry.row)
    return found, tuple(said)


def _too_many(what: str, most: int, where: str) -> NeutralPointError:
    return NeutralPointError(
        "file-too-large",
        f"The file holds more than {most} {what}.",
        where=where,
        hint="Cut the file to the flight.",
    )


def _edition(category: int, mine: list[Block], wanted: str | None, where: str) -> tuple[str, Any]:
    known = editions(category)
    if wanted is not None:
        if wanted not in known:
            raise NeutralPointError(
                "case-invalid",
                f"Edition {wanted!r} of category {category:03d} is not known.",
                where=where,
                hint=f"Known: {', '.join(known)}.",
            )
        return wanted, known[wanted]
    sample = mine[:50]
    broken = {e: sum(_parsed(spec, b) is None for b in sample) for e, spec in known.items()}
    best = min(known, key=lambda e: (broken[e], list(known).index(e)))
    return best, known[best]


def _parsed(spec: Any, block: Block) -> list[Any] | None:
    try:
        found = spec.cv_uap.parse(Bits.from_bytes(block.data))
    except (ValueError, IndexError, AssertionError, KeyError, RecursionError):
        return None
    return None if isinstance(found, Exception) else list(found)
