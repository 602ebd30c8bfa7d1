"""A picker's list shows every row whole, wherever its field stands on the screen."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from trainer.ui.look.picker import Picker
from trainer.ui.look.theme import LIGHT, style_sheet


@pytest.mark.parametrize("rows", [2, 3, 8, 14])
@pytest.mark.parametrize("is_low", [False, True])
def test_last_row_of_the_list_is_whole(qtbot: QtBot, rows: int, is_low: bool) -> None:
    window = QWidget()
    window.setStyleSheet(style_sheet(LIGHT))
    picker = Picker("Ship")
    picker.addItems([f"Ship {number}" for number in range(rows)])
    layout = QVBoxLayout(window)
    layout.addWidget(picker)
    layout.addStretch(1)
    qtbot.addWidget(window)
    screen = window.screen().availableGeometry()
    window.setGeometry(screen.left() + 10, screen.bottom() - 80 if is_low else 10, 300, 80)
    with qtbot.waitExposed(window):
        window.show()
    picker.showPopup()
    qtbot.wait(50)
    view = picker.view()
    last = view.visualRect(picker.model().index(rows - 1, 0))
    assert view.viewport().rect().contains(last.topLeft())
    assert last.bottom() <= view.viewport().rect().bottom()
    assert screen.contains(view.window().geometry())
    picker.hidePopup()
