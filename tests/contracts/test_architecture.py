"""The picture of the packages is what the code is."""

from __future__ import annotations

import importlib.util


def test_the_picture_is_current(repository):
    source = repository / "docs" / "make_architecture.py"
    spec = importlib.util.spec_from_file_location("make_architecture", source)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    written = module.TARGET.read_text(encoding="utf-8")
    assert written == module.picture(), "run: .venv/bin/python docs/make_architecture.py"
