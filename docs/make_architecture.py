"""Draw the picture of the packages from the code: layers, and who imports whom.

    python docs/make_architecture.py

A contract test fails while the picture differs from what this draws.
"""

from __future__ import annotations

import ast
import tomllib
from html import escape
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "neutralpoint"
TARGET = ROOT / "docs" / "images" / "architecture.svg"
WIDTH, ROW, BOX, GAP, MARGIN = 1080, 112, 86, 16, 24  # px
NEAR = 2  # layers over which a link is drawn; those that go further are named in the box
EVERYWHERE = ("vocabulary", "quantities", "errors")  # used by nearly all, not listed
STYLE = """text{font-family:system-ui,sans-serif;fill:#1d2433}.name{font-size:15px;font-weight:600}
.what{font-size:11.5px;fill:#4a5468}.uses{font-size:10.5px;fill:#5c6b8a}.box{fill:#f5f7fb;stroke:#8a94a8}
.link{fill:none;stroke:#9aa6bd;stroke-width:1.1}"""


def layers() -> list[list[str]]:
    """Packages of each layer, the highest first, from the contract that the import linter holds."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    contract = settings["tool"]["importlinter"]["contracts"][0]
    return [
        [name.strip().removeprefix("neutralpoint.") for name in layer.split("|")]
        for layer in contract["layers"]
    ]


def what(package: str) -> str:
    """The first sentence of a package, without its full stop."""
    folder = SOURCE / package
    path = folder / "__init__.py" if folder.is_dir() else SOURCE / f"{package}.py"
    text = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    return text.split("\n")[0].rstrip(".")


def imports() -> dict[str, set[str]]:
    """Packages that each package imports, by its modules."""
    names = {name for layer in layers() for name in layer}
    found: dict[str, set[str]] = {name: set() for name in names}
    for path in SOURCE.rglob("*.py"):
        own = path.relative_to(SOURCE).parts[0].removesuffix(".py")
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if own in names and isinstance(node, ast.ImportFrom) and node.module:
                parts = node.module.split(".")
                if parts[0] == "neutralpoint" and len(parts) > 1 and parts[1] in names - {own}:
                    found[own].add(parts[1])
    return found


def reduced(graph: dict[str, set[str]]) -> list[tuple[str, str]]:
    """Imports that do not follow from others: the way through a third package is drawn already."""

    def reach(name: str) -> set[str]:
        return graph[name].union(*(reach(other) for other in graph[name]), set())

    pairs = []
    for name, others in graph.items():
        through = set().union(*(reach(other) for other in others)) if others else set()
        pairs += [(name, other) for other in others - through]
    return sorted(pairs)


def _places(rows: list[list[str]]) -> dict[str, tuple[float, float, float]]:
    """Left edge, top and width of each package's box."""
    found = {}
    for number, row in enumerate(rows):
        width = min(480.0, (WIDTH - 2 * MARGIN - GAP * (len(row) - 1)) / len(row))
        left = 0.5 * (WIDTH - width * len(row) - GAP * (len(row) - 1))
        for index, name in enumerate(row):
            found[name] = (left + index * (width + GAP), MARGIN + number * ROW, width)
    return found


def _link(upper: tuple[float, float, float], lower: tuple[float, float, float]) -> str:
    x0, y0 = upper[0] + upper[2] / 2, upper[1] + BOX
    x1, y1 = lower[0] + lower[2] / 2, lower[1]
    bend = 0.5 * (y1 - y0)
    return (
        f'<path class="link" d="M{x0:.0f} {y0:.0f}C{x0:.0f} {y0 + bend:.0f} '
        f'{x1:.0f} {y1 - bend:.0f} {x1:.0f} {y1:.0f}"/>'
    )


def _box(name: str, place: tuple[float, float, float], uses: set[str]) -> str:
    left, top, width = place
    said = what(name)
    fits = int((width - 20) / 6.1)
    lines = [said[:fits]] if len(said) <= fits else _broken(said, fits)
    texts = [f'<text class="name" x="{left + 10:.0f}" y="{top + 20:.0f}">{escape(name)}</text>']
    texts += [
        f'<text class="what" x="{left + 10:.0f}" y="{top + 36 + 14 * k:.0f}">{escape(line)}</text>'
        for k, line in enumerate(lines)
    ]
    below = [n for layer in layers() for n in layer if n in uses - set(EVERYWHERE)]
    listed = f"uses {', '.join(below)}" if below else ""
    foot = [listed] if len(listed) <= 1.1 * fits else _broken(listed, fits)
    texts += [
        f'<text class="uses" x="{left + 10:.0f}" y="{top + 64 + 13 * k:.0f}">{escape(line)}</text>'
        for k, line in enumerate(foot)
    ]
    place_of = f'x="{left:.0f}" y="{top:.0f}" width="{width:.0f}" height="{BOX}"'
    return f'<rect class="box" {place_of} rx="5"/>' + "".join(texts)


def _broken(text: str, fits: int) -> list[str]:
    """A sentence over two lines; what does not fit is cut and says so."""
    at = text[:fits].rfind(" ")
    rest = text[at + 1 :]
    return [text[:at], rest if len(rest) <= fits else rest[: fits - 1].rsplit(" ", 1)[0] + " …"]


def picture() -> str:
    """The whole picture as SVG."""
    rows = layers()
    places = _places(rows)
    height = 2 * MARGIN + ROW * len(rows) - (ROW - BOX)
    row = {name: number for number, names in enumerate(rows) for name in names}
    graph = imports()
    links = [
        _link(places[upper], places[lower])
        for upper, lower in reduced(graph)
        if row[lower] - row[upper] <= NEAR
    ]
    boxes = [_box(name, place, graph[name]) for name, place in places.items()]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img">',
            "<title>Packages of Neutral Point by layer; each imports only what is below it</title>",
            f"<style>{STYLE}</style>",
            f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
            *links,
            *boxes,
            "</svg>",
            "",
        ]
    )


if __name__ == "__main__":
    TARGET.write_text(picture(), encoding="utf-8")
