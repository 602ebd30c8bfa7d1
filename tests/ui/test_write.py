"""Write: a flight recorded, edited, asked about, checked, saved, played; drafts and packs."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.assessment.prediction import Prediction
from trainer.lesson.question import compute_answer
from trainer.lesson.recording import Change, kinds_for
from trainer.lesson.spec import Do, Predict, Say
from trainer.session.annunciation import Annunciation
from trainer.ui.main_window import MainWindow
from trainer.ui.user_lessons import UserLessons, stem_of
from trainer.ui.writing import FORM, Writing

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
WORKSPACE = Workspace()


def opened(qtbot: QtBot, folder: Path) -> MainWindow:
    """Return a shown window without lessons of the program's own."""
    (folder / "lessons").mkdir(exist_ok=True)
    made = Workspace(lessons=folder / "lessons")
    made.__dict__["installations"] = WORKSPACE.installations
    widget = MainWindow(folder / "data", lambda: made)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded, timeout=20_000):
        widget.show()
    widget.activateWindow()
    return widget


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """The window."""
    widget = opened(qtbot, tmp_path)
    yield widget
    widget.close()


def fly(window: MainWindow, seconds: float) -> None:
    """Let time pass while the flight moves."""
    for _ in range(round(seconds / 0.25)):
        window.driver.advance(0.25)


def record(qtbot: QtBot, window: MainWindow) -> None:
    """Fly freely to a captured altitude, then ask for a lesson of it."""
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    fly(window, 3)
    for stroke in "DAH":
        qtbot.keyClick(window, stroke)
    fly(window, 2)
    window.practice.select("selected_altitude_ft", 4300.0)
    window.practice.press("vertical_speed")
    for _ in range(5):
        window.practice.press("reference_up")
    fly(window, 60)
    assert window.practice.session.annunciation.vertical.active in (
        "altitude_capture", "altitude_hold",
    )  # fmt: skip
    qtbot.keyClick(window, "L", CTRL)
    assert window.pages.currentWidget() is window.desk.write.page


def choose_kind(qtbot: QtBot, window: MainWindow, row: int, kind: str) -> None:
    """Choose the kind of question for an entry, as the picker does."""
    page = window.desk.write.page
    page.list.setCurrentRow(row)
    place = page.kind.findData(kind)
    page.kind.setCurrentIndex(place)
    page.kind.activated.emit(place)


