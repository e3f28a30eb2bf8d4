"""Numbers in a text: which carry a band, what they speak of, and whether the findings bear them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from neutralpoint.findings import Banded, Findings
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT
from neutralpoint.report.figures.display import SHOWN

DIGITS = r"[-\u2212]?\d[\d,\u202f\u2009]*(?:\.\d+)?"
UNITS = {
    r"kts?\b|knots?\b": KNOT,
    r"ft/min\b|fpm\b|feet (?:per|a) minute\b": FOOT_PER_MINUTE,
    r"ft\b|feet\b|foot\b": FOOT,
    r"m/s\b": 1.0,
    r"g\b": 1.0,
    r"degrees?\b|deg\b|\u00b0": DEGREE,
    r"lbf?\b|pounds?\b|N\b|newtons?\b": 1.0,
}
NUMBER = re.compile(rf"(?<![\w.:/])({DIGITS})[ \u202f\u2009-]?({'|'.join(UNITS)})", re.IGNORECASE)
PARTNER = re.compile(rf"({DIGITS})[ \u202f\u2009]?\S{{0,6}} (?:and|to) $")
BAND = re.compile(
    r"\u00b1|\+-|\+/-|plus or minus|\bbetween\b.{1,40}\band\b|\d[^.;]{0,14} to [-\u2212]?\d|"
    r"\bfrom\b.{1,30}\bto\b|\b(?:50|90|95) ?(?:%|percent|per cent)|\bband of\b",
    re.IGNORECASE,
)
# Numbers that are no results: what rules, documents, instruments and assumptions say.
GIVEN = re.compile(
    r"\b(?:steps?|gap|limit|rule|rules|CFR|handbook|manual|certified|certificated|data sheet|"
    r"cleared|METAR|sounding|forecast|resolution|quanti[sz]|every|interval|error|taken as|assumed|"
    r"runway|long|elevation|nearest|transmits?|law|published|format|allows?|approved|placard|"
    r"flight level|stop at|trials|load sheet)\b",
    re.IGNORECASE,
)
# What a number speaks of: words beside it, variable, unit factors it may have, sign that the
# words give it.
SPOKEN: tuple[tuple[str, str, tuple[float, ...], float], ...] = (
    (r"ground ?speed", "ground_speed", (KNOT, 1.0), 1.0),
    (r"descen(?:t|ding|ded)|sink|rate of descent", "vertical_speed", (FOOT_PER_MINUTE,), -1.0),
    (r"climb|vertical speed", "vertical_speed", (FOOT_PER_MINUTE,), 1.0),
    (r"airspeed|knots|\bkt\b", "calibrated_airspeed", (KNOT,), 1.0),
    (r"load factor|\bg\b", "normal_load_factor", (1.0,), 1.0),
    (r"bank", "bank_angle", (DEGREE,), 1.0),
    (r"below the horizon|path angle|steepest", "flight_path_angle", (DEGREE,), -1.0),
    (r"altitude|height|feet|\bft\b", "altitude", (FOOT,), 1.0),
)
CLOCK = re.compile(r"\b([012]?\d):([0-5]\d):([0-5]\d)(?:\.(\d))?\b")
MOMENTS = (
    (r"last fix|at the end|when the (?:track|record) ends", "last fix"),
    (r"first fix", "first fix"),
    (r"(?:highest|greatest|top|peak|maximum|fastest)[^.]{0,30}(?:speed|kt|knots)|reached",
     "highest calibrated airspeed"),
    (r"(?:lowest|least|minimum|fell to)[^.]{0,30}(?:load factor|\bg\b)|load factor fell",
     "lowest load factor"),
    (r"(?:highest|greatest|peak|maximum)[^.]{0,30}(?:load factor|\bg\b)", "highest load factor"),
    (r"steepest|below the horizon", "steepest descent"),
    (r"(?:highest|greatest|peak|top)[^.]{0,30}(?:altitude|height)", "highest altitude"),
)  # fmt: skip
Lookup = Callable[[str, float], Banded | None]


@dataclass(frozen=True)
class Spoken:
    """A number with a unit in a sentence.

    Attributes:
        start: Where it begins in the sentence.
        text: As written.
        values: SI values it may stand for, with and without the sign its words give it; with the
            number before it where the two are the ends of a range.
        quantity: Variable it speaks of; empty where that is not clear.
        moment: Time it speaks of, s after the epoch; None where that is not clear.
    """

    start: int
    text: str
    values: tuple[float, ...]
    quantity: str
    moment: float | None


def spoken_numbers(sentence: str, findings: Findings | None) -> list[Spoken]:
    """The numbers of a sentence that have a unit of flight.

    Args:
        sentence: One sentence.
        findings: For the times of key moments; None without a case.

    Returns:
        The numbers in order.
    """
    moment = None if findings is None else _moment(sentence, findings)
    found = []
    for match in NUMBER.finditer(sentence):
        digits = _digits(match[1])
        factor = next(f for p, f in UNITS.items() if re.fullmatch(p, match[2], re.IGNORECASE))
        quantity, sign = _quantity(sentence, match, factor)
        before = PARTNER.search(sentence[: match.start()])
        ends = [digits] if before is None else [digits, _digits(before[1])]
        values = tuple({s * float(end) * factor for end in ends for s in (1.0, sign)})
        found.append(Spoken(match.start(), match[0], values, quantity, moment))
    return found


def _digits(text: str) -> str:
    return re.sub(r"[,\u202f\u2009]", "", text).replace("\u2212", "-")


def has_band(sentence: str) -> bool:
    """Whether the numbers of a sentence come with a band."""
    return BAND.search(sentence) is not None


def is_given(sentence: str) -> bool:
    """Whether a sentence speaks of a rule, a document, an instrument or an assumption."""
    return GIVEN.search(sentence) is not None


def band_at(spoken: Spoken, findings: Findings, lookup: Lookup | None) -> Banded | None:
    """The band of the findings that a number should lie in; None where none can be named."""
    if not spoken.quantity or spoken.moment is None:
        return None
    for row in findings.key_times:
        if row.time == spoken.moment and spoken.quantity in row.values:
            return row.values[spoken.quantity]
    return lookup(spoken.quantity, spoken.moment) if lookup is not None else None


def fits(spoken: Spoken, band: Banded) -> bool:
    """Whether a number lies inside a 90% band, give or take half of the last digit shown."""
    grain = 0.5 * 10.0 ** -SHOWN[spoken.quantity].decimals * SHOWN[spoken.quantity].factor
    return any(band.low90 - grain <= value <= band.high90 + grain for value in spoken.values)


def said_band(quantity: str, band: Banded) -> str:
    """A band as a suggestion: `between 354 and 364 kt (90%)`."""
    shown = SHOWN[quantity]
    high = shown.with_unit(shown.number(band.high90))
    return f"between {shown.number(band.low90)} and {high} (90%)"


def _quantity(sentence: str, match: re.Match[str], factor: float) -> tuple[str, float]:
    for pattern, name, factors, sign in SPOKEN:
        unit_fits = any(abs(factor - f) < 1e-9 for f in factors)
        if unit_fits and re.search(pattern, sentence, re.IGNORECASE):
            return name, sign
    return "", 1.0


def _moment(sentence: str, findings: Findings) -> float | None:
    if (clock := CLOCK.search(sentence)) is not None:
        epoch = findings.epoch
        start = epoch.hour * 3600 + epoch.minute * 60 + epoch.second + epoch.microsecond * 1e-6
        hour, minute, second = (int(clock[k]) for k in (1, 2, 3))
        seconds = hour * 3600 + minute * 60 + second + int(clock[4] or 0) / 10.0 - start
        times = [row.time for row in findings.key_times] or [0.0]
        return seconds + 86400.0 * round((times[0] - seconds) / 86400.0)
    labels = {row.label: row.time for row in findings.key_times}
    for pattern, label in MOMENTS:
        if label in labels and re.search(pattern, sentence, re.IGNORECASE):
            return labels[label]
    return None
