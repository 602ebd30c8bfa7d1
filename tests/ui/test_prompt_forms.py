"""Choices and numbers: asked, answered with keys and mouse, kept; every shipped lesson played."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.lesson.answer import Answer
from trainer.lesson.question import Option, Prompt, compute_answer
from trainer.records.attempt_check import attempt_from_json
from trainer.session.annunciation import Annunciation
from trainer.ui.debrief.attempts_table import said_line
from trainer.ui.window.main_window import MainWindow
from trainer.ui.writing.form_draft import FormDraft, option_place

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
WORKSPACE = Workspace()
OPTIONS = (Option("altitude", "Altitude"), Option("course", "Course"), Option("nothing", "Nothing"))
WRONG = Annunciation(alert="disconnect_sounding", protection="overspeed")
LESSON = """\
format: lesson/1
title: Three forms
summary: A choice, a key and a number.
installation: ship_amber
objectives: [Say what comes up in other words.]
competencies: [vertical_selection]
minutes: 2
start:
  altitude_ft: 3300
  heading_deg: 60
  airspeed_kt: 95
  vertical_speed_fpm: 500
  power_percent: 100
  selected: {altitude_ft: 4000, heading_deg: 60, vertical_speed_fpm: 500}
  modes: {engagement: autopilot, lateral: roll_hold, vertical: vertical_speed, armed: [altitude]}
steps:
  - wait: 1
  - predict: {kind: is_allowed, key: heading_select}
  - predict: {kind: which_key, shows: {lateral_active: roll_hold}}
  - predict: {kind: level_off, within_s: 120}
"""


def opened(qtbot: QtBot, folder: Path, lessons: Path | None) -> MainWindow:
    """Return a shown window that remembers nothing."""
    made = Workspace(lessons=lessons) if lessons else Workspace()
    made.__dict__["installations"] = WORKSPACE.installations
    widget = MainWindow(folder / "data", lambda: made)
    qtbot.addWidget(widget)
    with qtbot.waitSignal(widget.loaded, timeout=20_000):
        widget.show()
    widget.activateWindow()
    return widget


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window with the lesson of three forms, at its first question."""
    lessons = tmp_path / "lessons"
    lessons.mkdir()
    (lessons / "01-forms.yaml").write_text(LESSON, encoding="utf-8")
    widget = opened(qtbot, tmp_path, lessons)
    widget.chooser.start.click()
    widget.proceed()
    fly_on(widget)
    yield widget
    widget.close()


def fly_on(window: MainWindow, most_s: float = 900.0) -> None:
    """Let time pass until the lesson waits for the trainee."""
    window.driver.stop_clock()
    passed_s = 0.0
    while window.practice.is_moving and passed_s < most_s:
        window.driver.advance(0.25)
        passed_s += 0.25
    assert not window.practice.is_moving


def key(qtbot: QtBot, stroke: Qt.Key | str, modifier: Qt.KeyboardModifier | None = None) -> None:
    """Type into whatever has the focus."""
    qtbot.keyClick(QApplication.focusWidget(), stroke, modifier or Qt.KeyboardModifier.NoModifier)


