"""Long work: in a thread of its own, its news in the window's; nothing after closing."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from trainer.errors import TrainerError
from trainer.ui.window.background import Background


@pytest.fixture
def background(qtbot: QtBot) -> Iterator[Background]:
    """A worker; nothing of it is left behind."""
    made = Background()
    yield made
    made.close()


def test_work_runs_elsewhere_and_reports_here(qtbot: QtBot, background: Background) -> None:
    threads, news, results = [], [], []

    def work(progress: object) -> int:
        threads.append(threading.current_thread())
        progress(1)
        progress(2)
        return 3

    def done(result: int) -> None:
        threads.append(threading.current_thread())
        results.append(result)

    assert background.run(work, done, pytest.fail, news.append)
    qtbot.waitUntil(lambda: bool(results))
    assert (news, results) == ([1, 2], [3])
    assert threads[0] is not threading.main_thread()
    assert threads[1] is threading.main_thread()


def test_a_refusal_comes_as_words(qtbot: QtBot, background: Background) -> None:
    said: list[str] = []

    def work(_progress: object) -> None:
        raise TrainerError("the disk is full")

    background.run(work, pytest.fail, said.append)
    qtbot.waitUntil(lambda: bool(said))
    assert said == ["the disk is full"]


def test_a_bug_is_not_hidden(qtbot: QtBot, background: Background) -> None:
    def work(_progress: object) -> None:
        raise ZeroDivisionError

    with qtbot.captureExceptions() as caught:
        background.run(work, pytest.fail, pytest.fail)
        qtbot.waitUntil(lambda: not background.is_busy)
    assert [one[0] for one in caught] == [ZeroDivisionError]


def test_one_job_at_a_time_and_the_next_may_begin_at_its_end(
    qtbot: QtBot, background: Background
) -> None:
    gate, ended = threading.Event(), []
    background.run(lambda _: gate.wait(5), lambda _: ended.append("first"), pytest.fail)
    assert not background.run(lambda _: 1, pytest.fail, pytest.fail)
    started = []

    def begin_next(is_busy: bool) -> None:
        if not is_busy and not started:
            started.append(True)
            background.run(lambda _: 2, lambda _: ended.append("second"), pytest.fail)

    background.busy.connect(begin_next)
    gate.set()
    qtbot.waitUntil(lambda: len(ended) == 2)
    assert ended == ["first", "second"]


def test_nobody_is_told_after_closing(qtbot: QtBot, background: Background) -> None:
    background.run(lambda _: 1, pytest.fail, pytest.fail)
    background.close()
    qtbot.wait(30)
    assert not background.is_busy
