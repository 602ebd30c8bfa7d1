"""Reports to file, backups, how long records are kept, and a member's own data."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QVBoxLayout, QWidget

from trainer.records.board import counted
from trainer.ui.club import club_work
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_kit import EdgedSpin, fill_picker, named, row, tried
from trainer.ui.lesson.recorder import program_version
from trainer.ui.look.kit import button, label, panel
from trainer.ui.look.picker import Picker
from trainer.ui.window.asker import Asker
from trainer.ui.window.background import Background

BUSY = "Something else is being done: wait for its end."
REPORT_KINDS = "PDF (*.pdf);;HTML, one file (*.html);;Text (*.txt)"


class ClubDataView(QWidget):
    """Each button does one thing in the background and says what came of it."""

    changed = Signal(str)
    failed = Signal(str)
    begun = Signal()
    """Something begins that must not meet a backup halfway."""

    def __init__(
        self, desk: ClubDesk, asker: Asker, background: Background, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._desk, self.asker, self._background = desk, asker, background
        self._backups: list[Path] = []
        self.kind = Picker("Kind of report")
        self.aircraft = Picker("Aircraft")
        self.member = Picker("Member of the report")
        self.report = button("Write report…", "main")
        self.lesson = Picker("Lesson of the quiz")
        self.quiz = button("Write quiz on paper…")
        self.backups = QListWidget()
        self.back_up = button("Back up now")
        self.restore = button("Restore the backup in hand…")
        self.check = button("Check every page")
        self.days = EdgedSpin()
        self.retain = button("Keep so long, delete older…")
        self.person = Picker("Member")
        self.export = button("Export all of this member…")
        self.delete = button("Delete this member…")
        self._lay_out()
        self._connect()

    def show_book(self) -> None:
        """Show the choices of the book that is open."""
        book = self._desk.opened
        members = [(one.id, one.name) for one in book.members()]
        fill_picker(self.aircraft, [(one.id, one.title) for one in book.aircraft()])
        fill_picker(self.member, members)
        fill_picker(self.person, members)
        if not self.lesson.count():
            paths = self._desk.workspace.lesson_paths
            fill_picker(self.lesson, [(path, path.stem.replace("-", " ")) for path in paths])
        self.days.setValue(self._desk.retention_days())
        self._backups = book.backups()
        self.backups.clear()
        self.backups.addItems([path.name for path in self._backups])
        for widget in (self.export, self.delete):
            widget.setEnabled(bool(members))
        self.report.setEnabled(bool(self.aircraft.count()))
        self.restore.setEnabled(bool(self._backups))
        self._show_kind()

    def _show_kind(self) -> None:
        self.member.setEnabled(self.kind.currentData() != "summary" and self.member.count() > 0)

    def _write_report(self) -> None:
        kind = self.kind.currentData()
        who = self.member.currentText() if self.member.isEnabled() else "class"
        target = self._report_file(f"{kind}-{who.replace(' ', '-').lower()}.pdf")
        if target is None:
            return
        aircraft, member = self.aircraft.currentData(), self.member.currentData()
        path, now = self._desk.opened.path, self._desk.now()

        def begin() -> None:
            order = self._desk.order(kind, aircraft, member)
            self._run(
                lambda _: club_work.write_order(path, order, now, program_version(), target),
                lambda _: f"{target} is written.",
            )

        tried(begin, self.failed.emit)

    def _write_quiz(self) -> None:
        lesson_path = self.lesson.currentData()
        target = self._report_file(f"quiz-{lesson_path.stem}.pdf")
        if target is None:
            return

        def begin() -> None:
            workspace = self._desk.workspace
            runner = workspace.start_lesson_without_trainee(workspace.lesson(lesson_path))
            now, design = self._desk.now(), self._desk.design
            self._run(
                lambda _: club_work.write_quiz(runner, design, now, program_version(), target),
                lambda _: f"{target} is written, with its answer sheet.",
            )

        tried(begin, self.failed.emit)

    def _report_file(self, name: str) -> Path | None:
        target = self.asker.save_file("Report", name, REPORT_KINDS)
        return target.with_suffix(".pdf") if target and not target.suffix else target

    def _back_up(self) -> None:
        path, day = self._desk.opened.path, self._desk.now()[:10]
        self._run(
            lambda _: club_work.back_up_book(path, day),
            lambda made: f"{made.name} is made." if made else "Today's backup is there already.",
        )

    def _restore(self) -> None:
        place = self.backups.currentRow()
        if place < 0:
            self.failed.emit("Choose a backup in the list first.")
            return
        if self._background.is_busy:
            self.failed.emit(BUSY)
            return
        backup = self._backups[place]
        words = (
            f"The book becomes what it was in {backup.name}. The book as it is now is kept beside "
            "it under another name."
        )
        if not self.asker.confirm("Restore", words, "Restore"):
            return
        self.begun.emit()
        said: list[str] = []
        if tried(lambda: said.append(self._desk.restore(backup)), self.failed.emit):
            self.changed.emit(said[0])

    def _check(self) -> None:
        path = self._desk.opened.path
        self._run(lambda _: club_work.check_book(path), lambda _: "Every page is in order.")

    def _retain(self) -> None:
        days = self.days.value()
        words = f"Answers, outcomes and briefings older than {days} days are deleted for good."
        if self.asker.confirm("Retention", words, "Delete older records"):
            path, now = self._desk.opened.path, self._desk.now()
            self._run(
                lambda _: club_work.apply_retention_to(path, days, now),
                lambda deleted: f"Kept {days} days; {counted(deleted, 'answer')} deleted.",
            )

    def _export(self) -> None:
        member_id, name = self.person.currentData(), self.person.currentText()
        file_name = f"{name.replace(' ', '-').lower()}-data.json"
        target = self.asker.save_file("All data of a member", file_name, "JSON (*.json)")
        if target is not None:
            path = self._desk.opened.path
            self._run(
                lambda _: club_work.export_member_to(path, member_id, target),
                lambda _: f"All that the book holds of {name} is in {target}.",
            )

    def _delete(self) -> None:
        member_id, name = self.person.currentData(), self.person.currentText()
        words = (
            f"All records of {name} are deleted for good, in the book and in its backups. Sums "
            "without a name stay. Files that others hold are not reached."
        )
        if self.asker.confirm("Delete a member", words, f"Delete {name}"):
            path = self._desk.opened.path
            self._run(
                lambda _: club_work.delete_member_from(path, member_id),
                lambda _: f"{name} is deleted; sums without a name stay.",
            )

    def _run(self, work: Callable[[object], object], words: Callable[[object], str]) -> None:
        self.begun.emit()
        started = self._background.run(
            work, lambda result: self.changed.emit(words(result)), self.failed.emit
        )
        if not started:
            self.failed.emit(BUSY)

    def _lay_out(self) -> None:
        sides = QHBoxLayout(self)
        sides.setContentsMargins(8, 8, 8, 8)
        left, right = QVBoxLayout(), QVBoxLayout()
        left.addWidget(self._report_panel())
        left.addWidget(self._member_panel())
        left.addStretch(1)
        right.addWidget(self._backup_panel(), 1)
        right.addWidget(self._retention_panel())
        sides.addLayout(left, 1)
        sides.addLayout(right, 1)

    def _report_panel(self) -> QWidget:
        frame, column = panel("Reports")
        for kind, words in club_work.REPORTS.items():
            self.kind.addItem(words, kind)
        column.addWidget(label("Reports", "heading"))
        column.addLayout(row(named("Report", self.kind)))
        column.addLayout(row(named("Aircraft", self.aircraft), named("Member", self.member)))
        column.addLayout(row(self.report))
        column.addSpacing(8)
        column.addWidget(label("For an evening without computers", "group"))
        column.addLayout(row(self.lesson, self.quiz))
        return frame

    def _member_panel(self) -> QWidget:
        frame, column = panel("A member's own data")
        column.addWidget(label("A member's own data", "heading"))
        column.addLayout(row(self.person))
        column.addLayout(row(self.export, self.delete))
        return frame

    def _backup_panel(self) -> QWidget:
        frame, column = panel("Backups")
        self.backups.setAccessibleName("Backups, newest first")
        column.addWidget(label("Backups", "heading"))
        words = "One a day, made when the book is opened; the newest fourteen are kept."
        column.addWidget(label(words, wraps=True))
        column.addWidget(self.backups, 1)
        column.addLayout(row(self.back_up, self.restore, self.check))
        return frame

    def _retention_panel(self) -> QWidget:
        frame, column = panel("Retention")
        self.days.setRange(1, 36_500)
        self.days.setSuffix(" days")
        column.addWidget(label("How long records are kept", "heading"))
        column.addLayout(row(named("Retention time", self.days), self.retain))
        return frame

    def _connect(self) -> None:
        self.kind.activated.connect(lambda _place: self._show_kind())
        for widget, act in (
            (self.report, self._write_report),
            (self.quiz, self._write_quiz),
            (self.back_up, self._back_up),
            (self.restore, self._restore),
            (self.check, self._check),
            (self.retain, self._retain),
            (self.export, self._export),
            (self.delete, self._delete),
        ):
            widget.clicked.connect(act)
