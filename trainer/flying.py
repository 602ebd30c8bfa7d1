"""What flies, put together without Qt, records or checks: installations, aircraft and lessons.

Importing it takes a third of what `trainer.app` takes, and the command line does so each time.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from pathlib import Path

from trainer.charts.installation import Installation, check_installation, load_installation
from trainer.charts.spec import ChartSpec
from trainer.document import near
from trainer.errors import FileError, FileProblem, MissingFileError, TrainerError
from trainer.flight import AircraftSpec, load_aircraft
from trainer.folders import data_folder
from trainer.lesson.loader import load_lesson
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Lesson
from trainer.resources import resource_folder
from trainer.session.logic import Logic
from trainer.session.session import Session
from trainer.session.situation import SituationError, Start
from trainer.session.start import begin


class FlyingWorkspace:
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
        self._aircraft: dict[str, AircraftSpec] = {}

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
            raise MissingFileError(name, "no such installation", near(name, self.installations))
        return self.installations[name]

    def take_installation(self, path: Path) -> str:
        """Take a ship from any file, in place of one of the same id, and return its id.

        Raises:
            FileError: Something in the file or its chart isn't accepted.
            MissingFileError: A file can't be read.
        """
        ship = load_installation(path, self.charts_folder)
        self.installations[ship.id] = ship
        self.installation_paths[ship.id] = path
        self._logics.pop(ship.id, None)
        return ship.id

    def logic(self, name: str) -> Logic:
        """Return the executable logic of an installation, built once."""
        if name not in self._logics:
            self._logics[name] = Logic(self.installation(name))
        return self._logics[name]

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

    def lesson(self, path: Path) -> Lesson:
        """Return the lesson of a file.

        Raises:
            FileError: Something in the file isn't accepted.
            MissingFileError: The file can't be read.
        """
        return load_lesson(path, self.charts)

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
