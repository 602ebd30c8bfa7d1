"""Makes the page 'Differences' when first asked for; its longer work runs off the paint path."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from trainer.errors import StoppedError, TrainerError
from trainer.parts import program_version
from trainer.report.differences_render import write_briefing
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.ui.differences.differences_page import DifferencesPage
from trainer.ui.differences.differences_study import Progress, Studied, study, write_lessons
from trainer.ui.lesson.practice import Answered
from trainer.ui.lesson.practice_page import strip_colours
from trainer.ui.lesson.recorder import now_utc
from trainer.ui.look.theme import LIGHT, Theme
from trainer.ui.look.words import words_of_chart
from trainer.ui.window.background import Background

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.assessment.answers.tutor import Tutor
    from trainer.ui.differences.differences_check_page import DifferencesCheckPage

BRIEFING_FILTER = "Page to print (*.pdf);;Web page (*.html)"
LESSON_FILTER = "Lessons (*.yaml)"


class DifferencesDoor(QObject):
    """Owns the page and what it compares."""

    closed = Signal()
    opened = Signal(object)
    """The page, to be shown again."""
    flown = Signal(object)
    """A `Practice` that is to be flown."""
    kept = Signal(object, object)
    """`Answered` and the `Tutor` that it was given in, for the records."""

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._look: tuple[Theme, StripDesign] = (LIGHT, DEFAULT_DESIGN)
        self._is_stopped = False
        self.background = Background(self)
        self.made: DifferencesPage | None = None
        self.check: DifferencesCheckPage | None = None

    def page(self, known: str = "") -> QWidget:
        """Return the page, with a ship chosen as the known one."""
        if self.made is None:
            ships = self._workspace.installations
            generic = next(iter(ships.values())).generic
            self.made = DifferencesPage(words_of_chart(generic))
            self.made.closed.connect(self.closed)
            self.made.compare_asked.connect(self.compare)
            self.made.stop_asked.connect(self.stop)
            self.made.briefing_asked.connect(self._ask_briefing)
            self.made.lessons_asked.connect(self._ask_lessons)
            self.made.fly_asked.connect(self.fly)
            self.made.check_asked.connect(self.take_check)
            self.set_look(*self._look)
        titles = {name: one.title for name, one in self._workspace.installations.items()}
        self.made.show_ships(titles, known)
        return self.made

    def set_look(self, theme: Theme, design: StripDesign) -> None:
        """Use a theme and a strip design."""
        self._look = (theme, design)
        if self.made is not None:
            self.made.set_design(design, strip_colours(design, theme))
        if self.check is not None:
            self.check.set_look(theme, design)

    def compare(self, known: str, other: str, third: str) -> None:
        """Compare two or three ships in the background."""
        page = self.made
        if page is None or self.background.is_busy:
            return
        names = (known, other, third) if third else (known, other)
        if len(set(names)) < len(names):
            page.say("Choose ships that aren't the same.", is_problem=True)
            return
        self._is_stopped = False
        now, program = now_utc(), program_version()

        def work(progress: Progress) -> Studied:
            return study(self._workspace, names, now, program, self._stopping(progress))

        page.show_busy("Comparing")
        self.background.run(work, page.show_studied, self._fail, page.show_busy)

    def take_check(self) -> None:
        """Begin the check from the known ship to the other."""
        studied = self.made.studied if self.made is not None else None
        if studied is None or studied.check is None:
            return
        if self.check is None:
            from trainer.ui.differences.differences_check_page import DifferencesCheckPage

            ships = self._workspace.installations
            self.check = DifferencesCheckPage(words_of_chart(next(iter(ships.values())).generic))
            self.check.closed.connect(lambda: self.opened.emit(self.made))
            self.check.kept.connect(self._keep)
            self.set_look(*self._look)
        self.opened.emit(self.check)
        self.check.begin(studied.check)

    def _keep(self, flyer: Tutor, taken_s: float) -> None:
        self.kept.emit(Answered(flyer.outcomes[-1], taken_s), flyer)

    def fly(self, place: int, ship: int) -> None:
        """Let the flight of a row be flown in the first (0) or second (1) ship."""
        from trainer.ui.aircraft.example_practice import difference_practice

        studied = self.made.studied if self.made is not None else None
        if studied is None or not 0 <= place < len(studied.briefing.rows):
            return
        row = studied.briefing.rows[place]
        name = (studied.found.first, studied.found.second)[ship]
        try:
            made = difference_practice(
                row.flown, name, row.sentence, self._workspace, lambda: self.opened.emit(self.made)
            )
        except TrainerError as error:
            self.made.say(str(error), is_problem=True)
        else:
            self.flown.emit(made)

    def stop(self) -> None:
        """Stop comparing at the next report of progress."""
        self._is_stopped = True

    def close(self) -> None:
        """Stop, and wait for the work to end."""
        self.stop()
        self.background.close()

    def save_briefing(self, path: Path) -> None:
        """Write the briefing."""
        self._save(lambda studied: write_briefing(studied.briefing, path), str(path))

    def save_lessons(self, path: Path) -> None:
        """Write the lessons."""
        self._save(lambda studied: write_lessons(studied.lessons, path), str(path))

    def _save(self, write: object, what: str) -> None:
        page = self.made
        if page is None or page.studied is None:
            return
        try:
            write(page.studied)
        except TrainerError as error:
            page.say(str(error), is_problem=True)
        else:
            page.say(f"Saved: {what}")

    def _stopping(self, progress: Progress) -> Progress:
        def report(news: object) -> None:
            if self._is_stopped:
                raise StoppedError("Stopped; nothing was changed.")
            progress(news)

        return report

    def _fail(self, words: str) -> None:
        assert self.made is not None
        self.made.show_busy("")
        self.made.say(words, is_problem=True)

    def _ask_briefing(self) -> None:
        path, _ = QFileDialog.getSaveFileName(
            self.made, "Save the briefing", "differences.pdf", BRIEFING_FILTER
        )
        if path:
            self.save_briefing(Path(path))

    def _ask_lessons(self) -> None:
        path, _ = QFileDialog.getSaveFileName(
            self.made, "Save the lessons", "differences.yaml", LESSON_FILTER
        )
        if path:
            self.save_lessons(Path(path))
