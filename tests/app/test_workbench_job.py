"""The main job in a browser: from a dropped file to a report, with what goes wrong on the way."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from neutralpoint.report.film.encoder import find_encoder

ROWS = 110  # of the example's track: enough for a motion, quickly worked out
STOPS = 400  # of the Tab key, more than a page has
WORK = 120_000  # ms, for a stage among other tests on two cores

DROP = """([name, text]) => {
    const data = new DataTransfer();
    data.items.add(new File([text], name, { type: "text/csv" }));
    const drop = document.querySelector("#drop");
    for (const type of ["dragenter", "dragover", "drop"]) {
        const given = { dataTransfer: data, bubbles: true, cancelable: true };
        drop.dispatchEvent(new DragEvent(type, given));
    }
}"""


class Tab:
    """A page with what it asked for and complained of."""

    def __init__(self, context: Any, address: str) -> None:
        self.page = context.new_page()
        self.page.set_default_timeout(30_000)
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda asked: self.requests.append(asked.url))
        self.page.on("console", lambda line: self.complaints.append(line.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.goto(address)
        self.page.wait_for_selector("html[data-ready=yes]", timeout=WORK)


@pytest.fixture
def tab(browser: Any, notebooks: tuple[str, Path]) -> Iterator[Callable[[str], Tab]]:
    """Opens the notebook of a case."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    address = notebooks[0].rstrip("/")
    yield lambda case: Tab(context, f"{address}/c/{case}/")
    context.close()


def example_rows(repository: Path) -> str:
    lines = (repository / "examples/quorleigh/track.csv").read_text().splitlines()
    return "\n".join(lines[: ROWS + 1]) + "\n"


def reach(page: Any, selector: str) -> Any:
    """Walk there with the Tab key alone, as a person without a mouse does."""
    for _ in range(STOPS):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return page.locator(":focus")
    raise AssertionError(f"the Tab key does not lead to {selector}")


def press(page: Any, selector: str) -> None:
    reach(page, selector)
    page.keyboard.press("Enter")


@pytest.mark.slow  # a study and a report on the page, a minute
def test_from_a_file_to_a_report_by_keyboard_alone(
    tab: Callable[[str], Tab], notebooks: tuple[str, Path], repository: Path
) -> None:
    address, folder = notebooks
    opened = tab("fresh")
    page, keys = opened.page, opened.page.keyboard
    with page.expect_file_chooser() as asked:
        press(page, "#pick")
    asked.value.set_files(
        {
            "name": "flight.csv",
            "mimeType": "text/csv",
            "buffer": example_rows(repository).encode(),
        }
    )
    page.get_by_role("heading", name="Columns of flight.csv").wait_for()
    assert page.locator("#raw-picture canvas").count() >= 3
    assert page.locator("#files code", has_text=re.compile("^[0-9a-f]{64}$")).count() == 2
    height = reach(page, "[aria-label='Unit of altitude_ft']")
    assert height.input_value() == "ft"
    assert "ft" in page.locator("tr", has=height).locator("td").last.inner_text()
    press(page, "#columns .first")
    page.locator("#files tr", has_text="flight.csv").get_by_text(
        "track", exact=True
    ).first.wait_for()

    press(page, "[data-group=airplane] summary")
    mass = reach(page, "#field-airplane-mass")
    keys.press("Control+a")
    keys.type("5 200 elephants")
    keys.press("Enter")
    page.locator("#field-airplane-mass-error:not(:empty)").wait_for()
    assert mass.get_attribute("aria-invalid") == "true"
    assert "field-airplane-mass-error" in str(mass.get_attribute("aria-describedby"))
    # What was refused has the cursor.
    keys.press("Control+a")
    keys.type("5 200 kg +- 100 kg")
    press(page, "#form button[type=submit]")
    page.get_by_text("Saved.", exact=True).wait_for()
    text = (folder / "fresh/case.toml").read_text(encoding="utf-8")
    assert "this line must live" in text
    assert "# and this remark" in text
    assert '"5 200 kg +- 100 kg"' in text
    assert "flight.csv" in text

    press(page, "#motion .made button")
    page.locator("#work-now .job[data-state=running]").wait_for()
    page.locator("#work-all .job:not([data-state=running], [data-state=waiting])").wait_for(
        timeout=WORK
    )
    assert "done" in page.locator("#work-all .job").inner_text()
    page.locator("#motion-strips .panel").first.wait_for()
    reach(page, "[data-strips=motion] input[type=range]")
    for _ in range(5):
        keys.press("ArrowRight")
    keys.press("Enter")
    page.get_by_role("heading", name="Rows within 2 s").wait_for()
    assert "flight.csv, row" in page.locator("#rows").inner_text()

    press(page, "#export-report")
    page.locator("#work-all a", has_text="Open report.html").wait_for(timeout=WORK)
    assert reach(page, "#work-all a").inner_text().startswith("Open report")
    film = page.locator("#export-film")
    assert film.is_disabled() == (find_encoder() is None)
    assert ("encoder" in page.locator("#film-said").inner_text()) == film.is_disabled()
    report = page.request.get(f"{address.rstrip('/')}/c/fresh/report")
    assert report.ok
    assert "A case to fill" in report.text()

    # The browser reports the refused form by itself; nothing else may complain.
    assert [said for said in opened.complaints if "422" not in said] == []
    assert not [url for url in opened.requests if not url.startswith(address.rstrip("/"))]


