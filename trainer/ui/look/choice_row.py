"""The words that the cell in hand can be set to, numbered, as buttons."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from trainer.ui.look.flow_layout import FlowLayout
from trainer.ui.look.kit import button, label
from trainer.ui.strip.draft import Pick


class ChoiceRow(QWidget):
    """Numbered word buttons; they never take the focus from the cell."""

    picked = Signal(str)
    kept = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plain")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        self._title = label("", "group")
        layout.addWidget(self._title)
        self._holder = QWidget()
        self._holder.setObjectName("plain")
        self._flow = FlowLayout(self._holder)
        layout.addWidget(self._holder)
        self._keep = button("=  As now", name="This cell stays as now")
        self._keep.setObjectName("choice_keep")
        self._keep.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._keep.clicked.connect(self.kept)
        self._flow.addWidget(self._keep)
        self._buttons: list[QPushButton] = []

    def show_picks(self, title: str, picks: tuple[Pick, ...]) -> None:
        """Show the choices of a cell."""
        self._title.setText(title)
        self._make(len(picks))
        for number, (widget, pick) in enumerate(zip(self._buttons, picks, strict=False), 1):
            key = f"{number}  " if number < 10 else ""
            widget.setText(f"{key}{pick.label}".replace("&", "&&"))
            widget.setAccessibleName(pick.label)
            widget.setObjectName(f"choice_{pick.state or 'nothing'}")
            widget.setProperty("state", pick.state)
            widget.setChecked(pick.is_on)
        for number, widget in enumerate(self._buttons):
            widget.setVisible(number < len(picks))
        self._flow.invalidate()
        self.updateGeometry()

    def show_keep(self, is_offered: bool) -> None:
        """Offer that the cell stays as now, or don't."""
        self._keep.setVisible(is_offered)

    def _make(self, count: int) -> None:
        self._flow.removeWidget(self._keep)
        while len(self._buttons) < count:
            widget = button("?")
            widget.setCheckable(True)
            widget.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            widget.clicked.connect(self._click)
            self._buttons.append(widget)
            self._flow.addWidget(widget)
        self._flow.addWidget(self._keep)

    def _click(self) -> None:
        self.picked.emit(self.sender().property("state"))
