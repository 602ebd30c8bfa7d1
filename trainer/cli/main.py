"""The command `mode-trainer`: without a command it opens the window."""

from __future__ import annotations

import argparse
import os
import sys
from importlib import import_module
from typing import Any

from trainer.cli.output import BROKEN, UNUSABLE, Output
from trainer.errors import TrainerError
from trainer.parts import program_version, versions

COMMANDS = (
    "run",
    "key",
    "validate",
    "explore",
    "misconceptions",
    "diagnose",
    "simulate",
    "compare",
    "coverage",
    "generate",
    "pack",
    "export",
    "records",
    "report",
)
CAUTION = (
    "A training aid, not an approved device; no loggable time. The aircraft's flight manual "
    "supplement, local rules and a licensed instructor decide."
)


def build_parser(only: str | None = None) -> argparse.ArgumentParser:
    """Return the parser; with `only`, just that command's module is imported."""
    parser = argparse.ArgumentParser(
        prog="mode-trainer",
        description="Practise the mode logic of an autopilot on the ground. Without a command the "
        "window opens.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"mode-trainer {program_version()}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name in COMMANDS if only is None else (only,):
        module: Any = import_module(f"trainer.cli.{name}")
        command = commands.add_parser(name, help=module.HELP, description=module.HELP)
        command.add_argument("--json", action="store_true", help="print JSON Lines on stdout")
        module.add_arguments(command)
    return parser


def main(argv: list[str] | None = None) -> int:
    """Run the command line and return the exit code.

    It is 0 for done, 1 for findings, 2 for wrong usage or unreadable input, and 3 for a mistake of
    the program itself, of which a report is then saved.
    """
    words = sys.argv[1:] if argv is None else argv
    only = words[0] if words and words[0] in COMMANDS else None
    arguments = build_parser(only).parse_args(words)
    if arguments.command is None:
        from trainer.ui.start import main as start_window

        return int(start_window(words))
    from trainer.app import Workspace

    module: Any = import_module(f"trainer.cli.{arguments.command}")
    output = Output(as_json=arguments.json)
    try:
        return int(module.execute(arguments, output, Workspace()))
    except TrainerError as error:
        output.message(str(error))
        return UNUSABLE
    except BrokenPipeError:
        # The reader went away; nothing more can be said, and Python would complain at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return UNUSABLE
    except KeyboardInterrupt:
        output.message("stopped")
        return UNUSABLE
    except Exception as error:  # a mistake of the program: told, not thrown at the user
        output.message(_told(error, words))
        return BROKEN


def _told(error: Exception, words: list[str]) -> str:
    """Save a report on a mistake of the program and return what is said about it."""
    from trainer.cli.action import now_utc
    from trainer.folders import data_folder
    from trainer.trouble import report_text, save_report, trouble_of

    trouble = trouble_of(error, f"command {words[0]}")
    at_utc = now_utc()
    # What was written behind the command may be names of members and of files.
    names = [word for word in words[1:] if len(word) > 2 and not word.startswith("-")]
    text = report_text(trouble, at_utc, names=names, folder=data_folder(), versions=versions())
    path = save_report(data_folder(), text, at_utc)
    where = f"A report without names, which you may send: {path}" if path else text
    return f"The program met a mistake of its own: {trouble.words}\n{where}"
