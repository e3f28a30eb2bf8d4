"""Make the site of the documents: `build/site/html/index.html`.

    make site
    python docs/make_site.py [--without-cases]

Gathers the pages of the repository, draws the figures of the paper, studies the examples for the
gallery, lets Sphinx write the pages and judges them: a link that leads nowhere ends it with 1. What
takes long is kept in `build/site/kept`. `--without-cases` leaves the studies out.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import time

from sitemaker import cases, drawn, gallery, notebooks
from sitemaker.contents import with_contents
from sitemaker.gather import copy, gather, put
from sitemaker.judge import faults_of
from sitemaker.kept import BUILD, code_digest, digest, kept
from sitemaker.look import lay_theme
from sitemaker.quoted import RESULTS, ROOT

SOURCE, HTML, THEME = BUILD / "source", BUILD / "html", BUILD / "theme"


def main() -> None:
    """Make it, step by step."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--without-cases", action="store_true", help="No studies; a quick site.")
    given = parser.parse_args()
    began = time.perf_counter()

    def say(text: str) -> None:
        sys.stdout.write(f"{time.perf_counter() - began:5.0f} s  {text}\n")
        sys.stdout.flush()

    say("gathering pages")
    shutil.rmtree(HTML, ignore_errors=True)
    gather(SOURCE)
    for path in notebooks.notebook_paths():
        copy(path, SOURCE)
        put(SOURCE / f"docs/notebooks/{path.stem}.md",
            notebooks.page(path, SOURCE / "pictures" / "notebooks"))  # fmt: skip
    say("drawing the figures of the paper")
    results = [*sorted((ROOT / RESULTS).glob("*.md")), ROOT / "docs/explanation/odds-networks.md"]
    figures = kept("figures", digest(results, code_digest("drawn.py")), drawn.draw_all)
    shutil.copytree(figures, SOURCE / "figures")
    say("looking at the examples" if given.without_cases else "studying the examples")
    shown = cases.show(studied=not given.without_cases, say=say)
    page = SOURCE / "docs/gallery/index.md"
    entries = gallery.lay(shown, SOURCE, HTML)
    put(page, page.read_text("utf-8").replace("<!-- the cases -->", entries))
    names = [p.relative_to(SOURCE).with_suffix("").as_posix() for p in SOURCE.rglob("*.md")]
    put(SOURCE / "index.md", with_contents((SOURCE / "index.md").read_text("utf-8"), names))
    say("writing pages")
    lay_theme(THEME / "neutral")
    wrong = written()
    say("judging pages")
    faults = faults_of(HTML)
    for fault in faults:
        sys.stdout.write(f"{fault}\n")
    say(f"{HTML / 'index.html'}: {len(list(HTML.rglob('*.html')))} pages, {len(faults)} faults")
    sys.exit(1 if faults or wrong else 0)


def written() -> bool:
    """Let Sphinx write the pages; True where it had something to complain of."""
    settings = [
        *("-c", str(ROOT / "docs" / "sitemaker"), "-D", f"html_theme_path={THEME}"),
        *("-b", "html", "-q", "-E", "-W", "--keep-going", "-d", str(BUILD / "doctrees")),
    ]
    program = [sys.executable, "-m", "sphinx", *settings, str(SOURCE), str(HTML)]
    return subprocess.run(program, cwd=ROOT / "docs", check=False).returncode != 0


if __name__ == "__main__":
    main()
