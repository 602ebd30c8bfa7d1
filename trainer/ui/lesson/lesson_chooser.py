"""The first page: which lesson to fly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.ui.lesson.lesson_list import (
    EMPTY_WORDS,
    Answers,
    by_aircraft,
    lesson_details,
    lesson_line,
    lesson_mark,
    lesson_record,
    newest_answers,
    next_in_hand,
)
from trainer.ui.look.headed_list import HeadedList
from trainer.ui.look.kit import button, label, make_heading, panel
from trainer.ui.look.marked_rows import MARK, MarkedRows
from trainer.ui.trouble.broken_lesson import BrokenLesson

if TYPE_CHECKING:
    from trainer.lesson.spec import Lesson
    from trainer.records.attempt import Attempt

WELCOME = (
    "New here? The first lesson takes a few minutes and shows how everything works. Press Enter."
)
OWN_HEADING = "Your lessons"


class LessonChooser(QWidget):
    """A list on the left, the lesson in hand on the right."""

    chosen = Signal(object)
    """A `Lesson`."""
    member_named = Signal(str)
    write_asked = Signal()
    due_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._lessons: list[Lesson] = []
        self._rows: list[Lesson | BrokenLesson | None] = []
        self.write = button("Write a lesson  Ctrl+L", name="Write a lesson")
        self.due = button("Due practice  Ctrl+D", name="Due practice")
        self._aircraft: Mapping[str, str] = {}
        self._attempts: list[Attempt] = []
        self._answers: Answers = {}
        self._due: Mapping[str, str] = {}
        self.list = HeadedList()
        self.list.setAccessibleName("Lessons")
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setItemDelegate(MarkedRows(self.list))
        self.title = label("", "title", wraps=True)
        self.record = label("", "quiet")
        self.details = label("Loading lessons…", wraps=True)
        self.start = button("Start lesson  Enter", "main", name="Start lesson")
        self.start.hide()
        self.problems = label("", "caution", wraps=True)
        self.welcome = label(WELCOME, wraps=True)
        self.welcome.hide()
        self.member = QLineEdit()
        self.member.setAccessibleName("Your name")
        self.member.setMaxLength(60)
        self._lay_out()
        self.list.currentRowChanged.connect(self._show)
        self.list.itemActivated.connect(lambda _item: self._choose())
        self.start.clicked.connect(self._choose)
        self.write.clicked.connect(self.write_asked)
        self.due.clicked.connect(self.due_asked)
        self.member.editingFinished.connect(
            lambda: self.member_named.emit(self.member.text().strip())
        )

    def mark_due(self, due: Mapping[str, str]) -> None:
        """Mark lessons from the next showing on: those that a club asks for, with the due day."""
        self._due = due

    def show_lessons(
        self,
        lessons: list[Lesson],
        aircraft: Mapping[str, str],
        attempts: list[Attempt],
        problems: str = "",
        *,
        own: Sequence[Lesson] = (),
        broken: Sequence[BrokenLesson] = (),
        beside: str = "",
    ) -> None:
        """Show lessons.

        Args:
            lessons: Those of the program.
            aircraft: The title of each installation.
            attempts: The member's, newest first.
            problems: What couldn't be read.
            own: The user's lessons.
            broken: Files of theirs that can't be flown.
            beside: What answers there are that aren't among the attempts.
        """
        row = max(0, self.list.currentRow())
        self._lessons, self._aircraft, self._attempts = [*lessons, *own], aircraft, attempts
        self._rows, self._answers = [], newest_answers(attempts)
        self.list.clear()
        groups = by_aircraft(lessons)
        for installation, numbered in groups.items():
            if len(groups) > 1:
                self._add(aircraft.get(installation, installation), None)
            for number, lesson in numbered:
                self._add(lesson_line(number, lesson), lesson)
        if own or broken:
            self._add(OWN_HEADING, None)
        for lesson in own:
            self._add(lesson.title, lesson)
        for one in broken:
            self._add(f"✗ {one.name} (can't be flown)", one)
        self.welcome.setText(" ".join(part for part in (WELCOME, beside) if part))
        self.welcome.setVisible(bool(lessons) and not attempts)
        self.problems.setText(problems)
        self.problems.setVisible(bool(problems))
        self.start.setVisible(bool(self._lessons))
        if self._rows:
            # The line that was in hand, or the next below it that is no heading.
            below = [n for n, one in enumerate(self._rows) if one is not None and n >= row]
            self.list.setCurrentRow(below[0] if below else len(self._rows) - 1)
        else:
            self.title.setText("")
            self.record.setText("")
            self.details.setText(EMPTY_WORDS)

    def select(self, lesson_id: str) -> None:
        """Put a lesson in hand, if it is there."""
        for row, one in enumerate(self._rows):
            if one is not None and getattr(one, "id", "") == lesson_id:
                self.list.setCurrentRow(row)

    def put_in_hand(self, last: str) -> None:
        """Put the lesson in hand that comes after the last one flown, or that one if not over."""
        self.select(next_in_hand(self._in_order(), last, self._answers))

    def lesson_after(self, lesson_id: str) -> Lesson | None:
        """Return the lesson that stands below another one, if there is one."""
        rows = self._in_order()
        places = [place for place, one in enumerate(rows) if one.id == lesson_id]
        return rows[places[0] + 1] if places and places[0] + 1 < len(rows) else None

    def _in_order(self) -> list[Lesson]:
        return [one for one in self._rows if one is not None and not isinstance(one, BrokenLesson)]

    def _add(self, words: str, one: Lesson | BrokenLesson | None) -> None:
        item = QListWidgetItem(words)
        item.setToolTip(words)
        if one is None:
            make_heading(item, self.list)
        elif not isinstance(one, BrokenLesson) and (
            mark := lesson_mark(one, self._answers, self._due)
        ):
            item.setData(MARK, mark)
            item.setToolTip(f"{words}: {mark}")
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{words}, {mark}")
        self.list.addItem(item)
        self._rows.append(one)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Lessons", "title"))
        head.addSpacing(12)
        head.addWidget(label("Fly, say what the strip will read next, see it, know why.", "quiet"))
        head.addStretch(1)
        head.addWidget(label("Your name, kept with your answers", "quiet"))
        self.member.setFixedWidth(200)
        head.addWidget(self.member)
        layout.addLayout(head)
        layout.addWidget(self.welcome)
        layout.addWidget(self.problems)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.list, 2)
        frame, column = panel("Lesson in hand")
        column.setSpacing(8)
        column.addWidget(self.title)
        column.addWidget(self.record)
        column.addWidget(self.details)
        column.addStretch(1)
        foot = QHBoxLayout()
        foot.addWidget(self.write)
        foot.addWidget(self.due)
        foot.addStretch(1)
        foot.addWidget(self.start)
        column.addLayout(foot)
        row.addWidget(frame, 3)
        layout.addLayout(row, 1)

    def _show(self, row: int) -> None:
        if not 0 <= row < len(self._rows):
            return
        lesson = self._rows[row]
        is_broken = isinstance(lesson, BrokenLesson)
        self.start.setEnabled(lesson is not None and not is_broken)
        if lesson is None:
            return
        if isinstance(lesson, BrokenLesson):
            self.title.setText(lesson.name)
            self.record.setText("This file can't be flown")
            self.details.setText(lesson.message)
            return
        self.title.setText(lesson.title)
        self.record.setText(lesson_record(lesson.id, self._attempts))
        aircraft = self._aircraft.get(lesson.installation, lesson.installation)
        self.details.setText(lesson_details(lesson, aircraft))

    def _choose(self) -> None:
        row = self.list.currentRow()
        one = self._rows[row] if 0 <= row < len(self._rows) else None
        if one is not None and not isinstance(one, BrokenLesson):
            self.chosen.emit(one)
