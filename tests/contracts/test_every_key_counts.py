"""Every key that a file may hold changes a result or is refused: nothing is read and then dropped.

A key of an airplane file is moved by a little, the airplane is built again, and what the stages
start from is compared. The numbers of the airplane itself are then moved one by one in a batch, and
every one must move something that is computed from them. What only a reader sees is listed.
"""

from __future__ import annotations

import ast
import copy
import dataclasses
import datetime
import re
import shutil
import tomllib
import typing
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import pytest
import tomlkit
from pydantic import BaseModel, ValidationError

import neutralpoint
from neutralpoint.airplane.stability import neutral_point, neutral_point_free
from neutralpoint.airplane_file.build import build_airplane
from neutralpoint.airplane_file.catalogue import CATALOGUE
from neutralpoint.airplane_file.document import AirplaneDocument
from neutralpoint.case import load_case
from neutralpoint.case.document import CaseDocument
from neutralpoint.documents.fields import Kind
from neutralpoint.documents.ranges import RANGES
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.column import through_friction
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.state import State, make_inputs, quaternion
from neutralpoint.dynamics.trim_motor import motor_share
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations.change import limits_passed

SRC = Path(neutralpoint.__file__).parent
EXAMPLE = SRC.parents[1] / "examples" / "quorleigh"
# What only a reader sees: names, descriptions, where a number is from.
AIRPLANE_READ = {"name", "description", "sources"}
CASE_READ = {"title", "question", "place", "invented", "cut_off", "registration", "source"}
STEP = 1.03  # of a number that is not zero; small enough to stay within every range


def parts(annotation) -> list:
    """Every type in an annotation, through options, entries and metadata."""
    if typing.get_origin(annotation) is typing.Literal:
        return [annotation]
    inner = [a for a in typing.get_args(annotation) if a is not Ellipsis]
    return [annotation, *(p for a in inner for p in parts(a))]


def moved(value, field):
    """Another value of the same kind; None where no rule makes one."""
    kinds = [k for a in (field.annotation, *field.metadata) for k in parts(a)]
    if isinstance(value, list | dict) and value:
        return _other_inside(value)
    for kind in kinds:
        if typing.get_origin(kind) is typing.Literal:
            others = [v for v in typing.get_args(kind) if v != value]
            return others[0] if others else "unheard of"
    unit = next((k for k in kinds if isinstance(k, Kind)), None)
    if unit is not None:
        return _other_quantity(value, field, unit)
    if isinstance(value, str):
        return f"{value} again"
    if isinstance(value, bool) or bool in kinds:
        return not (value if value is not None else field.default)
    if isinstance(value, int | float) or {int, float} & set(kinds):
        start = value if value is not None else field.default
        return type(start or 0.5)((start or 0.5) * 0.9) if float in kinds else int(start or 0) + 1
    if isinstance(value, datetime.time):
        return (
            datetime.datetime.combine(datetime.date(2031, 4, 14), value)
            + datetime.timedelta(seconds=7)
        ).time()
    if isinstance(value, datetime.date):
        return value + datetime.timedelta(days=1)
    return None


def _other_inside(value):
    """The same list or table with the number of its first text moved."""
    if isinstance(value, str):
        return re.sub(r"\d+\.?\d*", lambda m: f"{float(m[0]) * STEP + 1e-3:.6g}", value, count=1)
    changed = copy.deepcopy(value)
    first = 0 if isinstance(value, list) else next(iter(value))
    changed[first] = _other_inside(value[first])
    return changed


def _other_quantity(value, field, unit: Kind) -> str:
    if value is None:
        start = getattr(field.default, "value", 0.0)
        return f"{start * STEP if start else 0.01!r} {RANGES[unit.name].unit}"
    found = unit.parsed(value).value
    return f"{found * STEP if found else 0.01!r} {RANGES[unit.name].unit}"


def every_key(model: type[BaseModel], table: dict, path=()):
    """Path, field and value of each key that a table may hold, entries of lists included."""
    for name, field in model.model_fields.items():
        key = field.alias or name
        value = table.get(key)
        models = [
            p for p in parts(field.annotation) if isinstance(p, type) and issubclass(p, BaseModel)
        ]
        if isinstance(value, dict) and len(models) == 1:
            yield from every_key(models[0], value, (*path, key))
        elif isinstance(value, list) and models:
            for index, entry in enumerate(value[:1]):
                kind = next(
                    (
                        m
                        for m in models
                        if entry.get("kind")
                        in typing.get_args(m.model_fields.get("kind", field).annotation)
                    ),
                    models[0],
                )
                yield from every_key(kind, entry, (*path, key, index))
        elif not models:
            yield (*path, key), field, value


def with_value(document: dict, path, value) -> dict:
    changed = copy.deepcopy(document)
    at = changed
    for part in path[:-1]:
        at = at[part] if isinstance(at, list) else at.setdefault(part, {})
    at[path[-1]] = value
    return changed


