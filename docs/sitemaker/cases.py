"""The gallery: every example case studied, with answer sheet, stills of its film and report."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tomllib
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


def show(*, studied: bool) -> list[Shown]:
    """Every example case, made ready.

    Args:
        studied: Study the cases; else they are told without results.

    Returns:
        Case by case.
    """
    with ThreadPoolExecutor(TOGETHER) as pool:
        return list(pool.map(lambda name: _shown(name, studied=studied), example_names()))


def _shown(name: str, *, studied: bool) -> Shown:
    case = tomllib.loads((EXAMPLES / name / "case.toml").read_text("utf-8"))
    inputs = [p for p in sorted((EXAMPLES / name).iterdir()) if p.is_file()]
    mark = digest(inputs, code_digest("cases.py"))
    made = kept(f"case-{name}", mark, lambda folder: _make(name, folder)) if studied else None
    return Shown(name, case["title"], case["question"], case["place"], made)


def _make(name: str, folder: Path) -> None:
    """Study in a process of its own, then draw there what the gallery shows."""
    case = EXAMPLES / name
    program = [sys.executable, "-m", "neutralpoint", "study", str(case)]
    subprocess.run(program, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
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


def lay(shown: list[Shown], source: Path, html: Path) -> str:
    """Write the pages of the gallery, and put reports beside them.

    Args:
        shown: The cases.
        source: Folder of the source of the site.
        html: Folder of its pages.

    Returns:
        The list that stands on the page of the gallery.
    """
    entries = []
    for case in shown:
        if case.made is not None:
            put(source / f"docs/gallery/{case.name}.md", _page(case))
            _copy(case, source, html)
        entries.append(_entry(case))
    inside = "\n".join(case.name for case in shown if case.made is not None)
    tree = f"```{{toctree}}\n:hidden:\n\n{inside}\n```" if inside else ""
    return "\n\n".join([*entries, tree])


def _copy(case: Shown, source: Path, html: Path) -> None:
    pictures, pages = source / "pictures" / case.name, html / "cases" / case.name
    for folder in (pictures, pages):
        folder.mkdir(parents=True, exist_ok=True)
    for file in sorted(case.made.iterdir()) if case.made else []:
        shutil.copyfile(file, (pictures if file.suffix == ".png" else pages) / file.name)


def _titles(case: Shown) -> dict[str, str]:
    if case.made is None:
        return {}
    rows = (case.made / "pictures.txt").read_text("utf-8").splitlines()
    return dict(row.split("\t", 1) for row in rows)


def _entry(case: Shown) -> str:
    """A case on the page of the gallery."""
    if case.made is None:
        return f"## {case.title}\n\n*{case.question}*\n\n`neutralpoint study examples/{case.name}`"
    first = next(iter(_titles(case)))
    return (
        f"## [{case.title}]({case.name}.md)\n\n*{case.question}*\n\n"
        f"{_pair(case, first, 'The flight')}\n\n{_links(case)}"
    )


def _links(case: Shown) -> str:
    place = f"../../cases/{case.name}"
    return (
        f'<a href="{place}/answer.html">Answer sheet</a> · '
        f'<a href="{place}/report.html">Full report</a> · '
        f"`neutralpoint study examples/{case.name}`"
    )


def _pair(case: Shown, key: str, title: str) -> str:
    """A figure for light and for dark pages."""
    about = f"{title}, of the invented case {case.title.split(':')[0]}"
    return "\n".join(
        f"```{{image}} ../../pictures/{case.name}/{key}-{ground}.png\n"
        f":alt: {about}\n:class: only-{ground}\n```"
        for ground in ("light", "dark")
    )


def _page(case: Shown) -> str:
    titles = _titles(case)
    parts = [
        f"# {case.title}",
        f"> {case.question}",
        f"{case.place}. Everything in this case is invented. All of it is made by one command:",
        f"    neutralpoint study examples/{case.name}",
        _links(case),
        "## Answer sheet",
        f'<iframe class="answer" src="../../cases/{case.name}/answer.html" loading="lazy" '
        f'title="Answer sheet of {case.title.split(":")[0]}"></iframe>',
        "## Figures",
    ]
    parts += [_pair(case, key, title) for key, title in titles.items() if key in FIGURES]
    parts += ["## Stills of the film", "`neutralpoint film` makes a film of these results."]
    parts += [
        f"```{{image}} ../../pictures/{case.name}/{key}.png\n"
        f":alt: Still of the film, {title}, of the invented case {case.title.split(':')[0]}\n```"
        for key, title in titles.items()
        if key.startswith("still-")
    ]
    return "\n\n".join(parts) + "\n"


if __name__ == "__main__":
    draw_pictures(*sys.argv[1:])
