"""`neutralpoint airplane`: numbers, picture and errors, through the command line."""

import json
import re
import shutil
from itertools import pairwise
from pathlib import Path

import pytest

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.cli.entry import run
from neutralpoint.quantities import KNOT, POUND_FORCE

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"


@pytest.fixture(scope="module")
def described(tmp_path_factory):
    """The commuter's JSON document, drawn as well."""
    figure = tmp_path_factory.mktemp("airplane") / "velmar.svg"
    with pytest.MonkeyPatch.context() as patch:
        written = []
        patch.setattr("sys.stdout.write", written.append)
        arguments = ["airplane", "velmar-c7", "--json", "--draws", "20", "--figure", str(figure)]
        code = run([*arguments, "--move", "baggage", "--to", "2.0 m"])
    return code, json.loads("".join(written)), figure


def test_document_and_picture(described):
    code, document, figure = described
    assert code == 0
    assert figure.read_text(encoding="utf-8").startswith("<?xml")
    assert document["name"] == "Velmar C7"
    assert document["move"]["margins"]["take-off and flight"]["forward"] < 0.0


def test_force_at_the_stop_grows_and_passes_seventy_pounds(described):
    # Fact of the trade (common practice, no source): past 70 lb soon after take-off.
    _, document, _ = described
    speeds, pulls = document["calibrated_airspeed"], document["pull_at_stop"]["given"]
    assert all(after > before for before, after in pairwise(pulls))
    near = min(range(len(speeds)), key=lambda i: abs(speeds[i] - 135 * KNOT))
    assert pulls[near] > 70 * POUND_FORCE
    crossover = document["crossover"]["short term, two hands, 14 CFR 23.143(c), 25.143(d)"]["given"]
    assert 110 * KNOT < crossover < 160 * KNOT


def test_bands_hold_the_airplane_as_given(described):
    _, document, _ = described
    for name in ("force_per_g", "neutral_point", "neutral_point_free"):
        found = document[name]
        assert found["low"] < found["given"] < found["high"]
        assert found["low"] < found["median"] < found["high"]
    assert document["trim_speed"] == pytest.approx(1.45 * document["stall_speed"])


def sheet_of(name):
    """What docs/reference/airplane-sheets.md prints of an airplane."""
    page = (EXAMPLE.parents[1] / "docs/reference/airplane-sheets.md").read_text("utf-8")
    return page.split(f"## {name}\n")[1].split("\n## ")[0]


@pytest.mark.parametrize("name", catalogue_names())
def test_the_page_of_sheets_has_each_airplane_as_its_file_is(name):
    sheet, found = sheet_of(name), load_airplane(name)
    mass = found.airplane.mass
    assert found.document.name in sheet and "Not for flight" in sheet
    assert re.search(rf"(?m)^total +{float(mass.mass):.0f} ", sheet)
    chord = found.airplane.geometry
    place = 100.0 * float((mass.cg_station - chord.chord_station) / chord.mean_chord)
    assert f"center of gravity   {place:.1f}% MAC" in sheet
    assert all(stop.name in sheet for stop in found.airplane.trim_drive.stops)


@pytest.mark.slow
@pytest.mark.parametrize("name", catalogue_names())
def test_the_page_of_sheets_has_the_numbers_of_the_command(name, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    assert run(["airplane", name]) == 0
    number = re.compile(r"-?\d+(?:\.\d+)?")
    printed = number.findall(capsys.readouterr().out)
    assert number.findall(sheet_of(name).split("```")[1].removeprefix("text")) == printed


@pytest.mark.slow
@pytest.mark.parametrize("name", catalogue_names())
def test_every_airplane_of_the_catalogue_goes_through_every_command(name, tmp_path, capsys):
    """Every command that takes an airplane: described, drawn, and named by a case that is read."""
    figure = tmp_path / f"{name}.svg"
    wanted = ["airplane", name, "--draws", "20", "--coefficients", "--figure", str(figure)]
    assert run(wanted) == 0
    printed = capsys.readouterr().out
    name_of = load_airplane(name).document.name
    assert name_of in printed and "as the file gives it" in printed and figure.exists()
    assert run(["airplane", name, "--draws", "20", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    pull = found["pull_at_stop"]
    assert all(low <= high for low, high in zip(pull["low"], pull["high"], strict=True) if low)
    case = shutil.copytree(EXAMPLE, tmp_path / "case", ignore=shutil.ignore_patterns("results"))
    file = case / "case.toml"
    before, section, rest = file.read_text("utf-8").partition("[airplane]\n")
    rest = re.sub(r"(?m)^file = .*\n", "", rest, count=1)  # that of the example's own airplane
    file.write_text(f'{before}{section}file = "{name}"\n{rest}', "utf-8")
    assert run(["check", str(case), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["airplane", "no-such-plane"], "file-missing"),
        (["airplane", "velmar-c7", "--move", "baggage"], "argument-invalid"),
        (["airplane", "velmar-c7", "--move", "cat", "--to", "3 m"], "argument-invalid"),
        (["airplane", "velmar-c7", "--figure", "plane.doc"], "argument-invalid"),
    ],
)
def test_errors_come_in_four_fields(arguments, code, capsys):
    assert run([*arguments, "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["code"] == code
    assert set(error) == {"code", "message", "where", "hint"}
