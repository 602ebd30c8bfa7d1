"""`generate`: make lessons that reach chosen rules of an installation, by flying."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from trainer.charts.explore import explore
from trainer.charts.spec import ChartSpec
from trainer.cli.names import add_ship, chosen_ship, lesson_paths
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import MissingFileError, TrainerError
from trainer.flying import FlyingWorkspace
from trainer.lesson.flown import fly
from trainer.lesson.generate import MOST_LESSONS, Generated, generate
from trainer.lesson.search import acted
from trainer.lesson.writer import write_lesson

BAR = 30


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    add_ship(parser, "ship to make them for")
    parser.add_argument("--out", type=Path, required=True, help="folder for the lessons")
    parser.add_argument("--rules", nargs="+", metavar="RULE", help="rules and refusals to reach")
    parser.add_argument("--beyond", nargs="+", metavar="LESSON", help="reach what these leave out")
    parser.add_argument("--seed", type=int, default=1, help="same seed, same lessons")
    parser.add_argument("--most", type=int, default=MOST_LESSONS, help="at most this many lessons")


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Generate and write lessons; exit 1 if something wanted wasn't reached.

    Raises:
        TrainerError: A rule that isn't there, or a folder that can't be written.
    """
    name = chosen_ship(arguments, workspace)
    chart = workspace.installation(name).chart
    wanted = _wanted(arguments, name, chart, workspace)
    made = generate(
        name, lambda start: workspace.begin(name, start), wanted,
        competencies={name: one.competency for name, one in chart.rules_and_refusals.items()},
        seed=arguments.seed, most_lessons=arguments.most, progress=_progress,
    )  # fmt: skip
    _write(made, arguments.out, output)
    _tell_missed(made, name, workspace, output)
    reached, of = len(made.reached), len(wanted)
    data = {"kind": "end", "lessons": len(made.lessons), "reached": reached, "wanted": of,
            "cancelled": made.is_cancelled}  # fmt: skip
    output.emit(data, f"{len(made.lessons)} lessons reach {reached} of {of} rules and refusals")
    return FINDINGS if made.missed else DONE


def _wanted(
    arguments: argparse.Namespace, name: str, chart: ChartSpec, workspace: FlyingWorkspace
) -> frozenset[str]:
    everything = frozenset(chart.rules) | frozenset(chart.refusals)
    if arguments.rules:
        unknown = [rule for rule in arguments.rules if rule not in everything]
        if unknown:
            raise TrainerError(f"no rule '{unknown[0]}'; accepted: {', '.join(sorted(everything))}")
        everything = frozenset(arguments.rules)
    for path in lesson_paths(arguments.beyond or (), workspace):
        lesson = workspace.lesson(path)
        if lesson.installation != name:
            continue
        for record in fly(workspace.start_lesson_without_trainee(lesson)).records:
            everything -= acted(record)
    return everything


def _progress(done: int, of: int) -> bool:
    if sys.stderr.isatty():
        full = round(BAR * done / max(of, 1))
        print(f"\r[{'#' * full}{'.' * (BAR - full)}] {done}/{of}", end="", file=sys.stderr)
        if done == of:
            print(file=sys.stderr)
    return True


def _write(made: Generated, folder: Path, output: Output) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for lesson in made.lessons:
            path = folder / f"{lesson.id}.yaml"
            path.write_text(write_lesson(lesson), "utf-8")
            data = {"kind": "lesson", "path": str(path), "title": lesson.title}
            output.emit(data, f"{path}: {lesson.title}")
    except OSError as error:
        raise MissingFileError(folder, f"can't be written ({error.strerror})") from error


def _tell_missed(made: Generated, name: str, workspace: FlyingWorkspace, output: Output) -> None:
    """List what wasn't reached, each with its reason; exploring for that takes a while."""
    if not made.missed:
        return
    kernel = workspace.logic(name).machine.kernel
    dead = set() if made.is_cancelled else set(explore(kernel).dead_rules)
    for rule in sorted(made.missed):
        reason = "cancelled" if made.is_cancelled else "no flight from the known scenes led to it"
        if rule in dead:
            reason = "no reachable configuration lets it act"
        output.emit({"kind": "missed", "rule": rule, "reason": reason}, f"missed {rule}: {reason}")
