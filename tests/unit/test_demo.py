"""The shipped case: what the wheel holds is what `neutralpoint demo` puts into a folder."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from neutralpoint.case import load_case
from neutralpoint.cli.demo import FILES, NAME, place_demo
from neutralpoint.errors import NeutralPointError

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / NAME


def test_the_wheel_holds_every_file_of_the_case():
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    held = settings["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert held == {f"examples/{NAME}/{n}": f"neutralpoint/example/{NAME}/{n}" for n in FILES}
    assert set(FILES) == {path.name for path in EXAMPLE.iterdir() if path.is_file()}


def test_the_case_is_whole_where_it_is_put(tmp_path):
    folder = tmp_path / "a folder" / "demo"
    place_demo(folder)
    for name in FILES:
        assert (folder / name).read_bytes() == (EXAMPLE / name).read_bytes()
    assert load_case(folder).document.invented
    place_demo(folder)  # the same again is taken up


def test_nothing_of_the_reader_is_overwritten(tmp_path):
    (tmp_path / "case.toml").write_text("mine", "utf-8")
    with pytest.raises(NeutralPointError) as refused:
        place_demo(tmp_path)
    assert refused.value.code == "case-exists" and "case.toml" in refused.value.message
    assert [path.name for path in tmp_path.iterdir()] == ["case.toml"]
    (tmp_path / "file").write_text("mine", "utf-8")
    with pytest.raises(NeutralPointError) as no_folder:
        place_demo(tmp_path / "file")
    assert no_folder.value.code == "case-exists"
