"""Aircraft: those of the program and the user's own, how far each can be trusted, what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from trainer.charts.installation import Installation
from trainer.charts.provenance import list_words, trust_of, trust_words
from trainer.charts.questionnaire import Answers, questions_of
from trainer.ui.look.kit import button, label, panel, set_role

CAUTION = (
    "The aircraft's own flight manual supplement, local rules and a licensed instructor decide."
    " Values that come with the program are invented."
)
_ID = Qt.ItemDataRole.UserRole


@dataclass(frozen=True, slots=True)
class AircraftRow:
    """One aircraft of the list."""

    id: str
    title: str
    is_own: bool
    installation: Installation | None
    """None: there is only a draft so far."""
    draft: Answers | None
    where: str


class AircraftPage(QWidget):
    """Shows rows; decides nothing."""

    closed = Signal()
    answer_asked = Signal(str)
    """Answer the questions of an aircraft of one's own."""
    copy_asked = Signal(str)
    sheet_asked = Signal(str)
    picture_asked = Signal(str)
    removal_asked = Signal(str)
    differences_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._rows: dict[str, AircraftRow] = {}
        self.list = QListWidget()
        self.list.setAccessibleName("Aircraft")
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.title = label("", "title", wraps=True)
        self.whose = label("", "quiet", wraps=True)
        self.statement = label("", "caution", wraps=True)
        self.facts = label("", wraps=True)
        self.note = label("", "quiet", wraps=True)
        self.answer = button("Answer the questions", "main")
        self.copy = button("New aircraft from this one…")
        self.picture = button("Statechart  Ctrl+K", name="Statechart")
        self.sheet = button("Question sheet…")
        self.differences = button("Differences…", hint="What changes for who knows this aircraft")
        self.remove = button("Take out of use…", hint="Only an aircraft of your own")
        self.problems = label("", "wrong", wraps=True)
        self.problems.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._lay_out()
        self.list.currentRowChanged.connect(lambda _row: self._show())
        self.list.itemActivated.connect(lambda _item: self._press_main())
        for widget, signal in (
            (self.answer, self.answer_asked),
            (self.copy, self.copy_asked),
            (self.sheet, self.sheet_asked),
            (self.picture, self.picture_asked),
            (self.differences, self.differences_asked),
            (self.remove, self.removal_asked),
        ):
            widget.clicked.connect(lambda _on=False, s=signal: self._ask(s))

    def show_rows(self, rows: Iterable[AircraftRow], problems: Iterable[str], wanted: str) -> None:
        """Show the aircraft, and the files that can't be used."""
        self._rows = {row.id: row for row in rows}
        self.list.blockSignals(True)
        self.list.clear()
        for row in self._rows.values():
            item = QListWidgetItem(_row_words(row))
            item.setData(_ID, row.id)
            self.list.addItem(item)
        self.list.blockSignals(False)
        names = list(self._rows)
        self.list.setCurrentRow(names.index(wanted) if wanted in names else 0)
        self._show()
        told = list(problems)
        head = "These files can't be used; the others work:\n" if told else ""
        self.problems.setText(head + "\n".join(told))
        self.problems.setVisible(bool(told))

    @property
    def chosen(self) -> str:
        """Id of the aircraft in hand."""
        item = self.list.currentItem()
        return item.data(_ID) if item is not None else ""

    def _press_main(self) -> None:
        (self.answer if self.answer.isVisible() else self.copy).click()

    def _ask(self, signal: object) -> None:
        if self.chosen:
            signal.emit(self.chosen)

    def _show(self) -> None:
        row = self._rows.get(self.chosen)
        if row is None:
            return
        self.title.setText(row.title)
        self.whose.setText(row.where)
        self.answer.setVisible(row.is_own)
        self.remove.setVisible(row.is_own)
        role = "" if row.is_own else "main"
        set_role(self.copy, role)
        for widget in (self.copy, self.picture, self.differences):
            widget.setEnabled(row.installation is not None)
        if row.installation is None:
            self.statement.setText("Not saved yet: only a draft of its answers.")
            self.facts.setText("")
            self.note.setText("")
            return
        words = trust_words(row.installation)
        self.statement.setText(words)
        is_open = trust_of(row.installation).unsigned
        set_role(self.statement, "caution" if is_open else "right")
        self.facts.setText(_facts(row))
        self.note.setText(row.installation.note)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        layout.addWidget(label("Aircraft", "title"))
        layout.addWidget(label(CAUTION, "quiet", wraps=True))
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.list, 2)
        frame, column = panel("Aircraft in hand")
        column.setSpacing(8)
        for widget in (self.title, self.statement, self.facts, self.note, self.whose):
            column.addWidget(widget)
        away = QHBoxLayout()
        away.addWidget(self.remove)
        away.addStretch(1)
        column.addLayout(away)
        column.addStretch(1)
        column.addWidget(self.problems)
        foot = QHBoxLayout()
        foot.addWidget(self.picture)
        foot.addWidget(self.sheet)
        foot.addWidget(self.differences)
        foot.addStretch(1)
        foot.addWidget(self.copy)
        foot.addWidget(self.answer)
        column.addLayout(foot)
        row.addWidget(frame, 3)
        layout.addLayout(row, 1)


def _row_words(row: AircraftRow) -> str:
    whose = "yours" if row.is_own else "comes with the program"
    draft = ", unsaved answers" if row.draft is not None else ""
    if row.installation is None:
        return f"{row.title}\n{whose}{draft}"
    return f"{row.title}\n{whose}, {list_words(row.installation)}{draft}"


def _facts(row: AircraftRow) -> str:
    """Return the sections with what is still open in each."""
    assert row.installation is not None
    open_in: dict[str, list[bool]] = {}
    values = {
        **{f"option:{one.id}": one for one in row.installation.options.values()},
        **{f"limit:{one.id}": one for one in row.installation.limits.values()},
    }
    for question in questions_of(row.installation.generic):
        is_open = values[question.key].provenance.state == "placeholder"
        open_in.setdefault(question.section_title, []).append(is_open)
    lines = [
        f"{title}: {sum(marks)} of {len(marks)}" for title, marks in open_in.items() if any(marks)
    ]
    return "\n".join(["Still open:", *lines]) if lines else ""
