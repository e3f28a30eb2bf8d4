"""Parity and address of Mode S messages, and what one wrong bit leaves of them."""

from __future__ import annotations

from dataclasses import dataclass

from pyModeS.util import crc, df

SQUITTERS = (17, 18)  # parity without overlay: a remainder of zero means whole
ADDRESSED = (0, 4, 5, 16, 20, 21)  # parity overlaid with the airplane's address
LONG = (16, 17, 18, 20, 21)  # formats of 112 bits; the others have 56
REPAIRED = "one bit of the message was repaired from its parity"


@dataclass(frozen=True)
class Frame:
    """A message with its address.

    Attributes:
        time: s after the epoch.
        text: Hexadecimal digits, repaired where `repaired`.
        row: Line of the file.
        receiver: Index of the receiver.
        format: Downlink format.
        address: 24-bit address, six hexadecimal digits.
        repaired: One bit was changed to make the parity hold.
    """

    time: float
    text: str
    row: int
    receiver: int
    format: int
    address: str
    repaired: bool = False

    def bits(self, first: int, last: int) -> int:
        """A field of the message.

        Args:
            first: First bit, counted from 1 as in ICAO Annex 10.
            last: Last bit.

        Returns:
            The unsigned field.
        """
        size = 4 * len(self.text)
        return (int(self.text, 16) >> (size - last)) & ((1 << (last - first + 1)) - 1)


def _syndromes(size: int) -> dict[int, int]:
    """Remainder that each single wrong bit leaves, and the bit, by the size of the message."""
    digits = size // 4
    return {crc(f"{1 << bit:0{digits}X}"): bit for bit in range(size)}


SYNDROMES = {size: _syndromes(size) for size in (56, 112)}


def format_of(text: str) -> int | None:
    """Downlink format of a message.

    Args:
        text: Hexadecimal digits.

    Returns:
        The format; None where its length is not that of the format.
    """
    found = df(text)
    return found if (found in LONG or found >= 24) == (len(text) == 28) else None


def remainder(text: str) -> int:
    """Remainder of the parity check; with an overlay this is the address.

    Args:
        text: Hexadecimal digits.

    Returns:
        24 bits.
    """
    return crc(text)


def repaired(text: str, syndrome: int) -> str | None:
    """The message with the one bit changed that leaves a remainder.

    Args:
        text: Hexadecimal digits.
        syndrome: Remainder, without the overlay.

    Returns:
        The message; None where no single bit leaves that remainder. A wrong bit among the first
        five would be another format and is not repaired.
    """
    size = 4 * len(text)
    bit = SYNDROMES[size].get(syndrome)
    if bit is None or bit >= size - 5:
        return None
    return f"{int(text, 16) ^ (1 << bit):0{len(text)}X}"
