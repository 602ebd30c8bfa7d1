"""Reads and flies the lesson in hand off the paint path; only the latest text counts."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from trainer.errors import TrainerError
from trainer.lesson.spec import Lesson
from trainer.lesson.story import Story, tell
from trainer.ui.window.background import Background
from trainer.ui.writing.writing import Begin, Reading


class LessonWorker(QObject):
    """`read` comes first, then `flown` if it is a lesson; both only for the latest text asked."""

    read = Signal(object)
    """A `Reading`."""
    flown = Signal(object)
    """A `Story`."""
    failed = Signal(str)

    def __init__(self, begin: Callable[[Lesson], Begin], parent: QObject | None = None) -> None:
        """Make the worker.

        Args:
            begin: Returns what starts sessions of a lesson's installation.
            parent: Owner.
        """
        super().__init__(parent)
        self._begin = begin
        self._background = Background(self)
        self._wanted: object = None
        self._work: Callable[[], Reading | Story] | None = None

    @property
    def is_busy(self) -> bool:
        """True while something is read or flown."""
        return self._work is not None

    def read_text(self, reader: Callable[[str], Reading], text: str) -> None:
        """Read a text."""
        self._ask(lambda: reader(text))

    def fly(self, lesson: Lesson) -> None:
        """Fly a lesson."""
        wanted = self._wanted = object()
        begin = self._begin(lesson)
        self._ask(lambda: tell(lesson, begin, lambda: self._wanted is wanted), wanted)

    def forget(self) -> None:
        """Nothing is wanted any more."""
        self._wanted = self._work = None

    def close(self) -> None:
        """Stop what runs and wait for its end."""
        self.forget()
        self._background.close()

    def _ask(self, work: Callable[[], Reading | Story], wanted: object = None) -> None:
        self._wanted = wanted or object()
        self._work = work
        if not self._background.is_busy:
            self._run()

    def _run(self) -> None:
        work, wanted = self._work, self._wanted
        if work is None:
            return
        self._background.run(
            lambda _progress: _tried(work),
            lambda result: self._take(result, wanted),
            self.failed.emit,
        )

    def _take(self, result: Reading | Story | TrainerError, wanted: object) -> None:
        if wanted is not self._wanted:
            self._run()
            return
        self._work = None
        if isinstance(result, Story):
            self.flown.emit(result)
        elif isinstance(result, Reading):
            self.read.emit(result)
        else:
            self.failed.emit(str(result))


def _tried(work: Callable[[], Reading | Story]) -> Reading | Story | TrainerError:
    try:
        return work()
    except TrainerError as error:
        return error
