"""A window with a small item bank, and what somebody does with the pages of the check."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.helpers.small_bank import SHIP, prepare, small_bank
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Confidence
from trainer.records.store import FILE_NAME, Store
from trainer.session.annunciation import Annunciation
from trainer.ui.window.main_window import MainWindow

ME = "Robin Vale"
PATIENCE_MS = 60_000


def known_bank() -> Any:
    """Return library and bank as a program has them that has found them before."""
    return _library(), small_bank()


@cache
def _library() -> Any:
    return Workspace().library(SHIP)


def open_window(qtbot: QtBot, user: Path) -> MainWindow:
    """Open a window on a folder of user data, as after a start of the program."""
    if not (user / "check_plans.yaml").exists():
        prepare(user)
    workspace = Workspace(user=user)
    workspace._banks[SHIP] = known_bank()
    window = MainWindow(user, lambda: workspace)
    qtbot.addWidget(window)
    with qtbot.waitSignal(window.loaded):
        window.show()
    return window


def choose(window: MainWindow, words: str = "Amber, stage one", form: str = "B") -> Any:
    """Open the page, choose what the check is for, and return the page."""
    window.top.check.click()
    intro = window.desk.rooms.check_door.intro
    places = [n for n in range(intro.purpose.count()) if words in intro.purpose.itemText(n)]
    intro.purpose.setCurrentIndex(places[0])
    if intro.form.isEnabled():
        intro.form.setCurrentIndex(intro.form.findData(form))
    return intro


def begin(qtbot: QtBot, window: MainWindow, member: str = ME) -> Any:
    """Begin a check of one's own and return its door, at the first item."""
    intro = choose(window)
    intro.member.setText(member)
    intro.confirm.setChecked(True)
    intro.begin.click()
    return at_item(qtbot, window)


def at_item(qtbot: QtBot, window: MainWindow) -> Any:
    """Wait for an item and return the door."""
    door = window.desk.rooms.check_door
    wait(qtbot, lambda: window.pages.currentWidget() is door.item)
    return door


def wait(qtbot: QtBot, is_so: Callable[[], bool]) -> None:
    """Wait for something that is worked on beside the window."""
    qtbot.waitUntil(is_so, timeout=PATIENCE_MS)


def asked(door: Any) -> str:
    """Return the id of the item that is asked."""
    return door.item.taken.item.id


def wrong_strip(item: Any) -> Annunciation:
    """Return a wrong answer: that of a misconception where there is one."""
    others = (*item.answers.values(), item.true.with_cell("alert", "signal_lost"))
    return next(one for one in others if one != item.true)


def answer(door: Any, *, right: bool = True, confidence: Confidence = "sure") -> str:
    """Build the strip with the builder, give the answer, and return the item's id."""
    item, builder = door.item.taken.item, door.item.page.builder
    said = item.true if right else wrong_strip(item)
    draft = builder.draft
    for name in builder.strip.cells:
        draft = draft.with_cell(name, said.cell(name))
    builder._set(draft.with_confidence(confidence))
    builder.submit.click()
    QApplication.processEvents()
    return item.id


def answer_all(qtbot: QtBot, window: MainWindow, wrong: tuple[int, ...] = ()) -> list[str]:
    """Answer to the end, wrongly at some places; return the items asked, in order."""
    door, ids = window.desk.rooms.check_door, []
    while window.pages.currentWidget() is door.item:
        number = len(ids) + 1
        confidence = "sure" if number != min(wrong, default=0) else "guess"
        ids.append(answer(door, right=number not in wrong, confidence=confidence))
    wait(qtbot, lambda: window.pages.currentWidget() is door.outcome)
    return ids


def kept(user: Path, member: str = ME) -> list[Any]:
    """Return what another program finds in the file of answers, oldest first."""
    with Store.open(user / FILE_NAME) as store:
        return store.attempts(member)[::-1]
