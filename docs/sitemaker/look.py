"""The theme of the site: its templates, the type of the workbench, the colors of the figures."""

from __future__ import annotations

import shutil
from pathlib import Path

from neutralpoint.report.figures.palette import DARK_ROLES, ROLES
from sitemaker.quoted import ROOT

THEME = ROOT / "docs" / "sitemaker" / "theme"
TYPE = ROOT / "src" / "neutralpoint" / "app" / "static"
SHEET = {"light": "#ffffff", "dark": "#1a222b"}  # ground of code
SWAP = "{} .only-dark{{display:block!important}}{} .only-light{{display:none!important}}"


def colors() -> str:
    """The style sheet of colors, light and dark."""
    light, dark = _roles(ROLES, "light"), _roles(DARK_ROLES, "dark")
    chosen, system = ':root[data-ground="dark"]', ':root:not([data-ground="light"])'
    return (
        f":root{{{light}}}\n{chosen}{{{dark}}}\n{SWAP.format(chosen, chosen)}\n"
        f"@media screen and (prefers-color-scheme: dark){{\n{system}{{{dark}}}\n"
        f"{SWAP.format(system, system)}\n}}\n"
    )


def _roles(roles: dict[str, str], ground: str) -> str:
    named = ";".join(f"--{name}:{color}" for name, color in roles.items())
    return f"color-scheme:{ground};--sheet:{SHEET[ground]};{named}"


def lay_theme(folder: Path) -> None:
    """Lay the theme out for Sphinx.

    Args:
        folder: Emptied first.
    """
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(THEME, folder)
    static = folder / "static"
    (static / "colors.css").write_text(colors(), "utf-8")
    for name in ("serif.woff2", "serif-italic.woff2", "mark.svg"):
        shutil.copyfile(TYPE / name, static / name)
