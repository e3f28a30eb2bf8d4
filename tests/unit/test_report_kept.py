"""What is kept beside a long result file: for that very content, whole, and safe to lose."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from neutralpoint.report.figures import kept
from neutralpoint.report.figures.kept import DRAWN, kept_arrays


class Made:
    """Reads a file and counts how often."""

    def __init__(self, path: Path) -> None:
        self.path, self.count = path, 0

    def __call__(self) -> dict[str, np.ndarray]:
        self.count += 1
        data = np.frombuffer(self.path.read_bytes(), np.uint8)
        return {"sum": data.sum(dtype=float), "names": np.array(["bank", "pitch"])}


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Made:
    monkeypatch.setattr(kept, "LONG", 4)
    path = tmp_path / "motion.nc"
    path.write_bytes(b"content")
    return Made(path)


def total(made: Made, mark: str = "motion") -> float:
    found = kept_arrays(made.path, mark, made)
    assert list(found["names"]) == ["bank", "pitch"]
    return float(found["sum"])


def held(made: Made) -> list[Path]:
    return sorted((made.path.parent / DRAWN).iterdir())


def test_the_same_content_is_worked_out_once(made: Made) -> None:
    first = total(made)
    assert [total(made), made.count] == [first, 1]
    made.path.touch()  # another time is no other content
    assert [total(made), made.count] == [first, 1]


def test_other_content_or_use_is_worked_out_anew(made: Made) -> None:
    first = total(made)
    made.path.write_bytes(b"another")
    assert total(made) != first
    total(made, "stage")
    assert made.count == 3
    assert len(held(made)) == 1  # those of before are gone


@pytest.mark.parametrize("damage", [b"", b"PK\x03\x04 cut", b"no archive"])
def test_what_is_damaged_or_gone_is_made_again(made: Made, damage: bytes) -> None:
    first = total(made)
    held(made)[0].write_bytes(damage)
    assert [total(made), made.count] == [first, 2]
    held(made)[0].unlink()
    assert [total(made), made.count] == [first, 3]


def test_nothing_is_kept_of_a_file_that_changed_meanwhile(made: Made) -> None:
    def changes() -> dict[str, np.ndarray]:
        made.path.write_bytes(b"something longer")
        return made()

    kept_arrays(made.path, "motion", changes)
    assert not (made.path.parent / DRAWN).exists()


def test_short_files_and_places_that_cannot_be_written_go_without(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (made.path.parent / DRAWN).write_text("in the way")
    assert total(made) == total(made)
    (made.path.parent / DRAWN).unlink()
    monkeypatch.setattr(kept, "LONG", 1000)
    total(made)
    assert [made.count, (made.path.parent / DRAWN).exists()] == [3, False]
