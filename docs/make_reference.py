"""Write the reference pages that follow from the code: case file, airplane file, findings,
commands, error codes.

    python docs/make_reference.py

A contract test fails while a page differs from what this writes.
"""

from __future__ import annotations

import inspect
import json
import re
from pathlib import Path
from typing import Any

import typer

import neutralpoint
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.airplane_file.document import AirplaneDocument
from neutralpoint.airplane_file.sections import GIVABLE
from neutralpoint.airplane_file.sources import given_numbers
from neutralpoint.case import CaseDocument
from neutralpoint.cli.commands import app
from neutralpoint.documents.ranges import FIRST_YEAR, LAST_YEAR, RANGES
from neutralpoint.errors import CODES
from neutralpoint.explanations import CAUSES
from neutralpoint.findings import SCHEMA_VERSION
from neutralpoint.findings.file import schema_text
from neutralpoint.report.words.glossary import glossary_page

FOLDER = Path(__file__).parent / "reference"
MADE = "<!-- Made by docs/make_reference.py; change the code, not this page. -->\n"


def case_page() -> str:
    """Every table and key of the case file, from its schema."""
    schema = CaseDocument.model_json_schema(by_alias=True)
    lines = [
        MADE,
        "# The case file",
        "",
        "`case.toml` lies in the case folder, in UTF-8. A key that is not listed here is refused.",
        "",
        'A *quantity* is text with a unit and an optional `+-`: `"10 900 lb +- 150 lb"`,',
        '`"235 kt"`, `"5 degC +- 1 degC"`, `"FL085"`. What follows `+-` (or `±`, `+/-`) is the',
        "half-width of a 95% interval (expanded uncertainty, k = 2); without a unit it has that",
        "of the value, and `%` means percent of the value. Digits may be grouped by blanks or by",
        "commas; the decimal mark is a point. Each has a range, given below; a value outside it is",
        f"refused with that range, and dates lie in the years {FIRST_YEAR} to {LAST_YEAR}.",
        "",
        *_table("Top level", "", schema),
    ]
    for name, part in schema["$defs"].items():
        lines += _table(_words(name), part.get("description", ""), part)
    return "\n".join(lines).rstrip() + "\n"


def airplane_page() -> str:
    """Every table and key of the airplane file, from its schema."""
    schema = AirplaneDocument.model_json_schema(by_alias=True)
    lines = [
        MADE,
        "# The airplane file",
        "",
        "A TOML file in UTF-8 that describes one airplane with its load. A key that is not listed",
        "here is refused. Quantities are written as in [the case file](case-file.md); a number",
        "without `+-` counts as certain. Stations are measured aft of a datum of your choice,",
        "depths downwards from a datum line along the fuselage. How to write one:",
        "[describe an airplane](../how-to/describe-an-airplane.md).",
        "",
        '**Sources.** `[sources.wing]` with `area = "data sheet"` says where `wing.area` is from;',
        'the key `"*"` speaks of every other key of its table. Tables that repeat share one entry.',
        "",
        "**Coefficients.** `[aerodynamics.given]` takes any of these by name, per radian, about",
        "`moment_point`; the others are estimated from the geometry, each with a band:",
        f"{', '.join(f'`{name}`' for name in GIVABLE)}.",
        "",
        *_table("Top level", "", schema),
    ]
    for name, part in schema["$defs"].items():
        if name != "Uncertain":
            lines += _table(_words(name), part.get("description", ""), part)
    return "\n".join(lines).rstrip() + "\n"


def findings_page() -> str:
    """Every part of the findings document, from its schema."""
    schema = json.loads(schema_text())
    lines = [
        MADE,
        "# The findings",
        "",
        "`findings.json` says what a study found, in SI units and radians; report, figures, claims",
        "and workbench are made from it and from the NetCDF files beside it. Times are seconds",
        f"after `epoch`. This is version {SCHEMA_VERSION}; older versions are read or refused with",
        "a reason. The same as a JSON schema: [findings-schema.json](findings-schema.json).",
        "",
        *_table("Top level", "", schema),
    ]
    for name, part in schema["$defs"].items():
        lines += _table(_words(name), part.get("description", "").split("\n\n")[0], part)
    return "\n".join(lines).rstrip() + "\n"


