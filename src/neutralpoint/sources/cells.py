"""Cells of text tables: numbers with either decimal mark, and angles in degrees and minutes."""

from __future__ import annotations

import contextlib
import math
import re

import numpy as np

BLANKS = frozenset({"", "-", "--", "nan", "null", "none", "n/a", "na", "m"})
# Space, no-break space, thin space, narrow no-break space, apostrophe: digit grouping.
GROUPING = re.compile("(?<=\\d)[ \u00a0\u2009\u202f'\u2019](?=\\d{3}(?!\\d))")
COMMA_GROUPS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?$")
COMMA_DECIMAL = re.compile(r"[+-]?\d+,\d+$")
POINT_DECIMAL = re.compile(r"[+-]?\d*\.\d+$")
HEMISPHERE = re.compile(r"^([NSEW])?\s*(.*?)\s*([NSEW])?$", re.IGNORECASE)
PACKED = re.compile(r"(\d{2,3})(\d{2})(\d{2}(?:\.\d+)?)$")
LONGEST = 64  # characters of a number; longer cells are no numbers
PLAIN = re.compile(r"[0-9.+\n-]*")


def is_blank(cell: str) -> bool:
    """Whether a cell says that there is no value.

    Args:
        cell: Text of the cell.

    Returns:
        True for an empty cell and for the usual words for nothing.
    """
    return cell.strip().lower() in BLANKS


def decimal_mark(cells: list[str]) -> str:
    """The decimal mark of a table, from its cells.

    Args:
        cells: A sample of numeric cells.

    Returns:
        `","` where cells such as `46,19` occur and none such as `46.19`, else `"."`.
    """
    stripped = [cell.strip() for cell in cells]
    comma = any(COMMA_DECIMAL.match(c) and not COMMA_GROUPS.match(c) for c in stripped)
    point = any(POINT_DECIMAL.match(c) for c in stripped)
    return "," if comma and not point else "."


def number(cell: str, mark: str = ".") -> float:
    """The number in a cell.

    Args:
        cell: Text of the cell, not blank.
        mark: Decimal mark of the table.

    Returns:
        The number, finite.

    Raises:
        ValueError: Where the cell is not a number.
    """
    text = cell.strip()
    if len(text) > LONGEST:
        raise ValueError("too long for a number")
    if mark == ",":
        text = text.replace(".", "").replace(",", ".") if "," in text else text
    elif COMMA_GROUPS.match(text):
        text = text.replace(",", "")
    text = GROUPING.sub("", text).replace("\u2212", "-")
    if "_" in text:
        raise ValueError(f"{cell!r} is not a number")
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{cell!r} is not finite")
    return value


def plain_numbers(cells: list[str]) -> np.ndarray | None:
    """A whole column at once, where no cell needs a closer look.

    Args:
        cells: Texts without surrounding blanks.

    Returns:
        What `number` and `angle_degrees` give with a decimal point, NaN where a cell is empty,
        shape (n,); None where some cell is anything but digits, a sign and a point.
    """
    if PLAIN.fullmatch("\n".join(cells)) is None or max(map(len, cells), default=0) > LONGEST:
        return None
    try:
        return np.array([float(cell) if cell else math.nan for cell in cells], dtype=np.float64)
    except ValueError:
        return None


def angle_degrees(cell: str, mark: str = ".") -> float:
    """A latitude or longitude in a cell, decimal or in degrees, minutes and seconds.

    `46.1999`, `-36.40`, `46 11 59.6 N`, `46°11'59.6"N`, `N46 11.993` and `461159.6N` are read.

    Args:
        cell: Text of the cell, not blank.
        mark: Decimal mark of the table.

    Returns:
        Degrees, positive north and east.

    Raises:
        ValueError: Where the cell is not an angle.
    """
    text = cell.strip()
    if len(text) > LONGEST:
        raise ValueError("too long for an angle")
    if not re.search(r"\s", text):
        with contextlib.suppress(ValueError):
            return number(text, mark)
    found = HEMISPHERE.match(text)
    if found is None:
        raise ValueError(f"{cell!r} is not an angle")
    before, body, after = found.groups()
    letter = (before or after or "").upper()
    if before and after:
        raise ValueError(f"{cell!r} names two hemispheres")
    value = _degrees(body.replace(",", ".") if mark == "," else body, cell, bool(letter))
    return -value if letter in ("S", "W") else value


def _degrees(body: str, cell: str, lettered: bool) -> float:
    packed = PACKED.fullmatch(body)
    parts = packed.groups() if packed and lettered else re.findall(r"\d+(?:\.\d+)?", body)
    rest = re.sub(r"[\d.\s°º'’′\"”″:dms-]", "", body, flags=re.IGNORECASE)
    if rest or not 1 <= len(parts) <= 3 or body.count("-") > 1 or body.rfind("-") > 0:
        raise ValueError(f"{cell!r} is not an angle")
    degrees, minutes, seconds = ([float(p) for p in parts] + [0.0, 0.0])[:3]
    if minutes >= 60.0 or seconds >= 60.0:
        raise ValueError(f"{cell!r} has 60 or more minutes or seconds")
    value = degrees + minutes / 60.0 + seconds / 3600.0
    return -value if body.startswith("-") else value
