"""The notebook in a browser over a case that was really studied: words change, numbers stay."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
WORDS = {"title": "Told anew", "place": "east of the lake", "question": "What moved the nose?"}

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine"),
]


@pytest.fixture
def served(studied: Path, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Address and folder of a copy of the studied case, on a server of its own."""
    case = tmp_path / "cases" / "quorleigh"
    shutil.copytree(studied, case)
    command = [sys.executable, "-m", "neutralpoint", "serve", str(case.parent), "--no-open"]
    with subprocess.Popen(
        [*command, "--json"], stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as run:
        said = ""
        while run.stdout is not None and not said.rstrip().endswith("}"):
            said += run.stdout.readline()
        yield f"{json.loads(said)['address']}c/quorleigh/", case
        os.killpg(run.pid, signal.SIGTERM)


@pytest.fixture
def page(served: tuple[str, Path]) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        opened = context.new_page()
        opened.set_default_timeout(120_000)
        opened.goto(served[0])
        opened.wait_for_selector("html[data-ready=yes]", timeout=300_000)
        yield opened
        browser.close()


def stages(page: Any) -> dict[str, tuple[str | None, bool]]:
    """When each stage was made, and whether it is out of date."""
    held = page.request.get(page.url.split("#")[0] + "api/state").json()["stages"]
    return {name: (stage["made"], stage["stale"]) for name, stage in held.items()}


def save(page: Any, values: dict[str, str]) -> None:
    page.evaluate("document.querySelectorAll('#form details').forEach(one => { one.open = true; })")
    for name, text in values.items():
        page.locator(f"#field-{name}").fill(text)
    page.get_by_role("button", name="Save the case").press("Enter")
    page.get_by_text("Saved.", exact=True).wait_for()


def report(page: Any) -> str:
    """Text of the report, made now from the page."""
    made = page.locator("#work-all li").count()
    page.locator("#export-report").press("Enter")
    ended = f"#work-all li:nth-last-child({made + 1})[data-state=done]"
    page.locator(ended).wait_for(state="attached", timeout=300_000)
    other = page.context.new_page()
    other.goto(page.url.split("#")[0] + "report")
    text = other.locator("body").inner_text()
    other.close()
    return text


def test_words_reach_the_report_and_numbers_out_of_date_are_said(page: Any) -> None:
    before = stages(page)
    save(page, WORDS | {"events-1-text": "radio: words as corrected"})
    page.locator("#motion-words").scroll_into_view_if_needed()
    page.locator("#motion-words td", has_text="words as corrected").wait_for()
    assert page.locator("#case-title").inner_text() == "Told anew"
    assert stages(page) == before
    text = report(page)
    for said in (*WORDS.values(), "words as corrected"):
        assert said in text
    assert "out-of-date results" not in text
    save(page, {"airplane-mass": "5000 kg +- 90 kg"})
    page.locator("#answer-stale").wait_for()
    assert any(stale for _, stale in stages(page).values())
    assert "Made from out-of-date results" in report(page)
