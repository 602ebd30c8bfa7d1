"""`validate PATH...`: check charts, installations, aircraft and lessons, and fly the lessons."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

from trainer.assessment.check.check_plan_file import load_check_plans
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception_file import load_misconceptions
from trainer.charts.flight_profile import load_profile
from trainer.charts.installation import Installation, check_installation
from trainer.charts.loader import load_chart
from trainer.charts.provenance import trust_of, trust_words
from trainer.charts.spec import ChartSpec
from trainer.cli.names import any_path
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.document import near, read_document
from trainer.errors import FileError, FileProblem, MissingFileError
from trainer.flight import load_aircraft
from trainer.flying import FlyingWorkspace
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.lesson.review import review
from trainer.session.session import Session
from trainer.session.situation import SituationError, Start


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", help="a file or a folder, a lesson or a ship"
    )


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Check every file; exit 1 if anything was found.

    Raises:
        MissingFileError: A path that isn't there, or a folder without files to check.
    """
    files = [file for word in arguments.paths for file in _files(any_path(word, workspace))]
    problems = 0
    for file in files:
        try:
            found = _check(file, workspace)
            if isinstance(found, Installation):
                _tell_placeholders(file, found, output)
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
        found = sorted(path.rglob("*.yaml"))
        if not found:
            raise MissingFileError(path, "nothing to check in this folder", "*.yaml files in it")
        return found
    return [path]


def _tell_placeholders(file: Path, installation: Installation, output: Output) -> None:
    """Say how far an installation can be trusted; that is no problem of the file."""
    trust = trust_of(installation)
    data = {
        "kind": "placeholders",
        "path": str(file),
        "installation": installation.id,
        "limits": trust.limits,
        "limit_placeholders": trust.limit_placeholders,
        "limits_not_signed": trust.unsigned_limits,
        "options": trust.options,
        "option_placeholders": trust.option_placeholders,
        "options_not_signed": trust.unsigned - trust.unsigned_limits,
        "signed": trust.verified,
        "to_be_asked": trust.unknown,
    }
    output.emit(data, f"{file}: {trust_words(installation)}")


def _check(file: Path, workspace: FlyingWorkspace) -> object:
    checks: dict[str, Callable[[], object]] = {
        "chart/1": lambda: load_chart(file),
        "installation/1": lambda: check_installation(file, workspace.charts_folder, _today()),
        "lesson/1": lambda: _review(file, workspace),
        "misconception/1": lambda: _misconceptions(file, workspace),
        "flight_profile/1": lambda: load_profile(file, _generic(workspace)),
        "check_plans/1": lambda: load_check_plans(file),
        "competencies/1": lambda: load_competencies(file, _generic(workspace)),
    }
    top = read_document(file)
    # Aircraft are told by their place; their files have no format line.
    if file.parent.name == "aircraft" and not top.has("format"):
        return load_aircraft(file)
    found = top.text("format", choices=checks)
    top.document.raise_if_problems()
    return checks[found]()


def _today() -> date:
    """Return the day here: dates are written by people who look at their own calendar."""
    return datetime.now(UTC).astimezone().date()


def _misconceptions(file: Path, workspace: FlyingWorkspace) -> None:
    """Load wrong rules, look for their lessons, and hold each in every aircraft of their chart."""
    found = load_misconceptions(file, workspace.charts_folder)
    lessons = [path.stem for path in workspace.lesson_paths]
    problems = {
        one.id: FileProblem(
            str(file), one.line, 1, f"'{one.id}' names a lesson '{one.lesson}' that isn't there",
            near(one.lesson, lessons),
        )
        for one in found
        if one.lesson and one.lesson not in lessons
    }  # fmt: skip
    chart = read_document(file).text("chart")
    for name, installation in workspace.installations.items():
        if installation.generic.id != chart:
            continue
        for one in Library(workspace.logic(name), found).left_out:
            if one.is_faulty:
                held, wanted = one.misconception, "rules that don't undo each other"
                what = f"in {name} {one.reason}"
                problems[held.id] = FileProblem(str(file), held.line, 1, what, wanted)
    if problems:
        raise FileError(list(problems.values()))


def _generic(workspace: FlyingWorkspace) -> ChartSpec:
    return next(iter(workspace.installations.values())).generic


def _review(file: Path, workspace: FlyingWorkspace) -> None:
    """Load a lesson, fly it, and look for what makes a lesson bad though it flies."""
    lesson = workspace.lesson(file)
    competencies = load_competencies(workspace.charts_folder / FILE_NAME)

    def begin(start: Start) -> Session:
        try:
            return workspace.begin(lesson.installation, start)
        except SituationError as error:
            problem = FileProblem(lesson.path, lesson.start_line, 1, str(error))
            raise FileError([problem]) from error

    found = review(lesson, begin, tuple(competencies))
    if found:
        raise FileError(list(found))
