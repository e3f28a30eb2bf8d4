"""Run the notebooks of `docs/notebooks` again and keep what they show.

    make notebooks

They study the examples from Python, as a reader would; a slow test runs them as well.
"""

from __future__ import annotations

import sys

from sitemaker.notebooks import notebook_paths, run, write


def main() -> None:
    """Run all of them."""
    for path in notebook_paths():
        sys.stdout.write(f"{path.name}\n")
        sys.stdout.flush()
        write(path, run(path))


if __name__ == "__main__":
    main()
