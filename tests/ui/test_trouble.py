"""A mistake of the program's own: told once in plain words, reported without names."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from tests.unit.records.conftest import build_attempt
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.records.store import FILE_NAME, Store
from trainer.trouble import FOLDER, report_text
from trainer.ui.lesson.recorder import Recorder
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.trouble import trouble as module
from trainer.ui.trouble.rescued_answers import put_aside, take_back
from trainer.ui.trouble.trouble import TroubleDesk
from trainer.ui.window.background import Background
from trainer.ui.window.main_window import MainWindow

SECRET = "Robin Vale"


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """The program's window, loaded; its member has a name that nobody else may read."""
    made = MainWindow(tmp_path, Workspace)
    qtbot.addWidget(made)
    made.show()
    made.load()
    made.chooser.member_named.emit(SECRET)
    yield made
    made.driver.stop_clock()


@pytest.fixture
def desk(window: MainWindow, tmp_path: Path, qapp: QApplication) -> Iterator[TroubleDesk]:
    """What meets mistakes, as in the program."""
    made = TroubleDesk(window, tmp_path)
    made.install(qapp)
    yield made
    made.remove()
    qapp.removeEventFilter(made.events)


class Painter(QWidget):
    """Paints badly while told to."""

    is_bad = True
    paints = 0

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt calls it so
        from PySide6.QtGui import QPainter

        painter = QPainter(self)
        self.paints += 1
        if self.is_bad:
            raise ZeroDivisionError("paint")
        painter.end()


def paint(qtbot: QtBot, widget: Painter, times: int) -> None:
    wanted = widget.paints + times
    timer = QTimer(widget)
    timer.timeout.connect(widget.update)
    timer.start(0)
    qtbot.waitUntil(lambda: widget.paints >= wanted)
    timer.stop()


def reports(folder: Path) -> list[str]:
    return [path.read_text("utf-8") for path in sorted((folder / FOLDER).glob("*.txt"))]


def fail(words: str = "it broke") -> None:
    raise RuntimeError(words)


def in_a_slot(window: MainWindow) -> QObject:
    button = QPushButton("x", window)
    button.clicked.connect(lambda _on: fail())
    button.click()
    return button


def in_a_timer(window: MainWindow) -> QObject:
    timer = QTimer(window)
    timer.setSingleShot(True)
    timer.timeout.connect(fail)
    timer.start(0)
    return timer


def in_a_worker(window: MainWindow) -> QObject:
    worker = Background(window)
    worker.run(lambda _progress: fail(), lambda _done: None, lambda _words: None)
    return worker


def in_a_bare_thread(_window: MainWindow) -> QObject:
    thread = threading.Thread(target=fail)
    thread.start()
    thread.join()
    return QObject()


@pytest.mark.parametrize("raise_it", [in_a_slot, in_a_timer, in_a_worker, in_a_bare_thread])
def test_it_is_told_and_reported_wherever_it_is_raised(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, tmp_path: Path,
    raise_it: Callable[[MainWindow], QObject],
) -> None:  # fmt: skip
    kept = raise_it(window)
    qtbot.waitUntil(lambda: desk.dialog is not None)
    assert "RuntimeError: it broke" in desk.dialog.what.text()
    assert "Every answer given so far is stored" in desk.dialog.answers.text()
    (report,) = reports(tmp_path)
    assert "RuntimeError: it broke" in report
    assert "numpy:" in report
    assert "Qt:" in report
    assert str(tmp_path / FOLDER) in desk.dialog.report.text()
    desk.dialog.go_on.click()
    assert desk.dialog is None
    window.show_free()
    assert window.pages.currentWidget() is window.desk.free
    if isinstance(kept, Background):
        kept.close()


def test_a_storm_in_painting_opens_one_dialog(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, tmp_path: Path
) -> None:
    painter = Painter(window)
    painter.resize(50, 50)
    painter.show()
    paint(qtbot, painter, 100)
    qtbot.waitUntil(lambda: desk.dialog is not None)
    first = desk.dialog
    paint(qtbot, painter, 100)
    qtbot.waitUntil(lambda: "further mistakes" in first.more.text())
    assert len(reports(tmp_path)) == 1
    assert [w for w in window.findChildren(type(first)) if w.isVisible()] == [first]
    first.go_on.click()
    paint(qtbot, painter, 1)  # the same again, right away: no second dialog
    qtbot.wait(30)
    assert desk.dialog is None
    assert len(reports(tmp_path)) == 1
    painter.is_bad = False
    paint(qtbot, painter, 1)


def test_another_mistake_right_after_is_told(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, tmp_path: Path
) -> None:
    in_a_timer(window)
    qtbot.waitUntil(lambda: desk.dialog is not None)
    desk.dialog.go_on.click()
    QTimer.singleShot(0, lambda: list[int]().pop())
    qtbot.waitUntil(lambda: desk.dialog is not None)
    assert "IndexError" in desk.dialog.what.text()
    assert len(reports(tmp_path)) == 2


def test_the_same_mistake_is_told_again_after_a_while(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk, "_quiet_s", 0.0)
    for _ in range(2):
        in_a_slot(window)
        qtbot.waitUntil(lambda: desk.dialog is not None)
        desk.dialog.go_on.click()
    assert desk.dialog is None