def catalogue_page() -> str:
    """Every number of the invented airplanes with its derivation, and what is estimated."""
    lines = [
        MADE,
        "# The catalogue",
        "",
        "Six invented airplanes come with the package: `neutralpoint airplane NAME` describes",
        "them. None is a real type. Their numbers are chosen so that the force and stability rules",
        "of 14 CFR 23 and 25 are met; tests/unit/test_airplane_catalogue.py names each rule, and",
        "tests/against/test_catalogue_by_handbook.py works the main ones out a second time.",
        "*Class* means chosen within the range of published airplanes of the size, *tuned* chosen",
        "until the named rule is met. A number without +- is what the invented airplane is,",
        "without error; +- is half of a 95% interval; *analyst's estimate*: a real one of",
        "the kind could differ by more.",
    ]
    for name in catalogue_names():
        found = load_airplane(name)
        lines += ["", f"## {name}: {found.document.name}", "", found.document.description, ""]
        lines += ["| number | value | where it comes from |", "|---|---|---|"]
        lines += [
            f"| `{key}` | {text} | {source} |"
            for key, text, source in dict.fromkeys(given_numbers(found.document))
        ]
        lines += ["", "Estimated from these (+- is two standard deviations):", ""]
        lines += ["| coefficient | value | method and band |", "|---|---|---|"]
        lines += [
            f"| `{key}` | {number.value:.4g} +- {2 * number.sigma:.2g} | {number.source} |"
            for key, number in sorted(found.numbers.items())
            if key not in found.given
        ]
    return "\n".join(lines) + "\n"


def _words(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).capitalize()


def _table(title: str, description: str, part: dict[str, Any]) -> list[str]:
    lines = [f"## {title}", ""]
    if description and title != "Top level":
        lines += [description, ""]
    lines += ["| key | holds | default | meaning |", "|---|---|---|---|"]
    needed = part.get("required", [])
    for key, field in part.get("properties", {}).items():
        default = "needed" if key in needed else _default(field)
        lines.append(f"| `{key}` | {_kind(field)} | {default} | {field.get('description', '')} |")
    return [*lines, ""]


def _default(field: dict[str, Any]) -> str:
    value = field.get("default")
    if isinstance(value, dict):
        if "value" not in value:  # a whole table
            return "none"
        return f"`{value['text']}`" if value.get("text") else f"`{value['value']:g}`"
    if value is None or value in ("", [], ()):
        return "none"
    return f"`{str(value).lower() if isinstance(value, bool) else value}`"


def _kind(field: dict[str, Any]) -> str:
    if "anyOf" in field or "oneOf" in field:
        kinds = [_kind(option) for option in field.get("anyOf", field.get("oneOf", []))]
        return " or ".join(dict.fromkeys(k for k in kinds if k != "null"))
    if "$ref" in field:
        name = field["$ref"].rsplit("/", 1)[-1]
        return f"[{_words(name)}](#{_words(name).lower().replace(' ', '-')})"
    if "enum" in field:
        return ", ".join(f"`{value}`" for value in field["enum"])
    if "const" in field:
        return f"`{field['const']}`"
    if field.get("type") == "array":
        if "prefixItems" in field:
            return "pair of " + " and ".join(_kind(item) for item in field["prefixItems"])
        return f"one or more of {_kind(field['items'])}"
    if field.get("format"):
        return field["format"]
    if field.get("unit") is not None:
        kind = f"quantity in {field['unit']}" if field["unit"] else "pure number"
        return f"{kind}, {field['range']}" if "range" in field else kind
    return {"string": "text", "integer": "whole number", "boolean": "`true` or `false`"}.get(
        field.get("type", ""), field.get("type", "any")
    )


def commands_page() -> str:
    """What every command takes, from the command line itself."""
    lines = [
        MADE,
        "# Commands",
        "",
        "Results go to standard output, progress and errors to standard error. With `--json` one",
        "JSON document goes to standard output, an error as",
        '`{"error": {"code", "message", "where", "hint"}}`. Exit codes: 0 done, 2 failed for a',
        "reason that was printed, 130 interrupted.",
        "",
    ]
    group = typer.main.get_command(app)
    for name, command in sorted(group.commands.items()):
        usage = " ".join(p.metavar or p.name.upper() for p in command.params if _is_argument(p))
        lines += [f"## neutralpoint {name} {usage}".rstrip(), "", (command.help or "").strip(), ""]
        lines += ["| option | meaning |", "|---|---|"]
        for parameter in command.params:
            shown = (
                f"`{parameter.metavar or parameter.name.upper()}`"
                if _is_argument(parameter)
                else ", ".join(f"`{o}`" for o in (*parameter.opts, *parameter.secondary_opts))
            )
            meaning = getattr(parameter, "help", "") or ""
            lines.append(f"| {shown.replace('|', chr(92) + '|')} | {meaning} |")
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _is_argument(parameter: Any) -> bool:
    return parameter.param_type_name == "argument"


