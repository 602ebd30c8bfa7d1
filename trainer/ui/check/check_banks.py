"""Fetches item banks for the window, one at a time, beside it; with news and a way to stop."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from trainer.errors import StoppedError
from trainer.ui.check.check_bank_worker import BankNews, compute_bank
from trainer.ui.check.check_wait import NOT_KNOWN
from trainer.ui.check.check_words import bank_words
from trainer.ui.window.background import Background, Progress

if TYPE_CHECKING:
    from trainer.app import Workspace

Check = Callable[[], None]
Known = tuple[Any, Any]
"""Library and bank of an installation."""


class Banks(QObject):
    """Knows the banks that were fetched; a page that waits is told."""

    waiting = Signal(str, float)
    """What is going on, or an empty text when nothing is; the part that is done, -1: not known."""

    def __init__(
        self,
        workspace: Workspace,
        parent: QObject | None = None,
        compute: Callable[..., Known] = compute_bank,
    ) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._compute = compute
        self._is_stopped = False
        self.background = Background(self)

    def fetch(
        self, name: str, done: Callable[[Known], None], failed: Callable[[str], None]
    ) -> bool:
        """Have a bank handed to `done`, at once if it is known; False if another one is fetched."""
        if self.background.is_busy:
            return False
        self._is_stopped = False
        self.waiting.emit(bank_words(BankNews(0.0, 0.0)), NOT_KNOWN)

        def work(progress: Progress) -> Known:
            return self._compute(self._workspace, name, progress, lambda: self._is_stopped)

        return self._run(work, done, failed)

    def run(
        self,
        work: Callable[[Check], Any],
        done: Callable[[Any], None],
        failed: Callable[[str], None],
    ) -> bool:
        """Do something else that takes a while; False if something is being done.

        Args:
            work: Done in a thread; given what to call now and then, which ends it when stopped.
            done: Given the result.
            failed: Given the reason if it can't be done or was stopped.
        """
        self._is_stopped = False

        def check() -> None:
            if self._is_stopped:
                raise StoppedError("stopped")

        return self._run(lambda _progress: work(check), done, failed)

    def _run(
        self,
        work: Callable[[Progress], Any],
        done: Callable[[Any], None],
        failed: Callable[[str], None],
    ) -> bool:

        def end(result: Any) -> None:
            self.waiting.emit("", NOT_KNOWN)
            done(result)

        def fail(words: str) -> None:
            self.waiting.emit("", NOT_KNOWN)
            failed(words)

        return self.background.run(
            work, end, fail, lambda news: self.waiting.emit(bank_words(news), news.done)
        )

    def stop(self) -> None:
        """Stop what is fetched."""
        self._is_stopped = True

    def close(self) -> None:
        """Stop, and wait for the end of it."""
        self.stop()
        self.background.close()
