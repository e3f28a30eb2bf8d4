"""Draw `report.png` of the README from the report of the demo case.

    make demo && .venv/bin/python docs/images/make_report_png.py

Needs Chromium and the test requirements.
"""

from __future__ import annotations

import io
import shutil
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
REPORT = ROOT / "examples/quorleigh/results/report.html"
COLOURS = 96  # enough for our palette with its blends; keeps the file under 300 kB


def main() -> None:
    """Open the report at its last 90 s and save what is on the screen."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 1120})
        page.goto(REPORT.as_uri())
        page.wait_for_selector("html[data-drawn]")
        page.click('[data-strips="motion"] [data-act=last]')
        page.locator('[data-strips="motion"] input').evaluate(
            "s => { s.value = Math.round(s.max * 0.9); s.dispatchEvent(new Event('input')); }"
        )
        # The whole page around the panels that say most, without scrolling.
        page.evaluate(
            """() => {
                for (const key of ['true_airspeed', 'ground_speed', 'longitudinal_load_factor',
                                   'flight_path_angle', 'angle_of_attack', 'track_angle',
                                   'specific_energy_height'])
                    document.querySelector(`[data-panel=${key}]`).style.display = 'none';
                document.querySelector('[data-strips=motion]').scrollIntoView();
                window.scrollBy(0, -10);
            }"""
        )
        page.wait_for_timeout(300)
        raw = page.screenshot()
        browser.close()
    image = Image.open(io.BytesIO(raw)).convert("RGB").quantize(COLOURS)
    image.save(Path(__file__).with_name("report.png"), optimize=True)


if __name__ == "__main__":
    main()
