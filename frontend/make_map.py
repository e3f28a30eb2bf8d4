"""Make the map data of the workbench: coast, borders and airfields, small enough to be shipped.

    npm pack world-atlas@2.0.2          # Natural Earth 4.1.0, 1:10 million, public domain
    pip download --no-deps airportsdata  # 20260905 was used; MIT
    python make_map.py countries-10m.json airports.csv

Lines are thinned to `TOLERANCE` and rounded to `STEP`: the coast is right to about two kilometers.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np

OUT = Path(__file__).parents[1] / "src/neutralpoint/app/map/world.npz"
STEP = 1.0 / 128.0  # deg of a count, 870 m of latitude
TOLERANCE = 2.4  # counts: how far a dropped point may lie from the line, 2.1 km of latitude
LONGEST = 127  # counts from point to point, so that a byte holds them
CODE = re.compile(r"[A-Z]{4}")  # of an airfield with an international code


def decoded(topology: dict) -> list[np.ndarray]:
    """Arcs in counts, shape (n, 2) of longitude and latitude each."""
    scale, shift = (np.array(topology["transform"][key]) for key in ("scale", "translate"))
    return [(np.cumsum(arc, axis=0) * scale + shift) / STEP for arc in topology["arcs"]]


def used(topology: dict) -> Iterator[int]:
    """Arcs of every ring of every country; `~k` for one that is run backwards."""
    for country in topology["objects"]["countries"]["geometries"]:
        kind = country.get("type")
        polygons = {"Polygon": [country.get("arcs")], "MultiPolygon": country.get("arcs")}
        for polygon in polygons.get(kind, []):
            for ring in polygon:
                yield from ring


def thinned(line: np.ndarray) -> np.ndarray:
    """Source: Douglas and Peucker (1973), The Canadian Cartographer 10(2)."""
    keep = np.zeros(len(line), bool)
    keep[[0, -1]] = True
    waiting = [(0, len(line) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        along = line[last] - line[first]
        off = line[first + 1 : last] - line[first]
        length = np.hypot(*along)
        away = np.hypot(*off.T) if length == 0 else abs(along[0] * off[:, 1] - along[1] * off[:, 0])
        away = away if length == 0 else away / length
        if away.max() > TOLERANCE:
            far = first + 1 + int(away.argmax())
            keep[far] = True
            waiting += [(first, far), (far, last)]
    return line[keep]


def stepped(line: np.ndarray) -> np.ndarray:
    """Whole counts, with points put in where two lie too far apart; none twice."""
    whole = np.round(line).astype("i4")
    parts = [whole[:1]]
    for start, end in pairwise(whole):
        count = max(-(-int(abs(end - start).max()) // LONGEST), 1)
        if (start != end).any():
            parts.append(np.round(np.linspace(start, end, count + 1)[1:]).astype("i4"))
    return np.concatenate(parts)


def main(atlas: Path, fields: Path) -> None:
    topology = json.loads(atlas.read_text(encoding="utf-8"))
    arcs, uses = decoded(topology), list(used(topology))
    times = Counter(arc if arc >= 0 else ~arc for arc in uses)
    backwards = {~arc for arc in uses if arc < 0}
    lines, border = [], []
    for number, arc in enumerate(arcs):
        if number not in times:
            continue
        line = thinned(arc)
        if len(line) == 2 and (line[0] == line[1]).all():
            continue  # an islet smaller than the tolerance
        # Land lies to the right of a coast.
        lines.append(line[::-1] if number in backwards and times[number] == 1 else line)
        border.append(times[number] > 1)
    whole = [stepped(line) for line in lines]
    border = [one for one, line in zip(border, whole, strict=True) if len(line) > 1]
    whole = [line for line in whole if len(line) > 1]
    with fields.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if CODE.fullmatch(row["icao"])]
    rows.sort(key=lambda row: row["icao"])
    place = np.array([(float(row["lon"]), float(row["lat"])) for row in rows]) / STEP
    OUT.parent.mkdir(exist_ok=True)
    np.savez_compressed(
        OUT,
        step=STEP,
        count=np.array([len(line) for line in whole], "u2"),
        first=np.array([line[0] for line in whole], "i4"),
        moved=np.concatenate([np.diff(line, axis=0) for line in whole]).T.astype("i1"),
        border=np.array(border),
        code=np.frombuffer("".join(row["icao"] for row in rows).encode(), "u1").reshape(-1, 4).T,
        # Neighbors by code are neighbors on the map: what lies between them packs better.
        field=np.diff(np.round(place), axis=0, prepend=0.0).T.astype("i4"),
    )
    points = sum(map(len, whole))
    sys.stdout.write(f"{len(whole)} lines of {points} points, {len(rows)} airfields, ")
    sys.stdout.write(f"{OUT.stat().st_size / 1000:.0f} kB\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
