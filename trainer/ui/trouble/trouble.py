"""Meets every exception that nobody expected: one dialog, one report, all answers kept.

PySide hands exceptions of slots, events and painting to `sys.excepthook`, and Python those of
threads to `threading.excepthook`. Nothing is shown from there: it may be in the midst of painting.
"""

from __future__ import annotations

import sys
import threading
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer, Signal, qVersion
from PySide6.QtWidgets import QApplication

from trainer.trouble import Trouble, report_text, save_report, trouble_of
from trainer.ui.lesson.moment import now_utc
from trainer.ui.trouble.trouble_dialog import TroubleDialog
from trainer.ui.trouble.trouble_events import LastEvents

if TYPE_CHECKING:
    from trainer.ui.lesson.practice import Practice
    from trainer.ui.window.main_window import MainWindow

QUIET_S = 10.0
"""For so long the same mistake opens no second dialog; twice as long each time it comes back."""
_LONGEST_QUIET_S = 300.0
_COUNT_EVERY_MS = 500


class TroubleDesk(QObject):
    """Takes mistakes down, tells them, and lets the user go on.

    Attributes:
        dialog: The one that is open, or was last.
        further: Mistakes that came while it was open.
    """

    _met = Signal(object)

    def __init__(self, window: MainWindow, folder: Path) -> None:
        super().__init__(window)
        self._window = window
        self._folder = folder
        self.events = LastEvents(self)
        self.dialog: TroubleDialog | None = None
        self.further = 0
        self._lock = threading.Lock()
        self._is_telling = False
        self._last_place = ""
        self._quiet_s = QUIET_S
        self._quiet_until_s = 0.0
        self._before: tuple[Callable[..., object], Callable[..., object]] | None = None
        self._counting = QTimer(self)
        self._counting.setInterval(_COUNT_EVERY_MS)
        self._counting.timeout.connect(self._count)
        self._met.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    def install(self, app: QApplication) -> None:
        """Begin to meet what nobody else does."""
        self._before = (sys.excepthook, threading.excepthook)
        sys.excepthook = lambda _kind, error, _trace: self.meet(error, "window")
        threading.excepthook = lambda raised: self.meet(raised.exc_value, "worker")
        self.events.watch(app)

    def remove(self) -> None:
        """Leave exceptions to whoever had them before."""
        if self._before is not None:
            sys.excepthook, threading.excepthook = self._before
            self._before = None

    def after_start(self, hard_end: Path | None) -> None:
        """Take back answers that were put aside, and say how the program ended last time.

        Args:
            hard_end: The report of an end that nothing could be done about; None: there was none.
        """
        from trainer.ui.trouble.rescued_answers import take_back

        words = []
        if self._window.desk is not None and take_back(self._folder, self._window.desk.recorder):
            words.append("Answers put aside after a mistake are stored now.")
        if hard_end is not None:
            words.append(
                "The program ended by itself last time; every answer given is stored. A report"
                f" without names, which you may send: {hard_end}"
            )
        if words:
            self._window.say(" ".join(words))

    def meet(self, error: BaseException | None, where: str) -> None:
        """Take an exception down, in any thread, and let it be told from the window's own.

        Args:
            error: The exception.
            where: In which part of the program it was raised.
        """
        if isinstance(error, KeyboardInterrupt):
            QApplication.exit(130)
            return
        if error is None or isinstance(error, SystemExit):
            return
        with self._lock:
            is_first = not self._is_telling and not self._is_quiet(error)
            self._is_telling = self._is_telling or is_first
            self.further += not is_first
        trouble = trouble_of(error, where) if is_first else None
        _let_go(error)
        if trouble is not None:
            self._met.emit(trouble)

    def _is_quiet(self, error: BaseException) -> bool:
        return _place(error) == self._last_place and time.monotonic() < self._quiet_until_s

    def _tell(self, trouble: Trouble) -> None:
        try:
            self._show(trouble)
        except Exception as error:  # telling must never be what ends the program
            sys.stderr.write(f"{trouble.traceback}\nand while telling it: {error!r}\n")
            self._is_telling = False

    def _show(self, trouble: Trouble) -> None:
        from trainer.parts import versions

        window, at_utc = self._window, now_utc()
        sys.stderr.write(trouble.traceback)
        self._last_place = f"{trouble.kind} {trouble.place}"
        window.driver.stop_clock()
        practice = window.practice
        if practice is not None:
            practice.is_running = False
        answers = self._keep_answers()
        text = report_text(
            trouble, at_utc, events=self.events.lines, names=self._names(),
            folder=self._folder, versions={"Qt": qVersion(), **versions()},
        )  # fmt: skip
        self.events.note(f"mistake {trouble.kind} at {trouble.place}")
        path = save_report(self._folder, text, at_utc)
        self.further = 0
        self.dialog = TroubleDialog(QApplication.activeModalWidget() or window)
        self.dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.dialog.tell(trouble.words, answers, text, path)
        self.dialog.offer_again(_again_words(practice))
        self.dialog.on_go_on = self._go_on
        self.dialog.on_again = self._begin_again
        self.dialog.finished.connect(self._closed)
        self.dialog.open()
        self._counting.start()

    def _count(self) -> None:
        if self.dialog is not None:
            self.dialog.count(self.further)

    def _keep_answers(self) -> str:
        desk = self._window.desk
        if desk is None:
            return "No answer was given yet."
        from trainer.ui.trouble.rescued_answers import put_aside

        recorder = desk.recorder
        with suppress(Exception):
            recorder.store_waiting()
        if not recorder.waiting:
            return "Every answer given so far is stored."
        path = put_aside(self._folder, recorder.waiting)
        count = len(recorder.waiting)
        if path is None:
            return f"{count} answers could not be stored; they are kept until the program ends."
        return f"{count} answers could not be stored yet; they are kept in {path}."

    def _names(self) -> set[str]:
        """Return the names of all members that are known here."""
        names = {self._window.preferences.member}
        desk = self._window.desk
        if desk is not None:
            with suppress(Exception):
                names.update(desk.recorder.opened().members())
            with suppress(Exception):
                book = desk.club.page.desk.opened
                names.update(one.name for one in book.members())
                names.add(book.club_name)
        return names

    def _closed(self) -> None:
        self.dialog = None
        self._counting.stop()
        self._quiet_until_s = time.monotonic() + self._quiet_s
        self._quiet_s = min(2 * self._quiet_s, _LONGEST_QUIET_S)
        self._is_telling = False

    def _go_on(self) -> None:
        window = self._window
        if window.desk is not None and window.practice is not None:
            window.refresh()
            if window.pages.currentWidget() is window.desk.page:
                window.driver.start_clock()

    def _begin_again(self) -> None:
        window, old = self._window, self._window.practice
        if window.desk is None:
            window.load()
        elif old is None:
            window.show_lessons()
        elif not old.is_lesson:
            window.desk.take_up(old)
            window.fly_on_from(old.log.latest_s)
        else:
            begin = window.open_preview if old.is_preview else window.open_lesson
            begin(old.flyer.lesson)
            if window.practice is not old:
                from trainer.ui.trouble.catch_up import catch_up

                catch_up(window.practice.flyer, old.flyer)
                window.practice.log.keep(window.practice.session)
                window.desk.page.show_practice(window.practice)
                window.refresh()


def _again_words(practice: Practice | None) -> str:
    if practice is None:
        return "Go to the lessons"
    return "Begin again from this question" if practice.is_lesson else "Fly on from before it"


def _place(error: BaseException) -> str:
    frames = list(traceback.walk_tb(error.__traceback__))[-1:]
    where = "".join(f"{Path(f.f_code.co_filename).name}:{line}" for f, line in frames)
    return f"{type(error).__name__} {where or 'nowhere'}"


def _let_go(error: BaseException) -> None:
    """Let go of the frames: a painter kept alive in one would spoil the next painting."""
    traceback.clear_frames(error.__traceback__)
    error.__traceback__ = None
    for name in ("last_type", "last_value", "last_traceback", "last_exc"):
        if hasattr(sys, name):
            delattr(sys, name)
