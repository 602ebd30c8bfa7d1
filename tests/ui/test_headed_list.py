"""A list with headings: no key ends on one, and each goes as far as in any list."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidgetItem
from pytestqt.qtbot import QtBot

from trainer.ui.lesson.lesson_chooser import LessonChooser
from trainer.ui.look.headed_list import HeadedList
from trainer.ui.look.kit import make_heading

ROWS = ("# Amber", "1", "2", "# Slate", "3", "4", "# Yours")
HOME, END = Qt.Key.Key_Home, Qt.Key.Key_End
UP, DOWN = Qt.Key.Key_Up, Qt.Key.Key_Down
PAGE_UP, PAGE_DOWN = Qt.Key.Key_PageUp, Qt.Key.Key_PageDown


@pytest.fixture
def rows(qtbot: QtBot) -> HeadedList:
    """A shown list of three headings and four rows."""
    made = HeadedList()
    qtbot.addWidget(made)
    for words in ROWS:
        item = QListWidgetItem(words)
        if words.startswith("#"):
            make_heading(item, made)
        made.addItem(item)
    made.resize(200, 400)
    made.show()
    return made


@pytest.mark.parametrize(
    ("start", "stroke", "end"),
    [
        ("4", HOME, "1"), ("4", PAGE_UP, "1"), ("1", END, "4"), ("1", PAGE_DOWN, "4"),
        ("2", DOWN, "3"), ("3", UP, "2"), ("1", UP, "1"), ("4", DOWN, "4"), ("1", HOME, "1"),
    ],
)  # fmt: skip
def test_keys_lead_to_rows_only(
    qtbot: QtBot, rows: HeadedList, start: str, stroke: Qt.Key, end: str
) -> None:
    rows.setCurrentRow(ROWS.index(start))
    qtbot.keyClick(rows, stroke)
    assert rows.currentItem().text() == end
    assert rows.currentItem().isSelected()


def test_an_empty_list_takes_keys_and_lessons_stand_in_such_a_list(qtbot: QtBot) -> None:
    empty = HeadedList()
    qtbot.addWidget(empty)
    qtbot.keyClick(empty, HOME)
    assert empty.currentRow() == -1
    chooser = LessonChooser()
    qtbot.addWidget(chooser)
    assert isinstance(chooser.list, HeadedList)
