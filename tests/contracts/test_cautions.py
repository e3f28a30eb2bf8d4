"""The cautions stand wherever a result is read."""

from __future__ import annotations

import ast
import json
import re

import numpy as np
import pytest

from neutralpoint.cli import output
from neutralpoint.cli.entry import run
from neutralpoint.report.figures.studio.lettering import width_of, wrapped
from neutralpoint.report.film.layout import LAYOUTS, SMALL
from neutralpoint.study.wreckage.maps import geojson, kml
from neutralpoint.vocabulary.cautions import CAUTIONS, IN_BRIEF

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


# What says nothing of a flight, or prints errors and steps.
NO_RESULT = {"output.py", "serve.py", "commands.py", "entry.py"}
SMALLEST = 20  # pixels of 1080: a fiftieth of the picture, as captions of films are at least


def _all_said(text: str) -> bool:
    return all(topic in text.lower() for topic in TOPICS)


def test_every_command_with_a_result_says_them(repository):
    """A module of the command line that prints closes with the caution, for people and in JSON."""
    wrong, seen = [], 0
    for path in sorted((repository / "src" / "neutralpoint" / "cli").rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
            called = {
                node.func.id
                for node in ast.walk(function)
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            }
            seen += "show_result" in called
            if called & {"show_json", "show_line"} and path.name not in NO_RESULT:
                wrong.append(f"{path.name}: {function.name} prints JSON without the caution")
        text = path.read_text("utf-8")
        if "show_result" in text and "show_caution(" not in text and path.name not in NO_RESULT:
            wrong.append(f"{path.name} says no caution to people")
    assert wrong == []
    assert seen > 8


def test_every_json_of_a_study_and_every_map_bears_them(repository):
    """Beside the findings, whose own test holds them."""
    saved = [
        path
        for path in (repository / "src" / "neutralpoint" / "study").rglob("*.py")
        if "work.save_json(" in path.read_text("utf-8")
    ]
    assert len(saved) >= 2
    for path in saved:
        beside = "".join(one.read_text("utf-8") for one in path.parent.glob("*.py"))
        assert "IN_BRIEF" in beside and "caution" in beside, path
    assert _all_said(json.loads(geojson([]))["description"]) and _all_said(kml([]))


@pytest.mark.parametrize("as_line", [False, True])
def test_json_bears_them(capsys, as_line):
    output.show_result({"caution": "Of this alone.", "found": 1}, as_line=as_line)
    said = json.loads(capsys.readouterr().out)
    assert said["found"] == 1
    assert _all_said(said["caution"]) and said["caution"].startswith("Of this alone. ")


def test_a_command_prints_them(capsys, tmp_path):
    script = tmp_path / "script.md"
    script.write_text("The airplane descended.", "utf-8")
    assert run(["wording", str(script)]) == 0
    assert _all_said(capsys.readouterr().out.replace("\n", " "))
    assert run(["wording", str(script), "--json"]) == 0
    assert _all_said(json.loads(capsys.readouterr().out)["caution"])


@pytest.mark.parametrize("shape", LAYOUTS)
def test_a_film_has_room_for_them_at_a_size_that_is_read(shape):
    layout = LAYOUTS[shape]
    assert SMALL >= SMALLEST
    width = layout.safe[2] - layout.safe[0]
    lines = wrapped(IN_BRIEF, width, SMALL)
    assert " ".join(lines) == IN_BRIEF
    assert max(width_of(line, SMALL) for line in lines) <= width
    assert layout.caption[3] <= layout.safe[3] - 2 * SMALL


def test_every_file_of_results_bears_them(repository):
    """Whatever `xr.Dataset` gets a `source` of the program gets the caution in its comment."""
    wrong, seen = [], 0
    for path in sorted((repository / "src" / "neutralpoint" / "study").rglob("*.py")):
        text = path.read_text("utf-8")
        if '"source": f"Neutral Point' in text:
            seen += 1
            if "IN_BRIEF" not in text or '"comment": ' not in text:
                wrong.append(path.name)
    assert wrong == []
    assert seen >= 5


def test_readings_and_odds_bear_them():
    from datetime import UTC, datetime

    from neutralpoint.study.motion.track_file import track_dataset
    from neutralpoint.study.weighing.saved import SavedWeighing
    from neutralpoint.track import Observations, Track

    row = np.arange(2)
    seen = Observations(np.array([0.0, 1.0]), np.zeros((2, 2)), 0.0, row, row * 0, row < 0)
    made = track_dataset(Track(datetime(2031, 1, 1, tzinfo=UTC), position=seen), version="0")
    assert _all_said(made.attrs["comment"])
    assert _all_said(SavedWeighing.model_fields["caution"].default)
