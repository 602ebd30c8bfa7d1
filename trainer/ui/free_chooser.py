"""Free practice begins here: a situation, an aircraft, and how often to call it first."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QListWidget,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from trainer.flight.types import Wind
from trainer.session.situation import Start
from trainer.ui.free_flight import DRILL_RATES, rate_words
from trainer.ui.kit import button, label, panel
from trainer.ui.situations import SITUATIONS, with_wind


class FreeChooser(QWidget):
    """`started` carries installation id, start and drill rate."""

    started = Signal(str, object, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.list = QListWidget()
        self.list.setAccessibleName("Situations")
        self.title = label("", "title", wraps=True)
        self.summary = label("", wraps=True)
        self.aircraft = QComboBox()
        self.aircraft.setAccessibleName("Aircraft")
        self.drill = QComboBox()
        self.drill.setAccessibleName("Call it first")
        self.wind_from = _spin("Wind from, degrees", 0, 359, 10, " deg")
        self.wind_speed = _spin("Wind speed, knots", 0, 40, 5, " kt")
        self.start = button("Start  Enter", "main", name="Start")
        for rate in DRILL_RATES:
            self.drill.addItem(rate_words(rate).removeprefix("Call it first: ").capitalize(), rate)
        self.list.addItems([situation.title for situation in SITUATIONS])
        self._lay_out()
        self.list.currentRowChanged.connect(self._show)
        self.list.itemActivated.connect(lambda _item: self._start())
        self.start.clicked.connect(self._start)
        self.list.setCurrentRow(0)

    def show_aircraft(self, titles: Mapping[str, str]) -> None:
        """Offer installations: id -> title."""
        self.aircraft.clear()
        for name, title in titles.items():
            self.aircraft.addItem(title, name)
        self.start.setEnabled(bool(titles))

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(10)
        layout.addWidget(label("Free practice", "title"))
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.list, 2)
        frame, column = panel("Situation in hand")
        column.setSpacing(10)
        column.addWidget(self.title)
        column.addWidget(self.summary)
        form = QFormLayout()
        form.setSpacing(8)
        for name, widget in (
            ("Aircraft", self.aircraft),
            ("Call it first", self.drill),
            ("Wind from", self.wind_from),
            ("Wind speed", self.wind_speed),
        ):
            form.addRow(label(name), widget)
        column.addLayout(form)
        column.addWidget(
            label("Call it first: a key asks what the strip will read before it acts.", "quiet")
        )
        column.addStretch(1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.start)
        column.addLayout(foot)
        row.addWidget(frame, 3)
        layout.addLayout(row, 1)

    def _show(self, row: int) -> None:
        if 0 <= row < len(SITUATIONS):
            self.title.setText(SITUATIONS[row].title)
            self.summary.setText(SITUATIONS[row].summary)

    def _start(self) -> None:
        row = self.list.currentRow()
        if not 0 <= row < len(SITUATIONS) or not self.aircraft.count():
            return
        wind = Wind(float(self.wind_from.value()), float(self.wind_speed.value()))
        start: Start = with_wind(SITUATIONS[row].start, wind)
        self.started.emit(self.aircraft.currentData(), start, self.drill.currentData())


def _spin(name: str, low: int, high: int, step: int, suffix: str) -> QSpinBox:
    spin = QSpinBox()
    spin.setRange(low, high)
    spin.setSingleStep(step)
    spin.setSuffix(suffix)
    spin.setAccessibleName(name)
    return spin