@pytest.mark.slow  # a job on the page, twenty seconds
def test_a_case_is_begun_on_the_page_weather_first(
    tab: Callable[[str], Tab], notebooks: tuple[str, Path]
) -> None:
    page = tab("slow").page
    page.get_by_role("link", name="All cases").click()
    page.get_by_text("Begin an empty case").click()
    page.get_by_label("Name of its folder").fill("fresh")
    page.get_by_role("button", name="Begin").click()  # once the page can answer it
    page.get_by_text("cannot be made").wait_for()  # that name is taken
    page.get_by_label("Name of its folder").fill("lake 2031")
    page.get_by_label("Question").fill("What happened over the lake?")
    page.get_by_label("Question").press("Enter")
    page.wait_for_selector("html[data-ready=yes]")
    assert page.locator("h1").inner_text() == "lake 2031"
    assert page.locator("#study").is_disabled()
    assert "needs more of the case" in page.locator("[data-index=motion]").inner_text()
    assert "still needs: title, cut off, track" in page.locator("#motion-none").inner_text()
    page.locator(".missing button", has_text="weather").press("Enter")
    page.get_by_label("Kind of weather").select_option(label="constant")
    page.locator("[data-add=weather]").press("Enter")
    page.get_by_role("button", name="Leave this entry out").press("Enter")
    page.locator("[data-add=weather]").press("Enter")
    page.get_by_label("Wind from").fill("270 deg")
    page.get_by_label("Wind speed").fill("15 kt +- 5 kt")
    page.locator(".missing button", has_text="mass").press("Enter")
    page.keyboard.type("5 200 kg +- 100 kg")
    page.keyboard.press("Enter")
    page.get_by_text("Saved.", exact=True).wait_for()
    page.locator(".missing button", has_text="weather").wait_for(state="detached")
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    assert page.get_by_label("Mass").input_value() == "5 200 kg +- 100 kg"
    text = (notebooks[1] / "lake 2031/case.toml").read_text(encoding="utf-8")
    assert text.index("question =") < text.index('mass = "5 200 kg +- 100 kg"')
    # More tabs than a browser has connections to one host: each is told what another does.
    pages = [tab("lake 2031").page for _ in range(7)]
    pages[6].get_by_label("Title").fill("Over the lake")
    pages[6].get_by_label("Title").press("Enter")
    for told in (page, pages[3]):
        told.locator("h1", has_text="Over the lake").wait_for()
    page.close()  # it was the one that listened; another takes over
    pages[6].locator("#undo").click()
    pages[5].locator("h1", has_text="lake 2031").wait_for()


