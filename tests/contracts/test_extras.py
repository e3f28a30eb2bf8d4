"""Optional extras stay optional: nothing but their own readers imports them."""

from __future__ import annotations

import ast
import sys

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.extras import optional

# Import name of each extra, and the modules that may need it.
EXTRAS = {
    "pyModeS": "sources/modes",
    "asterix": "sources/asterix",
    "tifffile": "sources/geotiff",
}


def imported(tree: ast.AST, top_only: bool) -> set[str]:
    """Modules that a file imports, at its top only or anywhere."""
    nodes = tree.body if top_only else list(ast.walk(tree))
    names = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names


def test_an_extra_is_imported_by_its_own_reader_only(repository):
    """A reader that needs an extra is itself imported inside functions only."""
    root = repository / "src" / "neutralpoint"
    readers = {f"neutralpoint.{start.replace('/', '.')}" for start in EXTRAS.values()}
    for path in sorted(root.rglob("*.py")):
        place = path.relative_to(root).as_posix()
        tree = ast.parse(path.read_text("utf-8"))
        for name in imported(tree, top_only=False):
            start = EXTRAS.get(name.split(".")[0])
            assert start is None or place.startswith(start), f"{place} imports {name}"
        if not any(place.startswith(start) for start in EXTRAS.values()):
            at_top = imported(tree, top_only=True)
            loaded = {n for n in at_top for r in readers if n.startswith(r)}
            assert not loaded, f"{place} loads {loaded}"


@pytest.mark.parametrize("extra", ["modes", "asterix", "terrain"])
def test_a_missing_extra_is_named(monkeypatch, extra):
    module = {"modes": "pyModeS", "asterix": "asterix", "terrain": "tifffile"}[extra]
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(NeutralPointError) as refused:
        optional(module, extra, "recording.txt")
    assert refused.value.code == "extra-missing"
    assert f'pip install "neutralpoint[{extra}]"' in refused.value.hint
