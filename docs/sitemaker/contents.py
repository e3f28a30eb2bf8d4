"""The order of the site: which pages stand under which word of its contents."""

from __future__ import annotations

from fnmatch import fnmatch

CONTENTS = {
    "Learn": ("docs/tutorial/*", "docs/notebooks/*"),
    "See": ("docs/gallery/index", "docs/reference/figures"),
    "Do": ("docs/how-to/*",),
    "Look up": ("docs/explanation/glossary", "docs/reference/*"),
    "Understand": ("docs/paper/index", "docs/explanation/*", "decisions/index"),
    "Check": ("docs/scorecard", "docs/explanation/odds-networks", "benchmarks/results/index"),
    "The project": ("docs/README", "CHANGELOG", "CONTRIBUTING", "training/README", "THIRD-PARTY"),
}


def with_contents(text: str, pages: list[str]) -> str:
    """The start page with the contents of the site, which stand beside every page.

    Args:
        text: The start page.
        pages: All that there are, without their ending.

    Returns:
        With a hidden list for each word; what is named under one word no pattern takes for another.
    """
    named = {entry for entries in CONTENTS.values() for entry in entries if "*" not in entry}
    parts = [text.rstrip()]
    for caption, entries in CONTENTS.items():
        inside = []
        for entry in entries:
            matched = [p for p in sorted(pages) if fnmatch(p, entry) and p not in named]
            inside += matched if "*" in entry else [entry]
        parts.append(
            f"```{{toctree}}\n:hidden:\n:caption: {caption}\n\n" + "\n".join(inside) + "\n```"
        )
    return "\n\n".join(parts) + "\n"
