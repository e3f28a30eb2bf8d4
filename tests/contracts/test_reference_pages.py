"""Reference pages say what the code does: they are made from it, and may not lag behind."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "docs" / "make_reference.py"


def maker():
    spec = importlib.util.spec_from_file_location("make_reference", SOURCE)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", sorted(maker().PAGES))
def test_a_page_is_what_the_code_makes(name):
    written = (ROOT / "docs" / "reference" / name).read_text(encoding="utf-8")
    assert written == maker().PAGES[name](), "run: .venv/bin/python docs/make_reference.py"


def test_types_of_the_page_are_what_the_schema_makes():
    spec = importlib.util.spec_from_file_location("make_types", ROOT / "frontend/make_types.py")
    types = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(types)
    written = types.TARGET.read_text(encoding="utf-8")
    assert written == types.types_text(), "run: .venv/bin/python frontend/make_types.py"
