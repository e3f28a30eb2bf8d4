"""No example, test or fuzzer bears a 24-bit address that a state may have given to an airplane."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

# Extended squitters (formats 17 and 18) hold the address; replies bear it in their parity.
MESSAGE = re.compile(
    r"(?<![0-9A-Za-z.])(?:@[0-9A-F]{12})?([0-9A-F]{28}|[0-9A-F]{14})(?![0-9A-Za-z])"
)
# A quoted word of six hexadecimal digits, or a number of six; three of each kind are enough.
WORD = re.compile(r"""["'`](?=[^"'`]*[A-Fa-f])([0-9A-Fa-f]{6})["'`]|\b0x([0-9A-Fa-f]{6})\b""")
PLACES = ("authorities", "benchmarks", "docs", "examples", "experiments", "src", "tests")
TEXT = {".py", ".md", ".toml", ".txt", ".csv", ".html"}
THIS = {"aircraft_addresses.toml", Path(__file__).name}
POLYNOMIAL = 0x1FFF409  # Source: ICAO Annex 10 Volume IV, 3.1.2.3.3.1.2, generator of the parity


def remainder(message: str) -> int:
    """Parity of a message: 0 for a squitter, the address for a reply (Annex 10 IV, 3.1.2.3.3.2)."""
    left, size = int(message, 16), 4 * len(message)
    for bit in range(size - 1, 23, -1):
        if left >> bit & 1:
            left ^= POLYNOMIAL << bit - 24
    return left


def addresses(text: str):
    """Every 24-bit address that a text bears, as far as its form shows it."""
    for found in MESSAGE.finditer(text):
        message = found[1]
        form = int(message[:2], 16) >> 3
        if form in (17, 18):
            yield int(message[2:8], 16)
        elif form in (0, 4, 5, 16, 20, 21):
            yield remainder(message)
    for found in WORD.finditer(text):
        yield int(found[1] or found[2], 16)


@pytest.fixture(scope="module")
def reserved(authority_of):
    """Whether an address lies in a block that no state holds."""
    blocks = [(int(a, 16), int(b, 16)) for a, b in authority_of("aircraft_addresses")["rows"]]
    return lambda address: any(first <= address <= last for first, last in blocks)


@pytest.fixture(scope="module")
def authority_of(repository):
    """Reads an authority by the name of its file."""
    return lambda name: tomllib.loads((repository / "authorities" / f"{name}.toml").read_text())


def test_addresses_are_nobodys(repository, reserved):
    listed = subprocess.run(
        ["git", "ls-files", *PLACES], cwd=repository, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    texts = [Path(name) for name in listed if Path(name).suffix in TEXT]
    found = [
        (str(name), f"{address:06X}")
        for name in texts
        if name.name not in THIS and "static" not in name.parts
        for address in addresses((repository / name).read_text("utf-8"))
    ]
    assert len(found) > 20  # the pattern still finds what it is to judge
    assert [pair for pair in found if not reserved(int(pair[1], 16))] == []


def test_what_is_looked_for_is_found():
    assert list(addresses("8D40621D58C382D690C8AC2863A7")) == [0x40621D]  # as printed in the book
    assert remainder("8D40621D58C382D690C8AC2863A7") == 0
    assert list(addresses("0.0 2000171806A983")) == [0x4CA7E8]
    assert list(addresses('only = "3C6DD2", 0x3C6DD3')) == [0x3C6DD2, 0x3C6DD3]
    assert list(addresses("#aabbcc '123456' 52.25720214843750")) == []
