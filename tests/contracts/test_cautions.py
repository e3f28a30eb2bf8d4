"""The cautions stand wherever a result is read."""

from __future__ import annotations

import re

from neutralpoint.findings.cautions import CAUTIONS, IN_BRIEF

TOPICS = ("not for flight", "preliminary", "official investigation", "no blame", "intent")


def _pages(repository):
    """Templates of whole pages, with their sections."""
    for path in sorted((repository / "src" / "neutralpoint").rglob("templates/*.j2")):
        text = path.read_text("utf-8")
        if "<html" in text:
            yield path.name, text, re.findall(r"(?s)<section.*?</section>", text)


def test_cautions_say_all_five_things():
    for said in (" ".join(CAUTIONS).lower(), IN_BRIEF.lower()):
        assert all(topic in said for topic in TOPICS)


def test_report_opens_and_closes_with_the_cautions(repository):
    reports = [(n, t, s) for n, t, s in _pages(repository) if n.startswith("report")]
    assert reports
    for name, text, sections in reports:
        with_cautions = [i for i, s in enumerate(sections) if "findings.cautions" in s]
        with_results = [
            i for i, s in enumerate(sections) if "sentences(" in s or "strip_panels" in s
        ]
        assert with_cautions and with_cautions[0] < with_results[0], name
        assert "IN_BRIEF" in text[text.rindex("</section>") :], f"{name}: foot"


def test_a_caution_stands_beside_every_curve_and_verdict(repository):
    missing = [
        f"{name}: {re.search(r'<h2[^>]*>(.*?)</h2>', section).group(1)}"
        for name, _, sections in _pages(repository)
        for section in sections
        if ("strip_panels" in section or "verdict" in section)
        and 'class="beside"' not in section
        and "opening(" not in section
    ]
    assert not missing


def test_read_me_says_them_before_the_commands(repository):
    text = (repository / "README.md").read_text("utf-8").lower()
    at = [text.find(topic) for topic in TOPICS]
    assert min(at) >= 0, dict(zip(TOPICS, at, strict=True))
    assert max(at) < text.index("make demo")
