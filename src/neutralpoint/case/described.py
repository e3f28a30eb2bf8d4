"""The airplane that a case names, as its file describes it. Nothing here loads JAX, so that a
fault of the file is told at once."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from neutralpoint.airplane_file.build import DescribedAirplane, build_airplane, load_airplane
from neutralpoint.airplane_file.catalogue import CATALOGUE, catalogue_names
from neutralpoint.airplane_file.document import parse_airplane
from neutralpoint.case.document import AirplaneEntry
from neutralpoint.case.files import SourceFile, read_source
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.errors import NeutralPointError


def described_airplane(
    folder: Path, entry: AirplaneEntry, place: str
) -> tuple[DescribedAirplane, str, bytes] | None:
    """The airplane file of a case, or the catalogue airplane that it names.

    Args:
        folder: The case folder.
        entry: What the case says of the airplane.
        place: Case key that names the file, for errors.

    Returns:
        The airplane, loaded as the case says where it does, what the file is called, and its
        bytes; None where no file is named.

    Raises:
        NeutralPointError: The file is missing or refused.
    """
    if entry.file is None:
        return None
    if entry.file in catalogue_names():
        data, name = (CATALOGUE / f"{entry.file}.toml").read_bytes(), f"catalogue: {entry.file}"
        described = load_airplane(entry.file)
    else:
        file = _own_file(folder, entry.file, place)
        data, name = file.data, file.path
        described = build_airplane(parse_airplane(_text(data, name), name), name)
    return _loaded(described, entry), name, data


def _own_file(folder: Path, name: str, place: str) -> SourceFile:
    """The airplane file of the case folder; where there is none the catalogue is named as well."""
    try:
        return read_source(folder, name, place)
    except NeutralPointError as refused:
        if refused.code != "file-missing":
            raise
        raise NeutralPointError(
            refused.code,
            f"{name!r} is neither a file of the case folder nor an airplane of the catalogue.",
            where=place,
            hint=f"{refused.hint} The catalogue has {', '.join(catalogue_names())}.",
        ) from refused


def _text(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as broken:
        raise NeutralPointError(
            "file-format",
            f"{name} is not UTF-8 at byte {broken.start}.",
            where=name,
            hint="An airplane file is TOML in UTF-8.",
        ) from broken


def _loaded(described: DescribedAirplane, entry: AirplaneEntry) -> DescribedAirplane:
    """Mass, with the inertia in proportion, and centre of gravity as the case gives them."""
    mass, sigma = described.airplane.mass, dict(described.uncertainty.sigma)
    if entry.mass is not None:
        check_positive("mass", entry.mass)
        ratio = entry.mass.value / float(mass.mass)
        names = ("mass", "roll_inertia", "pitch_inertia", "yaw_inertia", "cross_inertia")
        scaled = {name: getattr(mass, name) * ratio for name in names}
        mass = dataclasses.replace(mass, **scaled)
        sigma["mass"] = entry.mass.sigma / entry.mass.value
    if entry.cg_station is not None:
        mass = dataclasses.replace(mass, cg_station=entry.cg_station.value)
        sigma["cg_station"] = entry.cg_station.sigma
    return dataclasses.replace(
        described,
        airplane=dataclasses.replace(described.airplane, mass=mass),
        uncertainty=dataclasses.replace(described.uncertainty, sigma=sigma),
    )


def check_positive(key: str, found: Uncertain) -> None:
    """Refuse what is not positive with its whole interval.

    Args:
        key: Key of `[airplane]`.
        found: Its value.

    Raises:
        NeutralPointError: `quantity-range`.
    """
    if found.value <= 0.0 or found.value < 2.0 * found.sigma:
        raise NeutralPointError(
            "quantity-range",
            f"airplane.{key} is {found.text!r}.",
            where=f"case.toml: airplane.{key}",
            hint="It must be positive, the whole +- interval included.",
        )
