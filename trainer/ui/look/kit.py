"""Small makers of labels, buttons and panels that carry their meaning as a property."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QListView,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from trainer.ui.look.theme import LARGE_PX


def label(text: str, role: str = "", *, wraps: bool = False) -> QLabel:
    """Return a label; `role` names its meaning for the style sheet."""
    widget = QLabel(text)
    widget.setTextFormat(Qt.TextFormat.PlainText)
    widget.setWordWrap(wraps)
    if role:
        widget.setProperty("role", role)
    return widget


def button(text: str, role: str = "", *, name: str = "", hint: str = "") -> QPushButton:
    """Return a button with an accessible name; `hint` is its tool tip."""
    widget = QPushButton(text.replace("&", "&&"))
    widget.setAccessibleName(name or text)
    widget.setAutoDefault(False)
    if role:
        widget.setProperty("role", role)
    if hint:
        widget.setToolTip(hint)
    return widget


def panel(name: str) -> tuple[QFrame, QVBoxLayout]:
    """Return a framed panel and its layout."""
    frame = QFrame()
    frame.setObjectName("panel")
    frame.setAccessibleName(name)
    layout = QVBoxLayout(frame)
    layout.setContentsMargins(12, 8, 12, 8)
    layout.setSpacing(4)
    return frame, layout


def scroll_area(
    inner: QWidget, name: str = "", *, sideways: bool = False, by_keys: bool = True
) -> QScrollArea:
    """Return a frameless area that scrolls where its widget has too little room.

    Args:
        inner: What is in it.
        name: Its accessible name.
        sideways: It may scroll sideways too.
        by_keys: It takes the focus, so that keys scroll it.
    """
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    if not sideways:
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    if not by_keys:
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setAccessibleName(name)
    area.setWidget(inner)
    return area


def item_head(title: QWidget, *right: QWidget) -> QHBoxLayout:
    """Return the line above an item of a check: its title, and what stands at the right."""
    head = QHBoxLayout()
    head.setContentsMargins(8, 4, 8, 0)
    head.setSpacing(12)
    head.addWidget(title, 1)
    for widget in right:
        head.addWidget(widget)
    return head


def make_heading(item: QListWidgetItem, owner: QListWidget) -> None:
    """Let an item of a list be read as the heading of those below it; it can't be chosen."""
    font = owner.font()
    font.setPixelSize(LARGE_PX)
    font.setBold(True)
    item.setFont(font)
    item.setFlags(Qt.ItemFlag.NoItemFlags)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, f"Heading: {item.text()}")


def show_whole_rows(rows: QListWidget) -> None:
    """Let long rows go on below instead of behind a bar across."""
    rows.setWordWrap(True)
    rows.setResizeMode(QListView.ResizeMode.Adjust)
    rows.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)


def set_role(widget: QWidget, role: str) -> None:
    """Give a widget another meaning and have it painted so."""
    if widget.property("role") != role:
        widget.setProperty("role", role)
        widget.style().unpolish(widget)
        widget.style().polish(widget)
