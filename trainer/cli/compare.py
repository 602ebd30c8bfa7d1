"""`compare A B`: every situation in which two installations read or answer differently.

With a third ship also what differs from stage to stage; with `--briefing` or `--lesson` the
differences are flown, too, and written for a member who knows the first ship.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from trainer.assessment.differences.differences import Group, group_by_cause, unsigned_mark
from trainer.assessment.differences.differences_flight import fly_differences
from trainer.assessment.differences.differences_lesson import build_lessons
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.differences.differences_three import PAIRS, ThreeWayRow, three_way
from trainer.charts.compare import Comparison, Difference, Side, ValueDifference, compare
from trainer.charts.flight_profile import FILE_NAME, load_profile
from trainer.charts.installation import Installation
from trainer.cli.action import now_utc
from trainer.cli.compare_edit import execute_edit
from trainer.cli.names import ship_ids
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import MissingFileError
from trainer.flying import FlyingWorkspace
from trainer.lesson.writer import write_lesson
from trainer.parts import program_version
from trainer.report.differences_briefing import build_briefing
from trainer.report.differences_render import check_ending, write_briefing
from trainer.text_file import write_whole


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("first", metavar="A", help="ship that is known")
    parser.add_argument("second", metavar="B", nargs="?", help="ship to compare with it")
    parser.add_argument("--third", metavar="C", help="a third ship, side by side")
    parser.add_argument(
        "--briefing",
        type=Path,
        metavar="FILE",
        help="write the differences as a page, .html or .pdf",
    )
    parser.add_argument(
        "--lesson", type=Path, metavar="FILE.yaml",
        help="write lessons about them; a second one as FILE-2.yaml, and so on",
    )  # fmt: skip
    parser.add_argument(
        "--edited", type=Path, metavar="FILE",
        help="in place of B: A as it would be after an edit; what it changes beside the strip",
    )  # fmt: skip
    parser.add_argument(
        "--book", type=Path, metavar="FILE",
        help="with --edited: a club book, to name who was found ready under the old logic",
    )  # fmt: skip


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Compare; exit 1 if anything differs.

    Raises:
        TrainerError: An installation that isn't there, or a file that can't be written.
    """
    if (arguments.second is None) == (arguments.edited is None):
        raise MissingFileError("B", "what to compare with", "either B or --edited FILE")
    if arguments.edited is not None:
        return execute_edit(arguments, output, workspace)
    if arguments.briefing is not None:
        check_ending(arguments.briefing)
    typed = [arguments.first, arguments.second, *([arguments.third] if arguments.third else [])]
    ships = [workspace.installation(name) for name in ship_ids(typed, workspace)]
    pairs = [pair for pair in PAIRS if pair[1] < len(ships)]
    found = [compare(ships[a], ships[b], _progress_of("compared")) for a, b in pairs]
    for one, (a, b) in zip(found, pairs, strict=True):
        _print(one, (ships[a], ships[b]), output)
    if len(ships) == len(PAIRS):
        for row in three_way((ships[0], ships[1], ships[2]), found):
            _print_row(row, ships, output)
    if arguments.briefing is not None or arguments.lesson is not None:
        _write(arguments, found[0], output, workspace)
    return FINDINGS if any(one.differences or one.values for one in found) else DONE


def _print(found: Comparison, ships: tuple[Installation, Installation], output: Output) -> None:
    for value in found.values:
        first, second = (
            _marked(words, value.cause, ship)
            for words, ship in zip((value.first, value.second), ships, strict=True)
        )
        output.emit(_value_json(value), f"{value.cause}: {first} | {second}")
    for difference in found.differences:
        output.emit(_difference_json(difference, found), _text(difference))
    data = {
        "kind": "end",
        "first": found.first,
        "second": found.second,
        "complete": found.is_complete,
        "states": found.states,
        "transitions": found.transitions,
        "differences": len(found.differences),
        "values": len(found.values),
    }
    text = (
        f"{found.first} and {found.second}: {len(found.differences)} kinds of situation differ; "
        f"{found.states} states and {found.transitions} transitions compared, complete"
    )
    output.emit(data, text)


def _marked(words: object, cause: str, ship: Installation) -> str:
    """Return what holds in a ship, marked if no instructor has signed it."""
    mark = unsigned_mark(cause, ship)
    return f"{words} ({mark})" if mark else f"{words}"