def errors_page() -> str:
    """Every error code with its sentence."""
    lines = [
        MADE,
        "# Error codes",
        "",
        "Every error says four things: a code, what was asked and found, where, and what to do.",
        "",
        "| code | meaning |",
        "|---|---|",
        *(f"| `{code}` | {sentence} |" for code, sentence in sorted(CODES.items())),
    ]
    return "\n".join(lines) + "\n"


def ranges_page() -> str:
    """Every range of the one table, with why it lies there."""
    lines = [
        MADE,
        "# Ranges",
        "",
        "What a quantity of a case or airplane file may be, by kind; what lies outside is refused.",
        "They are wide: outside lies a slip of the unit or of the keyboard. What follows `+-` may",
        "be as much as the width of the range.",
        "",
        "| kind | range | source |",
        "|---|---|---|",
        *(f"| {name} | {bounds.words()} | {bounds.source} |" for name, bounds in RANGES.items()),
        f"| date | {FIRST_YEAR} to {LAST_YEAR} | analyst's estimate |",
    ]
    return "\n".join(lines) + "\n"


def causes_page() -> str:
    """Every cause with what it changes, its parameters and what discriminates it."""
    lines = [
        MADE,
        "# Candidate causes",
        "",
        "`neutralpoint fly CASE --cause NAME --set parameter=value`, in SI units and radians.",
        "Priors: *normal* mean and standard deviation, *lognormal* median and standard deviation",
        "of the logarithm, *uniform* and *either* the two ends, *count* whole numbers. What they",
        "mean: [candidate causes](../explanation/causes.md).",
    ]
    for cause in CAUSES.values():
        lines += ["", f"## {cause.title}", "", f"`{cause.name}`: {cause.mechanism}"]
        rows = (
            ("Changes", cause.changes),
            ("Cannot explain", cause.cannot_explain),
            ("Evidence", cause.evidence),
            ("Track alone cannot tell it from", cause.not_separable),
        )
        lines += ["", *(f"- {head}: {'; '.join(texts)}." for head, texts in rows if texts)]
        if cause.parameters:
            lines += [
                "",
                "| parameter | meaning | unit | prior | source |",
                "|---|---|---|---|---|",
            ]
        for p in cause.parameters:
            prior = f"{p.prior.shape} {p.prior.low:.4g}, {p.prior.high:.4g}"
            lines.append(f"| `{p.name}` | {p.meaning} | {p.unit} | {prior} | {p.source} |")
    return "\n".join(lines) + "\n"


def python_page() -> str:
    """The public names of the package, from their docstrings."""
    lines = [
        MADE,
        "# From Python",
        "",
        "These names of `neutralpoint` are kept from one version to the next; every other may",
        "change without notice. Arrays are SI and radians. How to use them:",
        "[the numbers](../how-to/use-the-numbers.md).",
    ]
    for name in neutralpoint.__all__:
        thing = getattr(neutralpoint, name)
        if not inspect.isclass(thing):
            continue
        lines += ["", f"## `{name}`", "", *_docstring(thing)]
        if issubclass(thing, Exception):
            continue
        for member, value in vars(thing).items():
            if member.startswith("_"):
                continue
            about = value if inspect.isfunction(value) else getattr(value, "func", None)
            lines += ["", f"### `{name}.{member}{_call(value)}`", ""]
            lines += _docstring(about or value.fget)
    return "\n".join(lines) + "\n"


def _call(value: Any) -> str:
    """The arguments of a method as they are written; nothing for a property."""
    if not inspect.isfunction(value):
        return ""
    given = [str(one) for one in list(inspect.signature(value).parameters.values())[1:]]
    return f"({', '.join(re.sub(r' = <function .*', '', one) for one in given)})".replace("'", "")


def _docstring(thing: Any) -> list[str]:
    """A docstring as Markdown: its parts as lists."""
    lines = []
    for line in (inspect.getdoc(thing) or "").splitlines():
        part = re.fullmatch(r"(Args|Returns|Raises|Attributes):", line)
        if part:
            lines.append(f"*{part[1]}*")
            lines.append("")
        elif line.startswith("        "):
            lines.append(f"  {line.strip()}")
        elif line.startswith("    "):
            lines.append(f"- {line.strip()}")
        else:
            lines.append(line)
    return lines


PAGES = {
    "airplane-file.md": airplane_page,
    "case-file.md": case_page,
    "catalogue.md": catalogue_page,
    "causes.md": causes_page,
    "commands.md": commands_page,
    "error-codes.md": errors_page,
    "findings.md": findings_page,
    "../explanation/glossary.md": lambda: f"{MADE}\n{glossary_page()}",
    "python.md": python_page,
    "ranges.md": ranges_page,
}


if __name__ == "__main__":
    for name, page in PAGES.items():
        (FOLDER / name).write_text(page(), encoding="utf-8")
