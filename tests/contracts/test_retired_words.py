"""One word for one thing, wherever a person reads: `retired-words.toml` has the words to avoid."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

import pytest
from readers_texts import ReadersText, python_strings, readers_texts

LIST = Path(__file__).with_name("retired-words.toml")
RULES = tomllib.loads(LIST.read_text("utf-8"))["retired"]


@pytest.fixture(scope="module")
def texts(repository) -> list[ReadersText]:
    return list(readers_texts(repository))


def _hits(rule: dict, texts: list[ReadersText]) -> list[str]:
    word = re.compile(rule["word"], re.IGNORECASE)
    apart = [re.compile(entry, re.IGNORECASE) for entry in rule.get("apart", [])]
    found = []
    for text in texts:
        if text.kind not in rule.get("in", [text.kind]):
            continue
        left = text.text
        for entry in apart:
            left = entry.sub("", left)
        if match := word.search(left):
            found.append(f"{text.file}:{text.line}: {match[0]!r} in {text.text.strip()[:90]!r}")
    return found


@pytest.mark.parametrize("rule", RULES, ids=[rule["say"][:40] for rule in RULES])
def test_no_reader_meets_a_retired_word(rule, texts):
    found = _hits(rule, texts)
    assert not found, f"say: {rule['say']}\n" + "\n".join(found)


def test_every_rule_can_fail_and_its_better_words_pass():
    for rule in RULES:
        for wrong in rule["wrong"]:
            place = ReadersText(rule.get("in", ["docs"])[0], "x", 1, wrong)
            assert _hits(rule, [place]), f"{wrong!r} passes {rule['word']!r}"
        assert not _hits(rule, [ReadersText("docs", "x", 1, rule["say"])]), rule["say"]


def test_every_kind_of_text_is_read(texts):
    """The check reads pages, templates, documents and strings within formatted strings."""
    assert {text.kind for text in texts} == {"python", "page", "template", "docs"}
    files = {text.file.split("/")[-1] for text in texts}
    assert {"notebook.html.j2", "odds.ts", "first-case.md", "errors.py", "case.toml"} <= files
    nested = ast.parse("""x = f"{a if b else 'two words'} and more\"""")
    assert "two words" in [text for _, text in python_strings(nested)]