def test_no_name_and_nothing_typed_is_in_the_report(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, tmp_path: Path
) -> None:
    with Store.open(tmp_path / FILE_NAME) as store:
        store.add(build_attempt(1, member="Cleo Marsh"))
    field = QLineEdit(window)
    field.show()
    window.activateWindow()
    field.setFocus()
    qtbot.keyClicks(field, "swordfish")
    QTimer.singleShot(0, lambda: fail(f"no place for {SECRET} and cleo marsh in {tmp_path}"))
    qtbot.waitUntil(lambda: desk.dialog is not None)
    (report,) = reports(tmp_path)
    for private in (SECRET, "Vale", "Cleo", "cleo marsh", "swordfish", str(tmp_path), "key 's'"):
        assert private not in report
    assert "no place for <name> and <name> in <data>" in report
    assert report.count("a key typed into QLineEdit") == len("swordfish")


def answer_as_it_was(window: MainWindow) -> None:
    """Answer the question that is open: nothing will change."""
    while window.practice.flyer.phase != "asking":
        window.proceed() if window.practice.flyer.phase == "explained" else None
        window.practice.is_running = True
        window.driver.advance(0.25)
    window.driver.act(lambda p: p.answer(Prediction(p.flyer.prompt.before, "sure")))
    while window.practice.flyer.phase == "revealing":
        window.driver.advance(0.25)


def test_answers_are_kept_and_the_lesson_begins_again_at_the_same_question(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    lesson = next(
        one for one in window.desk.workspace.lessons() if one.id == "12-armed-is-not-active"
    )
    window.open_lesson(lesson)
    window.driver.stop_clock()
    answer_as_it_was(window)
    old = window.practice
    monkeypatch.setattr(old, "proceed", lambda: fail("in the midst of a lesson"))
    window.desk.page.lesson.next.click()
    qtbot.waitUntil(lambda: desk.dialog is not None)
    with Store.open(tmp_path / FILE_NAME) as store:
        stored = store.attempts()
    assert [one.lesson_id for one in stored] == [lesson.id]
    assert desk.dialog.again.text() == "Begin again from this question"
    desk.dialog.again.click()
    window.driver.stop_clock()
    fresh = window.practice
    assert fresh is not old
    assert fresh.session.t_s == pytest.approx(old.session.t_s)
    assert fresh.flyer.phase == "explained"
    assert [one.prediction for one in fresh.flyer.outcomes] == [
        one.prediction for one in old.flyer.outcomes
    ]
    assert fresh.session.annunciation == old.session.annunciation
    answer_as_it_was(window)
    with Store.open(tmp_path / FILE_NAME) as store:
        assert len(store.attempts()) == 2


def test_a_free_flight_goes_on_from_its_last_snapshot(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.open_free("ship_amber", SITUATIONS[0].start, 0)
    window.driver.stop_clock()
    window.proceed()
    window.practice.press("director")
    for _ in range(60):
        window.driver.advance(0.25)
    old = window.practice
    monkeypatch.setattr(old, "tick", lambda _s: fail("in flight"))
    window.driver.start_clock()
    qtbot.waitUntil(lambda: desk.dialog is not None)
    assert not old.is_running
    desk.dialog.again.click()
    window.driver.stop_clock()
    assert window.practice is not old
    assert old.session.t_s - 5.0 <= window.practice.session.t_s <= old.session.t_s
    assert window.practice.session.annunciation == old.session.annunciation


def test_answers_that_cannot_be_stored_are_put_aside_and_taken_back(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(Store, "add", lambda _self, _attempt: fail("the store broke"))
    QTimer.singleShot(0, lambda: window.desk.recorder.keep(build_attempt(7)))
    qtbot.waitUntil(lambda: desk.dialog is not None)
    assert "1 answers could not be stored yet" in desk.dialog.answers.text()
    desk.dialog.go_on.click()
    window.desk.recorder.close()
    monkeypatch.undo()
    recorder = Recorder(lambda: Store.open(tmp_path / FILE_NAME))
    assert take_back(tmp_path, recorder) == 1
    assert [one.id for one in recorder.attempts()] == ["attempt-7"]
    assert take_back(tmp_path, recorder) == 0
    recorder.close()


def test_lines_that_are_no_answers_stay_in_the_file(tmp_path: Path) -> None:
    path = put_aside(tmp_path, [build_attempt(1)])
    path.write_text("{}\n" + path.read_text("utf-8") + "[\n", encoding="utf-8")
    recorder = Recorder(lambda: Store.open(tmp_path / FILE_NAME))
    assert take_back(tmp_path, recorder) == 1
    assert path.exists()
    recorder.close()


def test_a_disk_that_takes_nothing_still_shows_the_report(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "save_report", lambda *_: None)
    in_a_slot(window)
    qtbot.waitUntil(lambda: desk.dialog is not None)
    assert "could not be written" in desk.dialog.report.text()
    desk.dialog.show_text.click()
    assert desk.dialog.text.isVisible()
    assert "RuntimeError" in desk.dialog.text.toPlainText()
    desk.dialog.show_text.click()
    assert not desk.dialog.text.isVisible()
    desk.dialog.copy.click()
    desk.dialog.go_on.click()


def test_a_mistake_in_telling_does_not_end_the_program(
    qtbot: QtBot, window: MainWindow, desk: TroubleDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "report_text", lambda *_, **__: fail("while telling"))
    in_a_slot(window)
    qtbot.wait(30)
    assert desk.dialog is None
    monkeypatch.setattr(module, "report_text", report_text)
    in_a_timer(window)
    qtbot.waitUntil(lambda: desk.dialog is not None)
    desk.dialog.go_on.click()
