"""The user's aircraft: their files, and drafts of answers that survive a crash. No Qt here."""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path

from trainer.app import Workspace
from trainer.charts.causes import changes_logic
from trainer.charts.installation import Installation
from trainer.charts.installation_file import save_installation
from trainer.charts.questionnaire import (
    Answer,
    AnswerError,
    Answers,
    Question,
    answers_of,
    installation_of,
    questions_of,
    usable_value,
)
from trainer.charts.spec import ChartSpec
from trainer.errors import TrainerError
from trainer.text_file import read_text
from trainer.ui.aircraft.answer_state import answer_problem, unclaimed

FOLDER = "aircraft-drafts"
_LONGEST_ID = 40


@dataclass(frozen=True, slots=True)
class Unfinished:
    """The first answer that keeps a draft from being saved."""

    question: Question
    problem: str


class AircraftShelf:
    """Files in the user's folder; a draft for each aircraft whose answers aren't saved yet.

    Attributes:
        problems: What is wrong with drafts, found by the last `drafts`.
    """

    def __init__(self, folder: Path, workspace: Workspace) -> None:
        self._drafts = folder / FOLDER
        self.workspace = workspace
        self.problems: list[str] = []

    def is_own(self, installation: str) -> bool:
        """True for an aircraft of the user's, False for one that comes with the program."""
        path = self.workspace.installation_paths.get(installation)
        return path is not None and path.parent == self.workspace.user_installations

    def chart_of(self, answers: Answers) -> ChartSpec:
        """Return the chart that asks the questions.

        Raises:
            AnswerError: No aircraft uses such a chart any more.
        """
        for one in self.workspace.installations.values():
            if one.generic.id == answers.chart:
                return one.generic
        raise AnswerError(f"no chart '{answers.chart}' for {answers.title}")

    def begin_copy(self, original: Installation, title: str) -> Answers:
        """Return the answers of a new aircraft that begins as another is, and keep them.

        Nobody has read or signed them for the new aircraft: all are placeholders, with the names
        of documents kept to look there again.

        Raises:
            AnswerError: Another aircraft is called so, or the draft can't be written.
        """
        title = " ".join(title.split()) or self._free_title(f"Copy of {original.title}")
        self.refuse_title(title)
        old = answers_of(original)
        values = {
            key: replace(one, provenance=unclaimed(one.provenance))
            for key, one in old.values.items()
        }
        answers = replace(old, id=self.free_id(title), title=title, values=values, note="")
        self.keep(answers)
        return answers

    def refuse_title(self, title: str, installation: str = "") -> None:
        """Refuse the name of another aircraft: nobody could tell the two apart.

        Args:
            title: The name.
            installation: Id of the aircraft that is to have it; empty for a new one.

        Raises:
            AnswerError: Another aircraft, or a draft of one, is called so.
        """
        plain = _plain(title)
        known = {name: one.title for name, one in self.workspace.installations.items()}
        known |= {name: one.title for name, one in self.drafts().items()}
        taken = next((t for n, t in known.items() if n != installation and _plain(t) == plain), "")
        if taken:
            raise AnswerError(
                f"Another aircraft is called '{taken}' already; accepted: a name of its own"
            )

    def _free_title(self, title: str) -> str:
        known = {_plain(one.title) for one in self.workspace.installations.values()}
        known |= {_plain(one.title) for one in self.drafts().values()}
        tries = (f"{title} {number}" if number > 1 else title for number in count(1))
        return next(one for one in tries if _plain(one) not in known)

    def take_up(self, installation: Installation) -> Answers:
        """Return the draft of an aircraft if there is one, else the answers in its file."""
        return self.drafts().get(installation.id) or answers_of(installation)

    def free_id(self, title: str) -> str:
        """Return a plain id that no aircraft and no draft has yet."""
        plain = re.sub(r"[^a-z0-9]+", "_", title.lower()).strip("_")[:_LONGEST_ID].strip("_")
        base = plain or "aircraft"
        taken = {*self.workspace.installation_paths, *self.drafts()}
        taken |= {path.stem for path in self.workspace.user_installations.glob("*.yaml")}
        name, number = base, 2
        while name in taken:
            name, number = f"{base}_{number}", number + 1
        return name

    def drafts(self) -> dict[str, Answers]:
        """Return the answers that aren't saved yet, by aircraft id."""
        self.problems = []
        found: dict[str, Answers] = {}
        for path in sorted(self._drafts.glob("*.json")):
            try:
                answers = Answers.from_json(json.loads(read_text(path)))
                if answers.id != path.stem:
                    raise AnswerError(f"answers of '{answers.id}'")
            except (ValueError, RecursionError, TrainerError) as error:
                self.problems.append(f"{path}: a draft that can't be read ({error})")
                continue
            found[answers.id] = answers
        return found

    def keep(self, answers: Answers) -> None:
        """Write a draft; it is on the disk when this returns.

        Raises:
            AnswerError: It can't be written.
        """
        path = self._drafts / f"{answers.id}.json"
        temporary = path.with_suffix(".tmp")
        try:
            self._drafts.mkdir(parents=True, exist_ok=True)
            with temporary.open("w", encoding="utf-8") as file:
                json.dump(answers.to_json(), file, ensure_ascii=False, indent=1)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(path)
        except OSError as error:
            raise AnswerError(f"{path}: the draft isn't kept ({error})") from error

    def drop(self, answers: Answers) -> None:
        """Take a draft away; the aircraft's file stays."""
        (self._drafts / f"{answers.id}.json").unlink(missing_ok=True)

    def unfinished(self, answers: Answers) -> Unfinished | None:
        """Return the first answer that can't be saved, or None."""
        for question in questions_of(self.chart_of(answers)):
            problem = answer_problem(question, answers.answer(question))
            if problem:
                return Unfinished(question, problem)
        return None

    def edit_of(self, answers: Answers) -> Installation | None:
        """Return the aircraft as it would be, if it is saved already and would act otherwise."""
        before = self.workspace.installations.get(answers.id)
        if before is None or not self.is_own(answers.id):
            return None
        after = installation_of(answers, self.chart_of(answers))
        return after if changes_logic(before, after) else None

    def save(self, answers: Answers) -> Path:
        """Write the aircraft's file, drop its draft, and let the program know the aircraft.

        Raises:
            FileError: The answers contradict each other; nothing is lost.
            AnswerError: The file can't be written, or another aircraft is called so.
        """
        path = self.workspace.user_installations / f"{answers.id}.yaml"
        if answers.id in self.workspace.installation_paths and not self.is_own(answers.id):
            raise AnswerError(f"'{answers.id}' comes with the program; make a copy to change it")
        saved = self.workspace.installations.get(answers.id)
        if saved is None or saved.title != answers.title:  # two of a name from before may stay
            self.refuse_title(answers.title, answers.id)
        chart = self.chart_of(answers)
        save_installation(path, answers, chart, self.workspace.charts_folder)
        self.workspace.reload_installations()
        self.drop(answers)
        return path


def _plain(title: str) -> str:
    """Return a name without what a reader doesn't see as a difference."""
    return " ".join(title.split()).casefold()


def flyable(answers: Answers, questions: tuple[Question, ...]) -> Answers:
    """Return the answers as they can be flown and counted.

    A value that isn't accepted becomes the default, and an answer that isn't finished counts as a
    placeholder.
    """
    for question in questions:
        answer = answers.answer(question)
        if answer_problem(question, answer):
            value = usable_value(question, answer.value)
            answers = answers.with_answer(question, Answer(value))
    return answers
