"""Whether an HDF5 file, which NetCDF files are, holds its data itself.

HDF5 may name other files of the machine that its numbers are read from. A file from a stranger that
does would put what they hold into tables and figures, or wait for ever on a pipe.
"""

from __future__ import annotations

from typing import BinaryIO

import h5py

OUTSIDE = "it takes data from another file"


def foreign_data(source: BinaryIO, most: float = float("inf")) -> str:
    """What speaks against reading a file; its numbers are not read for it.

    Args:
        source: The file, open.
        most: Bytes that all its variables may unpack to.

    Returns:
        Empty for a file that holds what it names, within the limit.

    Raises:
        OSError: It is no HDF5 file.
    """
    total = 0
    with h5py.File(source, "r") as file:
        if file.visititems_links(_leads_out):
            return OUTSIDE
        found: list[h5py.Dataset] = []
        file.visititems(lambda _, held: _collect(found, held))
        for held in found:
            if held.external or held.is_virtual:
                return OUTSIDE
            total += int(held.size or 0) * held.dtype.itemsize
    return f"it unpacks to {total / 1e6:.0f} MB" if total > most else ""


def _leads_out(_: str, link: object) -> bool | None:
    return True if isinstance(link, h5py.ExternalLink) else None


def _collect(found: list[h5py.Dataset], held: object) -> None:
    if isinstance(held, h5py.Dataset):
        found.append(held)
