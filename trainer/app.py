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
from trainer.charts.installation import Installation, check_installation, load_installation
from trainer.charts.spec import ChartSpec
from trainer.errors import FileError, FileProblem, MissingFileError, TrainerError
from trainer.flight import AircraftSpec, load_aircraft
from trainer.lesson.competency import FILE_NAME as COMPETENCIES
from trainer.lesson.competency import load_competencies
from trainer.lesson.coverage import Coverage, cover
from trainer.lesson.flown import fly
from trainer.lesson.loader import load_lesson
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Lesson
from trainer.records.attempt import Attempt
from trainer.records.bank_shelf import BankShelf
from trainer.records.fit import fit_requirements, never_checked
from trainer.records.roster import Requirement
from trainer.records.store import Store, data_folder
from trainer.resources import resource_folder
from trainer.session.logic import Logic
from trainer.session.session import Session
from trainer.session.situation import SituationError, Start
from trainer.session.start import begin
from trainer.text_file import read_text


class Workspace:
    """The charts, installations, aircraft and lessons of one folder pair, loaded when asked for.

    Args:
        charts: Folder with charts; None: the program's own.
        lessons: Folder with lessons; None: the program's own.
        user: Folder of the user's data, with their own installations; None: the usual one.
    """

    def __init__(
        self, charts: Path | None = None, lessons: Path | None = None, user: Path | None = None
    ) -> None:
        self.charts_folder = charts or resource_folder("statecharts")
        self.lessons_folder = lessons or resource_folder("lessons")
        self.user_folder = user or data_folder()
        self.user_installations = self.user_folder / "installations"
        self.user_problems: dict[Path, str] = {}
        """The user's own installation files that can't be used, and why."""
        self._logics: dict[str, Logic] = {}
        self._banks: dict[str, tuple[Library, Bank]] = {}
        self._aircraft: dict[str, AircraftSpec] = {}

    @cached_property
    def store(self) -> Store:
        """The user's own attempts, opened at first use.

        Raises:
            RecordsError: The file can't be opened; the message says what mends it.
        """
        return Store.default()

    @cached_property
    def installation_paths(self) -> dict[str, Path]:
        """Installation id -> file, the program's own and then the user's.

        The id is the file's name.
        """
        return {path.stem: path for path in [*self._own_paths, *self._user_paths]}

    @property
    def _own_paths(self) -> list[Path]:
        return sorted((self.charts_folder / "installations").glob("*.yaml"))

    @property
    def _user_paths(self) -> list[Path]:
        taken = {path.stem for path in self._own_paths}
        return [
            path
            for path in sorted(self.user_installations.glob("*.yaml"))
            if path.stem not in taken
        ]

    @cached_property
    def installations(self) -> dict[str, Installation]:
        """All installations, by id; a user's file that can't be used is left out and told.

        Raises:
            FileError: One of the program's own files isn't accepted.
        """
        found = {path.stem: load_installation(path, self.charts_folder) for path in self._own_paths}
        self.user_problems = {}
        for path in sorted(self.user_installations.glob("*.yaml")):
            if path.stem in found:
                self.user_problems[path] = (
                    f"{path}: the id '{path.stem}' is taken by an aircraft of the program;"
                    " accepted: another file name"
                )
                continue
            try:
                found[path.stem] = check_installation(path, self.charts_folder)
            except TrainerError as error:
                self.user_problems[path] = str(error)
        return found

    def reload_installations(self) -> None:
        """Read the installations again: the user has saved one."""
        for name in ("installations", "installation_paths"):
            self.__dict__.pop(name, None)
        self._logics.clear()
        self._banks.clear()

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

    @property
    def charts(self) -> dict[str, ChartSpec]:
        """Specialised chart of every installation, by installation id."""
        return {name: one.chart for name, one in self.installations.items()}

    def installation(self, name: str) -> Installation:
        """Return an installation by id.

        Raises:
            MissingFileError: There is none of that id.
        """
        if name not in self.installations:
            known = ", ".join(self.installations)
            raise MissingFileError(name, "no such installation", known)
        return self.installations[name]

    def logic(self, name: str) -> Logic:
        """Return the executable logic of an installation, built once."""
        if name not in self._logics:
            self._logics[name] = Logic(self.installation(name))
        return self._logics[name]

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

    def aircraft(self, name: str) -> AircraftSpec:
        """Return an aircraft by id, loaded once."""
        if name not in self._aircraft:
            path = self.charts_folder / "aircraft" / f"{name}.yaml"
            self._aircraft[name] = load_aircraft(path)
        return self._aircraft[name]

    def begin(self, installation: str, start: Start) -> Session:
        """Return a session of an installation in a situation.

        Raises:
            SituationError: The situation doesn't hold.
        """
        logic = self.logic(installation)
        return begin(logic, self.aircraft(logic.installation.aircraft), start)

    @cached_property
    def lesson_paths(self) -> tuple[Path, ...]:
        """The shipped lessons' files in graded order, which is the order of their names."""
        return tuple(sorted(self.lessons_folder.glob("*.yaml")))

    def lessons(self) -> list[Lesson]:
        """Return the shipped lessons in graded order."""
        return [self.lesson(path) for path in self.lesson_paths]

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

    def lesson(self, path: Path) -> Lesson:
        """Return the lesson of a file.

        Raises:
            FileError: Something in the file isn't accepted.
            MissingFileError: The file can't be read.
        """
        return load_lesson(path, self.charts)

    def start_lesson(self, lesson: Lesson, installation: str | None = None) -> Tutor:
        """Return a run of a lesson, at its start.

        Args:
            lesson: The lesson.
            installation: Fly it in this installation instead of its own.

        Raises:
            FileError: The lesson's start doesn't hold.
        """
        return Tutor(lesson, self._starter(lesson, installation))

    def start_lesson_without_trainee(
        self, lesson: Lesson, installation: str | None = None
    ) -> LessonRunner:
        """Return a run of a lesson that takes no predictions; otherwise as `start_lesson`."""
        return LessonRunner(lesson, self._starter(lesson, installation))

    def _starter(self, lesson: Lesson, installation: str | None) -> Callable[[], Session]:
        name = installation or lesson.installation

        def start_session() -> Session:
            try:
                return self.begin(name, lesson.start)
            except SituationError as error:
                problem = FileProblem(lesson.path, lesson.start_line, 1, str(error))
                raise FileError([problem]) from error

        return start_session
