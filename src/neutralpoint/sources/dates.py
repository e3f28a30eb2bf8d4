"""Dates and clocks as people write them, turned into ISO 8601 text: 14/04/2031, 6:59:10 PM."""

from __future__ import annotations

import re

# Measured against dateutil 4.0 and pandas 3.1: both take 14/04 for 14 April in a column with the
# month first, row by row, and dateutil takes `1` and `10.5` for days of this month. Here one order
# holds for a whole column, so it is found and applied by hand.
HALVES = re.compile(r"(\d{1,2})(:\d\d(?::\d\d(?:[.,]\d+)?)?)\s*([AP])\.?M\.?", re.IGNORECASE)
YEAR_FIRST = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})(?=[T ])", re.IGNORECASE)
YEAR_LAST = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}),?[T ]\s*(\d{1,2})(:.+)", re.IGNORECASE)
DAY_FIRST, MONTH_FIRST = "day month year", "month day year"


def in_24_hours(cell: str) -> str:
    """A cell with a clock of twice twelve hours in one of twenty-four; dates with hyphens.

    Args:
        cell: As written.

    Returns:
        The same text where it has neither.
    """

    def turned(match: re.Match[str]) -> str:
        hour = int(match[1]) % 12 + 12 * (match[3].upper() == "P")
        return f"{hour:02d}{match[2]}"

    plain = HALVES.sub(turned, cell, count=1)
    return YEAR_FIRST.sub(lambda m: f"{m[1]}-{int(m[2]):02d}-{int(m[3]):02d}", plain, count=1)


def column_in_24_hours(cells: list[str]) -> list[str]:
    """`in_24_hours` of a whole column; untouched where no cell can need it.

    Args:
        cells: As written.

    Returns:
        One text a cell.
    """
    joined = "\n".join(cells)
    halved = "m" in joined.lower() and HALVES.search(joined) is not None
    if not halved and YEAR_FIRST.search(joined) is None:
        return cells
    return [in_24_hours(cell) for cell in cells]


def order_of_dates(cells: list[str]) -> str | None:
    """Which of day and month comes first in dates that end with the year.

    Args:
        cells: A sample of the column.

    Returns:
        `day month year` or `month day year`; empty where either could be meant; None where most
        cells hold no such date.
    """
    found = [m for m in map(YEAR_LAST.fullmatch, cells) if m]
    if 2 * len(found) <= len(cells):
        return None
    first = max(int(m[1]) for m in found)
    second = max(int(m[3]) for m in found)
    if first > 12 or (second <= 12 and all(m[2] == "." for m in found)):
        return DAY_FIRST
    return MONTH_FIRST if second > 12 else ""


def year_first(cell: str, order: str) -> str:
    """A date that ends with the year, as ISO 8601.

    Args:
        cell: As written.
        order: `day month year` or `month day year`.

    Returns:
        The same text where it holds no such date.
    """
    match = YEAR_LAST.fullmatch(cell)
    if match is None:
        return cell
    day, month = (match[1], match[3]) if order == DAY_FIRST else (match[3], match[1])
    return f"{match[4]}-{int(month):02d}-{int(day):02d} {int(match[5]):02d}{match[6]}"
