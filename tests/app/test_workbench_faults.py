"""Faults found on the page in use, each mended once: a restart, a first study, typing."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

MADE = {"ready": True, "stale": False, "made": "2031-05-02T10:00:00+00:00", "cannot": ""}
UNMADE = {"ready": False, "stale": False, "made": None, "cannot": ""}
JOB = {
    "id": "7", "kind": "motion", "state": "running", "stage": "Smoothing", "fraction": 0.1,
    "started": "2031-05-02T10:00:00+00:00", "seconds": 5.0, "error": None, "log": [], "result": "",
}  # fmt: skip
BEFORE = JOB | {"id": "6", "state": "done", "seconds": 80.0, "started": "2031-05-01T10:00:00+00:00"}


def cause(*, able: bool) -> dict[str, Any]:
    """A cause with a parameter of each sort."""
    about = {"median": 0.0, "source": "analyst's estimate", "unit": ""}
    return {
        "name": "jam", "title": "Elevator jam", "mechanism": "It sticks.", "can_act": able,
        "why_not": "" if able else "The case names no airplane.",
        "physical_evidence": "", "not_separable": "",
        "parameters": [
            about | {"name": "angle", "meaning": "angle where it sticks", "unit": "rad",
                     "low": -0.06, "high": 0.06, "least": -0.12, "most": 0.12, "shape": "normal",
                     "shown": {"symbol": "\u00b0", "factor": 0.017453292519943295}},
            about | {"name": "snap", "meaning": "how long it takes", "unit": "s", "low": 0.1,
                     "median": 0.2, "high": 0.4, "least": 0.05, "most": 1.0, "shape": "lognormal"},
            about | {"name": "direction", "meaning": "1 nose down, -1 nose up", "low": -1.0,
                     "high": 1.0, "value": 1.0, "said": "direction",
                     "choices": [{"value": -1.0, "label": "nose up"},
                                 {"value": 1.0, "label": "nose down"}]},
        ] if able else [],
    }  # fmt: skip


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return held.getsockname()[1]


def serve(folder: Path, port: int) -> subprocess.Popen[str]:
    """A server of its own, once it has said its address."""
    command = [sys.executable, "-m", "neutralpoint", "serve", str(folder), "--no-open", "--json"]
    run = subprocess.Popen(
        [*command, "--port", str(port)], stdout=subprocess.PIPE, text=True, start_new_session=True
    )
    said = ""
    while run.stdout is not None and not said.rstrip().endswith("}"):
        said += run.stdout.readline()
    return run


def end(run: subprocess.Popen[str]) -> None:
    os.killpg(run.pid, signal.SIGKILL)  # at once, as a machine that is switched off
    run.wait(20)
    if run.stdout is not None:
        run.stdout.close()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    opened.set_default_timeout(30_000)
    yield opened
    context.close()


@pytest.mark.slow  # two servers one after the other, twenty seconds
def test_a_restart_of_the_server_loses_nothing(page: Any, tmp_path: Path) -> None:
    case = tmp_path / "cases/lake"
    case.mkdir(parents=True)
    (case / "case.toml").write_text('schema = 1\ntitle = "Lake"\n', encoding="utf-8")
    port = free_port()
    run = serve(case.parent, port)
    try:

        def with_jobs(route: Any) -> None:
            state = route.fetch().json()
            route.fulfill(json=state | {"jobs": [JOB, BEFORE]})

        page.route("**/api/state", with_jobs)
        page.goto(f"http://127.0.0.1:{port}/c/lake/")
        page.wait_for_selector("html[data-ready=yes]")
        line = page.locator("#work-now [data-job='7']")
        # The clock goes on without news, and the bar as the run before went.
        clock = line.locator(".n")
        first = clock.inner_text()
        page.wait_for_timeout(2100)
        assert clock.inner_text() != first
        assert "run before: 1 min 20 s" in line.inner_text()
        assert line.locator("progress").evaluate("bar => bar.value") == 0.1
        page.get_by_label("Place").fill("typed before the end")
        end(run)
        page.unroute("**/api/state")
        run = serve(case.parent, port)
        page.locator("#work-bar").wait_for(state="hidden")
        lost = page.locator("#work-all li[data-job='7']")
        assert "ended with the server that ran it" in lost.inner_text()
        page.get_by_role("button", name="Save the case").click()
        page.get_by_text("Saved.", exact=True).wait_for()
        assert "typed before the end" in (case / "case.toml").read_text(encoding="utf-8")
        # What is typed and not saved outlives the page; several new entries wait at once.
        page.get_by_label("Question").fill("typed before the reload")
        for place in ("first", "second"):
            page.locator("[data-add=events]").click()
            page.locator("#form").get_by_label("Text").last.fill(f"the {place} call")
        page.get_by_role("button", name="Leave this entry out").first.click()
        page.locator("[data-add=events]").click()
        page.locator("#form").get_by_label("Text").last.fill("the third call")
        page.once("dialog", lambda dialog: dialog.accept())
        page.reload()
        page.wait_for_selector("html[data-ready=yes]")
        page.get_by_text("3 changes not saved yet").wait_for()
        assert page.get_by_label("Question").input_value() == "typed before the reload"
        # All that is wrong is said at once, and a probability may be given in percent.
        page.get_by_label("Something failed").fill("95 %")
        page.get_by_label("Cut off").fill("when it ends")
        page.get_by_label("Altimeter setting").fill("7 elephants")
        page.get_by_role("button", name="Save the case").click()
        page.get_by_text("Not saved:").wait_for()
        wrong = page.locator("#form [aria-invalid=true]")
        assert wrong.count() >= 2
        page.get_by_label("Cut off").fill("2031-05-01")
        page.get_by_label("Altimeter setting").fill("1013 hPa +- 1 hPa")
        page.get_by_role("button", name="Save the case").click()
        page.get_by_text("Saved.", exact=True).wait_for()
        text = (case / "case.toml").read_text(encoding="utf-8")
        assert "something_failed = 0.95" in text
        assert "first call" not in text
        assert text.index("second call") < text.index("third call")
    finally:
        end(run)


@pytest.mark.slow  # compiles a flight, half a minute
def test_causes_can_be_flown_after_the_first_study(page: Any, notebooks: tuple[str, Path]) -> None:
    known = {"moments": UNMADE, "able": False}

    def state(route: Any) -> None:
        told = route.fetch().json()
        told["stages"] |= {"motion": MADE, "moments": known["moments"]}
        route.fulfill(json=told | {"jobs": []})

    def causes(route: Any) -> None:
        able = known["able"]
        cannot = "" if able else "Run Required moment first."
        route.fulfill(json={"start": 1.0, "cannot": cannot, "causes": [cause(able=bool(able))]})

    page.route("**/api/state", state)
    page.route("**/api/causes", causes)
    page.route("**/api/fly", lambda route: route.fulfill(status=422, json={"error": {}}))
    page.goto(f"{notebooks[0].rstrip('/')}/c/tabs/")
    page.wait_for_selector("html[data-ready=yes]")
    assert page.locator("#cause-jam").is_disabled()
    known.update(moments=MADE, able=True)
    page.locator("#undo").evaluate("() => dispatchEvent(new Event('focus'))")
    (notebooks[1] / "tabs/note.txt").write_text("a file that makes the server speak")
    page.locator("#cause-jam:enabled").wait_for()
    assert page.locator("#causes-none").inner_text() == ""
    page.locator(".cause summary", has_text="Settings").click()
    angle = page.get_by_label("angle where it sticks, \u00b0, as a number")
    assert [angle.get_attribute(end) for end in ("min", "max")] == ["-6.875", "6.875"]
    snap = page.locator("#knob-jam-snap")
    snap.press("Home")
    number = page.get_by_label("how long it takes, s, as a number")
    assert float(number.input_value()) == 0.1
    number.fill("-3")
    assert number.get_attribute("aria-invalid") == "true"
    number.blur()
    assert float(number.input_value()) == 0.1
    asked: list[Any] = []
    page.on("request", lambda one: asked.append(one.post_data) if "/fly" in one.url else None)
    page.locator("#knob-jam-direction").select_option(label="nose up")
    page.wait_for_timeout(400)
    assert json.loads(asked[-1])["values"]["direction"] == -1.0
