"""The command `mode-trainer`: without a command it opens the window."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, NamedTuple

from trainer.cli.output import BROKEN, UNUSABLE, Output
from trainer.errors import TrainerError

if TYPE_CHECKING:
    from trainer.flying import FlyingWorkspace


class Command(NamedTuple):
    """What is said of a command before its module is imported.

    Attributes:
        help: What it is for.
        only_flies: It needs no records, no check and no item bank, so it starts without them.
    """

    help: str
    only_flies: bool = False


COMMANDS = {
    "run": Command(
        "fly a lesson or scenario and print every change of annunciation", only_flies=True
    ),
    "key": Command(
        "print the computed answer and distractors of every prompt of a lesson", only_flies=True
    ),
    "validate": Command(
        "check charts, installations, aircraft, competencies and lessons", only_flies=True
    ),
    "explore": Command(
        "visit every reachable configuration and check every invariant", only_flies=True
    ),
    "misconceptions": Command(
        "list the wrong rules of an aircraft, prove that each shows, or make candidates for more"
    ),
    "diagnose": Command("name the wrong rules that recorded answers point to"),
    "simulate": Command(
        "play simulated members against the item bank and print how well they are diagnosed"
    ),
    "compare": Command("compare two installations over all events and signals", only_flies=True),
    "coverage": Command(
        "show which states, rules, options and wrong rules lessons exercise or leave out"
    ),
    "generate": Command(
        "make lessons that reach chosen rules, or all that given lessons leave out", only_flies=True
    ),
    "pack": Command("put lessons into one file, or check such a file and take its lessons out"),
    "export": Command(
        "export an installation's logic (scxml, svg), or a member's answers (csv, xapi)",
        only_flies=True,
    ),
    "records": Command(
        "a member's answers and files of exchange; 'records club' for the training lead's book"
    ),
    "report": Command(
        "reports as text, HTML or PDF: member brief, class summary, quiz on paper, training record"
    ),
}
CAUTION = (
    "A training aid, not an approved device; no loggable time. The aircraft's flight manual "
    "supplement, local rules and a licensed instructor decide."
)


class _Version(argparse.Action):
    """Prints the version and ends: it is looked up for nobody else."""

    def __init__(self, option_strings: Sequence[str], dest: str, **_: Any) -> None:
        words = "show the program's version number and exit"
        super().__init__(option_strings, dest, nargs=0, default=argparse.SUPPRESS, help=words)

    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> None:
        from trainer.parts import program_version

        print(f"mode-trainer {program_version()}")
        parser.exit()


def build_parser(*names: str) -> argparse.ArgumentParser:
    """Return the parser of these commands; without any, one that only lists all of them.

    Only modules of commands that are named are imported, which takes most of a start.
    """
    parser = argparse.ArgumentParser(
        prog="mode-trainer",
        description="Practise the mode logic of an autopilot on the ground. Without a command the "
        "window opens.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action=_Version)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name in names or COMMANDS:
        words = COMMANDS[name].help
        command = commands.add_parser(name, help=words, description=words)
        if name in names:
            command.add_argument("--json", action="store_true", help="print JSON Lines on stdout")
            _module(name).add_arguments(command)
    return parser


def _module(name: str) -> Any:
    return import_module(f"trainer.cli.{name}")


def main(argv: list[str] | None = None) -> int:
    """Run the command line and return the exit code.

    It is 0 for done, 1 for findings, 2 for wrong usage or unreadable input, and 3 for a mistake of
    the program itself, of which a report is then saved.
    """
    words = sys.argv[1:] if argv is None else argv
    first = next((word for word in words if not word.startswith("-")), "")
    arguments = build_parser(*([first] if first in COMMANDS else [])).parse_args(words)
    if arguments.command is None:
        from trainer.ui.start import main as start_window

        return int(start_window(words))
    output = Output(as_json=arguments.json)
    try:
        workspace = _workspace(COMMANDS[arguments.command])
        return int(_module(arguments.command).execute(arguments, output, workspace))
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


def _workspace(command: Command) -> FlyingWorkspace:
    """Return all that a command works on."""
    if command.only_flies:
        from trainer.flying import FlyingWorkspace

        return FlyingWorkspace()
    from trainer.app import Workspace

    return Workspace()


def _told(error: Exception, words: list[str]) -> str:
    """Save a report on a mistake of the program and return what is said about it."""
    from trainer.cli.action import now_utc
    from trainer.folders import data_folder
    from trainer.parts import versions
    from trainer.trouble import report_text, save_report, trouble_of

    trouble = trouble_of(error, f"command {words[0]}")
    at_utc = now_utc()
    # What was written behind the command may be names of members and of files.
    names = [word for word in words[1:] if len(word) > 2 and not word.startswith("-")]
    text = report_text(trouble, at_utc, names=names, folder=data_folder(), versions=versions())
    path = save_report(data_folder(), text, at_utc)
    where = f"A report without names, which you may send: {path}" if path else text
    return f"The program met a mistake of its own: {trouble.words}\n{where}"
