"""Random keys and clicks: no exception, no Qt warning, and the same truths after each."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog, QMessageBox
from pytestqt.qtbot import QtBot

from tests.helpers.monkey import Monkey, what_is_wrong
from trainer.app import Workspace
from trainer.records.store import FILE_NAME, Store
from trainer.ui.window.main_window import MainWindow

LENGTH_S = float(os.environ.get("MODE_TRAINER_MONKEY_S", "120"))
SEED = int(os.environ.get("MODE_TRAINER_MONKEY_SEED", "1"))
REMEMBERED = 40


@pytest.fixture(autouse=True)
def no_dialogs_of_the_system(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Dialogs that wait for a person are answered at once."""
    file, files = (str(tmp_path / "x.yaml"), ""), ([], "")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_, **__: ("", ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_, **__: files)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: file)
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_, **__: "")
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("a name", True))
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_, **__: ("", False))
    monkeypatch.setattr(QMessageBox, "exec", lambda _self: 0)
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path / "data"))


def let_loose(qtbot: QtBot, folder: Path, seed: int, goes_on: Callable[[int], bool]) -> Monkey:
    """Let a monkey at the window; fail at the first thing that is wrong, with what led to it."""
    window = MainWindow(folder, lambda: Workspace(user=folder))
    qtbot.addWidget(window)
    window.show()
    window.load()
    monkey = Monkey(window, seed)
    said, deeds = [], []

    def note(kind: QtMsgType, _context: object, message: str) -> None:
        if kind not in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg) and "does not support" not in (
            message
        ):
            said.append(message)

    before = qInstallMessageHandler(note)
    try:
        with qtbot.captureExceptions() as raised:
            number = 0
            while goes_on(number):
                number += 1
                page = type(window.pages.currentWidget()).__name__
                deeds.append(f"{number} {page}: {monkey.step()}")
                wrong = what_is_wrong(window)
                assert (raised, said, wrong) == ([], [], ""), deeds[-REMEMBERED:]
                assert window.isVisible()
    finally:
        qInstallMessageHandler(before)
    for top in QApplication.topLevelWidgets():
        top.close()
    return monkey


def test_a_few_hundred_deeds(qtbot: QtBot, tmp_path: Path) -> None:
    monkey = let_loose(qtbot, tmp_path, SEED, lambda number: number < 250)
    assert len(monkey.done) > 5
    assert len(monkey.pages) > 2


@pytest.mark.long
def test_minutes_of_deeds(qtbot: QtBot, tmp_path: Path, record_property: Callable) -> None:
    ends_s = time.monotonic() + LENGTH_S
    monkey = let_loose(qtbot, tmp_path, SEED + 1, lambda _number: time.monotonic() < ends_s)
    deeds = sum(monkey.done.values())
    record_property("deeds", deeds)
    print(f"{deeds} deeds: {dict(monkey.done)}; pages {dict(monkey.pages)}")  # noqa: T201
    with Store.open(tmp_path / FILE_NAME) as store:
        store.check()
