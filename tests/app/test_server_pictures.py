"""Figures to be published and the film, as the page is given them."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any

import pytest

from neutralpoint.app.contents import named_files
from neutralpoint.app.dark import in_dark
from neutralpoint.report.figures import palette

API = "/c/hollow/api"
NOTE = """schema = 1

[[notes]]
figure = "motion-pressure-altitude"
at = "lowest"
text = "least: {value}"
"""
STORY = """schema = 1
rate = 10

[[chapters]]
kind = "title"
title = "Hollow"
seconds = 4

[[chapters]]
kind = "end"
title = "Sources and limits"
seconds = 6
"""


def refusal(answer: Any, status: int, code: str) -> None:
    assert answer.status_code == status, answer.text
    error = answer.json()["error"]
    assert error["code"] == code
    assert error["message"] and error["hint"]


def test_pictures_are_listed_and_drawn(workbench: Any) -> None:
    found = workbench.get(f"{API}/pictures").json()
    keys = [one["key"] for one in found["pictures"]]
    assert {"flight", "plan", "motion-pressure-altitude"} <= set(keys)
    assert [form["key"] for form in found["forms"]] == ["wide", "tall", "square", "column"]
    drawn = workbench.get(f"{API}/picture/motion-pressure-altitude?form=square&kind=png")
    assert drawn.headers["content-type"] == "image/png"
    assert drawn.content[16:24] == (1080).to_bytes(4, "big") * 2  # width and height of a PNG
    name = "motion-pressure-altitude-square-light.png"
    assert drawn.headers["content-disposition"] == f'attachment; filename="{name}"'
    part = workbench.get(f"{API}/picture/motion-pressure-altitude?form=square&from=20&to=60")
    assert part.content != drawn.content
    for query, status, code in (
        ("picture/nothing", 422, "figure-unknown"),
        ("picture/flight?form=oval", 422, "figure-unknown"),
        ("picture/flight?kind=exe", 422, "figure-unknown"),
        ("picture/flight?from=60&to=20", 400, "request-invalid"),
        ("film/frame?shape=round", 404, "not-found"),
    ):
        refusal(workbench.get(f"{API}/{query}"), status, code)


def test_notes_are_checked_saved_and_drawn(workbench: Any, served_case: Path) -> None:
    picture = f"{API}/picture/motion-pressure-altitude?form=square"
    before = workbench.get(picture).content
    refusal(workbench.put(f"{API}/notes", content="schema = 1\nnote = 3"), 422, "figures-invalid")
    assert not (served_case / "figures.toml").exists()
    assert workbench.put(f"{API}/notes", content=NOTE).json() == {"saved": "figures.toml"}
    assert (served_case / "figures.toml").read_text(encoding="utf-8") == NOTE
    assert workbench.get(f"{API}/pictures").json()["notes"] == NOTE
    assert workbench.get(picture).content != before
    workbench.post(f"{API}/undo")
    assert workbench.get(picture).content == before


def test_a_storyboard_is_checked_and_any_moment_is_shown(workbench: Any, served_case: Path) -> None:
    found = workbench.get(f"{API}/film").json()
    assert found["own"] is False
    assert found["text"].startswith("# The storyboard of the film.")
    assert found["chapters"][0]["kind"] == "title"
    refusal(workbench.put(f"{API}/film", content="schema = 2"), 422, "storyboard-invalid")
    assert not (served_case / "film.toml").exists()
    found = workbench.put(f"{API}/film", content=STORY).json()
    assert found["own"] is True
    assert [chapter["seconds"] for chapter in found["chapters"]] == [4.0, 6.0]
    first, last = (workbench.get(f"{API}/film/frame?at={at}").content for at in (1.0, 9.0))
    assert first.startswith(b"\x89PNG")
    assert first[16:24] == (960).to_bytes(4, "big") + (540).to_bytes(4, "big")
    assert first != last


@pytest.mark.parametrize("call", ["notes", "film"])
def test_writing_them_needs_the_token(workbench: Any, served_case: Path, call: str) -> None:
    sent = workbench.put(f"{API}/{call}", content=STORY, headers={"X-NP-Token": "wrong"})
    refusal(sent, 403, "request-refused")
    assert not list(served_case.glob("fi*.toml"))


@pytest.mark.parametrize("name", ["figures.toml", "film.toml"])
def test_files_of_their_own_are_no_uploads_and_no_links(
    workbench: Any, served_case: Path, tmp_path: Path, name: str
) -> None:
    refusal(workbench.put(f"{API}/file?name={name}", content=b"x"), 400, "request-invalid")
    (tmp_path / "other").write_text("schema = 1")
    (served_case / name).symlink_to(tmp_path / "other")
    refusal(workbench.get(f"{API}/state"), 400, "request-invalid")


def test_figures_of_the_answer_change_color_alone() -> None:
    drawn = f'<svg><path style="fill:{palette.INK};stroke:#ffffff"/><path d="#abcdef"/></svg>'
    held = base64.b64encode(drawn.encode()).decode()
    shown = in_dark(f'<img src="data:image/svg+xml;base64,{held}" alt="{palette.INK}">')
    back = base64.b64decode(shown.split("base64,")[1].split('"')[0]).decode()
    dark = palette.DARK_ROLES
    assert back == drawn.replace(palette.INK, dark["ink"]).replace("#ffffff", dark["paper"])
    assert shown.endswith(f'alt="{palette.INK}">')


def test_recordings_are_listed_as_what_they_are() -> None:
    case = {"recordings": [{"file": "tape.wav"}], "tracks": [{"file": "track.csv"}]}
    assert named_files(case) == [
        ("tracks[1].file", "track.csv", "track"),
        ("recordings[1].file", "tape.wav", "recording"),
    ]
