"""What is committed names no machine, no package index, and pins what it installs."""

from __future__ import annotations

import re

import pytest

# Written in pieces so that this file passes its own check.
MACHINE_PATHS = re.compile(
    r"(?<![\w.])/(?:" + "|".join(("work", "root", "home", "Users")) + r")/\w"
)
INDEX_HOSTS = re.compile(
    "|".join(
        re.escape(".".join(parts))
        for parts in (
            ("pypi", "org"),
            ("files", "pythonhosted", "org"),
            ("registry", "npmjs", "org"),
            ("conda", "anaconda", "org"),
        )
    )
    + r"|--(?:extra-)?index-url\s+\S|--find-links\s+\S"
)


@pytest.mark.parametrize(
    ("pattern", "sample"),
    [
        (MACHINE_PATHS, "see /" + "home/someone/x"),
        (INDEX_HOSTS, "https://pypi" + ".org/simple"),
    ],
)
def test_no_machine_and_no_index(tracked_texts, pattern, sample):
    assert pattern.search(sample)  # the check can fail
    found = [
        f"{name}: {match.group(0)}"
        for name, text in tracked_texts.items()
        for match in pattern.finditer(text)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("name", ["build", "run", "site", "test"])
def test_requirements_are_pinned_with_hashes(repository, name):
    text = (repository / "requirements" / f"{name}.txt").read_text("utf-8")
    assert "://" not in text
    blocks = re.split(r"\n(?=\S)", re.sub(r"(?m)^#.*\n", "", text).strip())
    loose = [
        block.splitlines()[0]
        for block in blocks
        if not re.match(r"[\w.-]+(\[[\w,]+\])?==\S+", block) or "--hash=sha256:" not in block
    ]
    assert not loose


def test_every_run_time_requirement_is_declared(repository):
    """What `requirements/run.in` installs is what the package declares, and no optional extra.

    The tests install the extras that they can; the one for films is too large.
    """
    import tomllib

    def names(entries):
        return {re.match(r"[\w-]+", entry).group(0) for entry in entries}

    project = tomllib.loads((repository / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    folder = repository / "requirements"
    run = (folder / "run.in").read_text("utf-8").split()
    assert names(run) == names(project["dependencies"])
    tested = names((folder / "test.in").read_text("utf-8").split()[2:])
    assert names(e for name in extras if name != "film" for e in extras[name]) <= tested
