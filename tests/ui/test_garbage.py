"""Widgets in cycles are destroyed by the window's thread, whatever other threads do."""

from __future__ import annotations

import gc
import threading
import weakref
from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from trainer.ui.window.garbage import FULL_EVERY_S, FULL_SHARE, GarbageCollector


class Knot(QWidget):
    """A widget that holds itself."""

    def __init__(self) -> None:
        super().__init__()
        self.me = self


class Clock:
    """Seconds set by the test."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def collector(qtbot: QtBot) -> Iterator[GarbageCollector]:
    """A collector at work."""
    gc.enable()
    made = GarbageCollector(clock=Clock())
    made.start()
    yield made
    made.stop()


def _let_a_thread_make(objects: int) -> None:
    made: list[list[int]] = []
    thread = threading.Thread(target=lambda: made.extend([0] for _ in range(objects)))
    thread.start()
    thread.join()


def test_a_thread_destroys_no_widget(qtbot: QtBot, collector: GarbageCollector) -> None:
    died_in: list[int] = []
    knot = Knot()
    weakref.finalize(knot, lambda: died_in.append(threading.get_ident()))
    del knot
    _let_a_thread_make(200_000)
    assert died_in == []
    made = [[number] for number in range(2 * gc.get_threshold()[0])]  # as a window at work does
    qtbot.waitUntil(lambda: bool(died_in), timeout=20_000)
    assert died_in == [threading.get_ident()]
    assert made


def test_python_itself_would_have_let_the_thread_do_it(qtbot: QtBot) -> None:
    gc.enable()
    died_in: list[int] = []

    class Plain:
        """No widget: this one may die anywhere."""

    one = Plain()
    one.me = one
    weakref.finalize(one, lambda: died_in.append(threading.get_ident()))
    del one
    _let_a_thread_make(200_000)
    assert died_in
    assert died_in != [threading.get_ident()]


def test_everything_is_collected_seldom(
    collector: GarbageCollector, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = collector._clock
    asked: list[tuple[int, ...]] = []
    counts = [(0, 0, 1)]

    def collect(*generation: int) -> int:
        asked.append(generation)
        clock.now_s += 0.5
        return 0

    monkeypatch.setattr(gc, "collect", collect)
    monkeypatch.setattr(gc, "get_count", lambda: counts[0])
    collector.look()
    assert asked == []
    clock.now_s = FULL_EVERY_S
    collector.look()
    clock.now_s = FULL_EVERY_S + 0.5 / FULL_SHARE - 1.0
    collector.look()
    assert asked == [()]
    clock.now_s += 1.0
    collector.look()
    assert asked == [(), ()]
    counts[0] = (0, 100_000, 1)
    collector.look()
    counts[0] = (100_000, 0, 1)
    collector.look()
    assert asked[2:] == [(1,), (0,)]


def test_python_collects_again_afterwards(qtbot: QtBot) -> None:
    gc.enable()
    made = GarbageCollector()
    made.start()
    assert not gc.isenabled()
    made.stop()
    assert gc.isenabled()
