"""The strip designer: the trainee's own strip, previewed in a lesson that plays, and checked."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import TrainerError
from trainer.session.annunciation import Annunciation
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.ui.look.kit import button, label, panel, scroll_area
from trainer.ui.look.words import StripWords, with_design
from trainer.ui.strip.arrange_strip import ArrangeStrip
from trainer.ui.strip.demo_flight import DemoFlight
from trainer.ui.strip.design_edit import findings_of, moved_onto, moved_to, nudged, repaired
from trainer.ui.strip.design_fit import unfit_findings
from trainer.ui.strip.design_options import DesignOptions
from trainer.ui.strip.design_shelf import DesignShelf, renamed

_TICK_MS = 100
_PREVIEW_SPEED = 4.0
GOOD_WORDS = "✓ Legible in light and dark, and with each common colour-vision deficiency."


class DesignPage(QWidget):
    """Designs on the left, preview and checks in the middle, choices on the right."""

    closed = Signal()
    chosen = Signal(object)
    """The design to use everywhere."""
    failed = Signal(str)

    def __init__(self, shelf: DesignShelf, words: StripWords, demo: DemoFlight | None) -> None:
        super().__init__()
        self.setObjectName("page")
        self._shelf, self._words, self._demo = shelf, words, demo
        self.design: StripDesign = DEFAULT_DESIGN
        self.list = QListWidget()
        self.list.setAccessibleName("Your designs")
        self.name = QLineEdit()
        self.name.setAccessibleName("Name of the design")
        self.name.setMaxLength(60)
        self.previews = {scheme: ArrangeStrip() for scheme in ("light", "dark")}
        self.options = DesignOptions()
        self.findings = QVBoxLayout()
        self.acts = {
            name: button(name) for name in ("Copy", "Delete", "Import…", "Export…", "Use this one")
        }
        self._timer = QTimer(self)
        self._timer.setInterval(_TICK_MS)
        self._timer.timeout.connect(lambda: self.advance(_TICK_MS / 1000 * _PREVIEW_SPEED))
        self._lay_out()
        self._connect()

    def show_designs(self, name: str) -> None:
        """Show the shelf, with the design of a name in hand."""
        designs = self._shelf.designs()
        names = [design.name for design in designs]
        self.list.blockSignals(True)
        self.list.clear()
        self.list.addItems(names)
        row = names.index(name) if name in names else 0
        self.list.setCurrentRow(row)
        self.list.blockSignals(False)
        self._take(designs[row])
        self.failed.emit("\n".join(self._shelf.problems))
        self._timer.start()

    def leave(self) -> None:
        """Stop the preview."""
        self._timer.stop()

    def advance(self, dt_s: float) -> None:
        """Let the preview's lesson run."""
        if self._demo is not None and self.isVisible():
            self._demo.advance(dt_s)
            self._preview()

    def edit(self, design: StripDesign) -> None:
        """Take a changed design: kept at once; a change to the default makes a copy."""
        if design == self.design:
            return
        if design.name == DEFAULT_DESIGN.name:
            design = renamed(design, self._shelf.free_name("My strip"))
        try:
            self._shelf.keep(design)
        except TrainerError as error:
            self.failed.emit(str(error))
            return
        if design.name != self.design.name:
            self.show_designs(design.name)
        else:
            self._take(design)

    def bring_in(self, path: Path) -> None:
        """Import a design."""
        self._try(lambda: self.show_designs(self._shelf.bring_in(path).name))

    def hand_on(self, path: Path) -> None:
        """Export the design in hand."""
        self._try(lambda: self._shelf.hand_on(self.design, path))

    def _take(self, design: StripDesign) -> None:
        self.design = design
        is_own = design.name != DEFAULT_DESIGN.name
        self.name.setText(design.name)
        self.name.setEnabled(is_own)
        self.acts["Delete"].setEnabled(is_own)
        self.options.show_design(design, self._words)
        self._preview()
        self._show_findings()

    def _preview(self) -> None:
        shown = (Annunciation(), frozenset[str]())
        if self._demo is not None:
            shown = (self._demo.annunciation, self._demo.marks)
        words = with_design(self._words, self.design)
        for scheme, strip in self.previews.items():
            strip.show_design(self.design, getattr(self.design, scheme), words, shown)

    def _show_findings(self) -> None:
        while self.findings.count():
            widget = self.findings.takeAt(0).widget()
            widget.hide()
            widget.deleteLater()
        unfit = unfit_findings(self.design, self._words, self.font())
        found = (*findings_of(self.design, self._words), *unfit)
        if not found:
            self.findings.addWidget(label(GOOD_WORDS, "right", wraps=True))
        for finding in found:
            where = "" if finding.scheme == "both" else f" ({finding.scheme})"
            words = f"✗ {finding.what}{where}. Repair: {finding.repair}."
            self.findings.addWidget(label(words, "wrong", wraps=True))
            if finding.colour:
                mend = button(f"Repair {finding.colour} ({finding.scheme})")
                mend.clicked.connect(
                    lambda _on=False, f=finding: self.edit(repaired(self.design, f))
                )
                self.findings.addWidget(mend)

    def _rename(self) -> None:
        name = self.name.text().strip()
        if not name or name == self.design.name:
            return
        old = self.design.name
        self.edit(renamed(self.design, self._shelf.free_name(name)))
        self._shelf.remove(old)
        self.show_designs(self.design.name)

    def _copy(self) -> None:
        self.edit(renamed(self.design, self._shelf.free_name(f"Copy of {self.design.name}"[:56])))

    def _delete(self) -> None:
        self._shelf.remove(self.design.name)
        self.show_designs(DEFAULT_DESIGN.name)

    def _try(self, act: object) -> None:
        try:
            act()
        except TrainerError as error:
            self.failed.emit(str(error))

    def _choose_row(self, row: int) -> None:
        designs = self._shelf.designs()
        if 0 <= row < len(designs):
            self._take(designs[row])

    def _ask_import(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "Import a strip design", "", "*.yaml")
        if name:
            self.bring_in(Path(name))

    def _ask_export(self) -> None:
        name, _ = QFileDialog.getSaveFileName(self, "Export", "strip-design.yaml", "*.yaml")
        if name:
            self.hand_on(Path(name))

    def _connect(self) -> None:
        self.list.currentRowChanged.connect(self._choose_row)
        self.name.editingFinished.connect(self._rename)
        self.options.changed.connect(self.edit)
        for strip in self.previews.values():
            strip.put_onto.connect(lambda c, o: self.edit(moved_onto(self.design, c, o)))
            strip.put_below.connect(
                lambda c: self.edit(moved_to(self.design, c, len(self.design.lanes), 0))
            )
            strip.nudged.connect(self._nudge)
        acts = self.acts
        acts["Copy"].clicked.connect(self._copy)
        acts["Delete"].clicked.connect(self._delete)
        acts["Import…"].clicked.connect(self._ask_import)
        acts["Export…"].clicked.connect(self._ask_export)
        acts["Use this one"].clicked.connect(lambda: self.chosen.emit(self.design))

    def _nudge(self, cell: str, right: int, down: int) -> None:
        is_rows = self.design.orientation == "rows"
        along, across = (right, down) if is_rows else (down, right)
        self.edit(nudged(self.design, cell, along, across))

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("My strip", "title"))
        head.addStretch(1)
        back = button("Back  Esc", name="Back")
        back.clicked.connect(self.closed)
        head.addWidget(back)
        layout.addLayout(head)
        row = QHBoxLayout()
        row.setSpacing(12)
        frame, left = panel("Designs")
        frame.setFixedWidth(230)
        left.addWidget(self.list, 1)
        left.addWidget(self.name)
        for widget in self.acts.values():
            left.addWidget(widget)
        self.acts["Use this one"].setProperty("role", "main")
        row.addWidget(frame)
        row.addWidget(self._middle(), 1)
        self.options.setFixedWidth(380)
        row.addWidget(self.options)
        layout.addLayout(row, 1)

    def _middle(self) -> QScrollArea:
        inner = QWidget()
        inner.setObjectName("plain")
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 8, 0)
        column.addWidget(
            label("Drag cells, or move them with Ctrl and an arrow key. A lesson plays.", "quiet")
        )
        for scheme, strip in self.previews.items():
            column.addWidget(label(scheme.capitalize(), "group"))
            column.addWidget(strip)
        column.addWidget(label("Checks", "group"))
        column.addLayout(self.findings)
        column.addStretch(1)
        return scroll_area(inner, sideways=True)
