"""The analyst's own text, held against the rules of wording and the findings."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from typing import Any

from neutralpoint.findings import LIKELIHOOD, Findings, likelihood_word, word_allows
from neutralpoint.report.wording import numbers
from neutralpoint.report.wording.rules import (
    NAME_INSTEAD,
    NAME_WHY,
    NEAR,
    NEGATED,
    NO_PERSON,
    PERSONAL,
    RULES,
    SUPPOSED,
    Rule,
)

# A full stop ends a sentence, but not after a title, an initial or inside a number.
SENTENCE = re.compile(
    r"(?:(?<=[.!?])|(?<=[.!?][\"\u201d')]))(?<!\bMr\.)(?<!\bMs\.)(?<!\bDr\.)(?<!\bMrs\.)"
    r"(?<!\bCapt\.)(?<!\bNo\.)(?<!\be\.g\.)(?<!\bi\.e\.)\s+(?=[A-Z\"\u201c'(0-9])"
)
MARKUP = re.compile(r"^\s*(?:#+|[-*+]|>|\d+[.)])\s+|[*_`]{1,3}|\[|\]\([^)]*\)")
WORDS = "|".join(sorted((word for word, _, _ in LIKELIHOOD), key=len, reverse=True))
LIKELY = re.compile(
    rf"\b(?:{WORDS}|most likely|almost certainly|in all likelihood|probably)\b", re.I
)
PROBABILITY = re.compile(r"\b(?:0?\.\d+|1\.0)\b|\b\d{1,3}(?:\.\d+)? ?(?:%|percent|per cent)")


@dataclass(frozen=True)
class Flag:
    """A place that says more than is borne.

    Attributes:
        line: Counted from 1.
        rule: Name of the rule.
        said: The words.
        why: Why they say too much.
        instead: What to write.
        sentence: The sentence they stand in.
    """

    line: int
    rule: str
    said: str
    why: str
    instead: str
    sentence: str


@dataclass(frozen=True)
class Review:
    """A text, reviewed: its flags in order of place, and how many sentences were read."""

    flags: list[Flag]
    sentences: int

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {"sentences": self.sentences, "flags": [asdict(flag) for flag in self.flags]}


def review_text(
    text: str, findings: Findings | None = None, lookup: numbers.Lookup | None = None
) -> Review:
    """Find sentences that say more than a track, or these findings, can bear.

    Args:
        text: Markdown or plain text.
        findings: Of the case that the text speaks of; None for wording alone.
        lookup: Band of a quantity at any time, beside the key times.

    Returns:
        The flags with line numbers and suggestions.
    """
    said = sentences(text)
    known = frozenset() if findings is None else _names(findings)
    flags = [
        flag
        for line, sentence in said
        for flag in (
            *_ruled(line, sentence),
            *_likelihood(line, sentence),
            *_numbers(line, sentence, findings, lookup),
            *_people(line, sentence, known),
        )
    ]
    return Review(sorted(flags, key=lambda flag: flag.line), len(said))


def sentences(text: str) -> list[tuple[int, str]]:
    """The sentences of a text with the line each begins on; code blocks are left out."""
    found: list[tuple[int, str]] = []
    for first, paragraph in _paragraphs(text):
        joined, starts = "", []
        for offset, line in enumerate(paragraph):
            starts.append((len(joined), first + offset))
            joined += MARKUP.sub("", line).strip() + " "
        at = 0
        for piece in SENTENCE.split(joined.strip()):
            place = joined.index(piece, at)
            at = place + len(piece)
            if piece.strip():
                line = max(number for start, number in starts if start <= place)
                found.append((line, piece.strip()))
    return found


def _paragraphs(text: str) -> list[tuple[int, list[str]]]:
    blocks: list[tuple[int, list[str]]] = []
    inside = fresh = False
    for number, line in enumerate(text.splitlines(), start=1):
        if line.lstrip().startswith(("```", "~~~")):
            inside, fresh = not inside, True
            continue
        if inside or not line.strip():
            fresh = True
            continue
        starts = re.match(r"\s*(?:#+|[-*+]|\d+[.)])\s", line) is not None
        if fresh or starts or not blocks:
            blocks.append((number, []))
        blocks[-1][1].append(line)
        fresh = line.lstrip().startswith("#")
    return blocks


def _ruled(line: int, sentence: str) -> list[Flag]:
    return [
        Flag(line, rule.name, found[0].strip(" ,;"), rule.why, rule.instead, sentence)
        for rule in RULES
        if (found := _offence(rule, sentence)) is not None
    ]


def _offence(rule: Rule, sentence: str) -> re.Match[str] | None:
    if rule.unless is not None and rule.unless.search(sentence):
        return None
    for match in rule.pattern.finditer(sentence):
        before = sentence[max(0, match.start() - NEAR) : match.start()].lower()
        clause = re.split(r"[;:]|, (?:and|but|so) ", before)[-1]
        # A denial of certainty or proof holds for what follows; others are denied from inside too.
        outside = rule.name in ("certainty", "proof")
        if rule.negatable and NEGATED.search(clause if outside else clause + match[0].lower()):
            continue
        if rule.supposable and SUPPOSED.search(clause):
            continue
        return match
    return None


def _likelihood(line: int, sentence: str) -> list[Flag]:
    match = LIKELY.search(sentence)
    if match is None or re.search(r"\b(?:scale|means?|word|worded)\b", sentence):
        return []
    number = PROBABILITY.search(sentence)
    said = match[0].lower()
    if number is None:
        why = "Readers take such words to mean very different numbers."
        instead = f"{match[0]} with its number, such as very likely (0.93)"
        return [Flag(line, "likelihood", match[0], why, instead, sentence)]
    value = float(re.sub(r"[^\d.]", "", number[0]))
    value = value / 100.0 if re.search(r"%|per", number[0]) else value
    if any(word == said for word, _, _ in LIKELIHOOD) and not word_allows(said, min(value, 1.0)):
        why = f"The word does not stand for {value:.2f} on the published scale."
        return [Flag(line, "likelihood", match[0], why, likelihood_word(min(value, 1.0)), sentence)]
    return []


def _numbers(
    line: int, sentence: str, findings: Findings | None, lookup: numbers.Lookup | None
) -> list[Flag]:
    flags = []
    banded = numbers.has_band(sentence)
    for spoken in numbers.spoken_numbers(sentence, findings):
        if numbers.is_given(sentence):
            continue
        band = None if findings is None else numbers.band_at(spoken, findings, lookup)
        instead = "the value between the ends of its 90% band, as in the report"
        if band is not None and not band.observable:
            why = "The findings mark this quantity as not observable there: no value may be stated."
            flags.append(
                Flag(line, "band", spoken.text, why, "say that the data do not show it", sentence)
            )
            continue
        if band is not None:
            instead = numbers.said_band(spoken.quantity, band)
            if not banded and not numbers.fits(spoken, band):
                why = "The number lies outside the 90% band of the findings."
                flags.append(Flag(line, "band", spoken.text, why, instead, sentence))
                continue
        if not banded:
            why = "A derived number without its band says more than is known."
            flags.append(Flag(line, "number", spoken.text, why, instead, sentence))
    return flags + _claimed_band(line, sentence, findings, lookup)


def _claimed_band(
    line: int, sentence: str, findings: Findings | None, lookup: numbers.Lookup | None
) -> list[Flag]:
    """A band in the text that lies beside the band of the findings."""
    if findings is None or not numbers.has_band(sentence) or numbers.is_given(sentence):
        return []
    by_quantity: dict[str, list[numbers.Spoken]] = {}
    for spoken in numbers.spoken_numbers(sentence, findings):
        by_quantity.setdefault(spoken.quantity, []).append(spoken)
    flags = []
    for quantity, group in by_quantity.items():
        band = numbers.band_at(group[0], findings, lookup)
        if band is None or not band.observable or numbers.fits(group[0], band):
            continue
        values = [value for spoken in group for value in spoken.values]
        if min(values) <= band.high90 and max(values) >= band.low90:
            continue
        why = "The number lies outside the 90% band of the findings."
        flags.append(
            Flag(line, "band", group[0].text, why, numbers.said_band(quantity, band), sentence)
        )
    return flags


def _people(line: int, sentence: str, known: frozenset[str]) -> list[Flag]:
    for pattern in PERSONAL:
        for match in pattern.finditer(sentence):
            words = match[1].replace("-", " ").split()
            if not NO_PERSON.isdisjoint(words) or set(words) <= known:
                continue
            return [Flag(line, "name", match[1], NAME_WHY, NAME_INSTEAD, sentence)]
    return []


def _names(findings: Findings) -> frozenset[str]:
    """Capital words of the case's own title, place and airplane: they name no person."""
    subject = findings.subject
    text = f"{subject.title} {subject.place} {subject.airplane}"
    return frozenset(re.findall(r"[A-Z][a-z]+", text))
