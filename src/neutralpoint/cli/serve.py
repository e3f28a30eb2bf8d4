"""`neutralpoint serve`: the workbench in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.output import console, show_result
from neutralpoint.vocabulary.cautions import IN_BRIEF

MEGABYTE = 1_000_000


def serve(
    folder: Annotated[
        Path, typer.Argument(metavar="CASE|FOLDER", help="A case, or a folder of cases.")
    ],
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes one that is free.")] = 0,
    host: Annotated[
        str, typer.Option(help="Address to listen at; others than this machine's are warned of.")
    ] = "127.0.0.1",
    show: Annotated[
        bool, typer.Option("--open/--no-open", help="Open the page in a browser.")
    ] = True,
    upload_limit_mb: Annotated[
        int, typer.Option("--upload-limit", min=1, max=4096, help="MB of a file dropped in.")
    ] = 64,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON document.")] = False,
) -> None:
    """Open the workbench in a browser; Ctrl+C ends it."""
    from neutralpoint.app.serving import Served
    from neutralpoint.app.serving import serve as run

    def announce(served: Served) -> None:
        if as_json:
            show_result({"address": served.address, "loopback": served.loopback})
            return
        out = console()
        out.print(served.address, soft_wrap=True)
        if not served.loopback:
            out.print(
                "Warning: other machines can reach this address, read the case and change it. "
                "The connection is not encrypted.",
                soft_wrap=True,
            )
        out.print(f"Ctrl+C ends it. {IN_BRIEF}", soft_wrap=True)

    run(
        folder,
        announce,
        host=host,
        port=port,
        show=show,
        upload_limit=upload_limit_mb * MEGABYTE,
    )
