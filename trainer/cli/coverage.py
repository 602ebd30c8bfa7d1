"""`coverage LESSON...`: what lessons exercise of their installations, and what they leave out."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.app import Workspace
from trainer.assessment.answers.catches import KIND, catches, with_misconceptions
from trainer.assessment.wrong_rules.library import Library
from trainer.charts.diagram import lay_out
from trainer.charts.diagram_svg import to_svg
from trainer.cli.names import SHIP_OPTIONS, lesson_paths, ship_id
from trainer.cli.output import DONE, Output
from trainer.errors import MissingFileError
from trainer.lesson.coverage import Coverage, Item, cover
from trainer.lesson.flown import fly
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Lesson


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "lessons", nargs="+", metavar="LESSON", help="a lesson's id or number, a file or a folder"
    )
    parser.add_argument(*SHIP_OPTIONS, metavar="SHIP", help="fly them in this ship, not in theirs")
    parser.add_argument("--missing", action="store_true", help="list only what is left out")
    parser.add_argument(
        "--quick", action="store_true", help="leave out wrong rules, which take the longest"
    )
    parser.add_argument(
        "--svg", type=Path, metavar="FOLDER", help="also draw each statechart with its coverage"
    )


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Fly the lessons and print what they exercise.

    Raises:
        MissingFileError: A path that isn't there, or a picture that can't be written.
    """
    lessons: dict[str, list[Lesson]] = {}
    ship = ship_id(arguments.ship, workspace) if arguments.ship else None
    for path in lesson_paths(arguments.lessons, workspace):
        lesson = workspace.lesson(path)
        lessons.setdefault(ship or lesson.installation, []).append(lesson)
    for name in sorted(lessons):
        library = None if arguments.quick else workspace.library(name)
        coverage = _covered(name, lessons[name], library, workspace)
        for item in coverage.items:
            if not arguments.missing or not item.lessons:
                _print_item(coverage, item, library, output)
        _print_summary(coverage, len(lessons[name]), output)
        if arguments.svg is not None:
            _draw(coverage, arguments.svg, workspace, output)
    total = sum(len(some) for some in lessons.values())
    output.emit({"kind": "end", "lessons": total}, f"{total} lessons")
    return DONE


def _covered(
    name: str, lessons: list[Lesson], library: Library | None, workspace: Workspace
) -> Coverage:
    """Return the coverage of one installation by lessons that are flown in it."""

    def start(lesson: Lesson) -> LessonRunner:
        return workspace.start_lesson_without_trainee(lesson, name)

    flown = [(lesson.id, fly(start(lesson))) for lesson in lessons]
    coverage = cover(workspace.installation(name), flown)
    if library is None:
        return coverage
    caught = {lesson.id: catches(start(lesson), library) for lesson in lessons}
    return with_misconceptions(coverage, library, caught)


def _print_item(coverage: Coverage, item: Item, library: Library | None, output: Output) -> None:
    data = {
        "kind": "coverage", "installation": coverage.installation, "what": item.kind,
        "id": item.id, "lessons": list(item.lessons),
    }  # fmt: skip
    if item.kind == KIND and library is not None:
        data["sentence"] = library.misconceptions[item.id].sentence
    numbers = " ".join(name.split("-")[0] for name in item.lessons)
    output.emit(data, f"{item.kind:13} {item.id:42} {numbers or '-'}")


def _print_summary(coverage: Coverage, lessons: int, output: Output) -> None:
    counts = {kind: coverage.count(kind) for kind in coverage.kinds}
    data = {
        "kind": "summary", "installation": coverage.installation, "lessons": lessons,
        **{f"{kind}s": {"exercised": done, "of": all_} for kind, (done, all_) in counts.items()},
    }  # fmt: skip
    parts = [f"{kind}s {done} of {all_}" for kind, (done, all_) in counts.items()]
    output.emit(data, f"{coverage.installation}, {lessons} lessons: {', '.join(parts)}")


def _draw(coverage: Coverage, folder: Path, workspace: Workspace, output: Output) -> None:
    """Write the statechart with the numbers of lessons in its states."""
    installation = workspace.installation(coverage.installation)
    picture = coverage.counted(lay_out(installation.chart, None, installation.title))
    path = folder / f"coverage-{coverage.installation}.svg"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(to_svg(picture), "utf-8")
    except OSError as error:
        raise MissingFileError(path, f"can't be written ({error.strerror})") from error
    output.emit({"kind": "picture", "path": str(path)}, f"{path}")
