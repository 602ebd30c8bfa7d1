"""What the key Enter does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QLineEdit,
    QPushButton,
    QWidget,
)

if TYPE_CHECKING:
    from trainer.ui.lesson.practice_page import PracticePage
    from trainer.ui.window.main_window import MainWindow


def press_main(window: MainWindow) -> None:
    """Enter works the button in focus, or else does the one main thing of the page."""
    if window.desk is None:
        return
    focus = QApplication.focusWidget()
    if isinstance(focus, QPushButton):
        focus.click()
        return
    if (table := _table_of(focus)) is not None:
        table.setFocus()  # what is typed in a cell is taken
        return
    page = window.pages.currentWidget()
    if isinstance(focus, QLineEdit) and page is not window.chooser:
        focus.returnPressed.emit()
    elif page is window.desk.page:
        _press_flying(window.desk.page)
    elif page is window.desk.write.page:
        page.go_to_problem()
    elif window.desk.rooms.press_enter(page):
        return
    elif (main := _main_button(window, page)) is not None:
        main.click()


def _table_of(focus: QWidget | None) -> QAbstractItemView | None:
    """Return the table or list in one of whose cells somebody types."""
    viewport = focus.parentWidget() if isinstance(focus, QLineEdit) else None
    table = viewport.parentWidget() if viewport is not None else None
    return table if isinstance(table, QAbstractItemView) else None


def _main_button(window: MainWindow, page: QWidget) -> QPushButton | None:
    desk = window.desk
    if page is window.chooser:
        return window.chooser.start
    if page is desk.free:
        return desk.free.start
    return desk.debrief.resume if page is desk.debrief else None


def _press_flying(page: PracticePage) -> None:
    for asks in (page.builder, page.form):
        if asks.isVisible():
            asks.finish()
            return
    if page.lesson.next.isVisible():
        page.lesson.next.click()