def test_flight_is_recorded_edited_saved_and_played(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    writing = page.writing
    assert writing.problems == ()
    whats = [entry.what for entry in writing.entries]
    assert Do("heading_select") in whats
    capture = next(
        n for n, e in enumerate(writing.entries)
        if isinstance(e.what, Change) and dict(e.shows).get("vertical_active") == "altitude_capture"
    )  # fmt: skip
    assert "level_off" in kinds_for(writing.entries[capture])
    choose_kind(qtbot, window, capture, "next_change")
    heading = next(n for n, e in enumerate(writing.entries) if e.what == Do("heading_select"))
    choose_kind(qtbot, window, heading, "is_allowed")
    page.list.setCurrentRow(0)
    qtbot.keyClicks(page.narration, "Level, with everything off.")
    qtbot.mouseClick(page.say, LEFT)
    steps = writing.lesson.steps
    assert Say("Level, with everything off.") in [
        Say(step.text) for step in steps if isinstance(step, Say)
    ]
    assert [s.kind for s in steps if isinstance(s, Predict)] == ["is_allowed", "next_change"]
    qtbot.keyClick(page, "S", CTRL)
    (path,) = UserLessons(tmp_path / "data").paths
    assert "Saved" in window.note.text()
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    rows = [window.chooser.list.item(n).text() for n in range(window.chooser.list.count())]
    assert rows == ["Your lessons", writing.lesson.title]
    window.chooser.list.setCurrentRow(1)
    qtbot.mouseClick(window.chooser.start, LEFT)
    assert window.practice.flyer.lesson.id == path.stem
    assert play(window) == ["is_allowed", "next_change"]
    assert len(window.desk.recorder.attempts()) == 2


def play(window: MainWindow) -> list[str]:
    """Answer everything right to the end; return the kinds asked."""
    window.driver.stop_clock()
    window.proceed()
    kinds = []
    for _ in range(4000):
        flyer = window.practice.flyer
        if flyer.phase == "finished":
            break
        if flyer.phase == "asking":
            kinds.append(flyer.prompt.kind)
            answer = compute_answer(flyer.asked, flyer.session)
            choice = next(iter(answer.accepted), "")
            said = Prediction(answer.after, "sure", choice=choice, number=answer.number)
            window.driver.act(lambda practice, said=said: practice.answer(said))
        elif flyer.phase == "explained":
            assert flyer.outcome.score.is_right
            window.proceed()
        else:
            window.driver.advance(0.25)
    assert window.practice.flyer.phase == "finished"
    return kinds


def test_flown_again_the_lesson_repeats_the_practice(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    for stroke in "DAH":
        fly(window, 1)
        qtbot.keyClick(window, stroke)
    fly(window, 5)
    flown = window.practice.session
    qtbot.keyClick(window, "L", CTRL)
    lesson = window.desk.write.page.writing.lesson
    runner = WORKSPACE.start_lesson_without_trainee(lesson)
    while runner.phase != "finished":
        runner.advance(1.0)
    assert runner.session.annunciation == flown.annunciation
    assert runner.session.t_s == pytest.approx(flown.t_s)
    assert runner.session.flight.altitude_ft == pytest.approx(flown.flight.altitude_ft)


def test_mistakes_are_named_with_their_line_while_typing(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    assert page.writing.problems == ()
    assert not page.list.isVisible()
    lines = FORM.splitlines()
    line = next(n for n, text in enumerate(lines) if "minutes" in text)
    page.go_to_line(line + 1)
    qtbot.keyClicks(page.text, "x")
    qtbot.waitUntil(lambda: page.problems.count() > 0, timeout=3000)
    assert page.writing.problems[0].line == line + 1
    assert page.problems.item(0).text().startswith(f"Line {line + 1}: ")
    assert not page.save.isEnabled()
    page.go_to_line(1)
    page.problems.setFocus()
    page.problems.setCurrentRow(0)
    qtbot.keyClick(page.problems, Qt.Key.Key_Return)
    assert page.text.textCursor().blockNumber() == line
    qtbot.keyClick(page.text, Qt.Key.Key_Delete)
    qtbot.waitUntil(page.save.isEnabled, timeout=3000)
    qtbot.keyClick(page.text, Qt.Key.Key_Return)  # a new line, not the window's main button
    assert page.text.toPlainText().count("\n") == FORM.count("\n") + 1


def test_unsaved_work_survives_a_crash(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    record(qtbot, window)
    entries = window.desk.write.page.writing.entries
    page = window.desk.write.page
    page.text.setPlainText(page.text.toPlainText() + "# unfinished thought\n")
    page.take_text()
    other = opened(qtbot, tmp_path)  # the first window was never closed
    qtbot.keyClick(other, "L", CTRL)
    again = other.desk.write.page.writing
    assert again.text == page.writing.text
    assert again.entries == entries
    other.desk.write.save()
    assert UserLessons(tmp_path / "data").draft() is None
    other.close()


def test_comments_stay_through_every_change_of_the_flight(qtbot: QtBot, window: MainWindow) -> None:
    record(qtbot, window)
    writing = window.desk.write.page.writing
    text = writing.text.replace("  - do: autopilot", "  # why this key\n  - do: autopilot  # now")
    writing.set_text("# for Tuesday\n" + text.replace("A recorded flight", "Mine"))
    writing.ask(
        next(n for n, e in enumerate(writing.entries) if e.what == Do("director")), "after_key"
    )
    writing.say(1.0, "Here we go.")
    writing.end_at(len(writing.entries) - 1)
    for kept in ("# for Tuesday", "# why this key", "# now", "title: Mine"):
        assert kept in writing.text
    assert writing.problems == ()


def test_preview_keeps_no_answer_and_comes_back(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    qtbot.mouseClick(page.preview, LEFT)
    assert window.practice.is_preview
    assert play(window) == ["after_key"]
    window.proceed()
    assert window.pages.currentWidget() is page
    assert window.desk.recorder.attempts() == []


def test_check_flies_the_lesson(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    qtbot.mouseClick(page.check, LEFT)
    qtbot.waitUntil(lambda: "Flown" in page.verdict.text() or page.problems.count(), timeout=20_000)
    assert page.verdict.text() == "Flown: nothing to mend"


def test_broken_lesson_is_listed_with_its_message(window: MainWindow, tmp_path: Path) -> None:
    shelf = UserLessons(tmp_path / "data")
    shelf.save("fine", FORM.format(installation="ship_amber"))
    shelf.save("spoilt", "format: lesson/1\ntitel: x\n")
    window.show_lessons()
    chooser = window.chooser
    assert chooser.list.count() == 3
    chooser.list.setCurrentRow(2)
    assert "spoilt.yaml:2" in chooser.details.text()
    assert not chooser.start.isEnabled()
    chooser.list.setCurrentRow(1)
    assert chooser.start.isEnabled()


def test_pack_goes_out_and_comes_in_whole_or_not_at_all(window: MainWindow, tmp_path: Path) -> None:
    door = window.desk.write
    pack = tmp_path / "mine.zip"
    door.export_pack(pack)
    assert "no lessons to pack" in window.note.text()
    text = FORM.format(installation="ship_amber")
    door.lessons.save("one", text)
    door.export_pack(pack)
    assert pack.exists()
    (path,) = door.lessons.paths
    path.unlink()
    door.import_pack(pack)
    assert door.lessons.text(path) == text
    path.write_text("other\n", encoding="utf-8")
    door.import_pack(pack)
    assert "differs" in window.note.text()
    assert path.read_text(encoding="utf-8") == "other\n"
    pack.write_bytes(b"no zip")
    door.import_pack(pack)
    assert "no lesson pack" in window.note.text()


def test_everything_on_the_page_has_a_name_and_a_key_way(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    for widget in page.findChildren(QPushButton):
        assert widget.accessibleName()
    page.text.setFocus()
    seen = set()
    for _ in range(30):
        seen.add(QApplication.focusWidget())
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    assert {page.text, page.check, page.preview, page.save, page.open, page.record} <= seen


def test_undo_and_scrub_fly_on_within_two_keys(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    fly(window, 2)
    qtbot.keyClick(window, "D")
    director = window.practice.session.annunciation
    fly(window, 5)
    qtbot.keyClick(window, "A")
    fly(window, 5)
    qtbot.keyClick(window, "Z", CTRL)
    window.driver.stop_clock()
    assert window.practice.session.annunciation == director
    assert 6.5 < window.practice.session.t_s < 7.5
    qtbot.keyClick(window, "Z", CTRL)
    window.driver.stop_clock()
    assert window.practice.session.annunciation == Annunciation()
    window.proceed()
    fly(window, 6)
    qtbot.keyClick(window, Qt.Key.Key_F9)
    scrubber = window.desk.debrief.scrubber
    assert QApplication.focusWidget() is scrubber
    qtbot.keyClick(scrubber, Qt.Key.Key_Home)
    qtbot.keyClick(scrubber, Qt.Key.Key_Return)
    window.driver.stop_clock()
    assert window.practice.session.t_s == 0.0
    assert window.pages.currentWidget() is window.desk.page


def test_file_names_are_plain_and_free(tmp_path: Path) -> None:
    shelf = UserLessons(tmp_path)
    assert stem_of("  Über: go!  ") == "ber-go"
    shelf.save("my-lesson", "x")
    assert shelf.free_stem("My lesson") == "my-lesson-2"


@pytest.mark.parametrize("draft", ["", "[]", "{}", '{"text": 3}', "{"])
def test_spoilt_draft_is_no_draft(tmp_path: Path, draft: str) -> None:
    (tmp_path / "lesson-draft.json").write_text(draft, encoding="utf-8")
    assert UserLessons(tmp_path).draft() is None


def test_draft_with_a_spoilt_flight_keeps_its_text() -> None:
    writing = Writing(WORKSPACE.charts)
    writing.restore({"text": "# words\n", "flight": {"start": "no"}})
    assert (writing.text, writing.entries) == ("# words\n", ())
    assert writing.problems


def test_news_is_no_caution_and_own_lessons_have_a_heading(
    qtbot: QtBot, window: MainWindow
) -> None:
    qtbot.keyClick(window, "L", CTRL)
    window.desk.write.save()
    assert "Saved" in window.note.text()
    assert window.note.property("role") == "told"
    window.say("Something is wrong")
    assert window.note.property("role") == "caution"
    window.show_lessons()
    heading = window.chooser.list.item(0)
    assert heading.font().bold()
    assert heading.font().pixelSize() > window.chooser.list.font().pixelSize()
    assert heading.data(Qt.ItemDataRole.AccessibleTextRole) == "Heading: Your lessons"
    window.chooser.list.setCurrentRow(0)
    assert not window.chooser.start.isEnabled()


def test_rows_of_the_lists_go_on_below_instead_of_behind_a_bar(
    qtbot: QtBot, window: MainWindow
) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    for rows in (page.list, page.problems):
        assert rows.wordWrap()
        assert rows.horizontalScrollBar().maximum() == 0
