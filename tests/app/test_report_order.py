"""The order of the report: contents with links, numbers to cite, nothing said twice."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from neutralpoint.report import write_pdf
from neutralpoint.report.page.pdf_places import places, with_pages
from neutralpoint.report.page.write import css_string


@pytest.fixture(scope="module")
def page(report_file: Path) -> str:
    return report_file.read_text(encoding="utf-8")


def test_nothing_is_said_twice(page: str, sentences: Callable[[str], list[str]]) -> None:
    found = sentences(page)
    assert len(found) > 10
    assert [said for said, count in Counter(found).items() if count > 1] == []


def test_every_link_leads_to_one_place(page: str) -> None:
    wanted = set(re.findall(r'href="#([^"]+)"', page))
    held = Counter(re.findall(r'\bid="([^"]+)"', page))
    assert len(wanted) > 10
    assert {name: held[name] for name in wanted} == dict.fromkeys(wanted, 1)


def test_contents_list_every_chapter_in_order(page: str) -> None:
    contents = page[page.index('<nav class="contents"') : page.index("</nav>")]
    listed = re.findall(r'href="#(c-[^"]+)"', contents)
    assert listed == re.findall(r'<h2 id="(c-[^"]+)"', page)
    assert listed.index("c-claims") < listed.index("c-reading")


@pytest.mark.parametrize("kind", ["Table", "Figure"])
def test_numbers_run_on_and_stand_once(page: str, kind: str) -> None:
    numbers = re.findall(rf"<strong>{kind} ([A-Z]?)(\d+)\.</strong>", page)
    assert len(set(numbers)) == len(numbers) > 2
    for letter in {letter for letter, _ in numbers}:
        counted = [int(number) for found, number in numbers if found == letter]
        assert counted == list(range(1, len(counted) + 1)), letter


def test_every_section_of_the_body_opens_with_its_result(page: str) -> None:
    body = page[: page.index('<section class="chapter appendix')]
    sections = re.findall(r'(?s)<section class="chapter".*?</section>', body)
    assert len(sections) >= 4
    for section in sections:
        before = section[: section.index('class="lead"')]
        assert "<table" not in before and "<figure" not in before and "<ul" not in before


def test_a_title_cannot_end_the_style_sheet() -> None:
    hostile = 'a"}</style>\\\n'
    said = css_string(hostile)
    assert said.count('"') == 2
    assert not set("<>{}\n") & set(said)


def test_numbers_are_set_into_the_contents() -> None:
    slot = '<span class="page" data-page="c-x"></span>'
    assert with_pages(slot, {"c-x": 7}) == slot.replace("></", ">7</")
    assert with_pages(slot, {}) == slot
    assert places(b"%PDF-1.4 of another kind") == {}


@pytest.mark.slow  # prints the whole report, eight seconds
def test_print_has_a_running_head_bookmarks_and_page_numbers(
    page: str, results_folder: Path, tmp_path: Path, browser: object
) -> None:
    del browser  # skips where there is none
    source = tmp_path / "report.html"
    source.write_text(page, encoding="utf-8")
    pdf = write_pdf(source, tmp_path / "report.pdf").read_bytes()
    found, last = places(pdf), len(re.findall(rb"/Type /Page\b", pdf))
    chapters = re.findall(r'<h2 id="(c-[^"]+)"', page)
    pages = [found[name] for name in chapters]
    assert pages == sorted(pages)
    assert pages[0] > 1 and pages[-1] <= last
    assert b"/Outlines" in pdf
    assert "counter(page)" in page and "preliminary, data cut-off" in page
