"""`coverage LESSON...`: what lessons exercise of their installations, and what they leave out."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.app import Workspace
from trainer.cli.output import DONE, Output
from trainer.errors import MissingFileError
from trainer.lesson.coverage import KINDS, Coverage, Item, cover
from trainer.lesson.flown import FlownLesson, fly

HELP = "show which states, rules and options lessons exercise and which they leave out"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("lessons", nargs="+", type=Path, metavar="LESSON", help="file or folder")
    parser.add_argument("--missing", action="store_true", help="list only what is left out")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Fly the lessons and print what they exercise.

    Raises:
        MissingFileError: A path that isn't there.
    """
    flown: dict[str, list[tuple[str, FlownLesson]]] = {}
    for path in [file for given in arguments.lessons for file in _files(given)]:
        lesson = workspace.lesson(path)
        one = fly(workspace.start_lesson_without_trainee(lesson))
        flown.setdefault(lesson.installation, []).append((lesson.id, one))
    for name in sorted(flown):
        coverage = cover(workspace.installation(name), flown[name])
        for item in coverage.items:
            if not arguments.missing or not item.lessons:
                _print_item(coverage, item, output)
        _print_summary(coverage, len(flown[name]), output)
    total = sum(len(lessons) for lessons in flown.values())
    output.emit({"kind": "end", "lessons": total}, f"{total} lessons")
    return DONE


def _files(path: Path) -> list[Path]:
    if path.is_dir():
        return sorted(path.glob("*.yaml"))
    if not path.exists():
        raise MissingFileError(path, "no such file or folder", "a lesson or a folder of lessons")
    return [path]


def _print_item(coverage: Coverage, item: Item, output: Output) -> None:
    data = {
        "kind": "coverage", "installation": coverage.installation, "what": item.kind,
        "id": item.id, "lessons": list(item.lessons),
    }  # fmt: skip
    numbers = " ".join(name.split("-")[0] for name in item.lessons)
    output.emit(data, f"{item.kind:8} {item.id:42} {numbers or '-'}")


def _print_summary(coverage: Coverage, lessons: int, output: Output) -> None:
    counts = {kind: coverage.count(kind) for kind in KINDS}
    data = {
        "kind": "summary", "installation": coverage.installation, "lessons": lessons,
        **{f"{kind}s": {"exercised": done, "of": all_} for kind, (done, all_) in counts.items()},
    }  # fmt: skip
    parts = [f"{kind}s {done} of {all_}" for kind, (done, all_) in counts.items()]
    output.emit(data, f"{coverage.installation}, {lessons} lessons: {', '.join(parts)}")
