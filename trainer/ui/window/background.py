"""Long work off the paint path: one job at a time in a thread, its news back in the window's."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal

from trainer.errors import TrainerError

Progress = Callable[[Any], None]
Work = Callable[[Progress], Any]


class Background(QObject):
    """Runs a job; whoever asked is told of its progress, its end or its failure."""

    busy = Signal(bool)
    _moved = Signal(int, object)
    _ended = Signal(int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._thread: threading.Thread | None = None
        self._number = 0
        self._done: Callable[[Any], None] = lambda _result: None
        self._failed: Callable[[str], None] = lambda _words: None
        self._progress: Progress = lambda _news: None
        self._moved.connect(self._move, Qt.ConnectionType.QueuedConnection)
        self._ended.connect(self._end, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """True while a job runs."""
        return self._thread is not None

    def run(
        self,
        work: Work,
        done: Callable[[Any], None],
        failed: Callable[[str], None],
        progress: Progress = lambda _news: None,
    ) -> bool:
        """Begin a job; False if another one runs still.

        Args:
            work: Done in the thread; it opens its own files and touches no widget.
            done: Given the result, in this thread.
            failed: Given the reason of a TrainerError, in this thread.
            progress: Given what the work reports, in this thread.
        """
        if self.is_busy:
            return False
        self._number += 1
        self._done, self._failed, self._progress = done, failed, progress
        number = self._number
        self._thread = threading.Thread(target=self._work, args=(number, work), daemon=True)
        self.busy.emit(True)
        self._thread.start()
        return True

    def close(self) -> None:
        """Wait for the job; nobody is told of its end any more."""
        self._number += 1
        if self._thread is not None:
            self._thread.join()
            self._thread = None
            self.busy.emit(False)

    def _work(self, number: int, work: Work) -> None:
        try:
            result = work(lambda news: self._moved.emit(number, news))
        except Exception as error:  # raised again in the window's thread
            self._ended.emit(number, None, error)
        else:
            self._ended.emit(number, result, None)

    def _move(self, number: int, news: object) -> None:
        if number == self._number:
            self._progress(news)

    def _end(self, number: int, result: object, error: Exception | None) -> None:
        if number != self._number:
            return
        done, failed = self._done, self._failed
        self._thread.join()
        self._thread = None
        self.busy.emit(False)  # which may begin the next job
        if error is None:
            done(result)
        elif isinstance(error, TrainerError):
            failed(str(error))
        else:
            raise error
