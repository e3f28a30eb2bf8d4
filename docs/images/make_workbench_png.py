"""Draw `workbench.png` from a case with results, as the notebook shows it.

    neutralpoint serve CASE --port 8765 --no-open     # in another terminal
    .venv/bin/python docs/images/make_workbench_png.py http://127.0.0.1:8765/c/CASE/

Needs Chromium and the test requirements.
"""

from __future__ import annotations

import io
import shutil
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

COLOURS = 96  # enough for our palette with its blends
SHOWN = ("stabilizer-runaway", "intermittent-runaway")


def main() -> None:
    """Fly two causes over the motion and save the entry on causes."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(sys.argv[1])
        page.wait_for_selector("html[data-ready=yes]", timeout=120_000)
        for name in SHOWN:
            page.locator(f"#cause-{name}").check()
            page.locator(f"[data-flown={name}]").wait_for(timeout=120_000)
            # The search for its nearest flight has ended.
            page.locator(f"[data-cause={name}]", has_text="the best of these").wait_for()
        page.evaluate("document.activeElement.blur()")
        page.locator("#causes").evaluate("entry => entry.scrollIntoView()")
        page.wait_for_timeout(500)
        raw = page.screenshot()
        browser.close()
    image = Image.open(io.BytesIO(raw)).convert("RGB").quantize(COLOURS)
    image.save(Path(__file__).with_name("workbench.png"), optimize=True)


if __name__ == "__main__":
    main()
