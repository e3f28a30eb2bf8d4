"""Signs, keys and heads of columns as a page prints them."""

from __future__ import annotations

import pytest

from neutralpoint.report.page.printed import heading, prose


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("-2 lb (-7 N)", "\u22122 lb (\u22127 N)"),
        ("-7.83 to -3.92 deg", "\u22127.83 to \u22123.92 deg"),
        ("0.1 s +- 0.3 s", "0.1 s \u00b1 0.3 s"),
        ("2031-04-14, ostrel-7, F-1, a-b", "2031-04-14, ostrel-7, F-1, a-b"),
        ("State `analysis.flap` & <b>", "State <code>analysis.flap</code> &amp; &lt;b&gt;"),
        ("`<script>`", "<code>&lt;script&gt;</code>"),
    ],
)
def test_words_of_findings_are_set_for_a_page(text, said) -> None:
    assert prose(text) == said


def test_heads_of_columns_begin_with_a_capital_but_symbols_keep_theirs() -> None:
    assert [heading(text) for text in ("time above", "p-value", "ln B", "")] == [
        "Time above", "p-value", "ln B", "",
    ]  # fmt: skip
