"""`python -m neutralpoint.app.archive CASE`: a case with its results as one archive."""

from __future__ import annotations

import sys
import zipfile
from pathlib import Path

from neutralpoint.app.folders import RESULTS
from neutralpoint.files import own_folder, written

NAME = "case.zip"


def write_archive(folder: Path) -> Path:
    """Pack a case: its own files and its results, no history, nothing removed, no link.

    Args:
        folder: The case folder, with results.

    Returns:
        The archive, `results/case.zip`; an older one is replaced whole.
    """
    out = own_folder(folder / RESULTS) / NAME
    with written(out) as fresh, zipfile.ZipFile(fresh, "w", zipfile.ZIP_DEFLATED) as packed:
        for place in (folder, folder / RESULTS):
            for path in sorted(place.iterdir()):
                hidden = path.name.startswith(".") or path.name == NAME or path.is_symlink()
                if path.is_file() and not hidden:
                    packed.write(path, f"{folder.name}/{path.relative_to(folder).as_posix()}")
    return out


if __name__ == "__main__":
    sys.stdout.write(f"{write_archive(Path(sys.argv[1]))}\n")
