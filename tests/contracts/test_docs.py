"""Links in the documents lead somewhere, and versions agree."""

from __future__ import annotations

import re

import neutralpoint
from neutralpoint.vocabulary.quantity import MOTION

LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)|!\[[^\]]*\]\(([^)\s]+)\)")


def _anchors(text: str) -> set[str]:
    """Anchors of the headings, as renderers of Markdown make them."""
    headings = re.findall(r"(?m)^#+ (.+)$", text)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in headings}


def test_links_lead_somewhere(repository, tracked_texts):
    broken = []
    for name, text in tracked_texts.items():
        if not name.endswith(".md"):
            continue
        for target in filter(None, (a or b for a, b in LINK.findall(text))):
            if re.match(r"[a-z]+:", target):
                continue
            path, _, anchor = target.partition("#")
            file = (repository / name).parent / path if path else repository / name
            if not file.exists():
                broken.append(f"{name}: {target}")
            elif anchor and anchor not in _anchors(file.read_text("utf-8")):
                broken.append(f"{name}: {target} (no such heading)")
    assert not broken, "\n".join(broken)


def test_decisions_are_numbered_one_by_one(repository):
    numbers = sorted(int(p.name[:4]) for p in (repository / "decisions").glob("[0-9]*-*.md"))
    assert numbers == list(range(1, len(numbers) + 1))


def test_citation_names_the_version(repository):
    text = (repository / "CITATION.cff").read_text("utf-8")
    assert f"\nversion: {neutralpoint.__version__}\n" in text


def test_result_files_page_names_every_variable(repository):
    text = (repository / "docs" / "reference" / "result-files.md").read_text("utf-8")
    text = text.split("## motion.nc\n")[1].split("\n## ")[0]
    rows = re.findall(r"(?m)^\| `(\w+)` \| ([^|]+) \| (.+) \|$", text)
    expected = [(q.name, q.udunits, q.long_name) for q in MOTION]
    assert rows == expected


def test_python_in_the_documents_is_valid(repository):
    pages = sorted((repository / "docs").rglob("*.md"))
    blocks = [
        b for p in pages for b in re.findall(r"(?s)```python\n(.*?)```", p.read_text("utf-8"))
    ]
    assert blocks
    for block in blocks:
        compile(block, "document", "exec")