def _print_row(row: ThreeWayRow, ships: Sequence[Installation], output: Output) -> None:
    names = [ship.id for ship in ships]
    kinds = [{"first": names[a], "second": names[b], "kinds": count}
             for (a, b), count in zip(PAIRS, row.kinds, strict=True)]  # fmt: skip
    data = {"kind": "setting", "cause": row.cause, "heading": row.heading,
            "values": dict(zip(names, row.values, strict=True)), "differences": kinds}  # fmt: skip
    lines = [
        f"    {ship.id}: {_marked(value, row.cause, ship)}"
        for ship, value in zip(ships, row.values, strict=True)
    ]
    output.emit(data, "\n".join([row.heading, *lines]))


def _write(
    arguments: argparse.Namespace, found: Comparison, output: Output, workspace: FlyingWorkspace
) -> None:
    """Fly the differences and write what was asked for."""
    first, second = (_ship(name, workspace) for name in (found.first, found.second))
    installations = first.logic.installation, second.logic.installation
    path = workspace.charts_folder / FILE_NAME
    profile = load_profile(path, installations[0].generic)
    progress = _progress_of("flown")
    flown = fly_differences(found, first, second, profile.likeliness, progress=progress)
    groups = group_by_cause(
        found, flown, lambda one: profile.per_hundred_flights(one, *installations)
    )
    for group in groups:
        _print_group(group, output)
    if arguments.briefing is not None:
        page = build_briefing(
            found, groups, installations,
            made_utc=now_utc(), program_version=program_version(),
        )  # fmt: skip
        write_briefing(page, arguments.briefing)
        _print_file("briefing", arguments.briefing, output)
    if arguments.lesson is not None:
        for number, lesson in enumerate(build_lessons(groups, flown, first, second), 1):
            target: Path = arguments.lesson
            if number > 1:
                target = target.with_stem(f"{target.stem}-{number}")
            write_whole(target, write_lesson(lesson).encode())
            _print_file("lesson", target, output)


def _print_group(group: Group, output: Output) -> None:
    data = {
        "kind": "group", "causes": list(group.causes), "kinds": len(group.kinds),
        "flown": len(group.flown), "situations": group.situations,
        "consequence": group.consequence,
        "per_hundred_flights": round(group.per_hundred_flights, 2),
        "flight": group.flown[0].situation.id if group.flown else None,
    }  # fmt: skip
    flight = group.flown[0].situation.words if group.flown else "no flight found that shows it"
    output.emit(data, f"{', '.join(group.causes)}: {len(group.kinds)} kinds; {flight}")


def _print_file(kind: str, path: Path, output: Output) -> None:
    output.emit({"kind": kind, "path": str(path)}, f"{kind}: {path}")


def _ship(name: str, workspace: FlyingWorkspace) -> Ship:
    return Ship(workspace.logic(name), lambda start: workspace.begin(name, start))


def _progress_of(word: str) -> Any:
    if not sys.stderr.isatty():
        return None

    def show(done: int, known: int) -> None:
        print(f"\r{done} of {known} {word} so far ", end="", file=sys.stderr)

    return show


def _value_json(value: ValueDifference) -> dict[str, Any]:
    return {
        "kind": "difference",
        "of": "value",
        "causes": [value.cause],
        "first": value.first,
        "second": value.second,
    }


def _difference_json(one: Difference, found: Comparison) -> dict[str, Any]:
    true = [name for bit, name in enumerate(found.signals) if one.cube[0] >> bit & 1]
    false = [name for bit, name in enumerate(found.signals) if one.cube[1] >> bit & 1]
    return {
        "kind": "difference",
        "of": "situation",
        "causes": list(one.causes),
        "event": one.event,
        "before": dict(one.before),
        "signals_true": true,
        "signals_false": false,
        "first": _side_json(one.first),
        "second": _side_json(one.second),
        "path": [move.event for move in one.path],
        "situations": one.situations,
    }


def _side_json(side: Side) -> dict[str, Any]:
    return {
        "after": dict(side.shown),
        "rules": list(side.rules),
        "refusal": side.refusal or None,
    }


def _text(one: Difference) -> str:
    def side(what: Side) -> str:
        if what.refusal:
            return f"refused ({what.refusal})"
        changed = [f"{region} {state}" for region, state in what.shown if (region, state) not in
                   one.before]  # fmt: skip
        return ", ".join(changed).replace("_", " ") or "nothing changes"

    modes = ", ".join(
        state.replace("_", " ")
        for region, state in one.before
        if region in ("engagement", "lateral", "vertical")
    )
    return (
        f"{', '.join(one.causes)}: {one.event} in {modes}\n"
        f"    first:  {side(one.first)}\n    second: {side(one.second)}  "
        f"({one.situations} situations)"
    )
