"""`pack make` and `pack import`: lessons passed on in one file."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.app import Workspace
from trainer.cli.names import lesson_paths
from trainer.cli.output import DONE, Output
from trainer.lesson.pack import install_pack, write_pack


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parts = parser.add_subparsers(dest="action", metavar="make|import", required=True)
    make = parts.add_parser("make", help="write a pack of lessons")
    make.add_argument("pack", type=Path, help="pack file to write")
    make.add_argument(
        "lessons", nargs="+", metavar="LESSON", help="a lesson's id or number, a file or a folder"
    )
    make.add_argument("--title", default="Lessons", help="title of the pack")
    take = parts.add_parser("import", help="check a pack, then write its lessons into a folder")
    take.add_argument("pack", type=Path, help="pack file")
    take.add_argument("folder", type=Path, help="folder for the lessons")
    take.add_argument(
        "--replace-aircraft", action="store_true",
        help="let the pack's aircraft take the place of one of yours, which is kept as a copy",
    )  # fmt: skip
    for part in (make, take):
        part.add_argument(
            "--json", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS
        )


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Make or import a pack; lessons are checked either way."""
    if arguments.action == "make":
        paths = lesson_paths(arguments.lessons, workspace)
        flown = {workspace.lesson(path).installation for path in paths}
        carried = {name: workspace.carried_text(name) for name in sorted(flown)}
        write_pack(arguments.title, paths, arguments.pack, carried)
        names = [path.stem for path in paths]
    else:
        pack = install_pack(
            arguments.pack, arguments.folder, workspace.charts, workspace.own_aircraft,
            may_replace=arguments.replace_aircraft,
        )  # fmt: skip
        for one in pack.aircraft:
            data = {"kind": "aircraft", "id": one.installation.id, "was": one.standing}
            output.emit(data, one.words)
        names = [lesson.id for lesson in pack.lessons]
    for name in names:
        output.emit({"kind": "lesson", "id": name}, name)
    output.emit({"kind": "end", "lessons": len(names)}, f"{len(names)} lessons")
    return DONE
