"""The command `mode-trainer`: without a command it opens the window."""

from __future__ import annotations

import argparse
import os
import sys
from importlib import import_module
from typing import Any

from trainer.cli.output import UNUSABLE, Output
from trainer.errors import TrainerError

COMMANDS = (
    "run",
    "key",
    "validate",
    "explore",
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
    parser.add_argument("--version", action="version", version=f"mode-trainer {_version()}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name in COMMANDS if only is None else (only,):
        module: Any = import_module(f"trainer.cli.{name}")
        command = commands.add_parser(name, help=module.HELP, description=module.HELP)
        command.add_argument("--json", action="store_true", help="print JSON Lines on stdout")
        module.add_arguments(command)
    return parser


def main(argv: list[str] | None = None) -> int:
    """Run the command line; return the exit code: 0 done, 1 findings, 2 unusable."""
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


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("mode-logic-trainer")
    except PackageNotFoundError:
        return "unknown (not installed)"