def test_choice_key_and_number_with_the_keyboard(qtbot: QtBot, window: MainWindow) -> None:
    page = window.desk.page
    assert page.form.isVisible()
    assert not page.builder.isVisible()
    assert [page.form.options.item(n).text() for n in range(3)] == [
        "1  It is accepted", "2  It is refused, with a reason", "3  Nothing happens at all",
    ]  # fmt: skip
    key(qtbot, "1")
    key(qtbot, Qt.Key.Key_1, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)
    assert window.practice.flyer.outcomes[-1].score.is_right
    key(qtbot, Qt.Key.Key_Return)
    # Rulebook 6: the key of an active mode returns the axis to its default.
    assert page.said.isVisible()
    assert page.said.annunciation.lateral.active == "roll_hold"
    assert page.said_title.text() == "To be reached"
    labels = [option.label for option in window.practice.flyer.prompt.options]
    place = next(n for n, text in enumerate(labels) if text.startswith("Heading"))
    for _ in range(labels[place:].count("") + 1):
        key(qtbot, labels[place][0])
    while page.form.draft.choice != "heading_select":
        key(qtbot, labels[place][0])
    key(qtbot, Qt.Key.Key_2, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)
    assert window.practice.flyer.outcomes[-1].score.is_right
    assert not page.said.isVisible()
    key(qtbot, Qt.Key.Key_Return)
    for stroke in "99999":
        key(qtbot, stroke)
    assert "isn't a number from 0 to 30,000 ft" in page.form.progress.text()
    assert not page.form.submit.isEnabled()
    for _ in range(5):
        key(qtbot, Qt.Key.Key_Backspace)
    # [TRN-02] levels off at a lead of 10 % of the vertical speed: 500 ft/min -> 50 ft before.
    for stroke in "3,950":
        key(qtbot, stroke)
    key(qtbot, Qt.Key.Key_3, CTRL)
    key(qtbot, Qt.Key.Key_Return)
    fly_on(window)
    outcome = window.practice.flyer.outcomes[-1]
    assert outcome.score.is_right, outcome.score
    assert outcome.score.cells[0].predicted == "3950 ft"


def test_choice_with_the_mouse_and_what_is_kept(qtbot: QtBot, window: MainWindow) -> None:
    form = window.desk.page.form
    middle = form.options.visualItemRect(form.options.item(1)).center()
    qtbot.mouseClick(form.options.viewport(), LEFT, pos=middle)
    qtbot.mouseClick(form.confidence.buttons["sure"], LEFT, pos=_spot())
    qtbot.mouseClick(form.submit, LEFT)
    fly_on(window)
    panel = window.desk.page.lesson
    assert panel.verdict.text() == "Not so, and you were sure: worth a second look."
    (cell,) = panel._text.cells
    assert (cell.title, cell.said, cell.read) == (
        "Choice", "It is refused, with a reason", "It is accepted",
    )  # fmt: skip
    (attempt,) = window.desk.recorder.attempts()
    assert (attempt.said, attempt.expected, attempt.wrong_cells) == (
        "refused", "accepted", ("choice",),
    )  # fmt: skip
    assert attempt_from_json(attempt.to_json()) == attempt
    window.show_debrief()
    reasons = [r for mark in window.desk.debrief._timeline.marks for r in mark.reasons]
    assert any("You said: It is refused" in reason for reason in reasons)
    window.show_attempts()
    view = window.desk.attempts
    assert view.said.text() == "You said: Refused.  Right: Accepted."
    assert not view.strips["predicted"].isVisible()
    assert said_line(attempt) == view.said.text()


def _spot():
    from PySide6.QtCore import QPoint

    return QPoint(8, 10)


def test_the_rule_is_named_in_the_explanation(qtbot: QtBot, window: MainWindow) -> None:
    window.driver.act(lambda p: p.answer(Prediction(WRONG, "guess", choice="accepted")))
    fly_on(window)
    outcome = window.practice.flyer.outcome
    panel = window.desk.page.lesson
    assert outcome.rule_ids
    for rule in outcome.rule_ids:
        assert rule in panel.reasons.toolTip()
        assert rule not in panel.reasons.text() + panel.details.text()


def said(prompt: Prompt, answer: Answer, is_right: bool) -> Prediction:
    """Return a right or a wrong answer in the prompt's form."""
    if prompt.form == "choice":
        ids = [o.id for o in prompt.options if (o.id in answer.accepted) == is_right]
        return Prediction(Annunciation(), "sure", choice=ids[0])
    if prompt.form == "number":
        off = 0.0 if is_right else 2000.0
        return Prediction(Annunciation(), "sure", number=(answer.number or 0.0) + off)
    return Prediction(answer.after if is_right else WRONG, "sure")


