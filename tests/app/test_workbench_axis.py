"""One time axis, what is set from it, the analyst's own text, and a case begun by a file."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

TRANSCRIPT = """18:54:38 CREW: unable to descend
and we are climbing
[18:54:48.5] TWR - say again
no time here before any call"""
CLAIM = """
[[claims]]
name = "{name}"
says = "At 18:53:30 the pressure altitude was between {low} and {high} ft."
kind = "derived"
data = ["motion.nc"]
method = "motion"
quantity = "pressure_altitude"
at = 18:53:30
low = "{low} ft"
high = "{high} ft"
likelihood = 0.9
evidence = "medium"
agreement = "high"
"""
DROP = """([name, text]) => {
    const data = new DataTransfer();
    data.items.add(new File([text], name, { type: "text/csv" }));
    for (const type of ["dragenter", "dragover", "drop"]) {
        const given = { dataTransfer: data, bubbles: true, cancelable: true };
        document.body.dispatchEvent(new DragEvent(type, given));
    }
}"""


@pytest.fixture(scope="module")
def page(browser: Any, notebooks: tuple[str, Path]) -> Iterator[Any]:
    context = browser.new_context(viewport={"width": 1440, "height": 900}, reduced_motion="reduce")
    opened = context.new_page()
    opened.set_default_timeout(30_000)
    opened.goto(f"{notebooks[0].rstrip('/')}/c/tabs/")
    opened.wait_for_selector("html[data-ready=yes]", timeout=60_000)
    yield opened
    context.close()


def view(page: Any) -> tuple[str, str]:
    strips = page.locator("[data-strips=motion]")
    ends = [strips.locator(f"input[data-end={end}]").input_value() for end in ("from", "to")]
    return ends[0], ends[1]


def test_the_window_is_dragged_walked_and_wheeled(page: Any) -> None:
    lane = page.locator("[data-strips=motion] .overview canvas")
    whole = view(page)
    lane.press("+")
    half = view(page)
    assert whole[0] < half[0] < half[1] < whole[1]
    lane.press("ArrowRight")
    assert view(page)[0] > half[0]
    clock = page.locator("[data-strips=motion] .clock").inner_text()
    assert view(page)[0] <= clock <= view(page)[1] + ".9"  # the cursor is always in the window
    lane.press("0")
    assert view(page) == whole
    box = lane.bounding_box()
    middle = box["y"] + box["height"] / 3
    page.mouse.move(box["x"] + 0.4 * box["width"], middle)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.6 * box["width"], middle, steps=4)
    page.mouse.up()
    page.wait_for_timeout(100)
    drawn = view(page)
    assert whole[0] < drawn[0] < drawn[1] < whole[1]
    chart = page.locator("[data-strips=motion] [data-panel=pressure_altitude] .u-over")
    chart.hover()
    page.keyboard.down("Control")
    page.mouse.wheel(0, -240)
    page.keyboard.up("Control")
    page.wait_for_timeout(100)
    nearer = view(page)
    assert drawn[0] < nearer[0] < nearer[1] < drawn[1]
    page.mouse.wheel(0, 100)  # a plain wheel scrolls the page
    assert view(page) == nearer
    lane.press("0")


def test_found_stretches_and_hatches_are_offered(page: Any) -> None:
    page.get_by_role("button", name="Dive", exact=True).press("Enter")
    # The hand-made path sinks from 68 s to 80 s after 18:53:20.
    assert "18:54:2" < view(page)[0] < "18:54:32"
    assert view(page)[1] < "18:54:45"
    page.locator("[data-panel=bank_angle] .partly button").press("Enter")
    why = page.locator("#why-hatched [data-hatch=bank_angle]")
    assert "load factor is near zero" in why.inner_text()
    why.get_by_role("button", name="Add a second source").press("Enter")
    assert page.evaluate("document.activeElement.closest('#evidence') !== null")
    assert "Pitch" in page.locator(".attitude-said").inner_text()


def test_a_drag_and_a_transcript_are_saved_in_the_case(
    page: Any, notebooks: tuple[str, Path]
) -> None:
    case = notebooks[1] / "tabs/case.toml"
    before = tomllib.loads(case.read_text(encoding="utf-8"))
    page.locator("[data-strips=motion] .overview canvas").press("0")
    page.get_by_label("A drag across a chart").select_option("reference")
    chart = page.locator("[data-strips=motion] [data-panel=pressure_altitude] .u-over")
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 160, box["y"] + 60, steps=4)
    page.mouse.up()
    page.get_by_text("Trimmed reference set to").wait_for()
    page.get_by_label("A drag across a chart").select_option("show")
    held = tomllib.loads(case.read_text(encoding="utf-8"))["analysis"]
    assert held["reference_start"] < held["reference_end"]
    page.locator(".transcript summary").press("Enter")
    page.locator("#transcript").fill(TRANSCRIPT)
    said = page.locator("#transcript-said").inner_text()
    assert said.startswith("2 calls, 18:54:38 to 18:54:48.5 UTC.")
    page.get_by_role("button", name="Add the calls as events").press("Enter")
    page.get_by_text("2 events added").wait_for()
    events = tomllib.loads(case.read_text(encoding="utf-8"))["events"]
    fresh = events[len(before.get("events", [])) :]
    assert [one["text"] for one in fresh] == [
        "unable to descend and we are climbing",
        "say again no time here before any call",
    ]
    assert [one["source"] for one in fresh] == ["CREW", "TWR"]
    assert {one["kind"] for one in fresh} == {"voice"}


def test_a_text_follows_the_findings_and_is_checked_live(page: Any) -> None:
    text = page.locator("#wording-text")
    text.fill("It fell to {normal load factor at lowest load factor}, {no such number}.")
    shown = page.locator("#script-shown")
    assert "(90%: " in shown.locator("data").inner_text()
    assert shown.locator("mark").inner_text() == "{no such number}"
    text.fill("The pilot panicked and caused the crash.")
    page.locator("#wording-found table").wait_for()  # no button was pressed
    page.locator("#script-read").press("Enter")
    assert "panicked" in page.locator("dialog.reading").inner_text()
    page.keyboard.press("Escape")
    page.locator("dialog.reading").wait_for(state="detached")


def test_claims_that_contradict_each_other_do_not_both_stand_on_the_page(page: Any) -> None:
    pair = [("near", 6000, 7000), ("far", 9000, 9900)]
    text = "".join(CLAIM.format(name=name, low=low, high=high) for name, low, high in pair)
    page.locator("#claims-text").fill(f"schema = 1\n{text}")
    page.locator("#claims-save").press("Enter")
    cards = page.locator("#claims-held .claim-cards").first.locator("li")
    page.get_by_text("It contradicts the claim").first.wait_for()
    said = [card for card in cards.all_inner_texts() if "pressure altitude was between" in card]
    assert len(said) == 2
    assert all("not supported" in card and "contradicts" in card for card in said)


def told_under_a_press(page: Any, button: Any) -> None:
    """A state of the case comes while a button has the focus, and while it is pressed."""
    button.focus()
    page.evaluate("window.focused = document.activeElement")
    page.evaluate("document.getElementById('undo').click()")
    page.locator("#steps li:first-child:not(.done)").wait_for()
    assert page.evaluate("document.activeElement === window.focused")
    button.hover()
    page.mouse.down()
    page.evaluate("document.getElementById('redo').click()")
    page.locator("#steps li.done:first-child").wait_for()
    assert page.evaluate("document.activeElement === window.focused")
    page.mouse.up()


@pytest.mark.slow  # studies a case in the browser, eight seconds
def test_a_file_dropped_on_the_first_page_begins_a_case(
    page: Any, notebooks: tuple[str, Path], repository: Path
) -> None:
    page.goto(notebooks[0])
    rows = (repository / "examples/quorleigh/track.csv").read_text(encoding="utf-8")
    page.evaluate(DROP, ["lake flight.csv", rows])
    page.wait_for_selector("html[data-picture]")
    assert "/c/lake%20flight/" in page.url
    assert page.locator("#raw-picture canvas").count() >= 3
    page.get_by_role("button", name="Use these columns").press("Enter")
    page.locator("#steps li.done", has_text="Track").wait_for()
    choose = page.get_by_role("button", name="Choose an airplane")
    told_under_a_press(page, choose)
    page.get_by_role("button", name="Use Ostrel 7").press("Enter")
    page.locator(".load").wait_for()
    said = page.locator(".load > .pair > div > p[role=status]")
    assert "within the limits" in said.inner_text()
    load = page.locator(".load")
    load.get_by_label("baggage").press("End")
    for name in ("passengers", "crew"):
        load.get_by_label(name).press("Home")
    assert "outside the limits" in said.inner_text()
    # A number of the airplane is changed: what it changes comes at once, and nothing is written.
    asked: list[Any] = []

    def effect(route: Any) -> None:
        if route.request.method != "POST":
            return route.continue_()
        asked.append(route.request.post_data_json)
        wider = "tail.area" in asked[-1]["values"]
        row = {"topic": "Balance", "name": "margin", "unit": "% MAC", "decimals": 1, "before": 30.0}
        return route.fulfill(json=[row | {"after": 34.0 if wider else 30.0}])

    page.route("**/api/airplane", effect)
    numbers = page.locator("details.numbers")
    numbers.locator("summary").first.press("Enter")
    numbers.locator("summary", has_text="tail").first.press("Enter")
    numbers.locator("[data-number='tail.area']").fill("6.6 m2")
    numbers.locator("strong", has_text="34.0").wait_for()
    assert asked[-1] == {"name": "ostrel-7", "values": {"tail.area": "6.6 m2"}}
    assert "opposing switch" in numbers.inner_text()
    page.unroute("**/api/airplane")
    page.get_by_role("button", name="State the defaults and run").wait_for()
    text = (notebooks[1] / "lake flight/case.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["airplane"] == {"file": "ostrel-7", "name": "Ostrel 7"}
    # An airplane that nobody has is said at its field, with those that there are.
    section = page.locator("#form details:has(#field-airplane-file)")
    section.locator("summary").first.press("Enter")
    page.locator("#field-airplane-file").fill("ostrel-9")
    page.get_by_role("button", name="Save the case").press("Enter")
    said = page.locator("#field-airplane-file-error")
    said.get_by_text("ostrel-9 is neither").wait_for()
    assert "ostrel-7" in said.inner_text()
