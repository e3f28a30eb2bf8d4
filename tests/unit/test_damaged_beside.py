"""Files from elsewhere that are no source of the case: damaged, or made to do harm."""

from __future__ import annotations

import hashlib
import io
import signal

import fuzz_newer
import fuzz_readers
import numpy as np
import pytest

from neutralpoint import store
from neutralpoint.app.contents import table_of_case
from neutralpoint.app.history import History
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import read_findings
from neutralpoint.store import Store
from neutralpoint.study.weighing.kept import kept

DEEP = "[" * 100_000


@pytest.fixture(scope="module")
def every(tmp_path_factory):
    return fuzz_newer.targets(tmp_path_factory.mktemp("fuzzed"))


def test_good_files_are_read(every):
    for target in every:
        assert target.read(target.good) is not None


@pytest.mark.parametrize("seed", [3, 4])
def test_damaged_files_give_values_or_a_refusal(every, seed):
    """Warnings are errors here; 320 of some thousands that benchmarks/fuzz_readers.py tries."""
    signal.signal(signal.SIGPROF, fuzz_readers._hang)
    rng = np.random.default_rng(seed)
    for _ in range(20):
        for target in every:
            other = every[int(rng.integers(0, len(every)))].good
            fuzz_readers.feed(target, fuzz_readers.damaged(target.good, other, rng))
    assert [f"{t.name}: {fault}" for t in every for fault in t.faults] == []


def test_a_parquet_file_that_lost_its_middle_is_left_out(every, tmp_path):
    """The footer names pages beyond the end: threads of the library end in a panic."""
    target = next((t for t in every if "Parquet" in t.name), None)
    if target is None:
        pytest.skip("needs the extra history")
    for lost in (40, 400, 4000):
        with pytest.raises(NeutralPointError) as refused:
            target.read(target.good[:100] + target.good[100 + lost :])
        assert refused.value.code == "file-format"


def test_findings_nested_without_end_are_refused(tmp_path):
    (tmp_path / "findings.json").write_text(DEEP)
    with pytest.raises(NeutralPointError, match="not JSON"):
        read_findings(tmp_path)


@pytest.mark.parametrize("text", [DEEP, "a" + ".a" * 200_000 + " = 1", "[a]\n[a]\n"])
def test_a_case_file_that_cannot_be_read_has_no_title(tmp_path, text):
    """At once: the parser of TOML takes minutes and gigabytes for a key of 200,000 parts."""
    (tmp_path / "case.toml").write_text(text)
    assert table_of_case(tmp_path) == {}


def stored(folder, data: bytes) -> Store:
    """A store whose file has the name that its content asks for."""
    (folder / f"track-x-{hashlib.sha256(data).hexdigest()[:16]}.npz").write_bytes(data)
    return Store(folder)


def test_arrays_that_unpack_to_gigabytes_are_none(tmp_path, monkeypatch):
    assert store.LARGEST <= 2**30
    monkeypatch.setattr(store, "LARGEST", 10_000)
    packed = io.BytesIO()
    np.savez_compressed(packed, a=np.zeros(500), b=np.zeros(1000))
    assert stored(tmp_path, packed.getvalue()).read("track-x") is None
    assert not list(tmp_path.glob("*.npz"))  # what says nothing is removed


@pytest.mark.parametrize(
    "tree", [DEEP, "3", "[]", '{"kind": "Odds", "parts": 3}', '{"array": "z"}']
)
def test_a_tree_of_kept_odds_that_fits_nothing_counts_as_none(tmp_path, tree):
    buffer = io.BytesIO()
    np.savez(buffer, tree=np.array(tree))
    assert kept(stored(tmp_path, buffer.getvalue()), "x") is None


@pytest.mark.parametrize("change", [DEEP, "3", '{"texts": 3, "moves": []}',
                                    '{"texts": {"case.toml": ["x", 3]}, "moves": []}'])  # fmt: skip
def test_changes_that_somebody_wrote_cannot_be_taken_back(tmp_path, change):
    (tmp_path / "case.toml").write_text("x")
    history = History(tmp_path)
    history._folder.mkdir(parents=True)
    history._path(1).write_text(change)
    (history._folder / "at").write_text("1")
    with pytest.raises(NeutralPointError) as refused:
        history.undo()
    assert refused.value.code == "revision-old"
    assert (tmp_path / "case.toml").read_text() == "x"
