"""The source of the site: pages of the repository in their own places, links that stay whole."""

from __future__ import annotations

import posixpath
import re
import shutil
from pathlib import Path

from sitemaker.quoted import ROOT

FOLDERS = ("docs", "decisions", "benchmarks/results")
# Pages at the root, by what the site calls them.
LOOSE = ("CHANGELOG.md", "CONTRIBUTING.md", "THIRD-PARTY.md", "training/README.md")
PICTURES = (".png", ".svg", ".jpg")
LINK = re.compile(r"(!?)\[((?:[^\[\]]|\[[^\]]*\]|!\[[^\]]*\]\([^)]*\))*)\]\(([^)\s]+)\)")
FENCE = re.compile(r"(?ms)(^```.*?^```[ ]*$)")
LARGEST = 1_000_000  # bytes of a file that is offered beside a page
START = "docs/index.md"


def pages() -> dict[str, str]:
    """Text of every page, by its path below the repository root."""
    found = [p for folder in FOLDERS for p in (ROOT / folder).rglob("*.md")]
    found += [ROOT / name for name in LOOSE]
    names = sorted(path.relative_to(ROOT).as_posix() for path in found)
    return {name: (ROOT / name).read_text("utf-8") for name in names}


def gather(target: Path) -> dict[str, str]:
    """Lay the source of the site out in a folder.

    Args:
        target: Emptied first.

    Returns:
        The pages, as laid.
    """
    shutil.rmtree(target, ignore_errors=True)
    texts = pages()
    laid = {"index.md" if name == START else name: linked(name, texts) for name in texts}
    for folder, title, about in LISTS:
        laid[f"{folder}/index.md"] = _listing(folder, title, about, laid)
    for name, text in laid.items():
        put(target / name, text)
    for picture in sorted(p for folder in FOLDERS for p in (ROOT / folder).rglob("*")):
        if picture.suffix in PICTURES:
            copy(picture, target)
    return laid


# Folders without a page of their own.
LISTS = (
    ("decisions", "Decisions", "Why it is so and not otherwise, a page each, in the order taken."),
    (
        "benchmarks/results",
        "Results",
        "What was measured, a page for each question, as the benchmark wrote it. Every number of "
        "the paper and of the scorecard is read from here.",
    ),
)


def put(path: Path, text: str) -> None:
    """Write a text, its folder made.

    Args:
        path: Where to.
        text: What.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")


def copy(file: Path, target: Path) -> None:
    """Copy a file of the repository to its own place.

    Args:
        file: Below the repository root.
        target: The folder that stands for the root.
    """
    path = target / file.relative_to(ROOT)
    path.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(file, path)


def _listing(folder: str, title: str, about: str, laid: dict[str, str]) -> str:
    own = [n.removeprefix(f"{folder}/") for n in laid if n.startswith(f"{folder}/")]
    inside = "\n".join(sorted(name.removesuffix(".md") for name in own if "/" not in name))
    return f"# {title}\n\n{about}\n\n```{{toctree}}\n:maxdepth: 1\n\n{inside}\n```\n"


def linked(name: str, texts: dict[str, str]) -> str:
    """A page whose links fit the place it is laid in; code is left alone.

    Args:
        name: Of the page, below the repository root.
        texts: All pages.

    Returns:
        Its text.
    """
    parts = FENCE.split(texts[name])
    for place in range(0, len(parts), 2):
        parts[place] = LINK.sub(lambda found: _link(found, name, texts), parts[place])
    return "".join(parts)


def _link(found: re.Match[str], name: str, texts: dict[str, str]) -> str:
    picture, words, target = found[1], found[2], found[3]
    if re.match(r"[a-z]+:|#", target):
        return found[0]
    path, _, anchor = target.partition("#")
    there = posixpath.normpath(posixpath.join(posixpath.dirname(name), path))
    if there in ("decisions", "benchmarks/results"):
        there += "/index.md"
    elif there == START:
        there = "index.md"
    elif there.endswith(".ipynb"):
        there = f"{there.removesuffix('.ipynb')}.md"
    elif there not in texts and not picture:
        return _beside(words, there)
    if picture and Path(there).suffix not in PICTURES:
        return words
    here = "" if name == START else posixpath.dirname(name)
    link = posixpath.relpath(there, here or ".")
    return f"{picture}[{words}]({link}{'#' + anchor if anchor else ''})"


def _beside(words: str, there: str) -> str:
    """What is no page of the site is named by its place in the repository."""
    plain = words.replace("`", "")
    return f"{words}" if plain == there else f"{words} (`{there}`)"
