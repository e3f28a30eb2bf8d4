"""The findings document: written whole, read back the same, refused with a reason."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import (
    CAUTIONS,
    SCHEMA_VERSION,
    Findings,
    Subject,
    read_findings,
    write_findings,
)
from neutralpoint.findings.file import schema_text
from neutralpoint.findings.versions import UPGRADES

REPOSITORY = Path(__file__).parents[2]


def smallest() -> Findings:
    return Findings(
        program_version="0",
        seed=1,
        cut_off="2031-05-01",
        epoch=datetime(2031, 4, 14, 18, tzinfo=UTC),
        subject=Subject(title="t", question="q", airplane="a"),
        cautions=list(CAUTIONS),
        sources=[],
        assumptions=[],
    )


def test_document_reads_back_as_written(tmp_path: Path) -> None:
    write_findings(tmp_path, smallest())
    assert read_findings(tmp_path) == smallest()
    assert [path.name for path in tmp_path.iterdir()] == ["findings.json"]


@pytest.mark.parametrize(
    ("change", "code", "said"),
    [
        ({"schema_version": 99}, "results-version", "99"),
        ({"surprise": 1}, "results-version", "Extra inputs"),
        ({"seed": "many"}, "results-version", "integer"),
    ],
)
def test_other_documents_are_refused(
    tmp_path: Path, change: dict[str, object], code: str, said: str
) -> None:
    raw = json.loads(smallest().model_dump_json()) | change
    (tmp_path / "findings.json").write_text(json.dumps(raw))
    with pytest.raises(NeutralPointError, match=said) as refused:
        read_findings(tmp_path)
    assert refused.value.code == code
    assert next(iter(change)) in refused.value.where


def test_a_document_of_version_1_is_brought_up_to_date(tmp_path: Path) -> None:
    raw = json.loads(smallest().model_dump_json())
    raw["schema_version"] = 1
    raw["events"] = [{"time": 3.0, "half_width": 2.0, "kind": "voice", "text": "call"}]
    raw |= {"statements": [], "undetermined": []}
    del raw["worded"], raw["motion"], raw["moments"]
    raw["sections"] = [
        {
            "stage": "moments",
            "title": "What it took",
            "verdicts": [{"cause": "power", "word": "cannot", "sentence": "It does not."}],
        }
    ]
    (tmp_path / "findings.json").write_text(json.dumps(raw))
    found = read_findings(tmp_path)
    assert found.schema_version == SCHEMA_VERSION
    assert found.events[0].clock_offset == 0.0
    assert found.worded.sections[0].odds == []
    assert found.worded.sections[0].verdicts[0].word == "cannot"


@pytest.mark.parametrize(
    ("version", "reason"),
    [
        (SCHEMA_VERSION + 1, "later program"),
        (0, "never was"),
        (None, "names no schema version"),
        ("2", "names no schema version"),
        (True, "names no schema version"),
    ],
)
def test_versions_are_refused_with_the_reason(tmp_path: Path, version: object, reason: str) -> None:
    raw = json.loads(smallest().model_dump_json()) | {"schema_version": version}
    (tmp_path / "findings.json").write_text(json.dumps(raw))
    with pytest.raises(NeutralPointError, match=reason):
        read_findings(tmp_path)


def test_a_document_of_version_2_keeps_its_words(tmp_path: Path) -> None:
    raw = json.loads(smallest().model_dump_json()) | {"schema_version": 2}
    del raw["worded"], raw["motion"], raw["moments"]
    raw["statements"] = [{"kind": "fact", "text": "The track holds 9 fixes."}]
    raw["resolution"] = [
        {
            "quantity": "load factor from vertical rates alone",
            "window": 2.0,
            "sigma": 0.05,
            "unit": "1",
            "usable": True,
            "sentence": "In 2 s, usable.",
        }
    ]
    raw["estimates"] = [
        {"name": "noise of ground speed", "value": 1.5, "unit": "m/s", "sentence": "Of one."},
        {"name": "lag of the vertical rate", "value": 0.8, "sigma": 0.1, "unit": "s"},
    ]
    row = {"source": "t.csv", "row": 2, "time": 1.0, "quantity": "altitude", "reason": "stale"}
    raw["flagged"] = [row | {"residual": 3.0, "unit": "1"}]
    odds = {"cause": "spiral", "probability": 0.2, "low90": 0.1, "high90": 0.4}
    raw["sections"] = [{"stage": "weighing", "title": "How likely", "odds": [odds]}]
    (tmp_path / "findings.json").write_text(json.dumps(raw))
    found = read_findings(tmp_path)
    assert found.worded.statements[0].text == "The track holds 9 fixes."
    assert found.worded.sections[0].odds[0].highest == 0.4
    assert found.resolution[0].origin == "vertical-rates"
    assert [(e.name, e.readings) for e in found.estimates] == [
        ("noise", "ground_speed"),
        ("vertical-rate-lag", ""),
    ]
    assert found.flagged[0].reason == "stale"


def test_every_earlier_version_has_a_way_up() -> None:
    assert sorted(UPGRADES) == list(range(1, SCHEMA_VERSION))


@pytest.mark.parametrize("text", ["", "[]", '{"schema_version": 1'])
def test_broken_file_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "findings.json").write_text(text)
    with pytest.raises(NeutralPointError) as refused:
        read_findings(tmp_path)
    assert refused.value.code == "results-version"


def test_missing_file_says_what_to_run(tmp_path: Path) -> None:
    with pytest.raises(NeutralPointError) as refused:
        read_findings(tmp_path)
    assert refused.value.code == "results-missing"
    assert "neutralpoint study" in refused.value.hint


def test_published_schema_is_current() -> None:
    published = (REPOSITORY / "docs/reference/findings-schema.json").read_text(encoding="utf-8")
    assert published == schema_text(), (
        "stale: run `python -m neutralpoint.findings > docs/reference/findings-schema.json`"
    )