def answer_in_window(window: MainWindow, prediction: Prediction) -> None:
    """Give an answer by way of the widgets that ask for it."""
    page = window.desk.page
    prompt = window.practice.flyer.prompt
    if prompt.form == "strip":
        assert page.builder.isVisible()
        for cell, value in ((c, prediction.annunciation.cell(c)) for c in page.builder.strip.cells):
            page.builder._set(page.builder.draft.with_cell(cell, value))
        page.builder.confidences[prediction.confidence].click()
        page.builder.finish()
        return
    assert page.form.isVisible()
    if prompt.form == "choice":
        ids = [option.id for option in prompt.options]
        page.form.options.setCurrentRow(ids.index(prediction.choice))
    else:
        page.form.number.setText(f"{prediction.number:.2f}")
    page.form.confidence.buttons[prediction.confidence].click()
    page.form.finish()


def play(window: MainWindow, lesson_id: str, is_right: bool) -> list[str]:
    """Play a lesson to its end; return the forms asked."""
    lesson = next(one for one in window.chooser._lessons if one.id == lesson_id)
    window.open_lesson(lesson)
    window.proceed()
    window.practice.change_speed(3)
    fly_on(window)
    forms = []
    while window.practice.flyer.phase == "asking":
        flyer = window.practice.flyer
        forms.append(flyer.prompt.form)
        answer = compute_answer(flyer.asked, flyer.session, lesson.path)
        answer_in_window(window, said(flyer.prompt, answer, is_right))
        fly_on(window)
        assert flyer.phase == "explained"
        assert flyer.outcome.score.is_right == is_right, (lesson_id, flyer.prompt)
        assert window.desk.page.lesson.reasons.text()
        window.proceed()
        fly_on(window)
    assert window.practice.flyer.phase == "finished", window.note.text()
    return forms


@pytest.mark.parametrize(
    ("is_right", "every"),
    [
        pytest.param(True, 6, id="right, one in six"),
        pytest.param(True, 1, id="right", marks=pytest.mark.long),
        pytest.param(False, 1, id="wrong", marks=pytest.mark.long),
    ],
)
def test_every_shipped_lesson_is_played_to_its_end(
    qtbot: QtBot, tmp_path: Path, is_right: bool, every: int
) -> None:
    window = opened(qtbot, tmp_path, None)
    forms: list[str] = []
    lessons = [lesson.id for lesson in window.chooser._lessons]
    assert len(lessons) >= 30
    for lesson in lessons[::every]:
        forms += play(window, lesson, is_right)
    kept = window.desk.recorder.attempts()
    assert len(kept) == len(forms)
    assert {attempt.is_right for attempt in kept} == {is_right}
    assert {"strip", "choice", "number"} <= set(forms)
    for attempt in kept:
        assert attempt_from_json(attempt.to_json()) == attempt
    window.close()


def test_draft_says_what_is_missing() -> None:
    draft = FormDraft(Annunciation(), OPTIONS)
    assert draft.progress == "Choose one"
    with pytest.raises(ValueError, match="complete"):
        draft.prediction()
    draft = draft.with_choice("course")
    assert draft.progress == "Still to say: how sure"
    draft = draft.with_confidence("guess")
    assert (draft.progress, draft.prediction().choice) == ("Ready", "course")


@pytest.mark.parametrize("typed", ["", "abc", "-1", "30001", "nan", "inf", "1e9"])
def test_number_out_of_range_is_not_taken(typed: str) -> None:
    assert FormDraft(Annunciation(), unit="ft").with_typed(typed).number is None


@pytest.mark.parametrize(("typed", "number"), [("0", 0.0), ("30,000", 30000.0), ("4 000", 4000.0)])
def test_number_in_range_is_taken(typed: str, number: float) -> None:
    assert FormDraft(Annunciation(), unit="ft").with_typed(typed).number == number


def test_letters_go_round_the_options() -> None:
    assert option_place(OPTIONS, "c", -1) == 1
    assert option_place(OPTIONS, "A", 0) == 0
    assert option_place(OPTIONS, "z", 0) is None
