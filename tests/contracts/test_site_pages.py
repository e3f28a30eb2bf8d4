"""What `make site` asks of the built pages, asked of pages built small: links, anchors, pictures.

The builder is no part of the tests' environment, and its run takes minutes. Its parser of Markdown
is; so each page is laid out as for the site, turned into plain HTML with the anchors of the site,
and judged by the judge of the site. Not asked here: themes, contents, equations.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest
import test_retired_words
from markdown_it import MarkdownIt
from markdown_it.token import Token
from readers_texts import CODE, ReadersText

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "docs"))
from sitemaker import gather, judge  # noqa: E402

ANCHORED = 4  # levels of headings with an anchor, as sitemaker/conf.py has them
DIRECTIVES = {"{number}", "{drawn}", "{results-table}", "{image}", "{toctree}", "{container}"}
ROLE = re.compile(r"\{(?:number)\}`[^`]*`")
PARSER = MarkdownIt("commonmark", {"html": True}).enable("table")


def slug(words: str, taken: dict[str, int]) -> str:
    """Anchor of a heading, numbered where it repeats, as the parser of the site gives it."""
    plain = re.sub(r"[^\w\u4e00-\u9fff\- ]", "", words.strip().lower().replace(" ", "-"))
    taken[plain] = taken.get(plain, -1) + 1
    return f"{plain}-{taken[plain]}" if taken[plain] else plain


def anchored(tokens: list[Token]) -> None:
    """Give headings their anchors."""
    taken: dict[str, int] = {}
    for place, token in enumerate(tokens):
        if token.type == "heading_open" and int(token.tag[1]) <= ANCHORED:
            parts = tokens[place + 1].children or []
            words = "".join(p.content for p in parts if p.type in ("text", "code_inline"))
            token.attrSet("id", slug(words, taken))


def as_html(text: str) -> str:
    """A page as HTML with links to pages that end as those of the site do."""
    tokens = PARSER.parse(ROLE.sub("a number", text))
    anchored(tokens)
    kept = []
    for token in tokens:
        words = token.info.split()
        if token.type == "fence" and words and words[0].startswith("{"):
            assert words[0] in DIRECTIVES, token.info
            continue
        for part in token.children or []:
            if part.type == "link_open" and ":" not in str(part.attrGet("href")):
                part.attrSet("href", re.sub(r"\.md(?=#|$)", ".html", str(part.attrGet("href"))))
        kept.append(token)
    return PARSER.renderer.render(kept, PARSER.options, {})


def notebook_text(path: Path) -> str:
    """Words of a notebook."""
    cells = json.loads(path.read_text("utf-8"))["cells"]
    return "\n\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Folder of the pages, each beside its pictures."""
    folder = tmp_path_factory.mktemp("site") / "source"
    laid = gather.gather(folder)
    for path in sorted((ROOT / "docs" / "notebooks").glob("*.ipynb")):
        name = f"docs/notebooks/{path.stem}.md"
        laid[name] = gather.linked(name, laid | {name: notebook_text(path)})
    for name, text in laid.items():
        gather.put(folder / name.replace(".md", ".html"), as_html(text))
    return folder


def test_the_pages_have_no_fault(site):
    assert len(list(site.rglob("*.html"))) > 100
    faults = judge.faults_of(site)
    assert not faults, "\n".join(faults)


def test_every_page_is_spelled_as_americans_spell():
    """Pages of results, decisions and the change log too, which the other words may still hold."""
    (rule,) = (r for r in test_retired_words.RULES if r["say"].startswith("American spelling"))
    texts = [
        ReadersText("docs", name, line, CODE.sub("", text))
        for name, page in gather.pages().items()
        for line, text in enumerate(page.splitlines(), start=1)
    ]
    assert not test_retired_words._hits(rule, texts)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[gone](elsewhere.md)", "elsewhere.html leads nowhere"),
        ("# A\n\n[b](#b)", "#b: no such place"),
        ("![](p.png)", "p.png leads nowhere"),
        ("```{results-table} a\n", ""),
        ("a `{drawn}` b", "{drawn} was not resolved"),
    ],
)
def test_a_fault_is_found(tmp_path, text, fault):
    (tmp_path / "a.html").write_text(as_html(text), "utf-8")
    found = judge.faults_of(tmp_path)
    assert any(fault in each for each in found) if fault else not found


def test_headings_that_repeat_have_anchors_of_their_own():
    text = as_html("# Limits, at 1 %\n\n## `a` of b\n\n## `a` of b\n\n##### deep")
    assert re.findall(r'id="([^"]*)"', text) == ["limits-at-1-", "a-of-b", "a-of-b-1"]
