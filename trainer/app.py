"""The composition root without Qt: finds the files, builds what flies, hands out lessons.

Everything that the command line and the window share is put together here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cached_property
from pathlib import Path

from trainer.assessment.answers.tutor import Tutor
from trainer.assessment.check.check_plan_file import FILE_NAME as CHECK_PLANS
from trainer.assessment.check.check_plan_file import NamedPlan, load_check_plans
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.items.item import Item
from trainer.assessment.items.lesson_items import prompt_items
from trainer.assessment.items.phases import Watch
from trainer.assessment.wrong_rules.distinguish import UNSEEN, unseen
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.charts.carried import OwnAircraft
from trainer.errors import TrainerError
from trainer.flying import FlyingWorkspace
from trainer.lesson.competency import FILE_NAME as COMPETENCIES
from trainer.lesson.competency import load_competencies
from trainer.lesson.coverage import Coverage, cover
from trainer.lesson.flown import fly
from trainer.lesson.spec import Lesson
from trainer.records.attempt import Attempt
from trainer.records.bank_shelf import BankShelf
from trainer.records.fit import fit_requirements, never_checked
from trainer.records.roster import Requirement
from trainer.records.store import Store
from trainer.text_file import read_text


class Workspace(FlyingWorkspace):
    """What flies, with the user's records, the check and the wrong rules; likewise when asked for.

    Args:
        charts: Folder with charts; None: the program's own.
        lessons: Folder with lessons; None: the program's own.
        user: Folder of the user's data, with their own installations; None: the usual one.
    """

    def __init__(
        self, charts: Path | None = None, lessons: Path | None = None, user: Path | None = None
    ) -> None:
        super().__init__(charts, lessons, user)
        self._banks: dict[str, tuple[Library, Bank]] = {}

    def reload_installations(self) -> None:
        """Read the installations again: the user has saved one."""
        super().reload_installations()
        self._banks.clear()

    def take_installation(self, path: Path) -> str:
        """Take a ship from any file, in place of one of the same id, and return its id."""
        name = super().take_installation(path)
        self._banks.pop(name, None)
        return name

    @cached_property
    def store(self) -> Store:
        """The user's own attempts, opened at first use.

        Raises:
            RecordsError: The file can't be opened; the message says what mends it.
        """
        return Store.default()

    @property
    def own_aircraft(self) -> OwnAircraft:
        """Where an aircraft that somebody hands on is put."""
        return OwnAircraft(self.charts_folder, self.user_installations)

    def carried_text(self, name: str) -> str:
        """Return the file of a user's aircraft, to go with what is handed on to others.

        Empty for an aircraft of the program: everybody has those.

        Raises:
            MissingFileError: There is none of that id, or its file can't be read.
        """
        self.installation(name)  # refuses a name that isn't there, or whose file isn't accepted
        path = self.installation_paths[name]
        return read_text(path) if path.parent == self.user_installations else ""

    def requirements(self, installation: str, valid_days: int) -> list[Requirement]:
        """Return what an installation requires of a member, as a club book takes it.

        Args:
            installation: Its id.
            valid_days: How long readiness lasts after a check [days].
        """
        fit = self.installation(installation)
        competencies = load_competencies(self.charts_folder / COMPETENCIES, fit.generic)
        return fit_requirements(fit, competencies.values(), valid_days)

    def never_checked(self, installation: str) -> tuple[str, ...]:
        """Return the titles of competencies that are not required: no check asks about them."""
        fit = self.installation(installation)
        competencies = load_competencies(self.charts_folder / COMPETENCIES, fit.generic)
        return tuple(one.title for one in never_checked(fit, competencies.values()))

    @property
    def check_plans_path(self) -> Path:
        """The plans of the check: the club's own file in the data folder, or the program's."""
        own = self.user_folder / CHECK_PLANS
        return own if own.exists() else self.charts_folder / CHECK_PLANS

    def check_plans(self) -> dict[str, NamedPlan]:
        """Return the plans of the check by id.

        Raises:
            FileError: The file isn't accepted.
        """
        return load_check_plans(self.check_plans_path)

    def require_assignable(self, lessons: Iterable[str], form: str) -> None:
        """Refuse what no member could do: an unknown lesson, or a form that the club hasn't got.

        Args:
            lessons: Ids of lessons.
            form: Id of a form of the check.

        Raises:
            TrainerError: One isn't there; the message lists those that are.
        """
        forms, known = self.check_plans(), [path.stem for path in self.lesson_paths]
        if form not in forms:
            raise TrainerError(f"no form '{form}' of the check; accepted: {', '.join(forms)}")
        unknown = [one for one in lessons if one not in known]
        if unknown:
            raise TrainerError(f"no lesson '{unknown[0]}'; accepted: {', '.join(known)}")

    def library(self, name: str) -> Library:
        """Return the misconceptions fitted to an installation.

        Once its item bank is there, without those that no strip ever shows.
        """
        if name in self._banks:
            return self._banks[name][0]
        logic = self.logic(name)
        return Library(logic, load_folder(self.charts_folder, logic.installation.generic))

    def kept_bank(self, name: str) -> tuple[Library, Bank] | None:
        """Return the library and item bank of an installation if nothing has to be computed."""
        if name not in self._banks:
            bank = self._shelf.take(self._bank_source(name))
            if bank is None:
                return None
            self._banks[name] = self._fitted(self.library(name), bank)
        return self._banks[name]

    @staticmethod
    def _fitted(library: Library, bank: Bank) -> tuple[Library, Bank]:
        library.leave_out(bank.unseen, UNSEEN)
        return library, bank

    def bank(self, name: str, watch: Watch = lambda _: None) -> tuple[Library, Bank]:
        """Return the library and item bank of an installation, made once and then kept.

        Args:
            name: Id of the installation.
            watch: Told what part of the making is done, if it has to be made.
        """
        kept = self.kept_bank(name)
        if kept is None:
            bank = self.made_bank(name, watch)
            kept = self._banks[name] = self._fitted(self.library(name), bank)
            self._shelf.keep(self._bank_source(name), bank)
        return kept

    def made_bank(self, name: str, watch: Watch = lambda _: None) -> Bank:
        """Return the item bank of an installation made anew, whatever is kept.

        Args:
            name: Id of the installation.
            watch: Told what part is done, from 0.0 to 1.0; 1.0 before the last look for rules
                that no strip ever shows.
        """
        logic = self.logic(name)
        library = Library(logic, load_folder(self.charts_folder, logic.installation.generic))
        bank = build_bank(library, lambda start: self.begin(name, start), watch=watch)
        watch(1.0)
        never = unseen(library, bank.unexposed)
        left = tuple(one for one in bank.unexposed if one not in never)
        return replace(bank, unexposed=left, unseen=never)

    def items_answered(
        self, attempts: Iterable[Attempt], name: str, watch: Callable[[], None] | None = None
    ) -> tuple[dict[str, Item], tuple[str, ...]]:
        """Return the items that answers in an aircraft are to, and the lessons that aren't here.

        Args:
            attempts: The answers; each lesson among them is flown once.
            name: Id of the installation.
            watch: Called before each lesson; what it raises ends the flying.
        """
        attempts = list(attempts)
        library, paths = self.library(name), {path.stem: path for path in self.lesson_paths}
        wanted = dict.fromkeys(one.lesson_id for one in attempts if not one.item_id)
        found: dict[str, Item] = {}
        for lesson_id in wanted:
            if watch is not None:
                watch()
            if lesson_id in paths:
                lesson = self.lesson(paths[lesson_id])
                runner = self.start_lesson_without_trainee(lesson, name)
                found.update((item.id, item) for item in prompt_items(runner, library))
        if any(one.item_id for one in attempts):
            found.update((item.id, item) for item in self.bank(name)[1].items)
        return found, tuple(one for one in wanted if one not in paths)

    def carried_bank(self, name: str) -> bytes:
        """Return the file of the bank of a user's aircraft, to go with `carried_text`.

        Empty if the bank wasn't made here yet, and for an aircraft of the program.
        """
        path = self._bank_source(name)
        is_own = path.parent == self.user_installations
        return self._shelf.handed_on(path) if is_own else b""

    @property
    def _shelf(self) -> BankShelf:
        return BankShelf(self.charts_folder, self.user_folder)

    def _bank_source(self, name: str) -> Path:
        self.installation(name)  # refuses a name that isn't there
        return self.installation_paths[name]

    def coverage(self, installation: str) -> Coverage:
        """Return what the shipped lessons exercise of an installation; flying them takes seconds.

        Raises:
            FileError: A lesson isn't accepted, or doesn't fly to its end.
        """
        flown = [
            (lesson.id, fly(self.start_lesson_without_trainee(lesson)))
            for lesson in self.lessons()
            if lesson.installation == installation
        ]
        return cover(self.installation(installation), flown)

    def start_lesson(self, lesson: Lesson, installation: str | None = None) -> Tutor:
        """Return a run of a lesson, at its start.

        Args:
            lesson: The lesson.
            installation: Fly it in this installation instead of its own.

        Raises:
            FileError: The lesson's start doesn't hold.
        """
        return Tutor(lesson, self._starter(lesson, installation))
