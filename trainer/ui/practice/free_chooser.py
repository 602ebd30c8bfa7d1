"""Free practice begins here: a situation, an aircraft, and how often to call it first."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.flight.types import Wind
from trainer.session.situation import Start
from trainer.ui.look.kit import button, label, panel
from trainer.ui.look.picker import Picker
from trainer.ui.practice.free_flight import DRILL_RATES, rate_words
from trainer.ui.practice.saved_situation import SavedSituation
from trainer.ui.practice.situations import SITUATIONS, with_wind


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
        self.aircraft = Picker("Aircraft")
        self.drill = Picker("Call it first")
        self.wind_from = Picker("Wind from, degrees")
        self.wind_speed = Picker("Wind speed, knots")
        for angle_deg in range(30, 361, 30):
            self.wind_from.addItem(f"{angle_deg:03d}", float(angle_deg % 360))
        for speed_kt in (0, 5, 10, 15, 20, 30, 40):
            self.wind_speed.addItem(f"{speed_kt} kt" if speed_kt else "Calm", float(speed_kt))
        self.start = button("Start  Enter", "main", name="Start")
        for rate in DRILL_RATES:
            self.drill.addItem(rate_words(rate).removeprefix("Call it first: ").capitalize(), rate)
        self._saved: list[SavedSituation] = []
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

    def show_saved(self, saved: list[SavedSituation]) -> None:
        """Offer the trainee's own situations behind the others."""
        self._saved = saved
        row = max(0, self.list.currentRow())
        self.list.clear()
        self.list.addItems([situation.title for situation in SITUATIONS])
        self.list.addItems([f"Saved: {situation.title}" for situation in saved])
        self.list.setCurrentRow(min(row, self.list.count() - 1))

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        layout.addWidget(label("Free practice", "title"))
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.list, 2)
        frame, column = panel("Situation in hand")
        column.setSpacing(8)
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
        elif (saved := self._saved_at(row)) is not None:
            self.title.setText(saved.title)
            self.summary.setText(f"A moment that you saved. Its file: {saved.path}")
            self.aircraft.setCurrentIndex(max(0, self.aircraft.findData(saved.installation)))

    def _saved_at(self, row: int) -> SavedSituation | None:
        place = row - len(SITUATIONS)
        return self._saved[place] if 0 <= place < len(self._saved) else None

    def _start(self) -> None:
        row = self.list.currentRow()
        saved = self._saved_at(row)
        if not self.aircraft.count() or not (0 <= row < len(SITUATIONS) or saved):
            return
        start: Start = saved.start if saved else SITUATIONS[row].start
        wind = Wind(self.wind_from.currentData(), self.wind_speed.currentData())
        if saved is None or wind.speed_kt:
            start = with_wind(start, wind)
        self.started.emit(self.aircraft.currentData(), start, self.drill.currentData())
