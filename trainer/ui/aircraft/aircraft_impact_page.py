"""Before an edit of an aircraft is saved: what it changes, and who was ready before it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.ui.aircraft.aircraft_impact import NO_BOOK, Told
from trainer.ui.look.kit import button, label, panel, set_role
from trainer.ui.look.tick_box import TickBox
from trainer.ui.look.whole_rows import WholeRows

_EMPTY = {
    "causes": "No situation on the strip changes.",
    "lessons": "No lesson of this aircraft gets another answer.",
    "items": "Every item of the check still holds.",
    "members": "Nobody was found ready in what changes.",
}
_TITLES = {
    "causes": "Situations, by cause",
    "lessons": "Lessons",
    "items": "Items of the check",
    "members": "Members found ready under the old logic",
}
ENTER = "Enter the next stage in the club's book, so that its board asks for a new check"


class ImpactPage(QWidget):
    """Says what is wanted; the owner works and saves."""

    closed = Signal()
    """Go back to the questions; nothing is saved."""
    saved = Signal(bool)
    """Save anyway; True: and enter the next stage in the club's book."""
    stop_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.title = label("", "title", wraps=True)
        self.sentence = label("", "heading", wraps=True)
        self.state = label("", "quiet", wraps=True)
        self.lists = {name: WholeRows() for name in _TITLES}
        self.heads = {name: label(words, "group") for name, words in _TITLES.items()}
        self.competencies = label("", wraps=True)
        self.book = TickBox(ENTER)
        self.stop = button("Stop")
        self.back = button("Go back  Esc", name="Go back")
        self.save = button("Save anyway", "main")
        self._lay_out()
        self.stop.clicked.connect(self.stop_asked)
        self.back.clicked.connect(self.closed)
        self.save.clicked.connect(
            lambda: self.saved.emit(self.book.isVisible() and self.book.isChecked())
        )

    def show_busy(self, title: str, news: str) -> None:
        """Show that the edit is being studied, and how far that is."""
        self.title.setText(f"Before it is saved: {title}")
        self.sentence.setText("Looking what this changes…")
        self.state.setText(news)
        set_role(self.state, "quiet")
        self._set_shown(is_busy=True, has_found=False)

    def show_progress(self, news: str) -> None:
        """Show how far it is."""
        self.state.setText(news)

    def show_failure(self, words: str) -> None:
        """Show why it isn't known what the edit changes; it can be saved all the same."""
        self.sentence.setText("It isn't known what this changes.")
        self.state.setText(words)
        set_role(self.state, "caution")
        self._set_shown(is_busy=False, has_found=False)
        self.back.setFocus()

    def show_told(self, told: Told) -> None:
        """Show what the edit changes."""
        self.sentence.setText(told.edit.impact.sentence)
        found = told.edit.impact.comparison
        self.state.setText(
            f"Compared as it is and as it would be: {found.states:,} pairs of states and"
            f" {found.transitions:,} transitions. The lessons of this aircraft and"
            f" {sum(told.edit.items.values()):,} items of its check were flown again."
        )
        set_role(self.state, "quiet")
        for name, lines in (
            ("causes", [*told.cause_lines, *told.value_lines]),
            ("lessons", told.lesson_lines),
            ("items", told.item_lines),
            ("members", told.member_lines),
        ):
            self._fill(name, lines, len(lines))
        counts = {"items": len(told.edit.impact.items), "causes": told.edit.impact.kinds}
        for name, count in counts.items():
            self.heads[name].setText(f"{_TITLES[name]} ({count})")
        self.competencies.setText(_competency_words(told))
        self._show_book(told)
        self._set_shown(is_busy=False, has_found=True)
        self.book.setVisible(bool(told.old_ready))
        self.back.setFocus()

    def _show_book(self, told: Told) -> None:
        if told.book is None or told.book_problem:
            self._fill("members", [told.book_problem or NO_BOOK], 0)
        self.book.setChecked(bool(told.old_ready))

    def _fill(self, name: str, lines: list[str], count: int) -> None:
        self.lists[name].show_lines(lines or [_EMPTY[name]])
        self.heads[name].setText(f"{_TITLES[name]} ({count})")

    def _set_shown(self, *, is_busy: bool, has_found: bool) -> None:
        self.stop.setVisible(is_busy)
        self.save.setEnabled(not is_busy)
        self.box.setVisible(has_found)
        self.competencies.setVisible(has_found)
        self.book.setVisible(False)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(8)
        for widget in (self.title, self.sentence, self.state):
            column.addWidget(widget)
        self.box, inside = panel("What this changes")
        grid = QGridLayout()
        grid.setSpacing(8)
        places = {"causes": (0, 0, 3), "lessons": (0, 1, 1), "items": (0, 2, 1),
                  "members": (2, 1, 1)}  # fmt: skip
        for name, (row, at, rows) in places.items():
            widget = self.lists[name]
            widget.setAccessibleName(_TITLES[name])
            widget.setSelectionMode(QListWidget.SelectionMode.NoSelection)
            widget.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self.heads[name].setWordWrap(True)
            grid.addWidget(self.heads[name], row, at, 1, 2 if name == "members" else 1)
            grid.addWidget(widget, row + 1, at, rows, 2 if name == "members" else 1)
        for at, stretch in ((0, 3), (1, 2), (2, 2)):
            grid.setColumnStretch(at, stretch)
        grid.setRowStretch(1, 1)
        grid.setRowStretch(3, 1)
        inside.addLayout(grid, 1)
        inside.addWidget(self.competencies)
        column.addWidget(self.box, 1)
        column.addWidget(self.book)
        column.addStretch(0)
        foot = QHBoxLayout()
        foot.addWidget(self.stop)
        foot.addStretch(1)
        foot.addWidget(self.back)
        foot.addWidget(self.save)
        column.addLayout(foot)


def _competency_words(told: Told) -> str:
    titles = told.edit.competencies
    if not titles:
        return "No competency's rules act otherwise."
    return f"Readiness must be shown again in: {', '.join(titles)}."
