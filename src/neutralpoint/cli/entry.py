"""Entry point: run a command, and turn every failure into four fields and an exit code."""

from __future__ import annotations

import signal
import sys
import traceback
from pathlib import Path

import typer

from neutralpoint.cli.compiled import keep_compiled
from neutralpoint.cli.output import show_error
from neutralpoint.errors import NeutralPointError

FAILED, INTERRUPTED, TERMINATED = 2, 130, 143
# Typer carries its own copy of the classes that say a command line is wrong, and exports the
# leaves only; this is their common base.
UsageError: type[Exception] = typer.BadParameter.__mro__[1]


def main() -> None:
    """Run the command line and exit; a request to end lets the command tidy up first."""
    keep_compiled()
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
    except NeutralPointError as error:
        show_error(error, **how)
    except UsageError as error:
        show_error(_usage(error), **how)
    except (typer.Abort, KeyboardInterrupt):
        return INTERRUPTED
    except Exception as fault:
        show_error(_fault(fault), **how)
    else:
        return code or 0
    return FAILED


def _fault(fault: Exception) -> NeutralPointError:
    """A fault of the program: where it happened, without a traceback."""
    frame = traceback.extract_tb(fault.__traceback__)[-1]
    return NeutralPointError(
        "program-fault",
        f"{type(fault).__name__}: {fault}",
        where=f"{Path(frame.filename).name}:{frame.lineno} in {frame.name}",
        hint="This is a fault of the program, not of the case. Please report it with the case.",
    )


def _usage(error: Exception) -> NeutralPointError:
    context = getattr(error, "ctx", None)
    command = context.command_path if context else "neutralpoint"
    message = error.format_message().strip()
    return NeutralPointError(
        "argument-invalid",
        message if message.endswith((".", "?")) else f"{message}.",
        where=command,
        hint=f"`{command} --help` lists what is allowed.",
    )
