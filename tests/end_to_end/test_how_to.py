"""Every how-to is executed: its commands, its programs, its pieces of files, its own track.

Commands that take seconds are run here on the shared studied case; the others are read by the
command line itself, and a test that runs them is named. Pieces of files go through the reader of
their file. Programs are run as they stand, with the case put in its place.
"""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import matplotlib as mpl
import pytest
import typer
from how_to_pages import PAGES, Piece, pieces

import neutralpoint
from neutralpoint.airplane_file.build import build_airplane
from neutralpoint.airplane_file.document import parse_airplane
from neutralpoint.case.document import CaseDocument
from neutralpoint.cli.commands import app
from neutralpoint.cli.entry import run
from neutralpoint.findings import read_findings
from neutralpoint.report.claims.file import parse_claims
from neutralpoint.report.figures.studio.notes import read_notes
from neutralpoint.report.film.storyboard import parse_storyboard
from neutralpoint.report.wording.review import review_text

mpl.use("agg")
ROOT = Path(__file__).parents[2]
EVERY = pieces()
# Pages that hold words alone; what they promise is tested below.
WORDS_ALONE = {"quote-a-result"}
# Commands that take longer than a test of a page may, and the test that runs them.
ELSEWHERE = {
    "airplane": ("end_to_end/test_airplane_command.py", 'run(["airplane"|"airplane", "velmar-c7"'),
    "film": ("unit/test_report_film.py", "test_the_file_decodes_to_the_pictures_that_were_drawn"),
    "serve": ("app/test_server_process.py", '"serve"'),
    "history": ("end_to_end/test_history_stage.py", 'run_stage(case, "history"'),
    "weigh": ("end_to_end/test_weigh.py", 'run(["weigh"'),
    "calibrate": ("end_to_end/test_weigh.py", 'run(["calibrate"'),
    "next-evidence": ("end_to_end/test_weigh.py", 'run(["next-evidence"'),
    "study": ("end_to_end/conftest.py", '"study", str(case), "--progress-json"'),
    "report": ("end_to_end/test_examples.py", 'run(["report"'),
    "compare": ("app/test_server_compare.py", 'run(["compare"'),
}
QUICK = (
    *("new DIR", "check DIR", "check CASE", "claims CASE --draft", "claims CASE"),
    *("wording SCRIPT.md CASE", "figures CASE", "film CASE --storyboard"),
    "figures CASE flight --last 60 --kind svg --kind pdf",
)


def of_kind(kind: str) -> list[Piece]:
    return [piece for piece in EVERY if piece.kind == kind]


@pytest.fixture(scope="module")
def own(studied, tmp_path_factory) -> Path:
    """A copy of the studied case that a page may write into, with a script beside it."""
    base = tmp_path_factory.mktemp("how-to")
    shutil.copytree(studied, base / "case")
    (base / "script.md").write_text("The airplane descended.\n", "utf-8")
    return base


def placed(words: list[str], own: Path) -> list[str]:
    """The words of a command with this test's files in the places of the page's."""
    places = {
        "CASE": str(own / "case"),
        "DIR": str(own / "new"),
        "SCRIPT.md": str(own / "script.md"),
    }
    return [places.get(word, word) for word in words]


def test_every_page_has_something_that_is_run():
    pages = {path.stem for path in PAGES.glob("*.md")}
    assert pages - {piece.page for piece in EVERY} == WORDS_ALONE
    assert len(of_kind("command")) > 30 and len(of_kind("toml")) > 25


@pytest.mark.parametrize("piece", of_kind("command"), ids=str)
def test_every_command_is_one_that_the_program_takes(piece):
    group = typer.main.get_command(app)
    with group.make_context("neutralpoint", ["--help"], resilient_parsing=True) as context:
        name, *rest = piece.words
        assert name in group.list_commands(context), piece.text
        command = group.get_command(context, name)
        whole = any(word.isupper() or word.endswith("-c7") for word in rest)
        with command.make_context(name, rest, resilient_parsing=not whole) as read:
            assert read.params  # a wrong option or value has raised


def test_every_command_is_run_here_or_where_it_says():
    for piece in of_kind("command"):
        if " ".join(piece.words) in QUICK:
            continue
        file, said = ELSEWHERE.get(piece.words[0], ("", ""))
        if piece.words[0] == "figures":
            file, said = "end_to_end/test_figures.py", "draw_figure("
        assert file, piece.text
        text = (ROOT / "tests" / file).read_text("utf-8")
        assert any(one in text for one in said.split("|")), piece.text


