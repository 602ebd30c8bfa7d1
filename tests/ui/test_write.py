"""Write: a flight recorded, edited, asked about, checked, saved, played; drafts and packs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from tests.helpers.whole_lesson import play_right
from trainer.app import Workspace
from trainer.lesson.prompt_reader import PROMPT_KINDS
from trainer.lesson.questioning import kinds_for
from trainer.lesson.review import review
from trainer.lesson.spec import Do, Predict, Say, Set, Wait
from trainer.session.annunciation import Annunciation
from trainer.ui.lesson.user_lessons import UserLessons, stem_of
from trainer.ui.window.main_window import MainWindow
from trainer.ui.writing.writing import FORM, Writing

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
    wait_flown(qtbot, window)


def wait_flown(qtbot: QtBot, window: MainWindow) -> None:
    """Wait until the lesson in hand has been flown."""
    page = window.desk.write.page
    qtbot.waitUntil(lambda: page.writing.story is not None, timeout=20_000)


def place_of(writing: Writing, step: object) -> int:
    """Return the place on the timeline of a step, told by what it says."""
    steps = writing.lesson.steps
    return next(
        n
        for n, moment in enumerate(writing.moments)
        if not moment.is_change and replace(steps[moment.step], line=0) == step
    )


def capture_of(writing: Writing) -> int:
    """Return the place on the timeline of the altitude capture."""
    return next(
        n
        for n, moment in enumerate(writing.moments)
        if moment.is_change and dict(moment.shows).get("vertical_active") == "altitude_capture"
    )


def choose_kind(qtbot: QtBot, window: MainWindow, row: int, kind: str) -> None:
    """Choose the kind of question for an entry, as the picker does."""
    page = window.desk.write.page
    page.list.setCurrentRow(row)
    place = page.kind.findData(kind)
    page.kind.setCurrentIndex(place)
    page.kind.activated.emit(place)
    wait_flown(qtbot, window)


def test_flight_is_recorded_edited_saved_and_played(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    writing = page.writing
    assert writing.problems == ()
    assert Do("heading_select") in [replace(step, line=0) for step in writing.lesson.steps]
    capture = capture_of(writing)
    assert "level_off" in kinds_for(writing.moments[capture], writing.story)
    choose_kind(qtbot, window, capture, "next_change")
    choose_kind(qtbot, window, place_of(writing, Do("heading_select")), "is_allowed")
    page.list.setCurrentRow(0)
    qtbot.keyClicks(page.narration, "Now look closely.")
    qtbot.mouseClick(page.flight.say, LEFT)
    wait_flown(qtbot, window)
    steps = writing.lesson.steps
    assert Say("Now look closely.") in [Say(step.text) for step in steps if isinstance(step, Say)]
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
    return [kind for kind, _ in play_right(window)]


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
    wait_flown(qtbot, window)
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
    qtbot.waitUntil(lambda: page.problems.count() > 0, timeout=20_000)
    assert page.writing.problems[0].line == line + 1
    assert page.problems.item(0).text().startswith(f"Line {line + 1}: ")
    assert not page.save.isEnabled()
    page.go_to_line(1)
    page.problems.setFocus()
    page.problems.setCurrentRow(0)
    qtbot.keyClick(page.problems, Qt.Key.Key_Return)
    assert page.text.textCursor().blockNumber() == line
    qtbot.keyClick(page.text, Qt.Key.Key_Delete)
    qtbot.waitUntil(page.save.isEnabled, timeout=20_000)
    qtbot.keyClick(page.text, Qt.Key.Key_Return)  # a new line, not the window's main button
    assert page.text.toPlainText().count("\n") == FORM.count("\n") + 1


def test_unsaved_work_survives_a_crash(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    page.text.setPlainText(page.text.toPlainText() + "# unfinished thought\n")
    page.take_text()
    other = opened(qtbot, tmp_path)  # the first window was never closed
    qtbot.keyClick(other, "L", CTRL)
    again = other.desk.write.page.writing
    assert again.text == page.writing.text
    wait_flown(qtbot, other)
    assert again.moments == page.writing.moments
    other.desk.write.save()
    assert UserLessons(tmp_path / "data").draft() is None
    other.close()


def test_comments_stay_through_every_change_of_the_flight(qtbot: QtBot, window: MainWindow) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    writing = page.writing
    text = writing.text.replace("  - do: autopilot", "  # why this key\n  - do: autopilot  # now")
    page.text.setPlainText("# for Tuesday\n" + text.replace("A recorded flight", "Mine"))
    page.take_text()
    wait_flown(qtbot, window)
    choose_kind(qtbot, window, place_of(writing, Do("director")), "after_key")
    for act in (page.flight.say, page.flight.later, page.flight.end):
        page.flight.choose(place_of(writing, Do("heading_select")))
        page.narration.setText("Here we go.")
        qtbot.mouseClick(act, LEFT)
        wait_flown(qtbot, window)
    page.flight.choose(1)
    qtbot.mouseClick(page.flight.begin, LEFT)
    wait_flown(qtbot, window)
    for kept in ("# for Tuesday", "# why this key", "# now", "title: Mine"):
        assert kept in writing.text
    assert writing.problems == ()
    assert writing.story.problem == ""
    assert page.text.toPlainText() == writing.text
    before = writing.text
    page.text.undo()
    page.take_text()
    assert writing.text != before  # what was done on the timeline can be taken back


def test_a_lesson_that_is_cut_says_that_it_takes_less(qtbot: QtBot, window: MainWindow) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    text = re.sub("^minutes: .*$", "minutes: 30  # with the talk", page.writing.text, flags=re.M)
    page.text.setPlainText(text)
    page.take_text()
    wait_flown(qtbot, window)
    whole_s = page.writing.story.ended_s
    page.flight.choose(place_of(page.writing, Do("heading_select")))
    qtbot.mouseClick(page.flight.end, LEFT)
    wait_flown(qtbot, window)
    left = page.writing.story.ended_s / whole_s
    assert left < 0.9
    assert page.writing.lesson.minutes == pytest.approx(30.0 * left, abs=0.26)
    assert "# with the talk" in page.writing.text


def test_preview_keeps_no_answer_and_comes_back(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    qtbot.keyClick(page, Qt.Key.Key_F5)
    assert window.practice.is_preview
    assert play(window) == ["after_key"]
    window.proceed()
    assert window.pages.currentWidget() is page
    assert window.desk.recorder.attempts() == []


def test_check_flies_the_lesson(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    qtbot.mouseClick(page.check, LEFT)
    qtbot.waitUntil(
        lambda: "Flown" in page.editor.verdict.text() or page.problems.count(), timeout=20_000
    )
    assert page.editor.verdict.text() == "Flown: nothing to mend"


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


def test_draft_of_a_text_that_reads_badly_keeps_it() -> None:
    writing = Writing(WORKSPACE.charts)
    writing.restore({"text": "# words\n", "stem": 3})
    assert writing.text == "# words\n"
    assert writing.problems
    assert not writing.is_saved


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


def test_a_lesson_from_a_file_gets_the_timeline(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    door = window.desk.write
    text = "# mine\n" + FORM.format(installation="ship_amber")
    door.lessons.save("one", text)
    window.show_write()
    door.open(door.lessons.folder / "one.yaml")
    wait_flown(qtbot, window)
    page = door.page
    assert [m.step for m in page.writing.moments] == [0, 2]
    assert page.list.count() == 2
    assert "Question: The strip after a key: Heading" in page.list.item(1).text()
    page.flight.choose(1)
    qtbot.keyClick(page, Qt.Key.Key_F7)
    qtbot.waitUntil(page.dialog.isVisible, timeout=20_000)
    page.dialog.kind_wanted.emit("what_to_do")
    assert page.dialog.goal_words.text() == "heading is active"
    picker = page.dialog.cells["lateral_active"]
    for words, is_whole in (("any", False), ("Heading", True)):
        picker.setCurrentIndex(picker.findText(words))
        picker.activated.emit(picker.currentIndex())
        assert page.dialog.put.isEnabled() == is_whole
    assert page.dialog.goal_words.text() == "heading is active"
    page.dialog.hides["numbers"].setChecked(True)
    qtbot.mouseClick(page.dialog.put, LEFT)
    wait_flown(qtbot, window)
    (asked,) = [s for s in page.writing.lesson.steps if isinstance(s, Predict)]
    assert (asked.kind, asked.hide, asked.goal.active) == (
        "what_to_do", ("numbers",), ("heading_select",),
    )  # fmt: skip
    assert page.writing.text.startswith("# mine\n# Everything")
    assert page.writing.stem == "one"


def test_every_kind_of_question_can_be_had_by_the_form(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    wait_flown(qtbot, window)
    for kind in PROMPT_KINDS:
        page.flight.choose(1)
        qtbot.mouseClick(page.flight.details, LEFT)
        page.dialog.kind_wanted.emit(kind)
        for cell, picker in page.dialog.cells.items():
            words = "Heading" if cell == "lateral_active" else "any"
            picker.setCurrentIndex(picker.findText(words))
            picker.activated.emit(picker.currentIndex())
        page.dialog.value.setValue(210.0)
        page.dialog.fault.activated.emit(0)
        qtbot.mouseClick(page.dialog.put, LEFT)
        wait_flown(qtbot, window)
        (asked,) = [s for s in page.writing.lesson.steps if isinstance(s, Predict)]
        assert asked.kind == kind
        assert page.writing.problems == ()
        assert page.writing.story.problem == ""


@pytest.mark.parametrize("answer", ["save", "discard", "cancel"])
def test_unsaved_text_is_asked_about_before_another_takes_its_place(
    qtbot: QtBot, window: MainWindow, answer: str
) -> None:
    door = window.desk.write
    door.lessons.save("other", FORM.format(installation="ship_slate"))
    qtbot.keyClick(window, "L", CTRL)
    page = door.page
    mine = page.text.toPlainText() + "# a thought\n"
    page.text.setPlainText(mine)
    asked = []
    door.ask_unsaved = lambda: asked.append(door.lessons.draft()["text"]) or answer
    door.open(door.lessons.folder / "other.yaml")
    assert asked == [mine]  # what isn't saved is safe on the disk while one is asked
    is_other = page.writing.stem == "other"
    assert is_other == (answer != "cancel")
    saved = [door.lessons.text(path) for path in door.lessons.paths]
    assert (mine in saved) == (answer == "save")
    draft = door.lessons.draft()
    assert (draft is not None and draft["text"] == mine) == (answer == "cancel")
    door.open(door.lessons.folder / "other.yaml")
    assert len(asked) == (2 if answer == "cancel" else 1)


def test_a_flight_is_not_left_if_its_lesson_would_replace_unsaved_text(
    qtbot: QtBot, window: MainWindow
) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    page.text.setPlainText(page.text.toPlainText() + "# a thought\n")
    page.take_text()
    window.desk.write.ask_unsaved = lambda: "cancel"
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    qtbot.keyClick(window, "L", CTRL)
    assert window.pages.currentWidget() is window.desk.page
    assert window.practice is not None
    assert page.writing.text.endswith("# a thought\n")


def test_keys_that_did_nothing_are_left_out_unless_wanted(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    fly(window, 1)
    window.practice.press("reference_up")  # nothing is on that it could move
    window.practice.press("director")
    for altitude_ft in (4100.0, 4200.0, 4300.0):
        window.practice.select("selected_heading_deg", altitude_ft / 100.0)
    fly(window, 2)
    qtbot.keyClick(window, "L", CTRL)
    wait_flown(qtbot, window)
    page = window.desk.write.page
    assert [s.event for s in page.writing.lesson.steps if isinstance(s, Do)] == ["director"]
    assert "1 key that did nothing" in page.state.text()
    turned = [s.values for s in page.writing.lesson.steps if isinstance(s, Set)]
    assert turned == [(("selected_heading_deg", 43.0),)]
    qtbot.mouseClick(page.dead, LEFT)
    wait_flown(qtbot, window)
    keys = [s.event for s in page.writing.lesson.steps if isinstance(s, Do)]
    assert keys == ["reference_up", "director"]
    assert "did nothing" in page.list.item(0).text()
    qtbot.mouseClick(page.dead, LEFT)
    wait_flown(qtbot, window)
    assert [s.event for s in page.writing.lesson.steps if isinstance(s, Do)] == ["director"]
    assert not page.dead.isVisible()


def test_the_timeline_is_worked_with_keys_and_mouse(qtbot: QtBot, window: MainWindow) -> None:
    record(qtbot, window)
    page = window.desk.write.page
    view, writing = page.view, page.writing
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Home)
    assert page.list.currentRow() == 0
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert page.list.currentRow() == view.place == 1
    assert view.accessibleDescription() == page.list.item(1).text()
    place = place_of(writing, Do("heading_select"))
    x, y, _ = view._marks()[place]
    began_s = writing.moments[place].t_s
    by_px = round(view.x_of(10.0) - view.x_of(0.0))
    qtbot.mousePress(view, LEFT, pos=QPoint(round(x), round(y)))
    qtbot.mouseMove(view, QPoint(round(x) + by_px, round(y)))
    qtbot.mouseRelease(view, LEFT, pos=QPoint(round(x) + by_px, round(y)))
    wait_flown(qtbot, window)
    moved = writing.moments[place_of(writing, Do("heading_select"))]
    assert moved.t_s == pytest.approx(began_s + 10.0, abs=1.0)
    assert page.list.currentRow() == writing.moments.index(moved)


def test_a_flight_becomes_a_lesson_in_three_clicks(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    qtbot.keyClick(window, "L", CTRL)
    qtbot.mouseClick(window.desk.write.page.record, LEFT)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    for stroke in "DAH":
        fly(window, 3)
        qtbot.keyClick(window, stroke)
    window.practice.select("selected_altitude_ft", 4300.0)
    window.practice.press("vertical_speed")
    for _ in range(5):
        window.practice.press("reference_up")
    fly(window, 60)
    qtbot.mouseClick(window.desk.page.free.lesson, LEFT)
    wait_flown(qtbot, window)
    page = window.desk.write.page
    qtbot.mouseClick(page.flight.ask_all, LEFT)
    wait_flown(qtbot, window)
    qtbot.mouseClick(page.save, LEFT)
    (path,) = UserLessons(tmp_path / "data").paths
    lesson = WORKSPACE.lesson(path)
    kinds = [step.kind for step in lesson.steps if isinstance(step, Predict)]
    assert kinds == ["after_key"] * 4 + ["next_change"]
    begin = lambda start: WORKSPACE.begin(lesson.installation, start)  # noqa: E731
    assert [one.found for one in review(lesson, begin)] == []


def test_a_long_lesson_is_read_while_one_types_on(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    wait_flown(qtbot, window)
    long = page.text.toPlainText() + "  - wait: 1\n  - say: Words.\n" * 400
    page.text.setPlainText(long)
    page.editor.typing.stop()
    page._read()
    qtbot.keyClicks(page.text, "x")  # typed before the reading is there
    qtbot.waitUntil(lambda: page.problems.count() > 0, timeout=20_000)
    assert page.writing.text == page.text.toPlainText()
    assert page.text.toPlainText().startswith("x")


def test_an_aircraft_made_meanwhile_can_be_written_for(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    wait_flown(qtbot, window)
    page.text.setPlainText(page.text.toPlainText().replace("ship_amber", "ship_ochre"))
    page.take_text()
    assert "ship_ochre" in page.problems.item(0).text()
    workspace = window.desk.workspace
    amber = workspace.installations["ship_amber"]
    workspace.__dict__["installations"] = {
        **workspace.installations, "ship_ochre": replace(amber, id="ship_ochre"),
    }  # fmt: skip
    window.show_lessons()
    window.show_write()
    assert page.writing.problems == ()
    wait_flown(qtbot, window)
    assert page.writing.story.lesson.installation == "ship_ochre"


def begin_free(qtbot: QtBot, window: MainWindow) -> None:
    """Open a free flight that stands at its beginning."""
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)


@pytest.mark.parametrize("answer", ["discard", "cancel"])
def test_nothing_flies_on_while_the_question_about_unsaved_text_stands(
    qtbot: QtBot, window: MainWindow, answer: str
) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    page.text.setPlainText(page.text.toPlainText() + "# a thought\n")
    page.take_text()
    begin_free(qtbot, window)
    for _ in range(3):
        window.practice.change_speed(+1)
    window.proceed()
    fly(window, 3)
    flown = window.practice
    asked_s = flown.session.t_s
    seen: list[float] = []

    def kept_open() -> str:
        seen.append(flown.session.t_s)
        qtbot.wait(400)  # the clock on the wall goes on below an open question
        seen.append(flown.session.t_s)
        return answer

    window.desk.write.ask_unsaved = kept_open
    qtbot.keyClick(window, "L", CTRL)
    assert seen[0] == seen[1]
    if answer == "cancel":
        assert window.pages.currentWidget() is window.desk.page
        qtbot.waitUntil(lambda: flown.session.t_s > seen[1], timeout=5_000)  # and flies on
    else:
        waits = [s.seconds for s in page.writing.lesson.steps if isinstance(s, Wait)]
        assert sum(waits) == pytest.approx(seen[0], abs=0.1)
        assert seen[0] - asked_s < 8.0


def test_a_lesson_is_as_long_as_the_flight_was_when_it_was_asked_for(
    qtbot: QtBot, window: MainWindow
) -> None:
    qtbot.keyClick(window, "L", CTRL)
    page = window.desk.write.page
    page.text.setPlainText(page.text.toPlainText() + "# a thought\n")
    page.take_text()
    begin_free(qtbot, window)
    window.driver.stop_clock()
    window.proceed()
    fly(window, 4)
    flown_s = window.practice.session.t_s
    window.desk.write.ask_unsaved = lambda: fly(window, 60) or "discard"
    qtbot.keyClick(window, "L", CTRL)
    waits = [s.seconds for s in page.writing.lesson.steps if isinstance(s, Wait)]
    assert sum(waits) == pytest.approx(flown_s)


def test_of_a_flight_that_has_not_begun_no_lesson_is_made(qtbot: QtBot, window: MainWindow) -> None:
    begin_free(qtbot, window)
    window.driver.stop_clock()
    window.desk.write.ask_unsaved = lambda: pytest.fail("there is nothing to be asked about")
    for event in ("", "reference_up"):  # nothing, or a key that does nothing
        if event:
            window.practice.press(event)
        qtbot.keyClick(window, "L", CTRL)
        window.driver.stop_clock()
        assert window.pages.currentWidget() is window.desk.page
        assert "Fly something first" in window.note.text()
        assert window.desk.write.lessons.draft() is None
    window.proceed()
    fly(window, 1)
    qtbot.keyClick(window, "L", CTRL)
    assert window.pages.currentWidget() is window.desk.write.page


def test_a_text_that_reads_badly_is_kept_but_never_among_the_lessons(
    qtbot: QtBot, window: MainWindow
) -> None:
    door = window.desk.write
    door.lessons.save("other", FORM.format(installation="ship_slate"))
    qtbot.keyClick(window, "L", CTRL)
    page = door.page
    bad = "# a thought\nformat: lesson/1\n"
    other = door.lessons.folder / "other.yaml"
    for number in (1, 2):
        page.text.setPlainText(bad * number)
        assert door.save() is False  # Ctrl+S before the text was read
        assert "Not saved" in window.note.text()
        assert "Line " in window.note.text()
        assert door.lessons.draft()["text"] == bad * number
        door.ask_unsaved = lambda: "save"
        door.open(other)
        assert page.writing.stem == "other"
    assert door.lessons.paths == (other,)
    kept = sorted((door.lessons.folder / "unfinished").glob("*.yaml"))
    assert [path.read_text(encoding="utf-8") for path in kept] == [bad * 2, bad]
    door.open(kept[1])
    assert page.text.toPlainText() == bad
