"""Numbers of an airplane on the page: listed, changed, and what that changes in how it flies."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from neutralpoint.airplane_file.catalogue import airplane_text
from neutralpoint.app.airplane_numbers import airplane_numbers, with_numbers

NAME = "ostrel-7"


@pytest.fixture
def text() -> str:
    return airplane_text(NAME)[0]


def test_numbers_are_listed_with_their_sources(text: str) -> None:
    found = airplane_numbers(text, NAME)
    fields = {f["path"]: f for group in found["groups"] for f in group["fields"]}
    assert fields["trim.rate"]["value"] == "0.40 deg/s"
    assert fields["trim.rate"]["source"] == "design choice"
    assert fields["trim.stops[3].reach_time"]["source"].startswith("design choice; reach times")
    assert "description" not in fields
    assert not [path for path in fields if path.startswith("sources")]
    assert [(stop["name"], stop["hands"]) for stop in found["stops"]] == [
        ("trim disconnect", 0), ("opposing switch", 0), ("breaker", 1)
    ]  # fmt: skip


def test_a_number_is_changed_and_all_else_stays(text: str) -> None:
    changed = with_numbers(text, {"tail.area": "6.6 m2", "trim.stops[3].hands": "2"})
    lines = zip(text.splitlines(), changed.splitlines(), strict=True)
    assert [pair for pair in lines if pair[0] != pair[1]] == [
        ('area = "5.6 m2"', 'area = "6.6 m2"'), ("hands = 1", "hands = 2")
    ]  # fmt: skip


@pytest.mark.slow  # ten seconds of compiling
def test_a_larger_tail_steadies_the_airplane(workbench: Any, served_case: Path) -> None:
    api = f"/c/{served_case.name}/api/airplane"

    def effect(**values: str) -> dict[str, tuple[float, float]]:
        asked = {"name": NAME, "values": {k.replace("__", "."): v for k, v in values.items()}}
        rows = workbench.post(api, json=asked).json()
        return {row["name"].split(" at ")[0]: (row["before"], row["after"]) for row in rows}

    same = effect()
    assert all(before == after for before, after in same.values())
    tail = effect(tail__area="6.6 m2")
    for name in ("static margin, stick fixed", "short period frequency", "for each g"):
        assert tail[name][1] > tail[name][0]
    # Source: static stability theory: the margin grows with the volume of the tail (Etkin and
    # Reid, 2.3, from memory); the margin is that of the quick tests of the catalogue.
    assert tail["static margin, stick fixed"][0] == same["static margin, stick fixed"][0]
    # A faster motor changes neither trim nor modes.
    motor = effect(trim__rate="0.8 deg/s")
    assert all(before == pytest.approx(after) for before, after in motor.values())


def test_numbers_are_saved_in_the_case_alone(workbench: Any, served_case: Path) -> None:
    api = f"/c/{served_case.name}/api"
    values = {"tail.area": "6.6 m2"}
    assert (
        workbench.put(f"{api}/airplane", json={"name": NAME, "values": values}).status_code == 404
    )
    workbench.post(f"{api}/airplanes", json={"name": NAME})
    own = served_case / f"{NAME}.toml"
    before = own.read_text(encoding="utf-8")
    assert workbench.put(f"{api}/airplane", json={"name": own.name, "values": values}).is_success
    assert 'area = "6.6 m2"' in own.read_text(encoding="utf-8")
    workbench.post(f"{api}/undo")
    assert own.read_text(encoding="utf-8") == before
    for bad in (
        {"tail.area": "6.6 elephants"},
        {"tail.nothing": "1"},
        {"name": "1 m"},
        {"tail.area": "large"},
        {"sources.tail.area": "1"},
        {"tail.area": "-6 m2"},
    ):
        answer = workbench.put(f"{api}/airplane", json={"name": own.name, "values": bad})
        assert answer.status_code in (400, 422), bad
        assert answer.json()["error"]["hint"]
    for name in ("../case.toml", "case.toml", "results/motion.nc"):
        answer = workbench.put(f"{api}/airplane", json={"name": name, "values": values})
        assert answer.status_code in (400, 404, 422), name
    assert own.read_text(encoding="utf-8") == before
