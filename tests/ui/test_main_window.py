"""A whole lesson through the window, with keys and with the mouse; free practice; the pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from tests.helpers.acting_roles import ACTING
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.charts.installation import Installation
from trainer.lesson.question import compute_answer
from trainer.records.store import FILE_NAME, Store
from trainer.session.annunciation import CELLS, Annunciation, AxisAnnunciation
from trainer.ui.look.marked_rows import MARK
from trainer.ui.practice.controls import PREFERRED_KEYS
from trainer.ui.window.foot_line import CAUTION
from trainer.ui.window.main_window import MainWindow
from trainer.ui.window.preferences import load_preferences

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
LESSON = """\
format: lesson/1
title: A short lesson
summary: Three questions.
installation: ship_amber
objectives: [Say what comes up.]
competencies: [engaging_and_disengaging]
minutes: 1
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  selected: {altitude_ft: 3000, heading_deg: 90}
steps:
  - say: Nothing is on.
  - wait: 1
  - predict: {kind: after_key, key: director}
  - wait: 1
  - predict: {kind: after_key, key: heading_select}
  - do: autopilot
  - set: {selected_altitude_ft: 3200}
  - do: vertical_speed
  - do: reference_up
  - do: reference_up
  - do: reference_up
  - do: reference_up
  - do: reference_up
  - predict: {kind: next_change, within_s: 120}
"""

FIRST = Annunciation("director", AxisAnnunciation("roll_hold"), AxisAnnunciation("pitch_hold"))
"""Rulebook 1: guidance on brings roll hold and pitch hold."""
SECOND = FIRST.with_cell("lateral_active", "heading_select")
"""Rulebook 6 and 7: the key's mode replaces the active one on its axis only."""
THIRD = Annunciation(
    "autopilot", AxisAnnunciation("heading_select"), AxisAnnunciation("altitude_capture")
)
"""Rulebook 10: the selected altitude ahead is armed, then captured."""


@pytest.fixture
def lessons(tmp_path: Path) -> Path:
    """A folder with one short lesson."""
    folder = tmp_path / "lessons"
    folder.mkdir()
    (folder / "01-short.yaml").write_text(LESSON, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def installations() -> dict[str, Installation]:
    """The shipped installations, read once."""
    return Workspace().installations


@pytest.fixture
def workspace(lessons: Path, installations: dict[str, Installation]) -> Workspace:
    """The short lesson with the shipped charts."""
    made = Workspace(lessons=lessons)
    made.__dict__["installations"] = installations  # a cached property, filled beforehand
    return made


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path, workspace: Workspace) -> Iterator[MainWindow]:
    """The window, loaded, in front; time passes only through `advance`."""
    widget = MainWindow(tmp_path / "data", lambda: workspace)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded):
        widget.show()
    widget.activateWindow()
    yield widget
    widget.close()


def test_enter_starts_the_first_lesson_as_soon_as_the_window_is_there(
    qtbot: QtBot, tmp_path: Path, workspace: Workspace
) -> None:
    widget = MainWindow(tmp_path / "data", lambda: workspace)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded):
        widget.show()
        widget.activateWindow()
    key(qtbot, Qt.Key.Key_Return)
    assert widget.practice is not None
    assert widget.practice.is_lesson
    widget.close()


def fly_on(window: MainWindow, most_s: float = 200.0) -> None:
    """Let time pass until the lesson waits for the trainee."""
    window.driver.stop_clock()
    passed_s = 0.0
    while window.practice.is_moving and passed_s < most_s:
        window.driver.advance(0.25)
        passed_s += 0.25


def key(qtbot: QtBot, stroke: Qt.Key | str, modifier: Qt.KeyboardModifier | None = None) -> None:
    """Type into whatever has the focus, as a person does."""
    qtbot.keyClick(QApplication.focusWidget(), stroke, modifier or Qt.KeyboardModifier.NoModifier)


def build_with_keys(qtbot: QtBot, window: MainWindow, wanted: Annunciation) -> None:
    """Build a strip with the keyboard alone, from the first cell on."""
    builder = window.desk.page.builder
    for cell in builder.strip.cells:
        options = builder.draft.options(cell)
        for _ in range(options.index(wanted.cell(cell)) + 1):
            key(qtbot, Qt.Key.Key_Down)
        key(qtbot, Qt.Key.Key_Right)


