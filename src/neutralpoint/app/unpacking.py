"""A case that was packed into one archive, taken in as a new case: nothing in it is trusted."""

from __future__ import annotations

import shutil
import stat
import zipfile
from pathlib import Path, PurePosixPath

from neutralpoint.app.folders import CASE_FILE, RESULTS, plain_name
from neutralpoint.errors import NeutralPointError

MOST_FILES = 500
LARGEST = 1_000_000_000  # bytes of all files unpacked
PIECE = 1024 * 1024


def unpack_case(archive: Path, root: Path) -> Path:
    """Make a case of an archive that `archive.write_archive` made.

    A name that is taken gets a number.

    Args:
        archive: The file; it stays.
        root: The folder of cases.

    Returns:
        The new case folder.

    Raises:
        NeutralPointError: `file-format` where it is no such archive; nothing is left then.
    """
    try:
        with zipfile.ZipFile(archive) as packed:
            files = _checked(packed)
            folder = _fresh(root, next(iter(files.values())).parts[0])
            try:
                _write(packed, files, folder)
            except BaseException:
                shutil.rmtree(folder)
                raise
    except (zipfile.BadZipFile, NotImplementedError, EOFError, RuntimeError) as broken:
        raise _refused(f"The archive cannot be read: {str(broken)[:120]}.") from broken
    return folder


def _checked(packed: zipfile.ZipFile) -> dict[zipfile.ZipInfo, PurePosixPath]:
    """The files of an archive by what is in it: one folder, plain names, one level of results."""
    found = {}
    for entry in packed.infolist():
        if entry.is_dir():
            continue
        path = PurePosixPath(entry.filename)
        linked = stat.S_ISLNK(entry.external_attr >> 16)
        deep = len(path.parts) == 2 or (len(path.parts) == 3 and path.parts[1] == RESULTS)
        if linked or not deep or path.is_absolute():
            raise _refused(f"{entry.filename[:80]!r} is no file of a case.")
        for part in path.parts:
            plain_name(part, "archive")
        found[entry] = path
    folders = {path.parts[0] for path in found.values()}
    if len(folders) != 1 or PurePosixPath(*folders, CASE_FILE) not in found.values():
        raise _refused("The archive does not hold one case folder with its case.toml.")
    if len(found) > MOST_FILES or sum(entry.file_size for entry in found) > LARGEST:
        raise _refused(f"The archive holds more than {MOST_FILES} files or {LARGEST / 1e9:g} GB.")
    return found


def _fresh(root: Path, name: str) -> Path:
    names = (name if number == 1 else f"{name}-{number}" for number in range(1, MOST_FILES))
    folder = next(root / one for one in names if not (root / one).exists())
    (folder / RESULTS).mkdir(parents=True)
    return folder


def _write(
    packed: zipfile.ZipFile, files: dict[zipfile.ZipInfo, PurePosixPath], folder: Path
) -> None:
    """Write the files; what an archive says of their sizes is not believed."""
    left = LARGEST
    for entry, path in files.items():
        with packed.open(entry) as source, folder.joinpath(*path.parts[1:]).open("xb") as out:
            while piece := source.read(PIECE):
                left -= len(piece)
                if left < 0:
                    raise _refused(f"The archive unpacks to more than {LARGEST / 1e9:g} GB.")
                out.write(piece)


def _refused(message: str) -> NeutralPointError:
    return NeutralPointError(
        "file-format",
        message,
        where="archive",
        hint="Drop an archive that Findings, Put results into one archive, has made.",
    )