def test_a_bad_file_is_one_clear_error(
    tab: Callable[[str], Tab], notebooks: tuple[str, Path]
) -> None:
    before = (notebooks[1] / "slow/case.toml").read_bytes()
    page = tab("slow").page
    page.evaluate(DROP, ["broken.csv", "\0\1 not a table \0" * 9])
    page.locator("#columns .refused").wait_for()
    assert page.locator("#columns .refused").count() == 1
    assert page.locator("#files tr", has_text="track.csv").count() == 1
    assert (notebooks[1] / "slow/case.toml").read_bytes() == before
    # A case file that was broken elsewhere is mended here, and what was typed lives on.
    page.get_by_label("Place").fill("typed before")
    (notebooks[1] / "slow/case.toml").write_bytes(before + b"\n[airplane\n")
    page.locator("#case-problem", has_text="not valid TOML").wait_for()
    assert "Quorleigh" in page.locator("h1").inner_text()
    page.locator("#raw summary").press("Enter")
    expect(page.locator("#raw-text")).to_have_value(re.compile("airplane"))
    page.locator("#raw-text").fill(before.decode())
    page.locator("#raw-save").click()
    page.get_by_text("1 change not saved yet").wait_for()
    assert page.get_by_label("Place").input_value() == "typed before"
    page.get_by_label("Place").fill("")
    page.get_by_role("button", name="Remove broken.csv").click()
    page.get_by_role("button", name="Remove broken.csv").wait_for(state="detached")
    page.locator("h1").click()
    page.keyboard.press("Control+z")
    page.get_by_role("button", name="Remove broken.csv").wait_for()


@pytest.mark.slow  # a job on the page, ten seconds
def test_a_reload_keeps_a_job_and_a_stop_ends_it(tab: Callable[[str], Tab]) -> None:
    page = tab("slow").page
    page.locator("#motion .made button").click()
    page.locator("#work-now .job").wait_for()
    name = page.locator("#work-now .job").get_attribute("data-job")
    page.reload()
    page.wait_for_selector("html[data-ready=yes]", timeout=WORK)
    job = page.locator(f"#work-now [data-job='{name}']")
    job.wait_for()
    assert "running" in page.locator("[data-index=motion]").inner_text()
    job.get_by_role("button", name="Stop: Motion").press("Enter")
    stopped = page.locator(f"#work-all [data-job='{name}'][data-state=cancelled]")
    stopped.wait_for()
    assert "canceled" in stopped.inner_text()
    assert page.locator("#work-bar").is_hidden()
    assert "not run yet" in page.locator("[data-index=motion]").inner_text()


IN_SIGHT = """button => {
    const box = button.getBoundingClientRect();
    const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
    if (top !== button) throw new Error(`covered by ${top && top.outerHTML.slice(0, 120)}`);
}"""


@pytest.mark.slow  # two pages and a job, half a minute
def test_two_tabs_lose_nothing(tab: Callable[[str], Tab], notebooks: tuple[str, Path]) -> None:
    case = notebooks[1] / "tabs/case.toml"
    first, second = tab("tabs").page, tab("tabs").page
    # What is being typed here must live through what is saved there.
    first.get_by_label("Place").fill("typed in the first tab")
    second.get_by_label("Question").fill("Asked in the second tab?")
    second.get_by_role("button", name="Save the case").click()
    second.get_by_text("Saved.", exact=True).wait_for()
    first.get_by_role("button", name="Save the case").click()
    first.get_by_text("was saved elsewhere").wait_for()
    assert first.get_by_label("Place").input_value() == "typed in the first tab"
    assert "first tab" not in case.read_text(encoding="utf-8")
    # Both ways out lie in sight, under no bar that floats over the page.
    for way in ("keep what I typed", "drop what I typed"):
        first.get_by_role("button", name=way).evaluate(IN_SIGHT)
    first.get_by_role("button", name="keep what I typed").click()
    first.get_by_text("1 change not saved yet").wait_for()
    first.get_by_role("button", name="Save the case").click()
    first.get_by_text("Saved.", exact=True).wait_for()
    text = case.read_text(encoding="utf-8")
    assert "typed in the first tab" in text
    assert "Asked in the second tab?" in text
