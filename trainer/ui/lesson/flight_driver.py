"""Drives what flies by the clock on the wall, and passes on what the trainee does to it."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from trainer.errors import TrainerError

if TYPE_CHECKING:
    from trainer.ui.lesson.practice import Practice

_FRAME_MS = 16


class FlightDriver(QObject):
    """Ticks a practice while the clock runs; `changed` says that there is something to show."""

    changed = Signal(int)
    """Number of the frame, or -1 if everything is to be shown."""
    failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._practice: Practice | None = None
        self._frame = 0
        self._last_tick_s = time.monotonic()
        self._timer = QTimer(self)
        self._timer.setInterval(_FRAME_MS)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._tick)

    @property
    def practice(self) -> Practice | None:
        """What flies; of the one that is left an answer that is in is kept."""
        return self._practice

    @practice.setter
    def practice(self, practice: Practice | None) -> None:
        self.settle()
        self._practice = practice

    def settle(self) -> None:
        """Let an answer that is in be known and kept, whatever becomes of the flight."""
        if self._practice is not None:
            try:
                self._practice.settle()
            except TrainerError as error:
                self.failed.emit(f"The answer isn't kept: {error}")

    def start_clock(self) -> None:
        """Let time run with the clock on the wall."""
        self._last_tick_s = time.monotonic()
        self._timer.start()

    def stop_clock(self) -> None:
        """Let time pass only through `advance`."""
        self._timer.stop()

    def advance(self, real_s: float) -> None:
        """Let real time pass for what flies."""
        practice = self.practice
        if practice is None:
            return
        was_moving = practice.is_moving
        phase = practice.flyer.phase
        try:
            practice.tick(real_s)
        except TrainerError as error:
            practice.is_running = False
            self.failed.emit(f"{error}. Restart the lesson to fly it as written.")
        if practice.flyer.phase != phase:
            self.changed.emit(-1)
        elif was_moving:
            self._frame += 1
            self.changed.emit(self._frame)

    def act(self, act: Callable[[Practice], None]) -> None:
        """Let the trainee act on what flies."""
        if self.practice is None:
            return
        try:
            act(self.practice)
        except TrainerError as error:
            self.failed.emit(str(error))
        self.changed.emit(-1)

    def _tick(self) -> None:
        now_s = time.monotonic()
        elapsed_s, self._last_tick_s = now_s - self._last_tick_s, now_s
        self.advance(elapsed_s)