def build_with_mouse(qtbot: QtBot, window: MainWindow, wanted: Annunciation) -> None:
    """Build a strip with the mouse alone."""
    builder = window.desk.page.builder
    for cell, widget in builder.strip.cells.items():
        qtbot.mouseClick(widget, LEFT)
        value = wanted.cell(cell)
        for state in (value or ("nothing",)) if isinstance(value, tuple) else (value,):
            name = f"choice_{state}"
            choice = builder.choices.findChild(QPushButton, name)
            qtbot.mouseClick(choice, LEFT)


def test_lesson_with_the_keyboard_alone(qtbot: QtBot, window: MainWindow) -> None:
    window.chooser.list.setFocus()
    key(qtbot, Qt.Key.Key_Return)
    assert window.practice.flyer.lesson.title == "A short lesson"
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)

    build_with_keys(qtbot, window, FIRST)
    key(qtbot, Qt.Key.Key_1, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    assert window.practice.flyer.outcome.score.is_right
    assert "Right" in window.desk.page.lesson.verdict.text()
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)

    key(qtbot, Qt.Key.Key_N, CTRL)  # wrong: heading select comes up
    key(qtbot, Qt.Key.Key_3, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    assert window.practice.flyer.outcome.score.wrong_cells == ("lateral_active",)
    assert window.practice.flyer.outcome.actual == SECOND
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)

    build_with_keys(qtbot, window, THIRD)
    key(qtbot, Qt.Key.Key_2, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)
    assert window.practice.flyer.outcome.score.is_right
    key(qtbot, Qt.Key.Key_Return)
    assert window.practice.flyer.phase == "finished"
    assert "2 of 3" in window.desk.page.lesson.verdict.text()
    told = window.desk.page.lesson.reasons.text()
    assert "Lateral active: you said Roll hold, it read Heading." in told
    assert window.practice.flyer.outcomes[1].explanation[0] in told  # the rule's sentence
    key(qtbot, Qt.Key.Key_Return)  # something was wrong: it is flown again
    assert window.practice.flyer.phase == "running"
    assert window.practice.session.t_s == 0.0
    key(qtbot, Qt.Key.Key_Escape)
    assert window.pages.currentWidget() is window.chooser
    assert window.chooser.record.text() == "3 answers so far, 2 right"
    assert window.chooser.list.item(0).data(MARK) == "tried, 2 of 3 right"


def give_third_answer(qtbot: QtBot, window: MainWindow) -> None:
    """Answer the first lesson's questions by keyboard; what comes of the last isn't known yet."""
    window.chooser.list.setFocus()
    key(qtbot, Qt.Key.Key_Return)
    key(qtbot, Qt.Key.Key_Return)
    for answer in (FIRST, SECOND, THIRD):
        fly_on(window)
        build_with_keys(qtbot, window, answer)
        key(qtbot, Qt.Key.Key_1, CTRL)
        key(qtbot, Qt.Key.Key_Return)
        if answer is not THIRD:
            key(qtbot, Qt.Key.Key_Return)
    window.driver.stop_clock()
    assert window.practice.flyer.phase == "revealing"


def test_enter_once_more_while_time_shows_the_answer_does_nothing(
    qtbot: QtBot, window: MainWindow
) -> None:
    give_third_answer(qtbot, window)
    page = window.desk.page
    for _ in range(3):
        focused = QApplication.focusWidget()
        assert focused is page or page.isAncestorOf(focused)
        key(qtbot, Qt.Key.Key_Return)
        assert window.pages.currentWidget() is page
        assert window.practice.flyer.phase == "revealing"
    fly_on(window)
    assert window.practice.flyer.phase == "explained"
    assert page.lesson.next.hasFocus()