def test_the_quick_ones_run_in_the_order_of_their_pages(own, capsys):
    typed = {" ".join(piece.words): piece for piece in of_kind("command")}
    assert set(QUICK) <= set(typed)
    for words in QUICK:
        if words == "check DIR":
            continue  # after the reader's own track, below
        assert run(placed(typed[words].words, own)) == 0, words
        assert capsys.readouterr().out.strip(), words
    assert (own / "case" / "claims.toml").is_file() and (own / "case" / "film.toml").is_file()
    assert parse_storyboard((own / "case" / "film.toml").read_text("utf-8")).chapters
    drawn = {path.suffix for path in (own / "case/results/figures").iterdir()}
    assert drawn == {".svg", ".pdf"}


def base_case() -> dict:
    return tomllib.loads((ROOT / "examples/quorleigh/case.toml").read_text("utf-8"))


AIRPLANE_TABLES = {"wing", "sources", "fuselage"}


@pytest.mark.parametrize("piece", of_kind("toml"), ids=str)
def test_every_piece_of_a_file_is_read_by_its_reader(piece, request, tmp_path):
    table = tomllib.loads(piece.text)
    if piece.page == "make-claims":
        claims, _ = parse_claims(
            f"schema = 1\n{piece.text}",
            read_findings(request.getfixturevalue("studied") / "results"),
        )
        assert claims[0].name == "airspeed-at-last-fix"
    elif piece.page == "make-figures":
        (tmp_path / "figures.toml").write_text(piece.text, "utf-8")
        assert len(read_notes(tmp_path)) == len(table["notes"])
    elif piece.page == "make-a-film":
        assert parse_storyboard(piece.text).chapters[0].title == "Around the onset"
    elif "project" in table:
        (made,) = [tomllib.loads((ROOT / "examples/plug-in/pyproject.toml").read_text("utf-8"))]
        assert table["project"]["entry-points"] == made["project"]["entry-points"]
    elif set(table) <= AIRPLANE_TABLES:
        assert described_with(table).airplane.mass.mass > 0.0
    else:
        case = CaseDocument.model_validate(completed(table))
        assert all(getattr(case, key) for key in table if key in CaseDocument.model_fields)


def described_with(table: dict):
    """The commuter with the piece put into its file."""
    text = (ROOT / "src/neutralpoint/airplane/catalogue/velmar-c7.toml").read_text("utf-8")
    for name, rows in table.items():
        for key, value in rows.items():
            if not isinstance(value, str):
                continue
            head, section, rest = text.partition(f"[{name}]\n")
            rest, tail = rest.split("\n[", 1)
            rest = re.sub(rf"(?m)^{key} = .*\n", "", f"{rest}\n")
            text = f'{head}{section}{key} = "{value}"\n{rest}[{tail}'
    return build_airplane(parse_airplane(text, "page"), "page")


def completed(table: dict) -> dict:
    """The shipped case with the piece in it, and what the piece names of the rest."""
    case = base_case()
    for key, value in table.items():
        if key == "tracks":
            columns = case["tracks"][0]["columns"]
            needs = value[0].get("kind", "table") == "table" and "columns" not in value[0]
            value = [value[0] | {"columns": columns}] if needs else value
        case[key] = case[key] | value if isinstance(case.get(key), dict) else value
    return case


@pytest.fixture
def plugged(monkeypatch):
    """The example plug-in, as its project file would install it."""
    from importlib.metadata import EntryPoint

    made = tomllib.loads((ROOT / "examples/plug-in/pyproject.toml").read_text("utf-8"))
    found = [
        EntryPoint(name, value, group)
        for group, names in made["project"]["entry-points"].items()
        for name, value in names.items()
    ]
    monkeypatch.syspath_prepend(ROOT / "examples/plug-in/src")
    monkeypatch.setattr(
        "neutralpoint.plugins.entry_points", lambda group: [e for e in found if e.group == group]
    )


# Needs libraries that are no part of the project (decision 8); its names are compiled by
# tests/contracts/test_docs.py.
OUTSIDE = "cfgrib"


