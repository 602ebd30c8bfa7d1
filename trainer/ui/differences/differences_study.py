"""Two or three ships compared, flown and briefed, for the window. No Qt here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.assessment.differences.differences import (
    Group,
    group_by_cause,
    marked_cause_words,
)
from trainer.assessment.differences.differences_check import build_check
from trainer.assessment.differences.differences_flight import fly_differences
from trainer.assessment.differences.differences_lesson import build_lessons
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.differences.differences_three import PAIRS, Ships, ThreeWayRow, three_way
from trainer.charts.compare import Comparison, compare
from trainer.charts.flight_profile import FILE_NAME, load_profile
from trainer.charts.installation import Installation
from trainer.lesson.spec import Lesson
from trainer.lesson.writer import write_lesson
from trainer.report.differences_briefing import Briefing, build_briefing
from trainer.session.logic import Logic
from trainer.session.start import begin
from trainer.text_file import write_whole
from trainer.ui.differences.differences_check_run import MadeCheck

if TYPE_CHECKING:
    from trainer.app import Workspace

Progress = Callable[[object], None]
EXAMPLES = 3
"""Flights looked for of each kind, so that the check can ask about a habit in two situations."""


@dataclass(frozen=True, slots=True)
class Studied:
    """All that the page shows.

    Attributes:
        groups: The differences by cause, in the same order as the briefing's rows and lines.
        rows: Settings of three ships side by side; empty for two.
    """

    found: Comparison
    groups: tuple[Group, ...]
    briefing: Briefing
    lessons: tuple[Lesson, ...]
    rows: tuple[ThreeWayRow, ...] = ()
    titles: tuple[str, ...] = ()
    check: MadeCheck | None = None
    """The check from the first ship to the second; None: there is nothing to ask."""


def study(
    workspace: Workspace,
    names: tuple[str, ...],
    made_utc: str,
    program_version: str,
    progress: Progress,
) -> Studied:
    """Return two or three ships compared; the flights are those of the first two.

    Args:
        workspace: Where the installations are.
        names: Ids of two or three installations.
        made_utc: This moment.
        program_version: For the foot of the briefing.
        progress: Told in words how far it is; it may raise `StoppedError`.

    Raises:
        TrainerError: An installation that isn't there.
        StoppedError: Raised by `progress`.
    """
    ships = [workspace.installation(name) for name in names]
    found = [_compared(ships[a], ships[b], progress) for a, b in PAIRS if b < len(ships)]
    pair = _ship(names[0], workspace), _ship(names[1], workspace)
    profile = load_profile(workspace.charts_folder / FILE_NAME, ships[0].generic)
    flown = fly_differences(
        found[0], *pair, profile.likeliness, progress=_scenes(progress), examples=EXAMPLES
    )
    groups = group_by_cause(
        found[0], flown, lambda one: profile.per_hundred_flights(one, ships[0], ships[1])
    )
    briefing = build_briefing(
        found[0], groups, (ships[0], ships[1]), made_utc=made_utc, program_version=program_version
    )
    progress("Making lessons and check")
    lessons = build_lessons(groups, flown, *pair)
    rows = _three((ships[0], ships[1], ships[2]), found) if len(ships) == len(PAIRS) else ()
    check = build_check(groups, flown, *pair)
    made = MadeCheck(check, groups, pair) if check.items else None
    titles = tuple(one.title for one in ships)
    return Studied(found[0], groups, briefing, lessons, rows, titles, made)


def _three(ships: Ships, found: list[Comparison]) -> tuple[ThreeWayRow, ...]:
    """Return the settings of three ships, each value that nobody has signed marked."""
    rows = []
    for row in three_way(ships, found):
        _, first, second = marked_cause_words(row.cause, ships[0], ships[1])
        third = marked_cause_words(row.cause, ships[0], ships[2])[2]
        rows.append(replace(row, values=(first, second, third)))
    return tuple(rows)


def _scenes(progress: Progress) -> Callable[[int, int], None]:
    return lambda done, known: progress(f"Flying the differences: {done} of {known} scenes")


def _compared(first: Installation, second: Installation, progress: Progress) -> Comparison:
    names = f"{first.title} and {second.title}"
    return compare(
        first, second,
        lambda done, known: progress(f"{names}: {done} of {known} states compared so far"),
    )  # fmt: skip


def _ship(name: str, workspace: Workspace) -> Ship:
    """Return a ship with a machine of its own: the window may fly the same logic meanwhile."""
    installation = workspace.installation(name)
    logic, aircraft = Logic(installation), workspace.aircraft(installation.aircraft)
    return Ship(logic, lambda start: begin(logic, aircraft, start))


def write_lessons(lessons: tuple[Lesson, ...], path: Path) -> tuple[Path, ...]:
    """Write lessons beside each other: NAME.yaml, NAME-2.yaml and so on; return the files.

    Raises:
        MissingFileError: A file can't be written.
    """
    written = []
    for number, lesson in enumerate(lessons, 1):
        target = path if number == 1 else path.with_stem(f"{path.stem}-{number}")
        write_whole(target, write_lesson(lesson).encode())
        written.append(target)
    return tuple(written)


def parting_words(studied: Studied, place: int) -> str:
    """Return which cells of the strips differ after the flight of a row, in words."""
    strips = studied.briefing.rows[place].strips
    cells = [name for name, cell in zip(("engagement", "lateral", "vertical"), strips[1].cells,
                                        strict=True) if cell.differs]  # fmt: skip
    if strips[1].alert_differs:
        cells.append("alert or protection")
    if not cells:
        return "The strips read the same; the answer to the key differs."
    return f"The strips part in: {', '.join(cells)}."
