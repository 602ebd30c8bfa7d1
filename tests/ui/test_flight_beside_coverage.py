"""A flight in the window shows what the logic gives, also while all lessons are flown beside it."""

from __future__ import annotations

import random
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.session.annunciation import Annunciation
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.window.main_window import MainWindow


@contextmanager
def coverage_beside(workspace: Workspace) -> Iterator[list[int]]:
    """Compute the lessons' coverage in a thread again and again; counts how often it ended."""
    ended: list[int] = []
    stopping = threading.Event()

    def compute() -> None:
        while not stopping.is_set():
            workspace.coverage("ship_amber")
            ended.append(1)

    interval_s = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    thread = threading.Thread(target=compute)
    thread.start()
    try:
        yield ended
    finally:
        stopping.set()
        thread.join()
        sys.setswitchinterval(interval_s)


def flown_strips(window: MainWindow, presses: int) -> list[Annunciation]:
    """Return the strip after each of many keys pressed at random, time passing between them."""
    window.open_free("ship_amber", SITUATIONS[0].start, 0)
    window.driver.stop_clock()
    window.proceed()
    chance = random.Random(20261201)
    events = window.practice.session.installation.chart.events.values()
    keys = [event.id for event in events if event.kind == "key"]
    strips = []
    for _ in range(presses):
        window.practice.press(chance.choice(keys))
        strips.append(window.practice.session.annunciation)
        if chance.random() < 0.2:
            window.driver.advance(0.25)
            strips.append(window.practice.session.annunciation)
    return strips


@pytest.mark.parametrize("presses", [300, pytest.param(70_000, marks=pytest.mark.long)])
def test_a_flight_beside_coverage_shows_what_it_shows_alone(
    qtbot: QtBot, tmp_path: Path, presses: int
) -> None:
    window = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(window)
    window.show()
    window.load()
    alone = flown_strips(window, presses)
    with coverage_beside(window.desk.workspace) as ended:
        beside = flown_strips(window, presses)
    assert ended, "nothing was computed beside the flight"
    differing = [n for n, pair in enumerate(zip(alone, beside, strict=True)) if pair[0] != pair[1]]
    assert differing == []
