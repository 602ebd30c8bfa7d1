"""`compare A --edited FILE`: what an edit of an installation changes, before it is put in place."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from trainer.assessment.differences.differences_edit import StudiedEdit, study_edit
from trainer.assessment.differences.differences_play import Ship
from trainer.charts.installation import Installation, load_installation
from trainer.cli.action import now_utc, open_book
from trainer.cli.names import ship_id
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import FileError, FileProblem
from trainer.flying import FlyingWorkspace
from trainer.lesson.competency import FILE_NAME as COMPETENCIES
from trainer.lesson.competency import load_competencies
from trainer.records.fit import fit_requirements
from trainer.records.fit_change import OldReadiness, ready_under_old_logic
from trainer.session.logic import Logic
from trainer.session.start import begin

_ANY_DAYS = 365


def execute_edit(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Print what an edit changes; exit 1 if it changes anything.

    Raises:
        TrainerError: No such installation, or a file that isn't accepted.
    """
    before = workspace.installation(ship_id(arguments.first, workspace))
    after = load_installation(arguments.edited, workspace.charts_folder)
    if after.id != before.id:
        raise FileError([FileProblem(str(arguments.edited), 1, 1, f"id '{after.id}'", before.id)])
    ships = (_ship(before, workspace), _ship(after, workspace))
    edit = study_edit(workspace.charts_folder, ships, workspace.lessons(), _progress)
    ready: tuple[OldReadiness, ...] = ()
    if arguments.book is not None:
        known = load_competencies(workspace.charts_folder / COMPETENCIES, after.generic)
        with open_book(arguments.book) as book:
            required = fit_requirements(after, known.values(), _ANY_DAYS)
            ready = ready_under_old_logic(book, after.id, required, now_utc())
    for one in ready:
        output.emit(_member_json(one), f"{one.member}: {one.competency}, ready {one.checked_utc}")
    output.emit(_impact_json(edit), _text(edit))
    impact = edit.impact
    is_changed = impact.kinds or impact.comparison.values or impact.has_other_aircraft
    return FINDINGS if is_changed else DONE


def _text(edit: StudiedEdit) -> str:
    lines = [edit.impact.sentence]
    lines += [f"    {one.lesson}: {one.problem or f'prompts {one.prompts}'}"
              for one in edit.impact.lessons]  # fmt: skip
    lines += [f"    {title}: {count} items" for title, count in edit.affected.items()]
    return "\n".join(lines)


def _impact_json(edit: StudiedEdit) -> dict[str, Any]:
    impact = edit.impact
    return {
        "kind": "impact",
        "installation": edit.before.id,
        "situations": impact.kinds,
        "causes": [list(group.causes) for group in impact.groups],
        "values": [value.cause for value in impact.comparison.values],
        "other_aircraft": impact.has_other_aircraft,
        "lessons": [
            {"lesson": one.lesson, "prompts": list(one.prompts), "problem": one.problem}
            for one in impact.lessons
        ],
        "items": list(impact.items),
        "competencies": list(impact.competencies),
        "rules": list(impact.rules),
        "states": impact.comparison.states,
        "transitions": impact.comparison.transitions,
    }


def _member_json(one: OldReadiness) -> dict[str, Any]:
    return {
        "kind": "member",
        "member": one.member,
        "aircraft": one.aircraft.title,
        "stage": one.aircraft.stage,
        "competency": one.competency,
        "checked_utc": one.checked_utc,
        "rules": list(one.rules),
    }


def _ship(installation: Installation, workspace: FlyingWorkspace) -> Ship:
    logic, aircraft = Logic(installation), workspace.aircraft(installation.aircraft)
    return Ship(logic, lambda start: begin(logic, aircraft, start))


def _progress(words: str) -> None:
    if sys.stderr.isatty():
        print(f"\r{words:70}", end="", file=sys.stderr)
