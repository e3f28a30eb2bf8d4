"""Entry point: run a command, and turn every failure into four fields and an exit code."""

from __future__ import annotations

import signal
import sys
from contextlib import suppress
from typing import cast

import typer

from neutralpoint.cli.compiled import collect_rarely, keep_compiled
from neutralpoint.cli.output import show_error
from neutralpoint.cli.terminal import OUTPUT_LOST, watch_output
from neutralpoint.errors import NeutralPointError
from neutralpoint.faults import four_fields

FAILED, INTERRUPTED, TERMINATED = 2, 130, 143
# Typer carries its own copy of the classes that say a command line is wrong, and exports the
# leaves only; this is their common base.
UsageError = cast("type[typer.BadParameter]", typer.BadParameter.__mro__[1])


def main() -> None:
    """Run the command line and exit; a request to end lets the command tidy up first."""
    watch_output()
    keep_compiled()
    collect_rarely()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(TERMINATED))
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command.

    Args:
        arguments: Of the command line, without the program.

    Returns:
        0, or 2 where the command failed for a reason that was printed.
    """
    from neutralpoint.cli.commands import app

    wanted = arguments or ["--help"]
    how = {"as_json": "--json" in wanted, "as_line": "--progress-json" in wanted}
    try:
        code = typer.main.get_command(app).main(
            wanted, prog_name="neutralpoint", standalone_mode=False
        )
        sys.stdout.flush()
    except (typer.Abort, KeyboardInterrupt):
        return INTERRUPTED
    except UsageError as error:
        return _failed(_usage(error), **how)
    except Exception as fault:
        return _failed(four_fields(fault), **how)
    return code or 0


def _failed(error: NeutralPointError, *, as_json: bool, as_line: bool) -> int:
    """Say what failed, wherever there is still somebody to read it."""
    try:
        if error.code == OUTPUT_LOST:
            as_json = as_line = False
        show_error(error, as_json=as_json, as_line=as_line)
        sys.stdout.flush()
    except (NeutralPointError, OSError):
        with suppress(OSError):
            show_error(error, as_json=False)
    return FAILED


def _usage(error: typer.BadParameter) -> NeutralPointError:
    context = getattr(error, "ctx", None)
    command = context.command_path if context else "neutralpoint"
    message = error.format_message().strip()
    return NeutralPointError(
        "argument-invalid",
        message if message.endswith((".", "?")) else f"{message}.",
        where=command,
        hint=f"`{command} --help` lists what is allowed.",
    )
