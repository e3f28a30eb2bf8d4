"""What workbench_speed.py asks of a browser besides its charts: first paint, eight tabs, memory."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

TABS, SAVES = 8, 6
PAINTED = """() => {
    const seen = performance.getEntriesByName('first-contentful-paint');
    return seen.length ? seen[0].startTime : null;
}"""
# ms from the press of the button until the page says that the case is saved.
SAVE = """async text => {
    const field = document.querySelector('#field-place');
    field.value = text;
    field.dispatchEvent(new Event('input', { bubbles: true }));
    const form = document.querySelector('#form');
    const said = () => [...form.querySelectorAll('[role=status]')]
        .some(one => one.textContent === 'Saved.');
    const begun = performance.now();
    form.requestSubmit();
    while (!said()) {
        if (performance.now() - begun > 30_000) throw new Error(form.textContent.slice(-200));
        await new Promise(done => setTimeout(done, 2));
    }
    return performance.now() - begun;
}"""


def first_paints(browser: Any, address: str, count: int) -> np.ndarray:
    """s from asking for a page until the browser has painted something of it, each from rest.

    A page is left once it is whole, so that the server does not work for one that nobody sees.
    """
    seen = []
    for _ in range(count):
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        page = context.new_page()
        page.goto(address)
        page.wait_for_function(PAINTED, timeout=120_000)
        seen.append(1e-3 * page.evaluate(PAINTED))
        if "/c/" in address:
            page.wait_for_selector("html[data-ready=yes]", timeout=300_000)
        context.close()
    return np.array(seen)


def saves(browser: Any, address: str) -> np.ndarray:
    """s of a save while eight tabs show the case, each of which reads it again."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    pages = [context.new_page() for _ in range(TABS)]
    for page in pages:
        page.goto(address)
        page.wait_for_selector("html[data-ready=yes]", timeout=300_000)
    seen = []
    for k in range(SAVES):
        pages[0].wait_for_timeout(3000)  # the other tabs read what was saved before
        seen.append(1e-3 * pages[0].evaluate(SAVE, f"place {k}"))
    context.close()
    return np.array(seen)


def memory(process: int) -> dict[str, float]:
    """MB held by a process and by each process below it.

    Args:
        process: Its id.

    Returns:
        `server`, and `flights` for what it has started; from /proc, so on Linux alone.
    """
    below = [process]
    for one in below:
        for children in Path(f"/proc/{one}/task").glob("*/children"):
            below += [int(child) for child in children.read_text().split()]
    held = [_resident(one) for one in below]
    return {"server": held[0], "flights": sum(held[1:])}


def _resident(process: int) -> float:
    for line in Path(f"/proc/{process}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return float(line.split()[1]) / 1024.0
    return 0.0
