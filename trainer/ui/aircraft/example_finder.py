"""Works an example out in short slices between two paints, and remembers what it found."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal

from trainer.charts.installation import Installation
from trainer.charts.questionnaire import Question
from trainer.errors import TrainerError
from trainer.flight import AircraftSpec
from trainer.session.choice_example import Search, choice_examples
from trainer.session.example_words import Example
from trainer.session.limit_example import limit_examples

_SLICE_S = 0.02
_MOST_KEPT = 200


class ExampleFinder(QObject):
    """One search at a time; a new one ends the old."""

    found = Signal(object)
    """A tuple of `Example`."""
    failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._search: Search | None = None
        self._key: object = None
        self._known: dict[object, tuple[Example, ...]] = {}
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._work)

    @property
    def is_busy(self) -> bool:
        """True while it searches."""
        return self._search is not None

    def look_for(
        self, question: Question, base: Installation, aircraft: Callable[[], AircraftSpec]
    ) -> None:
        """Begin to search examples for a question in an aircraft as answered so far."""
        self.stop()
        self._key = _key_of(question, base)
        if self._key in self._known:
            self.found.emit(self._known[self._key])
            return
        search = choice_examples if question.kind == "option" else limit_examples
        try:
            self._search = search(base, aircraft(), question.id)
        except TrainerError as error:
            self.failed.emit(str(error))
            return
        self._timer.start()

    def stop(self) -> None:
        """End the search."""
        self._timer.stop()
        self._search = None

    def run_to_end(self) -> None:
        """Search without a pause: for pictures and tests."""
        while self._search is not None:
            self._work()

    def _work(self) -> None:
        search = self._search
        if search is None:
            return
        end_s = time.monotonic() + _SLICE_S
        try:
            while time.monotonic() < end_s:
                next(search)
        except StopIteration as end:
            self.stop()
            if len(self._known) >= _MOST_KEPT:
                self._known.clear()
            self._known[self._key] = end.value
            self.found.emit(end.value)
        except TrainerError as error:
            self.stop()
            self.failed.emit(str(error))


def _key_of(question: Question, base: Installation) -> object:
    """Return what an example depends on: the question, and every value but the asked choice."""
    options = tuple(
        (one.id, one.choice) for one in base.options.values() if f"option:{one.id}" != question.key
    )
    limits = tuple((one.id, one.value) for one in base.limits.values())
    return question.key, base.aircraft, options, limits