@pytest.mark.parametrize("way", ["lessons", "attempts", "restart", "close"])
def test_an_answer_that_is_in_is_kept_though_one_leaves_before_it_is_known(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, way: str
) -> None:
    give_third_answer(qtbot, window)
    leave = {
        "lessons": window.top.lessons.click,
        "attempts": window.top.attempts.click,
        "restart": window.top.restart.click,
        "close": window.close,
    }
    leave[way]()
    with Store.open(tmp_path / "data" / FILE_NAME) as store:
        newest = store.attempts()[0]
    assert newest.prompt_number == 3
    assert newest.is_right
    assert newest.actual == THIRD.to_json()
    if way == "attempts":
        assert window.desk.attempts.table.hasFocus()
        rule = window.desk.workspace.installation("ship_amber").chart.rules[newest.rule_ids[0]]
        assert rule.because in window.desk.attempts.reasons.text()
        assert window.desk.attempts.table.rowCount() == 3


def test_focus_stays_in_a_page_whose_button_is_switched_off(
    qtbot: QtBot, window: MainWindow
) -> None:
    key(qtbot, "D", CTRL)
    page = window.pages.currentWidget()
    for take_away in (lambda: page.new.setEnabled(False), page.new.hide):
        page.new.setEnabled(True)
        page.new.setFocus()
        take_away()
        assert QApplication.focusWidget() is page
        key(qtbot, Qt.Key.Key_Return)
        assert window.pages.currentWidget() is page
    key(qtbot, Qt.Key.Key_Tab)
    assert page.isAncestorOf(QApplication.focusWidget())


def test_what_was_not_asked_for_in_a_lesson_is_told_and_no_answer_after_it_is_kept(
    qtbot: QtBot, window: MainWindow
) -> None:
    window.open_lesson(window.desk.workspace.lesson(window.desk.workspace.lesson_paths[0]))
    window.driver.stop_clock()
    panel = window.desk.page.lesson
    key(qtbot, "d")  # before Enter: the keys are dead, and the page says so
    assert window.practice.session.annunciation == Annunciation()
    assert "Enter begins" in panel.hint.text()
    assert panel.hint.isVisible()
    window.proceed()
    window.driver.advance(0.25)
    assert not panel.notice.isVisible()
    window.driver.act(lambda practice: practice.press("director"))
    assert panel.notice.text().startswith("Director was yours")
    assert panel.other.isVisible()
    fly_on(window)
    answer_right(window)
    assert window.desk.recorder.attempts() == []
    assert panel.notice.isVisible()
    key(qtbot, Qt.Key.Key_F8)
    assert not panel.notice.isVisible()
    window.proceed()
    fly_on(window)
    answer_right(window)
    assert len(window.desk.recorder.attempts()) == 1


def test_a_selector_turned_by_the_trainee_counts_too(window: MainWindow) -> None:
    window.open_lesson(window.desk.workspace.lesson(window.desk.workspace.lesson_paths[0]))
    window.proceed()
    window.driver.advance(0.25)
    window.driver.act(lambda practice: practice.press("vertical_speed_wheel"))  # does nothing
    assert window.practice.strayed is None
    window.driver.act(lambda practice: practice.select("selected_heading_deg", 10.0))
    assert "Selected heading was yours" in window.desk.page.lesson.notice.text()
    window.desk.page.lesson.other.click()
    assert window.practice.session.t_s == 0.0
    assert window.practice.strayed is None


def answer_right(window: MainWindow) -> None:
    """Answer the open question with what the lesson itself works out, and see it come."""
    flyer = window.practice.flyer
    came = compute_answer(flyer.asked, flyer.session).after
    window.driver.act(lambda practice: practice.answer(Prediction(came, "sure")))
    fly_on(window)


def fly_first_lesson(window: MainWindow) -> None:
    """Fly the first lesson of the list from end to end, with three right answers."""
    window.open_lesson(window.desk.workspace.lesson(window.desk.workspace.lesson_paths[0]))
    window.proceed()
    for _ in range(3):
        fly_on(window)
        answer_right(window)
        window.proceed()


