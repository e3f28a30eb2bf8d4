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
from sitemaker.quoted import UnquotableError, quote, table

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
    """`{results-table} PAGE # HEADING | COLUMN | ...`: some columns of a table of the results."""

    required_arguments = 1
    final_argument_whitespace = True
    has_content = True

    def run(self) -> list[nodes.Node]:
        """The table, with a line that says where it is from; content: rows to keep, one a line."""
        try:
            path, rows = table(self.arguments[0], [row for row in self.content if row.strip()])
        except UnquotableError as lost:
            raise self.error(str(lost)) from lost
        origin = nodes.paragraph(classes=["origin"])
        origin += nodes.Text("From ")
        origin += _link(self.env, path, path, "")
        return [*self.parse_text_to_nodes(_markdown(rows)), origin]


def _markdown(rows: list[list[str]]) -> str:
    lines = ["| " + " | ".join(cells) + " |" for cells in rows]
    return "\n".join([lines[0], "|" + "---|" * len(rows[0]), *lines[1:]])


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
