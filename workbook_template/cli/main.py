"""The ``spargesheet`` command: one subcommand a module of :mod:`workbook_template.cli.commands`."""

from __future__ import annotations

import argparse
import sys
from importlib import import_module

from chemcore import __version__
from workbook_template.cli import progress
from workbook_template.cli.stopping import Stopped, stoppable
from workbook_template.user_errors import CommandError

#: Modules of subcommands, in the order of the help. Each has ``add(subparsers)``, which sets
#: ``run``.
COMMANDS = (
    "new",
    "carry",
    "example",
    "show",
    "functions",
    "share",
    "restore",
    "check",
    "recalc",
    "log",
    "open",
    "convert",
    "install",
    "remove",
    "status",
)


def parser() -> argparse.ArgumentParser:
    """The command's arguments with all subcommands."""
    top = argparse.ArgumentParser(
        prog="spargesheet",
        description=(
            "Brewing-liquor chemistry as spreadsheet formulas: acid doses for sparge and mash"
            " liquor, and a workbook that plans batches with them."
        ),
        epilog=(
            "Strong acid hurts people: the label, the safety data sheet, local codes and a trained"
            " person decide."
        ),
    )
    top.add_argument("--version", action="version", version=f"spargesheet {__version__}")
    subparsers = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name in COMMANDS:
        import_module(f"workbook_template.cli.commands.{name}_command").add(subparsers)
    _quiet(subparsers)
    return top


def _quiet(subparsers) -> None:
    """Give every command, and every action of a command, the option --quiet."""
    for command in subparsers.choices.values():
        inner = [a for a in command._actions if isinstance(a, argparse._SubParsersAction)]
        if inner:
            _quiet(inner[0])
        else:
            command.add_argument(
                "--quiet", action="store_true", help="say nothing of how far the work is"
            )


def main(arguments: list[str] | None = None) -> int:
    """Run the command; the exit code is the subcommand's, or 2 after one line that says what is
    wrong.

    Stopped by Ctrl+C or a signal it clears away what it made and gives 128 and the signal's number.
    """
    try:
        with stoppable():
            options = parser().parse_args(arguments)
            progress.begin(options.quiet)
            return options.run(options) or 0
    except CommandError as error:
        print(f"spargesheet: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        return 1
    except Stopped as stopped:
        print(f"\nspargesheet: {stopped}"[0 if sys.stderr.isatty() else 1 :], file=sys.stderr)
        return stopped.code
    finally:
        progress.end()


if __name__ == "__main__":
    sys.exit(main())
