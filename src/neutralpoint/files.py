"""Files of a case: links are not followed, and what is written appears whole or not at all.

A case folder may come from a stranger. What is read there must be a regular file of its own; what
is written goes to a new file of a name that nobody could foresee, and takes its place at the end.
"""

from __future__ import annotations

import errno
import os
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from neutralpoint.errors import NeutralPointError

FRESH = ".new"  # what the name of a file ends with while it is being written
LEFT_OVER = 3600.0  # s after which one that nothing is written to was left by a killed program
NO_LINK = getattr(os, "O_NOFOLLOW", 0)  # none on Windows, where links need rights of their own
NO_WAIT = getattr(os, "O_NONBLOCK", 0)  # a pipe with nobody at its other end is no file


def own_folder(folder: Path, *, make: bool = False) -> Path:
    """A folder of a case, which must be its own.

    Args:
        folder: Below the case folder.
        make: Whether to make it where it is not there.

    Returns:
        The same folder.

    Raises:
        NeutralPointError: `link-refused` where it is a link, `no-access`, `disk-full` or
            `path-invalid` where it cannot be made.
    """
    if folder.is_symlink():
        raise _link(folder)
    if make:
        try:
            folder.mkdir(exist_ok=True)
        except OSError as broken:
            raise system_refusal(broken, folder) from broken
    return folder


def own_file(folder: Path, name: str) -> Path | None:
    """A regular file of a folder of a case.

    Args:
        folder: Below the case folder, such as its results.
        name: Plain file name.

    Returns:
        Its path; None where there is none.

    Raises:
        NeutralPointError: `link-refused` where the folder or the file is a link.
    """
    path = own_folder(folder) / Path(name).name
    if path.is_symlink():
        raise _link(path)
    return path if path.is_file() else None


def present(results: Path, name: str, command: str = "study") -> Path:
    """A file of a results folder that a step starts from.

    Args:
        results: The results folder.
        name: Plain file name.
        command: What makes it, for the hint.

    Returns:
        Its path.

    Raises:
        NeutralPointError: `results-missing` where there is none; as `own_file`.
    """
    if (path := own_file(results, name)) is None:
        raise NeutralPointError(
            "results-missing",
            f"There is no {Path(name).name} in the results folder.",
            where=str(results / Path(name).name),
            hint=f"Run `neutralpoint {command} CASE` first.",
        )
    return path


def check_netcdf(path: Path) -> Path:
    """Refuse a NetCDF file that takes its data from other files: it may be a stranger's.

    Args:
        path: The file.

    Returns:
        The path.

    Raises:
        NeutralPointError: `link-refused`.
        OSError: It is no such file; whoever reads it says so.
    """
    from neutralpoint.sources.own_data import foreign_data  # loads HDF5: not for every command

    with path.open("rb") as file:
        wrong = foreign_data(file)
    if wrong:
        raise NeutralPointError(
            "link-refused",
            f"The file is not read: {wrong}.",
            where=str(path),
            hint="Remove it, and run `neutralpoint study CASE` again.",
        )
    return path


def read_own(path: Path) -> bytes:
    """The bytes of a regular file of a case, at one go.

    Args:
        path: The file.

    Returns:
        All of it.

    Raises:
        NeutralPointError: `link-refused` where it is a link, `no-access` where it cannot be read.
        FileNotFoundError: Where there is none, or none that is a regular file.
    """
    if path.is_symlink():
        raise _link(path)
    try:
        handle = os.open(path, os.O_RDONLY | NO_LINK | NO_WAIT | getattr(os, "O_BINARY", 0))
        with open(handle, "rb") as file:  # noqa: PTH123 - of a descriptor, so that it is this one
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise FileNotFoundError(errno.ENOENT, "Not a regular file", str(path))
            return file.read()
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError) as missing:
        raise FileNotFoundError(errno.ENOENT, "No such file", str(path)) from missing
    except OSError as broken:
        raise system_refusal(broken, path) from broken


@contextmanager
def written(target: Path, *, ending: str = FRESH) -> Iterator[Path]:
    """A new file that takes the place of another at the end, or goes where writing it failed.

    Args:
        target: The file; a link of that name is replaced, never followed.
        ending: Of the name while it is written, for programs that look at it.

    Yields:
        The new file, empty, in the same folder.

    Raises:
        NeutralPointError: `disk-full`, `no-access` or `path-invalid`; what was there before stands.
    """
    try:
        fresh = fresh_file(target, ending=ending)
        try:
            yield fresh
            keep(fresh, target)
        finally:
            fresh.unlink(missing_ok=True)
    except OSError as broken:
        raise system_refusal(broken, target) from broken


def fresh_file(target: Path, *, ending: str = FRESH) -> Path:
    """An empty file beside another, of a name that nobody could foresee.

    Args:
        target: The file that it is to become.
        ending: Of its name.

    Returns:
        The new file.
    """
    prefix = f".{target.name}."
    _remove_old(target.parent, prefix, ending)
    handle, name = tempfile.mkstemp(prefix=prefix, suffix=ending, dir=target.parent)
    os.close(handle)
    return Path(name)


