"""Write the types of what a page is given: `src/bench/findings.ts`, from the schema in Python.

    python frontend/make_types.py

A contract test fails while the file differs from what this writes.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from neutralpoint.report.words.page import PageFindings

TARGET = Path(__file__).parent / "src" / "bench" / "findings.ts"
HEAD = "// Made by frontend/make_types.py from the schema; change the Python, not this file.\n"
SIMPLE = {"string": "string", "number": "number", "integer": "number", "boolean": "boolean"}
# What the page calls the parts whose Python names say where they stand.
NAMES = {
    "CauseOdds": "Odds",
    "CauseVerdict": "Verdict",
    "PageFindings": "Findings",
    "StageSection": "Section",
}


def types_text() -> str:
    """The file, from the schema of what a page is given."""
    schema = PageFindings.model_json_schema(mode="serialization")
    parts = {**schema.pop("$defs"), "PageFindings": schema}
    return HEAD + "".join(_interface(name, part) for name, part in parts.items())


def _interface(name: str, part: dict[str, Any]) -> str:
    lines = [f"\nexport interface {NAMES.get(name, name)} {{"]
    for key, field in part.get("properties", {}).items():
        if description := field.get("description"):
            lines.append(f"  /** {description} */")
        lines.append(f"  {key}: {_type(field)};")
    return "\n".join([*lines, "}", ""])


def _type(field: dict[str, Any]) -> str:
    if "$ref" in field:
        name = field["$ref"].rsplit("/", 1)[1]
        return NAMES.get(name, name)
    if "enum" in field:
        return " | ".join(f'"{value}"' for value in field["enum"])
    if "anyOf" in field:
        return " | ".join(_type(one) for one in field["anyOf"])
    if field.get("type") == "array":
        inner = _type(field["items"])
        return f"({inner})[]" if " | " in inner else f"{inner}[]"
    if field.get("type") == "object":
        return f"Record<string, {_type(field['additionalProperties'])}>"
    return SIMPLE.get(field.get("type", "null"), "null")


if __name__ == "__main__":
    TARGET.write_text(types_text(), encoding="utf-8")
