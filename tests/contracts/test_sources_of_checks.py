"""Every comparison with outside truth names its document, or says that there is none."""

from __future__ import annotations

import ast
import re

VAGUE = re.compile(r"\ba (?:public|published) (?:page|worked example|engineers)", re.IGNORECASE)


def _checks(repository):
    for path in sorted((repository / "tests" / "against").glob("test_*.py")):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                yield f"{path.name}: {node.name}", ast.get_docstring(node) or ""


def test_every_check_names_its_source(repository):
    checks = dict(_checks(repository))
    assert len(checks) > 60
    without = [name for name, text in checks.items() if not re.search(r"Source: \S.{8,}", text)]
    assert without == []


def test_no_source_is_somebody(repository):
    said = {name: text[text.find("Source:") :] for name, text in _checks(repository)}
    assert [name for name, text in said.items() if VAGUE.search(text)] == []