def fingerprint(node) -> object:
    """Numbers and words of a result, comparable."""
    if isinstance(node, np.ndarray | jax.Array):
        return np.asarray(node).tobytes()
    if dataclasses.is_dataclass(node):
        return tuple(fingerprint(getattr(node, f.name)) for f in dataclasses.fields(node))
    if isinstance(node, dict):
        return tuple((k, fingerprint(v)) for k, v in node.items())
    if isinstance(node, list | tuple):
        return tuple(fingerprint(v) for v in node)
    return node


# ------------------------------------------------------------------------------- airplane files
def _read_later() -> set[str]:
    """Names of attributes that are read beyond the modules that state and build the files."""
    stated = ("airplane_file", "documents")
    found: set[str] = set()
    for path in SRC.rglob("*.py"):
        if path.parent.name in stated or path.name.endswith(("document.py", "_entry.py")):
            continue
        nodes = ast.walk(ast.parse(path.read_text("utf-8")))
        found |= {n.attr for n in nodes if isinstance(n, ast.Attribute)}
    return found


READ_LATER = _read_later()


def built(document: dict):
    """What the stages start from; None where the file is refused."""
    try:
        found = build_airplane(AirplaneDocument.model_validate(document), "plane.toml")
    except (ValidationError, NeutralPointError):
        return None
    return fingerprint([found.airplane, found.uncertainty, found.loading, found.envelopes])


@pytest.mark.parametrize("name", ["ostrel-7", "tarnley-180", "velmar-c7"])
def test_every_key_of_an_airplane_file_changes_the_airplane(name):
    document = tomllib.loads((CATALOGUE / f"{name}.toml").read_text("utf-8"))
    before = built(document)
    assert before is not None
    dead = []
    for path, field, value in every_key(AirplaneDocument, document):
        other = moved(value, field)
        if path[0] in AIRPLANE_READ or other is None:
            continue
        if built(with_value(document, path, other)) == before and path[-1] not in READ_LATER:
            dead.append((".".join(map(str, path)), other))
    assert not dead, dead


# ------------------------------------------------------------------------ numbers of the airplane
# Attribute by which a stage above takes a number that the equations of motion do not hold.
TAKEN_ELSEWHERE = {
    "autopilot_rate",
    "manual_rate",
    "chord_station",
    "travel_min",
    "travel_max",
    "never_exceed_mach",
}  # the last as `fast_mach`
# Columns: speed m/s, angle of attack, sideslip, height m, flap, gear, aileron, rudder, output of
# the engines, lever, feathered, trim rad. The stall is met from both sides, the limit speed passed.
CONDITIONS = np.array([
    [200.0, 0.06, 0.05, 500.0, 1.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.0, 0.03],
    [70.0, 0.24, -0.03, 2000.0, 0.5, 0.0, 0.0, 0.0, 0.8, 0.0, 0.0, 0.03],
    [80.0, -0.23, 0.0, 100.0, 0.0, 0.0, 0.1, 0.0, 0.02, 0.0, 0.0, 0.03],
    [235.0, 0.02, 0.02, 9000.0, 0.0, 0.0, 0.0, 0.1, 0.4, 0.7, 0.0, 0.03],
    [120.0, 0.1, 0.1, 6000.0, 0.0, 0.0, 0.0, 0.0, 0.4, 0.0, 1.0, 0.02],
])  # fmt: skip
FORCES = np.array([60.0, 1e6, -1e6])  # N on the column: held, and at either stop of the elevator
# Numbers that an engine or a control of a kind does not use; a file may not give what is optional.
IDLE = {"turbofan": {"propeller_efficiency"}, "turboprop": {"mach_slope", "mach_curve"}}
HINGES = {
    "gearing",
    "elevator_area",
    "elevator_chord",
    "tail_pressure_ratio",
    "Ch_0",
    "Ch_alpha",
    "Ch_elevator",
    "Ch_tab",
}


def conditioned(airplane, air, condition):
    """Derivative and readings of an airplane in one condition, by elevator and by force."""
    v, alpha, beta, height, flap, gear, aileron, rudder, power, lever, feather, trim = condition
    count = len(airplane.engines)
    e0, e1, e2, e3 = quaternion(bank=0.05, pitch=alpha, heading=0.0)
    state = State(
        north=0.0, east=0.0, down=-height,
        velocity_north=v, velocity_east=v * beta, velocity_down=0.0,
        e0=e0, e1=e1, e2=e2, e3=e3, roll_rate=0.1, pitch_rate=0.05, yaw_rate=0.08,
        power=(power,) * count,
    )  # fmt: skip
    inputs = make_inputs(
        airplane, lever=lever, elevator=-0.04, stabilizer=trim, tab=trim, flap=flap, gear=gear,
        aileron=aileron, rudder=rudder,
    )  # fmt: skip
    inputs = dataclasses.replace(inputs, feather=(feather,) * count)

    def by_force(force):
        free = dataclasses.replace(inputs, pitch_by="force", column_force=force)
        return evaluate(airplane, state, free, air)

    return evaluate(airplane, state, inputs, air), jax.vmap(by_force)(FORCES)