@pytest.mark.parametrize("page", sorted({piece.page for piece in of_kind("python")}))
def test_every_program_runs_as_it_stands(page, own, plugged, monkeypatch):
    monkeypatch.chdir(own)
    scope: dict[str, object] = {}
    for piece in of_kind("python"):
        if piece.page != page or OUTSIDE in piece.text:
            continue
        text = piece.text.replace("examples/quorleigh", "case").replace("CASE", "case")
        exec(compile(text, str(piece), "exec"), scope)
    if page == "use-the-numbers":
        assert (own / "speed.png").is_file() and scope["low"].shape == scope["high"].shape
    if page == "make-figures":
        assert (own / "flights.svg").is_file()


def write_own_track(folder: Path, header: list[str], row: str, name: str) -> None:
    """Two minutes of level flight to the north-east under the columns that a page names."""
    start = datetime(2031, 4, 14, 18, 52, tzinfo=UTC)
    lines = [",".join(header)]
    for k in range(120):
        at = start + timedelta(seconds=k)
        lines.append(
            row.format(
                time=at.strftime("%Y-%m-%d %H:%M:%S"),
                date=at.strftime("%Y-%m-%d"),
                clock=at.strftime("%H:%M:%S"),
                north=46.0 + 0.0009 * k,
                east=-36.0 + 0.0009 * k,
            )
        )
    (folder / name).write_text("\n".join(lines) + "\n", "utf-8")


def gpx() -> str:
    points = "".join(
        f'<trkpt lat="{46.0 + 0.0009 * k:.5f}" lon="{-36.0 + 0.0009 * k:.5f}"><ele>3000</ele>'
        f"<time>2031-04-14T18:{52 + k // 60}:{k % 60:02d}Z</time></trkpt>"
        for k in range(120)
    )
    return (
        '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk><trkseg>{points}</trkseg></trk></gpx>"
    )


OWN_TRACKS = {
    "bring-your-own-track": (
        ["Timestamp", "Lat", "Lon", "Alt", "Spd", "Hdg", "VS"],
        "{time},{north:.5f},{east:.5f},10000,236,34.8,0",
        "export.csv",
    ),
    "read-an-avionics-log": (
        [
            "local_date",
            "local_time",
            "latitude_deg",
            "longitude_deg",
            "satellite_height_ft",
            "speed_over_ground_kt",
        ],
        "{date},{clock},{north:.5f},{east:.5f},10000,236",
        "log.csv",
    ),
    "read-gpx-and-kml": ([], "", "flight.gpx"),
}


@pytest.mark.parametrize("page", OWN_TRACKS)
def test_a_track_of_the_readers_own_is_checked_as_the_page_says(page, tmp_path, capsys):
    header, row, name = OWN_TRACKS[page]
    shutil.copytree(
        ROOT / "examples/quorleigh", tmp_path / "c", ignore=shutil.ignore_patterns("results")
    )
    if name.endswith(".gpx"):
        (tmp_path / "c" / name).write_text(gpx(), "utf-8")
    else:
        write_own_track(tmp_path / "c", header, row, name)
    piece = next(p for p in of_kind("toml") if p.page == page and "[[tracks]]" in p.text)
    file = tmp_path / "c" / "case.toml"
    text = file.read_text("utf-8")
    head, rest = text.split("[[tracks]]\n", 1)
    tail = rest[rest.index("[[weather]]") :]
    tail = re.sub(r"(?s)\[\[events\]\].*", "", tail)
    head = head.replace("[analysis]\nonset", "[analysis]\n# onset")
    file.write_text(f"{head}{piece.text}\n{tail}", "utf-8")
    assert run(["check", str(tmp_path / "c"), "--json"]) == 0, capsys.readouterr().out
    said = json.loads(capsys.readouterr().out)
    assert name in json.dumps(said)


def test_what_a_quotation_must_give_stands_in_the_findings_and_what_it_must_not_is_flagged(studied):
    """docs/how-to/quote-a-result.md."""
    page = (PAGES / "quote-a-result.md").read_text("utf-8")
    findings = read_findings(studied / "results")
    assert findings.program_version == neutralpoint.__version__ and findings.seed
    assert findings.cut_off and all(w in page for w in ("version", "seed", "cut-off"))
    for said in (
        "The runaway caused the dive.",
        "This proves it.",
        "The pilot should have pulled.",
    ):
        assert review_text(said).flags, said
