"""The package that others copy keeps the rules of this project, and so does a copy of it.

`examples/plug-in` as it stands, and renamed as its first lines ask: the rules for docstrings,
units, pure computation and words are those of the program's own code. Its tests of the protocol
are run with all others.
"""

from __future__ import annotations

import ast
import shutil

import pytest
import test_docstrings
import test_purity
import test_retired_words
import test_units
from readers_texts import ReadersText, python_strings

OWN = "kestrelfold"


class Copied:
    """A module of a package of others, as the rules read the program's own."""

    def __init__(self, path, root):
        self.path, self.name = path, path.relative_to(root).as_posix()
        self.package = "moments"  # the strictest of rules: neither an edge nor a reader of files
        self.text = path.read_text("utf-8")
        self.tree = ast.parse(self.text)


@pytest.fixture(scope="module", params=[OWN, "hollowbeck"])
def package(request, repository, tmp_path_factory):
    """Folder of the package; renamed in every file and path for the second."""
    folder = tmp_path_factory.mktemp("outside") / "package"
    shutil.copytree(
        repository / "examples" / "plug-in", folder, ignore=shutil.ignore_patterns("__pycache__")
    )
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_file():
            path.write_text(path.read_text("utf-8").replace(OWN, request.param), "utf-8")
        path.rename(path.with_name(path.name.replace(OWN, request.param)))
    return folder


@pytest.fixture(scope="module")
def modules(package):
    return [Copied(path, package) for path in sorted((package / "src").rglob("*.py"))]


@pytest.mark.parametrize(
    "rule",
    [
        test_docstrings.test_arguments_and_returns,
        test_docstrings.test_constants_carry_a_comment,
        test_units.test_other_units_stay_at_the_edges,
        test_purity.test_no_assert_on_input,
    ],
)
def test_it_keeps_a_rule_of_the_program(rule, modules):
    assert len(modules) >= 4
    rule(modules)


def test_it_reads_no_file_and_no_clock(modules):
    found = [
        f"{module.name}:{line} {what}"
        for module in modules
        for what, line in test_purity._impure_calls(module.tree)
    ]
    assert not found


def test_it_has_no_retired_word(modules):
    texts = [
        ReadersText("python", module.name, line, text)
        for module in modules
        for line, text in python_strings(module.tree)
    ]
    assert len(texts) > 10
    rules, hits = test_retired_words.RULES, test_retired_words._hits
    assert not [hit for rule in rules for hit in hits(rule, texts)]


def test_its_own_tests_are_among_those_that_run(pytestconfig, package):
    assert list((package / "tests").glob("test_*.py"))
    assert "examples/plug-in/tests" in pytestconfig.getini("testpaths")