def beside(airplane):
    """What is computed from an airplane outside the equations of motion."""
    drive = airplane.trim_drive
    return (
        through_friction(0.0, 60.0, airplane.pitch_control.friction),
        limits_passed(airplane, 1.0, 100.0, jnp.array([3.0, -1.0, 0.1])),
        [motor_share(drive, m * drive.load_moment) for m in (0.5, 1.5)],
        drive.rate,
        neutral_point(airplane),
        neutral_point_free(airplane),
    )


@pytest.mark.parametrize(("name", "reversible"), [("ostrel-7", False), ("velmar-c7", True)])
def test_every_number_of_an_airplane_moves_something(name, reversible):
    document = tomllib.loads((CATALOGUE / f"{name}.toml").read_text("utf-8"))
    feel = {"spring": "20 N", "spring_rate": "-90 N/rad", "bobweight": "15 N"}
    document["column"] |= feel | {"reversible": reversible}
    if not reversible:
        document["column"]["feel_rate"] = "-0.01 N/rad/Pa"
    for engine in document["engines"]:
        engine["incidence"] = "2 deg"
    document["aerodynamics"]["critical_mach"] = "0.6"
    airplane = build_airplane(AirplaneDocument.model_validate(document), "plane.toml").airplane
    leaves, shape = jax.tree.flatten_with_path(airplane)
    numbers = np.array([float(leaf) for _, leaf in leaves])
    nudged = np.where(np.isfinite(numbers), numbers * STEP + 1e-4, 1e3)
    batch = np.vstack([numbers, np.where(np.eye(numbers.size, dtype=bool), nudged, numbers)])
    air = make_air()

    @jax.jit
    @jax.vmap
    def every(values):
        one = jax.tree.unflatten(shape, list(values))
        flown = jax.vmap(lambda c: conditioned(one, air, c))(CONDITIONS)
        return jnp.concatenate([jnp.ravel(x) for x in jax.tree.leaves((flown, beside(one)))])

    found = np.asarray(every(jnp.asarray(batch)))
    same = [np.array_equal(row, found[0], equal_nan=True) for row in found[1:]]
    idle = [jax.tree_util.keystr(path) for (path, _), s in zip(leaves, same, strict=True) if s]
    fine = TAKEN_ELSEWHERE | IDLE[airplane.engines[0].kind]
    fine |= {"feel_rate"} if reversible else HINGES
    idle = [path for path in idle if path.rsplit(".")[-1] not in fine]
    assert not idle, "\n".join(idle)


# ------------------------------------------------------------------------------------ case files
def loaded(folder: Path, document: dict):
    """What a study starts from; None where the case is refused."""
    (folder / "case.toml").write_text(tomlkit.dumps(document), "utf-8")
    try:
        case = load_case(folder)
    except NeutralPointError:
        return None
    numbers = (case.track, case.weather, case.lift, case.analysis, case.altimeter_setting)
    others = [(s.role, s.path, s.report) for s in case.sources if s.role != "case"]
    return fingerprint([*numbers, case.events, case.airplane and case.airplane.airplane, others])


def test_every_key_of_a_case_changes_what_a_study_starts_from_or_is_read_by_it(tmp_path):
    folder = tmp_path / "case"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("results"))
    document = tomllib.loads((EXAMPLE / "case.toml").read_text("utf-8"))
    before = loaded(folder, document)
    assert before is not None and before == loaded(folder, document)
    dead = []
    for path, field, value in every_key(CaseDocument, document):
        other = moved(value, field)
        if other is None or path[-1] in CASE_READ:
            continue
        same = loaded(folder, with_value(document, path, other)) == before
        if same and path[-1] not in READ_LATER:
            dead.append((".".join(map(str, path)), other))
    assert not dead, dead


def test_what_only_a_reader_sees_is_shown_to_one():
    """Words of a case stand in its report."""
    assert CASE_READ <= READ_LATER


# Read under their names as text: times of the analysis in `case/load.py`, columns by their role.
READ_BY_NAME = {"reference_start", "reference_end", "position_time", "nacp", "nacv"}
CHECKED_ALONE = {"schema_version"}


def tables(model: type[BaseModel], seen: set[type[BaseModel]]) -> set[type[BaseModel]]:
    """Every table that a file may hold."""
    if model not in seen:
        seen.add(model)
        for field in model.model_fields.values():
            for part in parts(field.annotation):
                if isinstance(part, type) and issubclass(part, BaseModel):
                    tables(part, seen)
    return seen


def test_keys_of_tables_that_no_example_has_are_read_as_well():
    """Other kinds of tracks, weather and evidence: each key is read beyond the module it is in."""
    every = {name for table in tables(CaseDocument, set()) for name in table.model_fields}
    idle = every - READ_LATER - CHECKED_ALONE
    assert idle == READ_BY_NAME, idle ^ READ_BY_NAME
    texts = "".join(
        path.read_text("utf-8") for path in SRC.rglob("*.py") if "entries" not in path.name
    )
    assert not [name for name in READ_BY_NAME if f'"{name}"' not in texts]
