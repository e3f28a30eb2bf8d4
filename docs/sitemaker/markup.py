"""What pages of the site may write beyond Markdown: numbers with their origin, equations, figures.

An extension of Sphinx. Equations become MathML, which browsers draw without any script.
"""

from __future__ import annotations

import re
from typing import Any

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective, SphinxRole

from sitemaker.drawn import FIGURES
from sitemaker.quoted import RESULTS, UnquotableError, quote, section, tables

WIDE = '<div class="wide" tabindex="0" role="region" aria-label="table"><table'


class NumberRole(SphinxRole):
    """`{number}`: a number of the results, linked to the page that it is read from."""

    def run(self) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        """The number, or an error that stops the building."""
        try:
            found = quote(self.text)
        except UnquotableError as lost:
            return [], [self.inliner.reporter.error(str(lost), line=self.lineno)]
        link = _link(self.env, found.page, found.text, f"{found.page}: {found.where}")
        link["classes"] = ["number"]
        return [link], []


def _link(env: Any, page: str, text: str, title: str) -> nodes.reference:
    place = env.app.builder.get_relative_uri(env.docname, page.removesuffix(".md"))
    return nodes.reference(text, text, internal=True, refuri=place, reftitle=title)


class ResultsTable(SphinxDirective):
    """`{results-table} PAGE # HEADING | COLUMN | ...`: a table of the results, some of its columns."""

    required_arguments = 1
    final_argument_whitespace = True
    has_content = True

    def run(self) -> list[nodes.Node]:
        """The table, with a line that says where it is from; content: rows to keep, one a line."""
        page, *columns = (part.strip() for part in self.arguments[0].split(" | "))
        name, _, heading = (part.strip() for part in page.partition(" # "))
        path = f"{name}.md" if name.startswith("docs/") else f"{RESULTS}/{name}.md"
        text = section((self.env.srcdir / path).read_text("utf-8"), heading, page)
        fitting = [
            t for t in tables(text) if {c.partition(" as ")[0] for c in columns} <= set(t[0])
        ]
        if not fitting:
            raise self.error(f"no table with these columns in {page}")
        table = chosen(fitting[0], columns, list(self.content))
        if len(table) - 1 < max(1, len(self.content)):
            raise self.error(f"rows are missing in {page}")
        origin = nodes.paragraph(classes=["origin"])
        origin += nodes.Text("From ")
        origin += _link(self.env, path, path, "")
        return [*self.parse_text_to_nodes(_markdown(table)), origin]


def chosen(table: list[list[str]], columns: list[str], rows: list[str]) -> list[list[str]]:
    """Some columns and rows of a table.

    Args:
        table: Its head first.
        columns: Names, `NAME as HEAD` to call one otherwise; none for all.
        rows: First cells; none for all.

    Returns:
        The part of the table, rows as they are asked for.
    """
    head, *body = table
    pairs = [c.partition(" as ") for c in columns or head]
    places = [head.index(name) for name, _, _ in pairs]
    bare = {re.sub(r"[*`]", "", cells[0]).strip(): cells for cells in reversed(body)}
    kept = [bare[row.strip()] for row in rows if row.strip() in bare] if rows else body
    return [
        [other or name for name, _, other in pairs],
        *([cells[place] for place in places] for cells in kept),
    ]


def _markdown(table: list[list[str]]) -> str:
    lines = ["| " + " | ".join(cells) + " |" for cells in table]
    return "\n".join([lines[0], "|" + "---|" * len(table[0]), *lines[1:]])


class DrawnFigure(SphinxDirective):
    """`{drawn} NAME`: a figure that the code draws when the site is built; content: its caption."""

    required_arguments = 1
    has_content = True

    def run(self) -> list[nodes.Node]:
        """The figure for light and for dark pages."""
        name = self.arguments[0]
        if name not in FIGURES:
            raise self.error(f"no figure {name!r}; there are {', '.join(FIGURES)}")
        figure = nodes.figure(classes=["drawn"])
        for ground in ("light", "dark"):
            path = f"/figures/{name}-{ground}.svg"
            figure += nodes.image(uri=path, alt=FIGURES[name].alt, classes=[f"only-{ground}"])
        caption = nodes.caption()
        caption += self.parse_inline(" ".join(self.content))[0]
        figure += caption
        return [figure]


def _inline(translator: Any, node: nodes.math) -> None:
    translator.body.append(convert(node.astext()))
    raise nodes.SkipNode


def _block(translator: Any, node: nodes.math_block) -> None:
    body = convert(node.astext(), display="block")
    translator.body.append(f'<div class="equation" tabindex="0">{body}</div>\n')
    raise nodes.SkipNode


def widened(_app: Sphinx, _page: str, _template: str, context: dict, _tree: Any) -> None:
    """Tables scroll inside a frame of their own, so that no page does."""
    if "body" in context:
        context["body"] = re.sub(
            r"<table\b(.*?)</table>", rf"{WIDE}\1</table></div>", context["body"], flags=re.S
        )


def setup(app: Sphinx) -> dict[str, Any]:
    """Tell Sphinx."""
    app.add_role("number", NumberRole())
    app.add_directive("results-table", ResultsTable)
    app.add_directive("drawn", DrawnFigure)
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    app.connect("html-page-context", widened)
    return {"version": "1", "parallel_read_safe": True, "parallel_write_safe": True}
