"""Every state of the window: nothing is cut, every control can be read out, nothing flashes."""

from __future__ import annotations

import itertools
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtGui import QAccessible, QAccessibleInterface, QImage
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from tests.helpers.acting_roles import ACTING
from tests.helpers.window_states import States
from trainer.app import Workspace
from trainer.session.annunciation import CELLS
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.ui.look.theme import APPEARANCES
from trainer.ui.look.view import PictureView
from trainer.ui.look.word_button import WordButton
from trainer.ui.strip.strip_widget import StripCell
from trainer.ui.window.main_window import MainWindow

LEAST_PX, USUAL_PX, WIDE_PX = (1280, 720), (1280, 800), (1920, 1080)
MOST_FLASHES = 3
"""In any one second. Source: [DSP-04]."""


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """The whole window with the lessons that come with it."""
    widget = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded, timeout=20_000):
        widget.show()
    yield widget
    widget.close()


def interfaces(root: QAccessibleInterface) -> Iterator[QAccessibleInterface]:
    """Walk what a screen reader sees."""
    for place in range(root.childCount()):
        child = root.child(place)
        if child is not None and child.isValid():
            yield child
            yield from interfaces(child)


def unnamed(root: QWidget) -> list[str]:
    """Return the controls and strip cells that a screen reader can't name."""
    found = []
    for one in interfaces(QAccessible.queryAccessibleInterface(root)):
        widget = one.object()
        if one.state().invisible or not isinstance(widget, QWidget):
            continue
        is_inner = widget.objectName().startswith("qt_")
        matters = one.role() in ACTING or isinstance(widget, StripCell)
        if matters and not is_inner and not one.text(QAccessible.Text.Name):
            found.append(f"{one.role()} {widget.metaObject().className()} {widget.objectName()}")
    return found


def cut(root: QWidget) -> list[str]:
    """Return the words of labels and buttons that have less room than they need."""
    found = []
    for widget in root.findChildren(QWidget):
        is_drawn = isinstance(widget, StripCell | PictureView | WordButton)
        if is_drawn or not widget.isVisible() or not isinstance(widget, QLabel | QPushButton):
            continue
        if isinstance(widget, QLabel) and widget.wordWrap():
            is_cut = widget.height() < widget.heightForWidth(widget.width())
        else:
            words = widget.text().replace("&&", "&")
            is_cut = widget.width() < widget.fontMetrics().horizontalAdvance(words)
        if is_cut:
            found.append(widget.text())
    return found


def strips_outside(root: QWidget) -> list[str]:
    """Return the cells of strips that stand outside their strip or overlap."""
    found = []
    for cell in root.findChildren(StripCell):
        if cell.isVisible() and not cell.parentWidget().rect().contains(cell.geometry()):
            found.append(cell.objectName())
    return found


def walk(window: MainWindow, size: tuple[int, int]) -> dict[str, list[str]]:
    """Return what is wrong, state by state."""
    window.resize(*size)
    wrong: dict[str, list[str]] = {}
    seen = 0
    for name, widget in States(window).all():
        for _ in range(4):
            QApplication.processEvents()
        assert widget.width() <= max(size[0], widget.minimumWidth()), name
        problems = [f"cut: {words}" for words in cut(widget)]
        problems += [f"no name: {words}" for words in unnamed(widget)]
        problems += [f"outside: {words}" for words in strips_outside(widget)]
        if problems:
            wrong[name] = problems
        seen += 1
    assert seen >= 30
    assert (window.width(), window.height()) == size
    return wrong


def test_every_state_can_be_read_and_read_out(window: MainWindow) -> None:
    assert walk(window, LEAST_PX) == {}


@pytest.mark.long
@pytest.mark.parametrize("size", [LEAST_PX, USUAL_PX, WIDE_PX])
@pytest.mark.parametrize("appearance", APPEARANCES)
def test_every_state_in_every_look_and_size(
    window: MainWindow, appearance: str, size: tuple[int, int]
) -> None:
    window.set_appearance(appearance)
    assert walk(window, size) == {}


@pytest.mark.long
def test_nothing_flashes_more_than_three_times_a_second(qtbot: QtBot, window: MainWindow) -> None:
    """[DSP-04] Seen from outside: pictures of the window, with marks, an alert and time running."""
    for name, _widget in States(window).all():
        if name == "free-alert":
            break
    strip = window.desk.page.strip
    brightness: dict[str, list[tuple[float, int]]] = {cell: [] for cell in strip.cells}
    began_s = time.monotonic()
    while (now_s := time.monotonic() - began_s) < 4.0:
        qtbot.wait(15)
        for cell, widget in strip.cells.items():
            image = widget.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
            brightness[cell].append((now_s, sum(bytes(image.constBits())[::7])))
    for cell, seen in brightness.items():
        turns = [b[0] for a, b in itertools.pairwise(seen) if a[1] != b[1]]
        most = max((sum(at <= t < at + 1.0 for t in turns) for at in turns), default=0)
        # A flash is a pair of opposing changes.
        assert most / 2 <= MOST_FLASHES, (cell, most)
    assert any(len({level for _t, level in seen}) > 1 for seen in brightness.values())


EXTREMES = (
    replace(
        DEFAULT_DESIGN,
        name="Big",
        scale=2.0,
        orientation="columns",
        words={
            "heading_select": "Turn to the heading that is selected",
            "altitude": "The altitude that was selected before",
        },
    ),
    replace(DEFAULT_DESIGN, name="Wide", scale=1.5, lanes=(tuple(CELLS),)),
    replace(DEFAULT_DESIGN, name="Tall", scale=1.2, lanes=tuple((cell,) for cell in CELLS)),
)


@pytest.mark.long
@pytest.mark.parametrize("design", EXTREMES, ids=lambda one: one.name)
def test_every_state_holds_any_strip(window: MainWindow, design: StripDesign) -> None:
    window.desk.shelf.keep(design)
    window.use_design(design)
    assert walk(window, LEAST_PX) == {}


def test_cell_in_hand_of_a_tall_strip_is_in_view(qtbot: QtBot, window: MainWindow) -> None:
    window.desk.shelf.keep(EXTREMES[2])
    window.use_design(EXTREMES[2])
    window.resize(*LEAST_PX)
    for name, _widget in States(window).all():
        if name == "asking":
            break
    cells = window.desk.page.builder.strip.cells
    window.activateWindow()
    QApplication.processEvents()
    for cell in (cells["protection"], cells["engagement"]):
        cell.setFocus()
        QApplication.processEvents()
        assert cell.visibleRegion().boundingRect() == cell.rect()
