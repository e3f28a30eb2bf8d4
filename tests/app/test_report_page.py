"""The page as text: whole, offline by construction, safe against the text of a case."""

from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import CAUTIONS, IN_BRIEF
from neutralpoint.report import write_report

LARGEST = 5_000_000  # bytes, of one report


class Elements(HTMLParser):
    """Collects elements, attributes and the text of scripts and styles."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.inside: list[tuple[str, str]] = []
        self.open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag in ("script", "style"):
            self.inside.append((tag, ""))
            self.open = True

    def handle_endtag(self, tag: str) -> None:
        self.open = False

    def handle_data(self, data: str) -> None:
        if self.open:
            tag, text = self.inside[-1]
            self.inside[-1] = (tag, text + data)


@pytest.fixture(scope="module")
def page(report_file: Path) -> str:
    assert [path.name for path in report_file.parent.iterdir()] == ["report.html"]
    return report_file.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def elements(page: str) -> Elements:
    parser = Elements()
    parser.feed(page)
    return parser


def test_nothing_is_asked_of_a_network(page: str, elements: Elements) -> None:
    assert len(page.encode()) < LARGEST
    for tag, attributes in elements.found:
        for name in ("src", "href", "data", "srcset", "action"):
            value = attributes.get(name)
            assert value is None or value.startswith(("data:", "#")), (tag, name)
    assert "link" not in {tag for tag, _ in elements.found}


def test_policy_names_the_very_script_and_style(elements: Elements) -> None:
    policy = next(
        str(a["content"]) for t, a in elements.found if a.get("http-equiv") is not None and t
    )
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    run = [text for tag, text in elements.inside][-1]
    style = elements.inside[0][1]
    for name, text in (("script-src", run), ("style-src", style)):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{name} 'sha256-{digest}'" in policy


def test_text_of_the_case_stays_text(elements: Elements) -> None:
    tags = [tag for tag, _ in elements.found]
    assert tags.count("script") == 3  # figure, floats, bundle
    assert not [
        a for t, a in elements.found if t == "img" and not str(a["src"]).startswith("data:")
    ]
    assert not [a for _, a in elements.found if any(name.startswith("on") for name in a)]


@pytest.mark.parametrize(
    "said",
    [
        "What was it?",
        "What these data cannot show",
        "There is no reading from 18:54:00.0 to 18:54:07.0 UTC (7.0 s)",
        "Sideslip leaves no mark in a track.",
        "abab" * 16,
        "stamps in steps of 0.01 s",
        "pressure altitude 25\u202fft",
        "5 900 kg ± 150 kg",
        "not observable",
        "can if",
        "31%",
        "likely (0.72)",
        "0.55 to 0.84",
        "Brier score 0.14",
        "(not on the list)",
        "0.80 bit",
        "At its stop: trim 0.97.",
        "The trim drive is estimated.",
        "18:54:38.0",
        "−12.0 s ± 2.5 s",
        "church bell of 18:50",
        "virtually certain",
        "very likely (0.90) between",
        "seed 7",
        "2031-05-01",
        "No corrections so far.",
        "A &amp; B",
    ],
)
def test_page_says(page: str, said: str) -> None:
    assert said in page


def test_cautions_stand_first_beside_results_and_last(page: str) -> None:
    escaped = CAUTIONS[0]
    places = [found.start() for found in re.finditer(re.escape(escaped), page)]
    assert len(places) == 1
    assert places[0] < page.index("What these data show") < page.index(IN_BRIEF)
    for heading in ("Flight path", "Flight path in full", "What it took", "What it took in full"):
        after = page[page.index(f"{heading}</h2>") :]
        assert after.index("Caution:") < after.index("</section>")


def test_standing_is_said_in_words(page: str) -> None:
    for kind in ("fact", "derived", "inferred"):
        assert re.search(rf'class="standing {kind}">.*?</span> {kind}</span>', page)


def test_same_results_give_the_same_page(results_folder: Path, page: str, tmp_path: Path) -> None:
    again = write_report(results_folder, tmp_path / "again.html")
    assert again.read_text(encoding="utf-8") == page


def test_missing_motion_is_said(results_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "findings.json").write_bytes((results_folder / "findings.json").read_bytes())
    with pytest.raises(NeutralPointError) as refused:
        write_report(tmp_path, tmp_path / "report.html")
    assert refused.value.code == "results-missing"
    (tmp_path / "motion.nc").write_text("not NetCDF")
    with pytest.raises(NeutralPointError) as refused:
        write_report(tmp_path, tmp_path / "report.html")
    assert refused.value.code == "results-version"
    assert not (tmp_path / "report.html").exists()
