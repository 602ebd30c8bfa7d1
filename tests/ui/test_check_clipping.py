"""No word is cut on the pages of the check and of due practice, with long names too."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from tests.helpers.check_window import answer_all, begin, choose, open_window, wait
from tests.ui.test_clipping import cut_words
from trainer.ui.look.theme import APPEARANCES
from trainer.ui.window.main_window import MainWindow

LONG_NAME = "Maximiliana Alexandrina Featherstonehaugh-Cholmondeley, jun."


@pytest.fixture(params=[(1180, 680), (1280, 780)], ids=["least", "usual"])
def window(request: pytest.FixtureRequest, qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window of a size."""
    made = open_window(qtbot, tmp_path / "data")
    made.resize(*request.param)
    yield made
    made.close()


def test_no_word_is_cut(qtbot: QtBot, window: MainWindow) -> None:
    found: dict[str, list[str]] = {}
    size = window.size()

    def look(name: str, page: QWidget) -> None:
        found[name] = cut_words(page)
        assert window.size() == size, f"{name} has made the window grow"

    window.name_member(LONG_NAME)
    intro = choose(window)
    intro.say("Something is wrong that takes a sentence of some length to be told to everybody.")
    intro.show_waiting("Finding the items of this aircraft: 0:12, 1234 situations flown. " * 2)
    look("intro", intro)
    intro.show_waiting("")
    door = begin(qtbot, window, LONG_NAME)
    look("item", door.item)
    door.item.say("Not kept: the disk is full. The same item is still asked.", is_problem=True)
    look("item, problem", door.item)
    for cell in door.item.page.builder.strip.cells.values():
        cell.focused.emit(cell.cell)
        look(f"item, {cell.cell}", door.item)
    answer_all(qtbot, window, wrong=(2, 4))
    look("outcome", door.outcome)
    window.top.check.click()
    look("intro again", intro)
    window.desk.rooms.show_due()
    due = window.desk.rooms.due_door.made
    look("due", due)
    due.say("No situation of the practice shows this rule: fly its lesson again.")
    look("due, message", due)
    assert {page: words for page, words in found.items() if words} == {}


@pytest.mark.parametrize("appearance", APPEARANCES)
def test_every_appearance_paints_every_page(qtbot: QtBot, tmp_path: Path, appearance: str) -> None:
    window = open_window(qtbot, tmp_path / "data")
    window.set_appearance(appearance)
    door = begin(qtbot, window)
    pictures = [door.item.grab().toImage()]
    answer_all(qtbot, window, wrong=(1,))
    pictures.append(door.outcome.grab().toImage())
    window.top.check.click()
    pictures.append(door.intro.grab().toImage())
    window.desk.rooms.show_due()
    pictures.append(window.desk.rooms.due_door.made.grab().toImage())
    grounds = {one.pixelColor(2, 2).name() for one in pictures}
    assert len(grounds) == 1
    wait(qtbot, lambda: True)
    is_dark = next(iter(grounds)) < "#800000"
    assert is_dark == (appearance != "light")
    window.close()
