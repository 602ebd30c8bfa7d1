"""What an edit of an aircraft changes, for the window: lessons, items, members. No Qt here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.assessment.differences.differences import Group, cause_words
from trainer.assessment.differences.differences_edit import StudiedEdit, study_edit
from trainer.assessment.differences.differences_play import Ship
from trainer.charts.compare import Difference
from trainer.charts.installation import Installation
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.spec import ChartSpec, RegionSpec
from trainer.errors import TrainerError
from trainer.lesson.competency import FILE_NAME as COMPETENCIES
from trainer.lesson.competency import load_competencies
from trainer.lesson.spec import Lesson
from trainer.records.club_book import ClubBook
from trainer.records.fit import fit_requirements
from trainer.records.fit_change import OldReadiness, enter_next_stage, ready_under_old_logic
from trainer.records.roster import Requirement
from trainer.session.logic import Logic
from trainer.session.start import begin
from trainer.ui.differences.differences_study import Progress

if TYPE_CHECKING:
    from trainer.app import Workspace

_ANY_DAYS = 365
"""Only the rules of a requirement are compared, not for how long it holds."""
_MOST = 6
"""Kinds of situation told of each cause."""
_AXES = ("engagement", "lateral", "vertical")
NO_BOOK = "No club book was opened on this computer, so no member's readiness is known here."


@dataclass(frozen=True, slots=True)
class Told:
    """All that the page shows.

    Attributes:
        book: The club's book that was looked into; None: none was opened here.
        old_ready: Members found ready under the old logic, who would have to show it again.
        book_problem: Why the book couldn't be read; empty if it could, or if there is none.
        lesson_titles: Title of each affected lesson, by id.
    """

    edit: StudiedEdit
    book: Path | None
    old_ready: tuple[OldReadiness, ...]
    book_problem: str
    lesson_titles: dict[str, str]

    @property
    def cause_lines(self) -> list[str]:
        """Each setting that changes situations, with what held before and after."""
        return [self._cause_line(group) for group in self.edit.impact.groups]

    def _cause_line(self, group: Group) -> str:
        parts = []
        for cause in group.causes:
            heading, old, new = cause_words(cause, self.edit.before, self.edit.after)
            parts.append(f"{heading}\nBefore: {old}\nAfter: {new}")
        count = len(group.kinds)
        parts.append(f"{_counted(count, 'kind of situation', 'kinds of situation')}:")
        parts += [f"• {kind_words(one, self.edit.before.generic)}" for one in group.kinds[:_MOST]]
        return "\n".join([*parts, f"• and {count - _MOST} more"] if count > _MOST else parts)

    @property
    def value_lines(self) -> list[str]:
        """Settings that only change how it flies, or what is fitted."""
        told = {cause for group in self.edit.impact.groups for cause in group.causes}
        lines = []
        for value in self.edit.impact.comparison.values:
            if value.cause not in told:
                heading, old, new = cause_words(value.cause, self.edit.before, self.edit.after)
                lines.append(f"{heading}\nBefore: {old}\nAfter: {new}\nReads the same on the strip")
        if self.edit.impact.has_other_aircraft:
            lines.append("Another aircraft flies: speeds and climbs are no longer the same.")
        return lines

    @property
    def lesson_lines(self) -> list[str]:
        """Each affected lesson, with the questions that get another answer."""
        lines = []
        for one in self.edit.impact.lessons:
            title = self.lesson_titles[one.lesson]
            numbers = ", ".join(str(number) for number in one.prompts)
            what = one.problem and f"no longer flies: {one.problem}"
            many = "s" if len(one.prompts) > 1 else ""
            lines.append(f"{title}: {what or f'other answer to question{many} {numbers}'}")
        return lines

    @property
    def item_lines(self) -> list[str]:
        """How many items of each competency don't hold any more."""
        return [
            f"{title}: {count} of {self.edit.items[title]} items"
            for title, count in self.edit.affected.items()
        ]

    @property
    def member_lines(self) -> list[str]:
        """Who was found ready under the old logic."""
        return [
            f"{one.member}: {one.competency} in {one.aircraft.title}, found ready"
            f" {one.checked_utc[:10]} at stage {one.aircraft.stage}"
            for one in self.old_ready
        ]


