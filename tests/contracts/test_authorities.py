"""Every authority says where it is from, how far to trust it, and how closely to compare."""

from __future__ import annotations

import tomllib


def test_head_of_every_authority(repository):
    files = sorted((repository / "authorities").glob("*.toml"))
    assert files
    for path in files:
        document = tomllib.loads(path.read_text("utf-8"))
        for key in ("title", "origin", "status", "tolerance"):
            assert document.get(key), f"{path.name}: {key}"
        for row in document.get("rows", []):
            assert len(row) == len(document["columns"]), f"{path.name}: {row}"
        for item in document.get("items", []):
            for key in ("name", "origin", "status"):
                assert item.get(key), f"{path.name}: {item.get('name')}: {key}"
