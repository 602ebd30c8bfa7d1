"""`validate PATH...`: check charts, installations, aircraft and lessons, and fly the lessons."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from trainer.app import Workspace
from trainer.charts.installation import load_installation
from trainer.charts.loader import load_chart
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.document import read_document
from trainer.errors import FileError, FileProblem, MissingFileError
from trainer.flight import load_aircraft
from trainer.session.session import STEP_S

HELP = "check charts, installations, aircraft and lessons"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="file or folder")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Check every file; exit 1 if anything was found.

    Raises:
        MissingFileError: A path that isn't there.
    """
    files = [file for path in arguments.paths for file in _files(path)]
    problems = 0
    for file in files:
        try:
            _check(file, workspace)
        except FileError as error:
            problems += len(error.problems)
            for problem in error.problems:
                data = {
                    "kind": "problem", "path": problem.path, "line": problem.line,
                    "column": problem.column, "found": problem.found,
                    "accepted": problem.accepted,
                }  # fmt: skip
                output.emit(data, str(problem))
    output.emit(
        {"kind": "end", "files": len(files), "problems": problems},
        f"{len(files)} files, {problems} problems",
    )
    return FINDINGS if problems else DONE


def _files(path: Path) -> list[Path]:
    if path.is_dir():
        return sorted(path.rglob("*.yaml"))
    if not path.exists():
        raise MissingFileError(path, "no such file or folder", "a YAML file or a folder")
    return [path]


def _check(file: Path, workspace: Workspace) -> None:
    checks: dict[str, Callable[[], object]] = {
        "chart/1": lambda: load_chart(file),
        "installation/1": lambda: load_installation(file, workspace.charts_folder),
        "aircraft/1": lambda: load_aircraft(file),
        "lesson/1": lambda: _fly(file, workspace),
    }
    top = read_document(file)
    found = top.text("format", choices=checks)
    top.document.raise_if_problems()
    checks[found]()


def _fly(file: Path, workspace: Workspace) -> None:
    """Load a lesson and fly it: a wait that never ends shows only then."""
    lesson = workspace.lesson(file)
    runner = workspace.start_lesson_without_trainee(lesson)
    if runner.prompt_count == 0:
        problem = FileProblem(lesson.path, 1, 1, "a lesson that asks nothing", "a predict step")
        raise FileError([problem])
    while runner.phase != "finished":
        if runner.phase == "asking":
            runner.commit()
        elif runner.phase == "explained":
            runner.proceed()
        else:
            runner.advance(STEP_S * 20)
