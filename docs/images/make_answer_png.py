"""Draw `answer.png` of the README from the answer sheet of the demo case.

    make demo && .venv/bin/neutralpoint report examples/quorleigh --pdf
    .venv/bin/python docs/images/make_answer_png.py

Needs Chromium for the second command, and the test requirements.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image

ROOT = Path(__file__).parents[2]
SHEET = ROOT / "examples/quorleigh/results/answer.png"
WIDTH = 1200  # points of the picture: small print can still be read
COLORS = 192  # enough for our palette with its blends
WHITE = 250  # of 255: paler rows at the foot are empty paper


def main() -> None:
    """Save the sheet without the empty foot of its page."""
    with Image.open(SHEET) as sheet:
        image = sheet.convert("RGB")
    ink = image.convert("L").point(lambda value: 255 if value < WHITE - 5 else 0)
    foot = ink.getbbox()[3] + 40
    image = image.crop((0, 0, image.width, min(foot, image.height)))
    image = image.resize((WIDTH, round(image.height * WIDTH / image.width)), Image.LANCZOS)
    image.quantize(COLORS).save(Path(__file__).with_name("answer.png"), optimize=True)


if __name__ == "__main__":
    main()
