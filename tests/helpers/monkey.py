"""A monkey at the keyboard: random keys, clicks and pages, with what must hold after each.

By hand:

    MODE_TRAINER_MONKEY_S=1800 nice -n 19 .venv/bin/python -m pytest -m long \
        tests/ui/test_monkey.py -o faulthandler_timeout=7200
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDialog,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QTableView,
    QWidget,
)

from trainer.charts.guard import evaluate_at
from trainer.session.annunciation import CELLS
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.window.main_window import MainWindow

_KEYS = [getattr(Qt.Key, f"Key_{one}") for one in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"]
_KEYS += [getattr(Qt.Key, f"Key_F{number}") for number in range(1, 13)]
_MOVES = [
    Qt.Key.Key_Tab, Qt.Key.Key_Backtab, Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space,
    Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right,
    Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End, Qt.Key.Key_Delete,
    Qt.Key.Key_Backspace, Qt.Key.Key_Comma, Qt.Key.Key_Period, Qt.Key.Key_BracketLeft,
    Qt.Key.Key_BracketRight, Qt.Key.Key_Semicolon, Qt.Key.Key_Apostrophe, Qt.Key.Key_Plus,
    Qt.Key.Key_Minus,
]  # fmt: skip
_WITH_CONTROL = [getattr(Qt.Key, f"Key_{one}") for one in "BIKLTZACVXY"] + [
    Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right,
]  # fmt: skip
_TEXTS = ("Robin", "", " ", "x" * 300, "é🙂", "{}[]<b>", "0", "-1e99", "../../x", "\u202eabc")


class Monkey:
    """Does something at random to a window, and says whether all is as it must be.

    Attributes:
        done: How often each kind of deed was done.
    """

    def __init__(self, window: MainWindow, seed: int) -> None:
        self.window = window
        self.chance = random.Random(seed)
        self.done: Counter[str] = Counter()
        self.pages: Counter[str] = Counter()
        self._deeds: list[Callable[[], None]] = (
            [self.key] * 8 + [self.move] * 6 + [self.control] * 2 + [self.click] * 6
            + [self.choose] * 2 + [self.write] + [self.fly] * 5
            + [self.resize, self.anywhere, self.begin]
        )  # fmt: skip

    def step(self) -> str:
        """Do one thing; return which."""
        deed = self.chance.choice(self._deeds)
        deed()
        QApplication.processEvents()
        self.done[deed.__name__] += 1
        page = self.window.pages.currentWidget()
        self.pages[type(page).__name__] += 1
        return deed.__name__

    def key(self) -> None:
        """Press a letter, a digit or a function key."""
        QTest.keyClick(self._target(), self.chance.choice(_KEYS))

    def move(self) -> None:
        """Press a key that moves, chooses or erases."""
        QTest.keyClick(self._target(), self.chance.choice(_MOVES))

    def control(self) -> None:
        """Press a key with Control or Shift."""
        held = self.chance.choice(
            (Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier)
        )
        QTest.keyClick(self._target(), self.chance.choice(_WITH_CONTROL), held)

    def click(self) -> None:
        """Click a button that can be seen and pressed."""
        buttons = [one for one in self._seen(QAbstractButton) if one.isEnabled()]
        if buttons:
            QTest.mouseClick(self.chance.choice(buttons), Qt.MouseButton.LeftButton)

    def choose(self) -> None:
        """Choose in a list, a table, a box or a slider."""
        widgets = [*self._seen(QListWidget), *self._seen(QComboBox), *self._seen(QTableView),
                   *self._seen(QAbstractSlider), *self._seen(QAbstractSpinBox)]  # fmt: skip
        if not widgets:
            return
        widget = self.chance.choice(widgets)
        if isinstance(widget, QListWidget):
            widget.setCurrentRow(self.chance.randrange(-1, max(1, widget.count())))
        elif isinstance(widget, QComboBox) and widget.count():
            place = self.chance.randrange(widget.count())
            widget.setCurrentIndex(place)
            widget.activated.emit(place)
        elif isinstance(widget, QTableView):
            rows = widget.model().rowCount() if widget.model() is not None else 0
            if rows:
                widget.selectRow(self.chance.randrange(rows))
        elif isinstance(widget, QAbstractSlider):
            widget.setValue(self.chance.randint(widget.minimum(), widget.maximum()))
        elif isinstance(widget, QAbstractSpinBox):
            widget.stepBy(self.chance.choice((-10, -1, 1, 10)))

    def write(self) -> None:
        """Write something into a field."""
        fields = [one for one in (*self._seen(QLineEdit), *self._seen(QPlainTextEdit))
                  if not one.isReadOnly()]  # fmt: skip
        if fields:
            field = self.chance.choice(fields)
            text = self.chance.choice(_TEXTS)
            field.setText(text) if isinstance(field, QLineEdit) else field.insertPlainText(text)

    def fly(self) -> None:
        """Let some time pass for what flies."""
        self.window.driver.advance(self.chance.choice((0.016, 0.1, 0.25)))

    def begin(self) -> None:
        """Begin a lesson or a free flight, as a click on one would."""
        desk = self.window.desk
        if QApplication.activeModalWidget() is not None or desk is None:
            return
        if self.chance.random() < 0.5:
            path = self.chance.choice(desk.workspace.lesson_paths)
            self.window.open_lesson(desk.workspace.lesson(path))
        else:
            installation = self.chance.choice(sorted(desk.workspace.installations))
            start = self.chance.choice(SITUATIONS).start
            self.window.open_free(installation, start, self.chance.choice((0, 1, 2)))
        self.window.proceed()

    def resize(self) -> None:
        """Give the window another size."""
        self.window.resize(self.chance.randint(1180, 1900), self.chance.randint(680, 1100))

    def anywhere(self) -> None:
        """Click somewhere on the page."""
        page = self._top()
        place = QPoint(
            self.chance.randrange(max(1, page.width())),
            self.chance.randrange(max(1, page.height())),
        )
        QTest.mouseClick(page.childAt(place) or page, Qt.MouseButton.LeftButton)

    def _top(self) -> QWidget:
        """Return the dialog in front, or the window."""
        dialogs = [
            one for one in QApplication.topLevelWidgets()
            if isinstance(one, QDialog) and one.isVisible()
        ]  # fmt: skip
        return QApplication.activeModalWidget() or (
            self.chance.choice([*dialogs, self.window]) if dialogs else self.window
        )

    def _target(self) -> QWidget:
        top = self._top()
        focus = top.focusWidget()
        return focus if focus is not None and focus.isVisible() else top

    def _seen(self, kind: type) -> list:
        return [one for one in self._top().findChildren(kind) if one.isVisible()]


def what_is_wrong(window: MainWindow) -> str:
    """Return what doesn't hold in a window, or an empty text."""
    page = window.pages.currentWidget()
    if not page.isVisible() or window.pages.count() > 40:
        return f"the page {type(page).__name__} isn't to be seen, or pages pile up"
    if not (window.foot.caution.text() and window.foot.caution.isVisible()):
        return "the caution isn't to be seen"
    practice = window.practice
    if practice is None:
        return ""
    sample = practice.session.flight.sample()
    numbers = (sample.altitude_ft, sample.airspeed_kt, sample.heading_deg, sample.bank_deg)
    if not all(abs(number) < 1e6 for number in numbers):
        return f"a flight of numbers that are none: {sample}"
    if not 0.0 <= sample.heading_deg <= 360.0 or practice.session.t_s < 0.0:
        return f"an impossible heading or time: {sample}"
    return _wrong_with_logic(window)


def _wrong_with_logic(window: MainWindow) -> str:
    """Say whether what is shown is a settled configuration that breaks no invariant."""
    session = window.practice.session
    machine, configuration = session.logic.machine, session.configuration
    bits = session.bits
    if machine.settle(configuration, bits).microsteps:
        return ""  # something was just selected: the next step settles it
    for one in machine.chart.invariants.values():
        is_meant, holds = (
            evaluate_at(guard, machine.chart, configuration, bits) for guard in (one.if_, one.then)
        )
        if is_meant and not holds:
            return f"the invariant {one.id} is broken"
    shown = session.annunciation
    unknown = [cell for cell in CELLS if shown.cell(cell) is None]
    return f"cells without content: {unknown}" if unknown else ""
