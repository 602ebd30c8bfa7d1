"""Studies an edit of an aircraft in the background, and asks before it is saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from trainer.charts.installation import Installation
from trainer.errors import StoppedError, TrainerError
from trainer.ui.aircraft.aircraft_impact import Told, enter_in_book, tell_edit
from trainer.ui.aircraft.aircraft_impact_page import ImpactPage
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.differences.differences_study import Progress
from trainer.ui.lesson.recorder import now_utc
from trainer.ui.lesson.user_lessons import UserLessons
from trainer.ui.window.background import Background

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.lesson.spec import Lesson

STOPPED = "Stopped; nothing was saved."


class ImpactDoor(QObject):
    """Owns the page; what is to be done about an edit is told by its signals."""

    closed = Signal()
    confirmed = Signal()
    """The edit is to be saved."""

    def __init__(
        self,
        folder: Path,
        workspace: Workspace,
        parent: QObject | None = None,
        now: Callable[[], str] = now_utc,
    ) -> None:
        """Make the door.

        Args:
            folder: Where the user's lessons are, and which club book was open last.
            workspace: The installations as they are.
            parent: Who owns the door.
            now: The moment as text.
        """
        super().__init__(parent)
        self._folder, self._workspace, self._now = folder, workspace, now
        self._is_stopped = False
        self._told: Told | None = None
        self._enters = False
        self.background = Background(self)
        self.made = ImpactPage()
        self.made.closed.connect(self._go_back)
        self.made.stop_asked.connect(self.stop)
        self.made.saved.connect(self._confirm)

    def ask(self, edited: Installation) -> ImpactPage:
        """Return the page, on which an edit is studied."""
        self.stop()
        self.background.close()
        self._is_stopped, self._told = False, None
        lessons, book = self._lessons(), ClubDesk(self._folder, self._workspace).latest
        now_text = self._now()

        def work(progress: Progress) -> Told:
            return tell_edit(
                self._workspace, edited, lessons, self._stopping(progress),
                book=book, now_utc=now_text,
            )  # fmt: skip

        self.made.show_busy(edited.title, "Comparing it with what is saved")
        self.background.run(work, self._show, self.made.show_failure, self.made.show_progress)
        return self.made

    def stop(self) -> None:
        """Stop at the next report of progress."""
        self._is_stopped = True

    def close(self) -> None:
        """Stop, and wait for the work to end."""
        self.stop()
        self.background.close()

    def enter(self) -> str:
        """After the edit is saved, enter it in the club's book if that was wanted.

        Raises:
            TrainerError: The book can't be written.
        """
        told, self._told = self._told, None
        if not self._enters or told is None:
            return ""
        return enter_in_book(told, self._workspace)

    def _lessons(self) -> list[Lesson]:
        lessons: list[Lesson] = []
        for path in self._workspace.lesson_paths:
            try:
                lessons.append(self._workspace.lesson(path))
            except TrainerError:
                continue  # the page of lessons tells it
        own, _ = UserLessons(self._folder).read(self._workspace.lesson)
        return [*lessons, *own]

    def _stopping(self, progress: Progress) -> Progress:
        def report(news: object) -> None:
            if self._is_stopped:
                raise StoppedError(STOPPED)
            progress(news)

        return report

    def _show(self, told: Told) -> None:
        self._told = told
        self.made.show_told(told)

    def _go_back(self) -> None:
        self.stop()
        self.closed.emit()

    def _confirm(self, enters: bool) -> None:
        self._enters = enters
        self.confirmed.emit()
