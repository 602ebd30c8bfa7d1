"""The debrief: what was flown, called and changed, moment by moment; and flying on from there."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QListWidget,
    QScrollArea,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import TrainerError
from trainer.parts import program_version
from trainer.session.session import STEP_S
from trainer.session.strip_design import DEFAULT_DESIGN, StripColours, StripDesign
from trainer.ui.debrief.debrief_plots import DebriefPlots
from trainer.ui.debrief.timeline import Mark, Timeline, csv_text
from trainer.ui.lesson.look_back import SECOND
from trainer.ui.lesson.practice_words import clock_words, exact_clock_words
from trainer.ui.lesson.recorder import now_utc
from trainer.ui.look.kit import button, label, panel, scroll_area, show_whole_rows
from trainer.ui.look.theme import Theme
from trainer.ui.look.words import StripWords
from trainer.ui.strip.strip_widget import StripWidget

EMPTY_WORDS = (
    "Nothing has happened yet. Fly first: every key, change and call appears here with its reason."
)
_SIDE_PX = 380
_REPORTS = (".pdf", ".html")


class DebriefPage(QWidget):
    """Plots on the left; marks, the strip and the reasons on the right."""

    closed = Signal()
    resumed = Signal(float)
    """Fly on from this moment [s]."""
    failed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._timeline: Timeline | None = None
        self._words = StripWords({})
        self._design: StripDesign = DEFAULT_DESIGN
        self.moment_s = 0.0
        self.plots = DebriefPlots()
        self.marks = QListWidget()
        self.marks.setAccessibleName("Marks")
        show_whole_rows(self.marks)
        self.moment = label("", "heading")
        self.strip = StripWidget(StripWords({}))
        self.called_title = label("You called", "group")
        self.called = StripWidget(StripWords({}))
        self.called.setAccessibleName("What you called")
        self.reasons = label("", wraps=True)
        self.resume = button("Fly on from here  Enter", "main", name="Fly on from here")
        self.scrubber = QSlider(Qt.Orientation.Horizontal)
        """The moment in steps of the simulation: arrow keys go a second, page keys ten."""
        self.scrubber.setAccessibleName("Moment")
        self.scrubber.setSingleStep(SECOND)
        self.scrubber.setPageStep(10 * SECOND)
        self.exports = {
            kind: button(f"Export {kind.upper()}…", name=f"Export {kind.upper()}")
            for kind in ("png", "svg", "csv", "pdf", "html")
        }
        self._lay_out()
        self.marks.currentRowChanged.connect(self._show_mark)
        self.plots.moment_chosen.connect(self.show_moment)
        self.scrubber.valueChanged.connect(lambda step: self.show_moment(step * STEP_S))
        self.resume.clicked.connect(lambda: self.resumed.emit(self.moment_s))
        for kind, widget in self.exports.items():
            widget.clicked.connect(lambda _on=False, k=kind: self._ask_export(k))

    def show_timeline(self, timeline: Timeline, words: StripWords) -> None:
        """Show a flight; the last mark is in hand."""
        self._timeline = timeline
        self._words = words
        for strip in (self.strip, self.called):
            strip.set_words(words)
        self.plots.show_timeline(timeline)
        self.scrubber.blockSignals(True)
        self.scrubber.setRange(0, round(timeline.end_s / STEP_S))
        self.scrubber.blockSignals(False)
        self.marks.clear()
        self.marks.addItems([mark.line for mark in timeline.marks])
        if timeline.marks:
            self.marks.setCurrentRow(len(timeline.marks) - 1)
        else:
            self.show_moment(timeline.end_s)
            self.reasons.setText(EMPTY_WORDS)

    def show_moment(self, t_s: float) -> None:
        """Show a moment: the cursor, and what the strip read."""
        if self._timeline is None:
            return
        self.moment_s = min(max(t_s, 0.0), self._timeline.end_s)
        self.plots.show_moment(self.moment_s)
        self.scrubber.blockSignals(True)
        self.scrubber.setValue(round(self.moment_s / STEP_S))
        self.scrubber.blockSignals(False)
        self.moment.setText(f"At {exact_clock_words(self.moment_s)}")
        self.strip.show_annunciation(self._timeline.annunciation_at(self.moment_s))
        self.reasons.setText("")
        self._show_call(None)

    def set_theme(self, theme: Theme, design: StripDesign, colours: StripColours) -> None:
        """Use another theme and strip design."""
        self.plots.set_theme(theme)
        self._design = design
        for strip in (self.strip, self.called):
            strip.set_design(design, colours)

    def export(self, path: Path) -> None:
        """Write the debrief by the file name's ending: curves, samples, or all as a report."""
        if self._timeline is None:
            return
        try:
            if path.suffix == ".csv":
                path.write_text(csv_text(self._timeline), encoding="utf-8")
            elif path.suffix in _REPORTS:
                self._write_report(self._timeline, path)
            else:
                self.plots.export(path)
        except (OSError, TrainerError) as error:
            self.failed.emit(f"{path}: not written ({error}); choose another folder")

    def _write_report(self, timeline: Timeline, path: Path) -> None:
        """Write what was flown with the strips in the design in use."""
        from trainer.report.delivery import write_report
        from trainer.ui.writing.timeline_report import timeline_report

        made_utc, version = now_utc(), program_version()
        report = timeline_report(
            timeline, self._words, self._design, made_utc=made_utc, program_version=version
        )
        write_report(report, path)

    def _show_call(self, mark: Mark | None) -> None:
        """Show what was called in a call for the strip; None: nothing was."""
        is_call = mark is not None and bool(mark.verdicts)
        if is_call:
            self.called.show_annunciation(mark.before, verdicts=mark.verdicts)
        for part in (self.called_title, self.called):
            part.setVisible(is_call)

    def _show_mark(self, row: int) -> None:
        if self._timeline is None or not 0 <= row < len(self._timeline.marks):
            return
        mark = self._timeline.marks[row]
        self.show_moment(mark.t_s)
        self.moment.setText(f"At {clock_words(mark.t_s)}: {mark.label}")
        self.reasons.setText("\n\n".join(mark.reasons))
        self._show_call(mark)

    def _ask_export(self, kind: str) -> None:
        name, _ = QFileDialog.getSaveFileName(
            self, f"Export {kind.upper()}", f"debrief.{kind}", f"*.{kind}"
        )
        if name:
            self.export(Path(name).with_suffix(f".{kind}"))

    def _told(self) -> QScrollArea:
        """Return what is told about the moment in hand; long reasons can be scrolled."""
        inner = QWidget()
        inner.setObjectName("plain")
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 8, 0)
        column.addWidget(self.moment)
        column.addWidget(self.strip)
        column.addWidget(self.called_title)
        column.addWidget(self.called)
        column.addWidget(label("Why", "group"))
        column.addWidget(self.reasons)
        column.addStretch(1)
        return scroll_area(inner)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Debrief", "title"))
        head.addStretch(1)
        for widget in self.exports.values():
            head.addWidget(widget)
        back = button("Back  Esc", name="Back")
        back.clicked.connect(self.closed)
        head.addWidget(back)
        layout.addLayout(head)
        row = QHBoxLayout()
        row.setSpacing(12)
        picture = QVBoxLayout()
        picture.addWidget(self.plots, 1)
        picture.addWidget(self.scrubber)
        row.addLayout(picture, 1)
        frame, side = panel("Moment in hand")
        frame.setFixedWidth(_SIDE_PX)
        side.addWidget(self.marks, 2)
        side.addWidget(self._told(), 5)
        side.addWidget(self.resume)
        row.addWidget(frame)
        layout.addLayout(row, 1)