def test_the_next_lesson_is_offered_and_the_list_says_how_far_each_is(
    qtbot: QtBot, lessons: Path, request: pytest.FixtureRequest
) -> None:
    second = LESSON.replace("title: A short lesson", "title: Another")
    (lessons / "02-another.yaml").write_text(second, encoding="utf-8")
    window: MainWindow = request.getfixturevalue("window")
    fly_first_lesson(window)
    panel = window.desk.page.lesson
    assert window.practice.flyer.phase == "finished"
    assert (panel.next.accessibleName(), panel.other.text()) == ("Next lesson", "Fly again")
    key(qtbot, Qt.Key.Key_Escape)
    shown = window.chooser.list
    assert [shown.item(row).data(MARK) for row in range(2)] == ["✓ all right", None]
    assert shown.currentRow() == 1  # the first that wasn't flown yet
    fly_first_lesson(window)
    panel.next.click()
    assert window.practice.flyer.lesson.title == "Another"


def test_lesson_with_the_mouse_alone(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.mouseClick(window.chooser.start, LEFT)
    page = window.desk.page
    qtbot.mouseClick(page.lesson.next, LEFT)
    for wanted in (FIRST, FIRST, THIRD):
        fly_on(window)
        build_with_mouse(qtbot, window, wanted)
        qtbot.mouseClick(page.builder.confidences["sure"], LEFT, pos=QPoint(8, 10))
        qtbot.mouseClick(page.builder.submit, LEFT)
        fly_on(window)
        qtbot.mouseClick(page.lesson.next, LEFT)
    outcomes = window.practice.flyer.outcomes
    assert [outcome.score.is_right for outcome in outcomes] == [True, False, True]
    assert [outcome.prediction.annunciation for outcome in outcomes] == [FIRST, FIRST, THIRD]


def test_attempt_is_on_the_disk_before_the_window_closes(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    begin_question(window)
    build_with_keys(qtbot, window, FIRST)
    key(qtbot, Qt.Key.Key_1, CTRL)
    window.driver.advance(2.5)
    key(qtbot, Qt.Key.Key_Return)
    with Store.open(tmp_path / "data" / FILE_NAME) as store:
        (attempt,) = store.attempts()
    assert attempt.is_right
    assert attempt.predicted == FIRST.to_json()
    assert attempt.before == Annunciation().to_json()
    assert (attempt.lesson_title, attempt.confidence) == ("A short lesson", "sure")
    assert attempt.taken_s == pytest.approx(2.5)
    qtbot.keyClick(window, Qt.Key.Key_F4)
    assert window.desk.attempts.table.rowCount() == 1
    assert window.desk.attempts.strips["predicted"].annunciation == FIRST


def begin_question(window: MainWindow) -> None:
    """Start the lesson and come to its first question."""
    window.chooser.start.click()
    window.proceed()
    fly_on(window)
    assert window.practice.flyer.phase == "asking"


def test_time_stands_still_and_keys_are_dead_while_asking(qtbot: QtBot, window: MainWindow) -> None:
    begin_question(window)
    session = window.practice.session
    before, t_s = session.annunciation, session.t_s
    for stroke in PREFERRED_KEYS.values():
        if len(stroke) == 1:
            qtbot.keyClick(window, stroke)
    qtbot.mouseClick(window.desk.page.controls.buttons["director"], LEFT)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    qtbot.keyClick(window, Qt.Key.Key_N)
    window.driver.advance(5.0)
    assert (session.annunciation, session.t_s) == (before, t_s)


def test_nothing_on_screen_gives_the_answer_away(window: MainWindow) -> None:
    begin_question(window)
    page = window.desk.page
    assert page.strip.annunciation == Annunciation()
    assert page.builder.draft.cells == {}
    assert not page.said.isVisible()
    assert not any(w.isVisible() for w in (page.lesson.verdict, page.lesson.reasons))


def test_pause_speed_and_restart(qtbot: QtBot, window: MainWindow) -> None:
    window.chooser.start.click()
    window.driver.stop_clock()
    window.driver.advance(1.0)
    assert window.practice.session.t_s == 0.0  # waits to be begun
    qtbot.keyClick(window, Qt.Key.Key_F5)
    for _ in range(5):
        qtbot.keyClick(window, Qt.Key.Key_F7)
    assert window.practice.speed == 8
    qtbot.keyClick(window, Qt.Key.Key_F6)
    assert window.top.speed.text() == "4x"
    window.driver.advance(0.2)
    assert window.practice.session.t_s == pytest.approx(0.8)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    window.driver.advance(0.2)
    assert window.practice.session.t_s == pytest.approx(0.8)
    qtbot.keyClick(window, Qt.Key.Key_F8)
    assert window.practice.session.t_s == 0.0


def test_free_practice_flies_by_keys(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    for stroke in "DAH":
        qtbot.keyClick(window, stroke)
    shown = window.desk.page.strip.annunciation
    assert (shown.engagement, shown.lateral.active) == ("autopilot", "heading_select")
    qtbot.keyClick(window, "X")
    assert window.desk.page.strip.annunciation.alert == "disconnect_sounding"


def test_call_it_first_asks_before_the_key_acts(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    window.desk.free.drill.setCurrentIndex(1)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    qtbot.keyClick(window, "D")
    assert window.practice.flyer.phase == "asking"
    assert window.practice.session.annunciation == Annunciation()
    build_with_keys(qtbot, window, FIRST)
    key(qtbot, Qt.Key.Key_1, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    assert window.practice.flyer.outcomes[-1].score.is_right
    assert window.practice.session.annunciation == FIRST
    assert window.desk.recorder.attempts()[0].lesson_title == "Free practice"
    key(qtbot, Qt.Key.Key_Return)
    assert window.practice.flyer.phase == "running"
    assert window.desk.page.lesson.progress.text() == "1 call, 1 right"


def test_refusal_is_said_with_its_reason(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.practice.select("source", "")
    qtbot.keyClick(window, "C")
    assert "refused" in window.desk.page.latest.text()


def test_cautions_are_always_in_the_window(qtbot: QtBot, window: MainWindow) -> None:
    for stroke in (Qt.Key.Key_F2, Qt.Key.Key_F3, Qt.Key.Key_F4):
        qtbot.keyClick(window, stroke)
        assert window.foot.caution.isVisible()
        assert window.foot.caution.text() == CAUTION
        window.say("Something is told.", "told")
        assert window.foot.caution.isVisible()
        assert window.note.isVisible()


def test_what_was_told_goes_with_its_page_and_after_some_seconds(
    qtbot: QtBot, window: MainWindow
) -> None:
    window.say("Packed 1 lesson.", "told")
    qtbot.wait(1)
    qtbot.keyClick(window, Qt.Key.Key_F3)
    assert window.note.text() == ""
    assert not window.note.isVisible()
    window.say("Packed 1 lesson.", "told")
    window.foot._over.setInterval(1)
    window.say("Packed 2 lessons.", "told")
    qtbot.waitUntil(lambda: window.note.text() == "")
    window.say("Not saved: the disk is full")
    qtbot.wait(5)
    assert window.note.text() == "Not saved: the disk is full"  # a problem stands


def test_what_is_told_with_a_page_comes_with_it(qtbot: QtBot, window: MainWindow) -> None:
    window.say("The first page's.", "told")
    qtbot.wait(1)
    window.say("The next page's.", "told")
    window.show_settings()
    assert window.note.text() == "The next page's."


def test_broken_lesson_is_named_and_the_others_stay(
    qtbot: QtBot, window: MainWindow, lessons: Path
) -> None:
    (lessons / "02-broken.yaml").write_text("format: lesson/1\ntitel: x\n", encoding="utf-8")
    del window.desk.workspace.lesson_paths
    qtbot.keyClick(window, Qt.Key.Key_F2)
    assert "02-broken.yaml:2" in window.chooser.problems.text()
    assert window.chooser.list.count() == 1


def test_no_lessons_say_what_to_do(qtbot: QtBot, window: MainWindow, lessons: Path) -> None:
    (lessons / "01-short.yaml").unlink()
    del window.desk.workspace.lesson_paths
    qtbot.keyClick(window, Qt.Key.Key_F2)
    assert "No lessons found" in window.chooser.details.text()
    assert not window.chooser.start.isVisible()


def test_member_and_appearance_are_remembered(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, workspace: Workspace
) -> None:
    window.chooser.member.setText("A. Member")
    window.chooser.member.editingFinished.emit()
    window.set_appearance("dark")
    window.close()
    other = MainWindow(tmp_path / "data", lambda: workspace)
    qtbot.addWidget(other)
    assert other.chooser.member.text() == "A. Member"
    assert other.preferences.appearance == "dark"


def every_interface(root: QAccessibleInterface) -> Iterator[QAccessibleInterface]:
    """Walk the tree that a screen reader sees."""
    for place in range(root.childCount()):
        child = root.child(place)
        if child is not None and child.isValid():
            yield child
            yield from every_interface(child)


def accessible(widget: QWidget) -> QAccessibleInterface:
    """Return what a screen reader sees of a widget."""
    return QAccessible.queryAccessibleInterface(widget)


@pytest.mark.parametrize("page", ["lessons", "asking", "attempts", "free"])
def test_every_control_has_a_name_and_a_role(window: MainWindow, page: str) -> None:
    if page == "asking":
        begin_question(window)
    elif page != "lessons":
        {"attempts": window.show_attempts, "free": window.show_free}[page]()
    seen = 0
    for found in every_interface(accessible(window)):
        if found.role() in ACTING and not found.state().invisible:
            widget = found.object()
            inner = isinstance(widget, QWidget) and widget.objectName().startswith("qt_")
            if inner or widget is None:
                continue
            seen += 1
            assert found.text(QAccessible.Text.Name), (found.role(), widget)
    assert seen >= 5


def test_strip_cells_are_text_and_builder_cells_are_buttons(window: MainWindow) -> None:
    begin_question(window)
    page = window.desk.page
    for cell in CELLS:
        shown = accessible(page.strip.cells[cell])
        assert shown.role() == QAccessible.Role.StaticText
        assert ":" in shown.text(QAccessible.Text.Name)
        built = accessible(page.builder.strip.cells[cell])
        assert built.role() == QAccessible.Role.Button
        assert "not called yet" in built.text(QAccessible.Text.Name)


def test_debrief_leads_back_to_flight_and_on_from_a_moment(
    qtbot: QtBot, window: MainWindow
) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    window.proceed()
    for stroke in "DAH":
        qtbot.keyClick(window, stroke)
        for _ in range(20):
            window.driver.advance(0.2)
    qtbot.keyClick(window, Qt.Key.Key_F9)
    page = window.desk.debrief
    assert window.pages.currentWidget() is page
    assert [mark.label for mark in page._timeline.marks] == ["Director", "Autopilot", "Heading"]
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert window.pages.currentWidget() is window.desk.page
    assert not window.practice.is_running
    qtbot.keyClick(window, Qt.Key.Key_F9)
    page.marks.setCurrentRow(1)
    page.resume.click()
    window.driver.stop_clock()
    assert window.practice.session.annunciation.lateral.active == "roll_hold"
    assert window.practice.session.annunciation.engagement == "autopilot"
    assert window.practice.session.t_s == pytest.approx(4.0)
    qtbot.keyClick(window, "C")  # another branch than the one flown before
    assert window.desk.page.strip.annunciation.lateral.active != "heading_select"


def test_chosen_design_is_used_everywhere_and_remembered(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F10)
    page = window.desk.designer
    page.options.pickers["orientation"].setCurrentIndex(1)
    page.acts["Use this one"].click()
    assert window.preferences.strip_design == "My strip"
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    begin_question(window)
    flying = window.desk.page
    for cells in (flying.strip.cells, flying.builder.strip.cells):
        assert cells["lateral_active"].x() > cells["engagement"].x()  # lanes run down now
        assert cells["lateral_armed"].x() == cells["lateral_active"].x()


def test_enter_takes_the_word_that_is_typed_in_the_designer(
    qtbot: QtBot, window: MainWindow
) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F10)
    page = window.desk.designer
    words = page.options.words
    own = words.item(0, 1)
    words.setFocus()
    words.editItem(own)
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    qtbot.keyClicks(editor, "OWN")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    assert words.item(0, 1).text() == "OWN"  # the rows are made anew
    assert "OWN" in page.design.words.values()
    assert not isinstance(QApplication.focusWidget(), QLineEdit)


def test_own_key_works_the_aircraft_and_is_remembered(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F12)
    window.use_keys({"director": "Q"})
    assert window.desk.settings.table.item(0, 2).text() == "Q"
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    qtbot.keyClick(window, "D")
    assert window.practice.session.annunciation == Annunciation()
    qtbot.keyClick(window, "Q")
    assert window.practice.session.annunciation.engagement == "director"
    window.close()
    assert load_preferences(tmp_path / "data").keys == {"director": "Q"}


def test_reduced_motion_stops_the_pulse(qtbot: QtBot, window: MainWindow) -> None:
    window.use_still(True)
    window.show_free()
    window.desk.free.start.click()
    window.driver.stop_clock()
    strip = window.desk.page.strip
    strip.show_annunciation(FIRST, frozenset({"lateral_active"}))
    assert not strip._timer.isActive()
    window.use_still(False)
    strip.show_annunciation(SECOND, frozenset({"lateral_active"}))
    assert strip._timer.isActive()


def test_size_of_the_window_is_remembered(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, workspace: Workspace
) -> None:
    window.resize(1330, 720)
    window.close()
    other = MainWindow(tmp_path / "data", lambda: workspace)
    qtbot.addWidget(other)
    assert (other.width(), other.height()) == (1330, 720)


def test_newcomer_is_led_to_the_first_lesson(qtbot: QtBot, window: MainWindow) -> None:
    assert window.chooser.welcome.isVisible()
    begin_question(window)
    build_with_keys(qtbot, window, FIRST)
    key(qtbot, Qt.Key.Key_1, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    window.show_lessons()
    assert not window.chooser.welcome.isVisible()


def test_moment_is_saved_and_offered(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F3)
    qtbot.mouseClick(window.desk.free.start, LEFT)
    window.driver.stop_clock()
    qtbot.keyClick(window, "D")
    window.desk.save_moment("With the director")
    assert window.note.text().startswith("Saved: ")
    qtbot.keyClick(window, Qt.Key.Key_F3)
    listed = [window.desk.free.list.item(i).text() for i in range(window.desk.free.list.count())]
    assert listed[-1] == "Saved: With the director"


def test_clock_on_the_wall_drives_the_flight(qtbot: QtBot, window: MainWindow) -> None:
    window.chooser.start.click()
    window.proceed()
    qtbot.waitUntil(lambda: window.practice.session.t_s > 0.3, timeout=20_000)
    window.driver.stop_clock()


def test_lessons_stand_below_the_aircraft_that_they_fly(
    qtbot: QtBot, window: MainWindow, lessons: Path, workspace: Workspace
) -> None:
    other = LESSON.replace("A short", "Another").replace("ship_amber", "ship_slate")
    (lessons / "02-other.yaml").write_text(other, encoding="utf-8")
    third = LESSON.replace("A short", "One more")
    (lessons / "03-more.yaml").write_text(third, encoding="utf-8")
    del workspace.lesson_paths
    window.show_lessons()
    chooser = window.chooser
    rows = [chooser.list.item(n).text() for n in range(chooser.list.count())]
    assert rows == [
        "Ship Amber, stage one", "1  A short lesson", "3  One more lesson",
        "Ship Slate, the sister ship", "2  Another lesson",
    ]  # fmt: skip
    assert chooser.title.text() == "A short lesson"
    # The keys pass over the names of the aircraft.
    for title in ("One more lesson", "Another lesson"):
        qtbot.keyClick(chooser.list, Qt.Key.Key_Down)
        assert chooser.title.text() == title
    chooser.list.setCurrentRow(0)
    window.show_lessons()
    assert chooser.title.text() == "A short lesson"
    chooser.select("")  # as at the first start, when there is no last lesson
    assert chooser.start.isEnabled()


def test_last_lesson_is_in_hand_again(
    qtbot: QtBot, window: MainWindow, lessons: Path, workspace: Workspace
) -> None:
    (lessons / "02-other.yaml").write_text(LESSON.replace("A short", "Another"), encoding="utf-8")
    del workspace.lesson_paths
    window.show_lessons()
    window.chooser.list.setCurrentRow(1)
    window.chooser.start.click()
    window.show_lessons()
    assert window.chooser.title.text() == "Another lesson"
    assert window.preferences.last_lesson == "02-other"
