"""The site of the documents: every page is listed, every quotation is read, notebooks were run.

`make site` builds the pages and judges their links; these checks need nothing that it installs.
"""

from __future__ import annotations

import json
import re
import sys
from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))
from sitemaker import contents, gather, judge, quoted  # noqa: E402

# As a page writes them.
ROLE = re.compile(r"\{number\}`([^`]+)`")
TABLE = re.compile(r"(?ms)^```\{results-table\} ([^\n]+)\n(.*?)^```$")
NOTEBOOKS = sorted((DOCS / "notebooks").glob("*.ipynb"))


def cells(path: Path, kind: str) -> list[dict]:
    book = json.loads(path.read_text("utf-8"))
    return [cell for cell in book["cells"] if cell["cell_type"] == kind]


def test_every_page_stands_in_the_contents():
    entries = [entry for entries in contents.CONTENTS.values() for entry in entries]
    apart = ("docs/index", "decisions/*", "benchmarks/results/*")  # the start; pages of lists
    pages = [name.removesuffix(".md") for name in gather.pages()]
    pages += [f"docs/notebooks/{path.stem}" for path in NOTEBOOKS]
    lost = [p for p in pages if not any(fnmatch(p, entry) for entry in (*entries, *apart))]
    assert not lost, f"sitemaker/contents.py lists no place for {lost}"
    gone = [e for e in entries if not any(fnmatch(p, e) for p in pages)]
    made = ["decisions/index", "benchmarks/results/index"]
    assert gone == made  # whose pages the site makes


def test_every_how_to_and_notebook_is_named_in_the_list_of_documents():
    text = (DOCS / "README.md").read_text("utf-8")
    wanted = [*(DOCS / "how-to").glob("*.md"), *(DOCS / "explanation").glob("*.md"), *NOTEBOOKS]
    wanted += [DOCS / name for name in ("scorecard.md", "paper/index.md", "gallery/index.md")]
    lost = [p.name for p in wanted if f"({p.relative_to(DOCS).as_posix()})" not in text]
    assert not lost


def test_every_quotation_of_the_pages_is_one_number_of_the_results():
    found = 0
    for name, text in gather.pages().items():
        for quotation in ROLE.findall(text):
            assert quoted.quote(quotation).text, f"{name}: {quotation}"
            found += 1
        for asked, rows in TABLE.findall(text):
            assert len(quoted.table(asked, rows.splitlines())[1]) > 1, f"{name}: {asked}"
            found += 1
    assert found > 40


@pytest.mark.parametrize(
    "asked",
    [
        "wheel | size of the wheel | weight",  # no such column
        "wheel | weight of the wheel | found",  # no such row
        "wheel ~ (\\d+)",  # many
        "sail | size | found",  # no such page
    ],
)
def test_what_is_not_there_or_not_one_cannot_be_quoted(asked):
    with pytest.raises(quoted.UnquotableError):
        quoted.quote(asked)
    with pytest.raises(quoted.UnquotableError):
        quoted.table("wheel | weight", [])


def test_links_of_a_page_fit_the_place_it_is_laid_in():
    texts = {"docs/index.md": "", "docs/how-to/a.md": "", "decisions/0001-b.md": ""}
    texts["docs/c.md"] = (
        "[a](how-to/a.md#x) [s](index.md) [d](../decisions/) [n](notebooks/1.ipynb) "
        "[code](../src/x.py) ![p](images/p.png)\n```text\n[a](how-to/a.md)\n```\n"
    )
    assert gather.linked("docs/c.md", texts) == (
        "[a](how-to/a.md#x) [s](../index.md) [d](../decisions/index.md) [n](notebooks/1.md) "
        "code (`src/x.py`) ![p](images/p.png)\n```text\n[a](how-to/a.md)\n```\n"
    )


def test_a_page_with_faults_is_found_out(tmp_path):
    (tmp_path / "a.html").write_text(
        '<h1 id="x"><a href="b.html#z">to b</a><a href="c.html">gone</a><img src="p.png">'
        '<script src="https://example.invalid/x.js"></script></h1><p id="x">{number}</p>'
    )
    (tmp_path / "b.html").write_text('<h1 id="y"><a href="a.html#x">back</a></h1>')
    said = "\n".join(judge.faults_of(tmp_path))
    for fault in ("no such place", "c.html leads nowhere", "without words", "fetches", "twice"):
        assert fault in said
    assert "not resolved" in said and "b.html:" not in said


def test_every_picture_of_a_page_has_words():
    texts = gather.pages() | {"README.md": (ROOT / "README.md").read_text("utf-8")}
    pictures = [(n, link) for n, text in texts.items() for link in gather.LINK.finditer(text)]
    pictures = [(name, link) for name, link in pictures if link[1]]
    assert len(pictures) > 10
    bare = [f"{name}: {link[0]}" for name, link in pictures if len(link[2].split()) < 2]
    assert not bare


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_was_run_and_names_no_machine(path):
    code = cells(path, "code")
    assert code and any(cell["outputs"] for cell in code)
    for cell in code:
        compile("".join(cell["source"]), path.name, "exec")
        assert not any(output["output_type"] == "error" for output in cell["outputs"])
        assert not any(output.get("name") == "stderr" for output in cell["outputs"])
        if any("image/png" in output.get("data", {}) for output in cell["outputs"]):
            assert "".join(cell["source"]).startswith("# "), "a comment says what is drawn"
    text = "".join("".join(c["source"]) for c in cells(path, "markdown"))
    for link in gather.LINK.finditer(text):
        target = link[3].partition("#")[0]
        assert (path.parent / target).exists(), f"{path.name}: {target}"
    assert "Not for flight" in text
