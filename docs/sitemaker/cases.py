"""Every example case studied for the gallery: answer sheet, report, figures, stills of its film."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from sitemaker.gather import put
from sitemaker.kept import code_digest, digest, kept
from sitemaker.quoted import ROOT

EXAMPLES = ROOT / "examples"
WIDTH, COLORS = 1200, 128  # of pictures
TOGETHER = 2  # studies side by side
# Stills: kind of chapter, and how far into it.
STILLS = (("flight", 0.97), ("moment", 0.97), ("causes", 0.9), ("acting", 0.9))
FIGURES = ("flight", "space", "needs", "odds")


@dataclass(frozen=True)
class Shown:
    """A case as the gallery shows it.

    Attributes:
        name: Of its folder.
        title: As the case has it.
        question: As the case has it.
        place: As the case has it.
        made: Folder with report, answer sheet and pictures; None where it was not studied.
    """

    name: str
    title: str
    question: str
    place: str
    made: Path | None


def example_names() -> list[str]:
    """Folders of the cases."""
    return sorted(path.parent.name for path in EXAMPLES.glob("*/case.toml"))


def show(*, studied: bool, say: Callable[[str], None]) -> list[Shown]:
    """Every example case, made ready.

    Args:
        studied: Study the cases; else they are told without results.
        say: Told of each case that is ready.

    Returns:
        Case by case.
    """
    with ThreadPoolExecutor(TOGETHER) as pool:
        return list(pool.map(lambda name: _shown(name, studied, say), example_names()))


def _shown(name: str, studied: bool, say: Callable[[str], None]) -> Shown:
    case = tomllib.loads((EXAMPLES / name / "case.toml").read_text("utf-8"))
    inputs = [p for p in sorted((EXAMPLES / name).iterdir()) if p.is_file()]
    mark = digest(inputs, code_digest("cases.py"))
    made = kept(f"case-{name}", mark, lambda folder: _make(name, folder, say)) if studied else None
    if studied:
        say(f"{name}: ready")
    return Shown(name, case["title"], case["question"], case["place"], made)


def _make(name: str, folder: Path, say: Callable[[str], None]) -> None:
    """Study in a process of its own, then draw there what the gallery shows."""
    case = EXAMPLES / name
    program = [sys.executable, "-m", "neutralpoint", "study", str(case)]
    done = subprocess.run(program, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"{name} could not be studied:\n{done.stderr}")
    say(f"{name}: studied")
    for file in ("report.html", "answer.html"):
        shutil.copyfile(case / "results" / file, folder / file)
    drawing = [sys.executable, "-m", "sitemaker.cases", name, str(folder)]
    subprocess.run(drawing, check=True, cwd=ROOT / "docs")


def draw_pictures(name: str, target: str) -> None:
    """Figures and stills of a studied case, with what each shows.

    Args:
        name: Of the case.
        target: Folder to draw into; `pictures.txt` there has a line a picture: file, title.
    """
    from neutralpoint.report import load_results
    from neutralpoint.report.figures import draw_figure, figure_bytes, list_figures

    folder = Path(target)
    results = load_results(EXAMPLES / name / "results")
    titles = {entry.key: entry.title for entry in list_figures(results)}
    lines = []
    for key in FIGURES:
        if key in titles:
            for ground in ("light", "dark"):
                raw = figure_bytes(draw_figure(results, key, form="wide", ground=ground), "png")
                _save(Image.open(io.BytesIO(raw)), folder / f"{key}-{ground}.png")
            lines.append(f"{key}\t{titles[key]}")
    lines += _stills(results, folder)
    put(folder / "pictures.txt", "\n".join(lines) + "\n")


def _stills(results, folder: Path) -> list[str]:
    from neutralpoint.report.film.segments import page_of
    from neutralpoint.report.film.story import story_of

    story, lines = story_of(results), []
    for kind, share in STILLS:
        places = [k for k, chapter in enumerate(story.chapters) if chapter.kind == kind]
        if places:
            picture = page_of(results, story, places[-1], "wide").picture(share)
            _save(Image.fromarray(picture), folder / f"still-{kind}.png")
            lines.append(f"still-{kind}\t{story.chapters[places[-1]].title}")
    return lines


def _save(picture: Image.Image, path: Path) -> None:
    height = round(picture.height * WIDTH / picture.width)
    small = picture.convert("RGB").resize((WIDTH, height), Image.Resampling.LANCZOS)
    small.quantize(COLORS, dither=Image.Dither.NONE).save(path, optimize=True)


if __name__ == "__main__":
    draw_pictures(*sys.argv[1:])
