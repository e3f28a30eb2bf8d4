"""Draw the gallery of figures: `docs/reference/figures.md` and its pictures.

    python docs/make_gallery.py [CASE]

CASE has results; without it `examples/quorleigh`, as `make demo` leaves it.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

from PIL import Image

from neutralpoint.report import load_results
from neutralpoint.report.figures import draw_figure, figure_bytes, list_figures

DOCS = Path(__file__).parent
PICTURES = DOCS / "images" / "figures"
WIDTH = 800  # pixels: half of the page of a browser
COLORS = 48
# Drawn: key, form and ground, so that every form and ground is shown once.
SHOWN = (
    ("flight", "wide", "light"),
    ("space", "wide", "dark"),
    ("odds", "wide", "dark"),
    ("needs", "wide", "light"),
    ("flights", "tall", "light"),
    ("cause-elevator-jam", "wide", "dark"),
    ("signatures-1", "wide", "light"),
    ("recovery", "square", "light"),
    ("evidence", "wide", "light"),
    ("sways", "column", "light"),
    ("loads", "wide", "light"),
    ("moments-needed-column-force", "tall", "dark"),
)
HEAD = """<!-- Made by docs/make_gallery.py; change the code, not this page. -->

# Gallery of figures

Every picture below is one command, `neutralpoint figures CASE NAME --form FORM --ground GROUND`, on
the invented case `examples/quorleigh`. How to make your own:
[make figures](../how-to/make-figures.md). A case has these figures, as far as it was studied;
causes, required moments and limits have one each, listed by their first.

| name | figure |
|---|---|
"""


def make(case: Path) -> None:
    """Draw the pictures and write the page."""
    results = load_results(case / "results")
    entries = list_figures(results)
    PICTURES.mkdir(parents=True, exist_ok=True)
    seen: set[str] = set()
    lines = [HEAD.rstrip("\n")]
    for entry in entries:
        group = entry.key.split("-")[0]
        if group not in seen:
            lines.append(f"| `{entry.key}` | {entry.title} |")
        seen.add(group)
    titles = {entry.key: entry.title for entry in entries}
    for key, form, ground in SHOWN:
        if key not in titles:
            continue
        sheet = draw_figure(results, key, form=form, ground=ground)
        picture = Image.open(io.BytesIO(figure_bytes(sheet, "png"))).convert("RGB")
        scale = WIDTH / max(picture.size)
        small = picture.resize(
            (round(picture.width * scale), round(picture.height * scale)), Image.Resampling.LANCZOS
        )
        name = f"{key}-{form}-{ground}.png"
        small.quantize(COLORS, dither=Image.Dither.NONE).save(PICTURES / name, optimize=True)
        lines += ["", f"## {titles[key]}", "",
                  f"`{key} --form {form} --ground {ground}`", "",
                  f"![{titles[key]}, of an invented case](../images/figures/{name})"]  # fmt: skip
    (DOCS / "reference" / "figures.md").write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else DOCS.parent / "examples" / "quorleigh")
