"""The page in a browser: opens offline, draws, follows the cursor, has no serious fault."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

AXE = Path(__file__).parents[2] / "frontend/node_modules/axe-core/axe.min.js"
OPENS_WITHIN = 4.0  # s; about 0.7 s alone on two cores, several times that among other tests


@dataclass
class Opened:
    """A page with what it did meanwhile."""

    page: Any
    seconds: float
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def opened(browser: Any, report_file: Path) -> Iterator[Opened]:
    context = browser.new_context(viewport={"width": 1280, "height": 900}, offline=True)
    page = context.new_page()
    found = Opened(page, 0.0)
    page.on("request", lambda asked: found.requests.append(asked.url))
    page.on("console", lambda line: found.complaints.append(line.text))
    page.on("pageerror", lambda error: found.complaints.append(str(error)))
    began = time.perf_counter()
    page.goto(report_file.as_uri())
    page.wait_for_selector("html[data-drawn]")
    found.seconds = time.perf_counter() - began
    yield found
    context.close()


def test_opens_offline_without_request_or_complaint(opened: Opened) -> None:
    asked = [url for url in opened.requests if not url.startswith("data:")]
    assert len(asked) == 1
    assert asked[0].startswith("file:")
    assert opened.complaints == []
    assert opened.seconds < OPENS_WITHIN


def test_hostile_text_did_not_run(opened: Opened) -> None:
    assert "taken" not in opened.page.title().split("<")[0]
    assert opened.page.locator("h1").inner_text().startswith("</script>")


def test_every_panel_is_drawn_and_not_blank(opened: Opened) -> None:
    inks = opened.page.evaluate(
        """() => [...document.querySelectorAll('.panel canvas')].map(canvas => {
            const { width, height } = canvas;
            const data = canvas.getContext('2d').getImageData(0, 0, width, height).data;
            let inked = 0;
            for (let k = 3; k < data.length; k += 4) inked += data[k] > 0;
            return inked / (data.length / 4);
        })"""
    )
    assert len(inks) == 14  # 13 of the motion, one of the stage
    assert min(inks) > 0.01


def test_keyboard_moves_all_read_outs(opened: Opened) -> None:
    page = opened.page
    slider = page.locator('[data-strips="motion"] input[type=range]')
    slider.focus()
    slider.press("Home")
    first = page.locator('[data-strips="motion"] .read-value').all_inner_texts()
    for _ in range(40):
        slider.press("ArrowRight")
    later = page.locator('[data-strips="motion"] .read-value').all_inner_texts()
    assert page.locator('[data-strips="motion"] .clock').inner_text() == "18:53:30.0"
    assert slider.get_attribute("aria-valuetext") == "18:53:30.0 UTC"
    assert first[4] != later[4]
    slider.press("Enter")
    assert "Normal load factor" in page.locator('[data-strips="motion"] .spoken').inner_text()


def test_not_observable_is_read_as_such(opened: Opened) -> None:
    page = opened.page
    slider = page.locator('[data-strips="motion"] input[type=range]')
    slider.evaluate("s => { s.value = 320; s.dispatchEvent(new Event('input')); }")
    bank = page.locator('[data-strips="motion"] [data-panel=bank_angle] .read-value')
    assert bank.inner_text() == "not observable"


def test_hover_moves_every_panel(opened: Opened) -> None:
    page = opened.page
    page.locator('[data-panel="bank_angle"]').scroll_into_view_if_needed()
    box = page.locator('[data-panel="bank_angle"] .u-over').bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 40)
    page.wait_for_timeout(100)
    clock = page.locator('[data-strips="motion"] .clock').inner_text()
    assert clock.startswith(("18:54:5", "18:54:4"))
    lefts = page.evaluate(
        """() => [...document.querySelectorAll('[data-strips=motion] .panel')]
            .filter(panel => {
                const { top, bottom } = panel.getBoundingClientRect();
                return top < innerHeight && bottom > 0;
            })
            .map(panel => panel.querySelector('.u-cursor-x').style.transform)"""
    )
    # Charts out of sight follow when they are seen.
    assert len(lefts) >= 4
    assert len(set(lefts)) == 1


def test_zoom_is_shared_and_undone(opened: Opened) -> None:
    page = opened.page
    slider = page.locator('[data-strips="motion"] input[type=range]')
    before = page.locator('[data-panel="pitch_angle"]').screenshot()
    slider.focus()
    slider.press("+")
    page.wait_for_timeout(60)
    near = page.locator('[data-panel="pitch_angle"]').screenshot()
    slider.press("0")
    page.wait_for_timeout(60)
    after = page.locator('[data-panel="pitch_angle"]').screenshot()
    assert before != near
    assert near != after


def test_read_outs_belong_to_a_time_that_the_chart_shows(opened: Opened) -> None:
    page = opened.page
    page.locator('[data-strips="motion"] input[type=range]').press("Home")
    clock = page.locator('[data-strips="motion"] .clock')
    value = page.locator('[data-strips="motion"] .read-value').first
    before = clock.inner_text(), value.inner_text()
    page.locator('[data-strips="motion"] button[data-act=last]').click()  # the last 90 of 180 s
    assert clock.inner_text() >= "18:54:49.0" > before[0]
    assert value.inner_text() != before[1]
    page.locator('[data-strips="motion"] button[data-act=all]').click()


@pytest.mark.parametrize("width", [390, 768])
def test_a_narrow_screen_needs_no_sideways_scroll(opened: Opened, width: int) -> None:
    opened.page.set_viewport_size({"width": width, "height": 844})
    # Charts are drawn anew a moment after the page has another width.
    opened.page.wait_for_function("w => document.documentElement.scrollWidth <= w", arg=width)
    opened.page.set_viewport_size({"width": 1280, "height": 900})


def test_axe_finds_no_serious_fault(opened: Opened) -> None:
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm ci in frontend/")
    # The page's own policy forbids other scripts, so the checker comes in beside it.
    opened.page.evaluate(AXE.read_text(encoding="utf-8") + "; null")
    faults = opened.page.evaluate("() => axe.run(document).then(found => found.violations)")
    serious = [
        (fault["id"], [node["html"][:120] for node in fault["nodes"][:3]])
        for fault in faults
        if fault["impact"] in ("serious", "critical")
    ]
    assert serious == []


def test_prints_with_its_figures(opened: Opened) -> None:
    printed = opened.page.pdf(format="A4", prefer_css_page_size=True)
    assert printed.startswith(b"%PDF")
    opened.page.emulate_media(media="print")
    assert opened.page.locator(".plate img").count() == 6
    assert opened.page.locator(".plate.print img").first.is_visible()
    assert not opened.page.locator(".strips").first.is_visible()
    opened.page.emulate_media(media="screen")