def keep(fresh: Path, target: Path) -> None:
    """Let a new file take its place, with the rights of the file that goes.

    Args:
        fresh: The new file.
        target: Its name.
    """
    with suppress(OSError):
        about = target.lstat()
        regular = stat.S_ISREG(about.st_mode)
        fresh.chmod(stat.S_IMODE(about.st_mode) & 0o666 if regular else 0o644)
    if not target.exists():
        fresh.chmod(0o644)
    fresh.replace(target)


def write_whole(target: Path, data: bytes) -> Path:
    """Write a file so that no reader ever sees half of it, nor a loss of power leaves half.

    Args:
        target: The file.
        data: All of it.

    Returns:
        The same path.

    Raises:
        NeutralPointError: As `written`.
    """
    with written(target) as fresh:
        store(fresh, data)
    return target


def write_new(target: Path, data: bytes) -> Path:
    """Write a file that must not be there yet, whole or not at all.

    Args:
        target: The file; a link of that name counts as there.
        data: All of it.

    Returns:
        The same path.

    Raises:
        FileExistsError: Where there is one; it was not touched.
        NeutralPointError: As `written`; nothing is left then.
    """
    if os.path.lexists(target):
        raise FileExistsError(errno.EEXIST, "File exists", str(target))
    try:
        fresh = fresh_file(target)
        try:
            store(fresh, data)
            fresh.chmod(0o644)
            _name(fresh, target)
        finally:
            fresh.unlink(missing_ok=True)
    except FileExistsError:
        raise
    except OSError as broken:
        raise system_refusal(broken, target) from broken
    return target


def _name(fresh: Path, target: Path) -> None:
    """Give a file its name, where nobody was quicker; some disks know no second names."""
    try:
        os.link(fresh, target)
    except OSError as broken:
        if broken.errno not in (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP):
            raise
        fresh.rename(target)


def store(path: Path, data: bytes | memoryview) -> None:
    """Write bytes to a file and see that they have reached the disk.

    Args:
        path: A file of `fresh_file` or `written`.
        data: The bytes.
    """
    with path.open("wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())


def system_refusal(broken: OSError, where: Path | str | None = None) -> NeutralPointError:
    """What the system refused, in four fields.

    Args:
        broken: As it was raised.
        where: Path or device that was asked for; else the one that the system names.

    Returns:
        `disk-full`, `no-access`, `path-invalid`, or `system-refused` for anything else.
    """
    place = str(where if where is not None else broken.filename or "the system")
    said = broken.strerror or str(broken) or type(broken).__name__
    code, message, hint = _REFUSALS.get(broken.errno or 0, _OTHERWISE)
    shown = place if len(place) <= LONGEST_PLACE else f"{place[:LONGEST_PLACE]}..."
    return NeutralPointError(code, f"{message}: {said.lower()}.", where=shown, hint=hint)


@contextmanager
def told_of_system(place: Path) -> Iterator[None]:
    """Turn what the system refuses inside into the error of the package.

    Args:
        place: Folder or file that is worked on.

    Raises:
        NeutralPointError: As `system_refusal`.
    """
    try:
        yield
    except OSError as broken:
        raise system_refusal(broken, broken.filename or place) from broken


def _link(path: Path) -> NeutralPointError:
    return NeutralPointError(
        "link-refused",
        f"{path.name} of this case is a link, and links are not followed.",
        where=str(path),
        hint="Put the file or folder itself in its place.",
    )


def _remove_old(folder: Path, prefix: str, ending: str) -> None:
    """Remove what a killed program had begun to write under the same name."""
    with suppress(OSError):
        for path in folder.iterdir():
            if path.name.startswith(prefix) and path.name.endswith(ending):
                about = path.lstat()
                if stat.S_ISREG(about.st_mode) and time.time() - about.st_mtime > LEFT_OVER:
                    path.unlink(missing_ok=True)


LONGEST_PLACE = 200  # characters of a path that an error shows
_FULL = (
    "disk-full",
    "There is no room to write the file; what was there before stands",
    "Make room and run the same command again: it goes on where it ended.",
)
_ACCESS = (
    "no-access",
    "The file or folder cannot be opened",
    "Ask its owner for the rights, or copy the case to a folder of your own.",
)
_PATH = (
    "path-invalid",
    "The path names nothing that can be read or written",
    "Give a shorter path without links that lead back to themselves.",
)
_OTHERWISE = (
    "system-refused",
    "The system refused it",
    "Look at the disk and the folder that are named, and run the command again.",
)
_REFUSALS = {
    **dict.fromkeys((errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)), _FULL),
    **dict.fromkeys((errno.EACCES, errno.EPERM, errno.EROFS), _ACCESS),
    **dict.fromkeys(
        (errno.ENAMETOOLONG, errno.ELOOP, errno.ENOENT, errno.ENOTDIR, errno.EISDIR), _PATH
    ),
}
