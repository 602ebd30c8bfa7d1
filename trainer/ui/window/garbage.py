"""Garbage is collected in the window's thread only.

Python collects in whichever thread happens to make the next object. A widget that belongs to a
cycle would then be destroyed by a thread that does long work, which Qt doesn't survive.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

LOOK_EVERY_MS = 200
FULL_SHARE = 0.005
"""Share of the time that collections of everything may take."""
FULL_EVERY_S = 20.0


class GarbageCollector(QObject):
    """Takes over collecting from Python until it is stopped.

    Args:
        parent: Whoever owns it.
        clock: Seconds that only go on.
    """

    def __init__(
        self, parent: QObject | None = None, clock: Callable[[], float] = time.perf_counter
    ) -> None:
        super().__init__(parent)
        self._clock = clock
        self._next_full_s = clock() + FULL_EVERY_S
        self._was_on = gc.isenabled()
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_EVERY_MS)
        self._timer.timeout.connect(self.look)

    def start(self) -> None:
        """Collect here from now on."""
        gc.disable()
        self._timer.start()

    def stop(self) -> None:
        """Leave collecting to Python again."""
        self._timer.stop()
        if self._was_on:
            gc.enable()

    def look(self) -> None:
        """Collect what is due: young objects often, everything seldom."""
        now_s = self._clock()
        young, middle, _old = gc.get_threshold()
        young_count, middle_count, old_count = gc.get_count()
        if old_count and now_s >= self._next_full_s:
            gc.collect()
            taken_s = self._clock() - now_s
            self._next_full_s = now_s + max(FULL_EVERY_S, taken_s / FULL_SHARE)
        elif middle_count > middle:
            gc.collect(1)
        elif young_count > young:
            gc.collect(0)