def kind_words(one: Difference, generic: ChartSpec) -> str:
    """Return a kind of situation in words: what happens where, and what it now leads to."""
    label = generic.mode_label
    modes = [state for region, state in one.before if region in _AXES and state != "none"]
    where = ", ".join(label(state) for state in modes)
    what = "By itself" if one.event == AUTOMATIC else generic.events[one.event].label
    sides = [f"refused ({side.refusal.replace('_', ' ')})" if side.refusal else "taken"
             for side in (one.first, one.second)]  # fmt: skip
    changes = [
        _change_words(generic.regions[region], old, new, label) for region, old, new in one.contrast
    ] or [f"was {sides[0]}, now {sides[1]}"]
    return f"{what} in {where}: {'; '.join(changes)}"


def _change_words(region: RegionSpec, old: str, new: str, label: Callable[[str], str]) -> str:
    if region.kind == "armed":
        how = "not armed any more" if new == region.initial else "now armed"
        return f"{label(region.arms)} {how}"
    return f"{region.label} was {_state(old, label)}, now {_state(new, label)}"


def _state(state: str, label: Callable[[str], str]) -> str:
    return "nothing" if state in ("none", "quiet") else label(state)


def tell_edit(
    workspace: Workspace,
    edited: Installation,
    lessons: Sequence[Lesson],
    progress: Progress,
    *,
    book: Path | None,
    now_utc: str,
) -> Told:
    """Return what an edit changes; this takes up to a minute.

    Args:
        workspace: Where the installation is as it was.
        edited: The installation as it would be.
        lessons: All lessons.
        progress: Told in words how far it is; it may raise, to end the work.
        book: The club's book, if one was opened here.
        now_utc: This moment.
    """
    before = workspace.installation(edited.id)
    ships = (_ship(before, workspace), _ship(edited, workspace))
    kept = workspace.kept_bank(edited.id)
    items = kept[1].items if kept is not None else None
    studied = study_edit(workspace.charts_folder, ships, lessons, progress, items)
    required = required_of(edited, workspace)
    found: tuple[OldReadiness, ...] = ()
    problem = ""
    if book is not None:
        progress("Reading the club's book")
        try:
            with ClubBook.open(book) as opened:
                found = ready_under_old_logic(opened, edited.id, required, now_utc)
        except TrainerError as error:
            problem = str(error)
    titles = {one.id: one.title for one in lessons}
    return Told(studied, book, found, problem, titles)


def enter_in_book(told: Told, workspace: Workspace) -> str:
    """Enter the next stage of the aircraft in the club's book; return what was done, in words.

    Raises:
        TrainerError: The book can't be written; nothing is lost.
    """
    if told.book is None:
        return ""
    after = told.edit.after
    with ClubBook.open(told.book) as book:
        entered = enter_next_stage(book, after.id, required_of(after, workspace))
    names = ", ".join(f"{one.title} at stage {one.stage}" for one in entered)
    return f"Entered in the club's book: {names}." if entered else ""


def required_of(fit: Installation, workspace: Workspace) -> list[Requirement]:
    """Return what an installation requires, which needn't be one of the workspace's."""
    known = load_competencies(workspace.charts_folder / COMPETENCIES, fit.generic)
    return fit_requirements(fit, known.values(), _ANY_DAYS)


def _ship(installation: Installation, workspace: Workspace) -> Ship:
    """Return a ship with a machine of its own: the window may fly the same logic meanwhile."""
    logic, aircraft = Logic(installation), workspace.aircraft(installation.aircraft)
    return Ship(logic, lambda start: begin(logic, aircraft, start))


def _counted(count: int, word: str, plural: str) -> str:
    return f"{count} {word if count == 1 else plural}"
