"""Due practice: which rules are due and why, an item for each, explained, and what when none is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.helpers.check_window import (
    ME,
    answer,
    asked,
    begin,
    kept,
    known_bank,
    open_window,
    wait,
)
from tests.helpers.small_bank import SHIP, small_bank
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Confidence, Prediction
from trainer.records.attempt import Attempt
from trainer.records.error import RecordsError
from trainer.records.store import FILE_NAME, Store
from trainer.session.marks import region_cell
from trainer.ui.check.due_desk import (
    LESSON_ID,
    DueDesk,
    Engine,
    is_called_rightly,
    spacing_of,
)
from trainer.ui.check.due_words import NOTHING_MET
from trainer.ui.check.item_practice import ItemPractice
from trainer.ui.window.main_window import MainWindow

OLD = "2026-03-01T10:00:00Z"
NOW = "2026-03-20T10:00:00Z"
OTHER = "ship_slate"


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window whose items of one ship are known, at a fixed moment."""
    made = open_window(qtbot, tmp_path / "data")
    made.name_member(ME)
    made.activateWindow()
    yield made
    made.close()


def user(window: MainWindow) -> Path:
    return window.desk.workspace.user_folder


def cells_of(window: MainWindow, rule: str) -> tuple[str, ...]:
    """Return the cell that a rule moves; for a refusal any."""
    chart = window.desk.workspace.installation(SHIP).chart
    known = rule in chart.rules
    return (region_cell(chart, chart.rules[rule].region) if known else "alert",)


def met(
    window: MainWindow,
    rule: str,
    *,
    at_utc: str = OLD,
    right: bool = True,
    confidence: Confidence = "sure",
    item_id: str = "",
    installation: str = SHIP,
) -> Attempt:
    """Put an answer about a rule into the file of answers."""
    item = known_bank()[1].items[0]
    before, true = item.before.to_json(), item.true.to_json()
    made = Attempt(
        f"{rule}-{at_utc}-{installation}", at_utc, ME, "first", "First flight", installation, 1,
        "after_key", "What will the strip read?", before, true if right else before, true,
        () if right else cells_of(window, rule), right, confidence,
        (rule,), 4.0, "0.1.0", item_id=item_id,
    )  # fmt: skip
    with Store.open(user(window) / FILE_NAME) as store:
        store.add(made)
    return made


def show(window: MainWindow, now: str = NOW) -> DueDesk:
    """Open the page with its key, at a moment."""
    QTest.keyClick(window, Qt.Key.Key_D, Qt.KeyboardModifier.ControlModifier)
    door = window.desk.rooms.due_door
    door.desk._now = lambda: now
    window.desk.rooms.show_due()
    assert window.pages.currentWidget() is door.made
    return door.desk


def page(window: MainWindow):
    return window.desk.rooms.due_door.made


def rows(window: MainWindow) -> list[tuple[str, ...]]:
    made = page(window).list
    return [
        tuple(made.item(row, column).text() for column in range(3))
        for row in range(made.rowCount())
    ]


def asked_rules() -> list[str]:
    """Return the rules that the bank can ask for, most items first."""
    items = known_bank()[1].items
    count: dict[str, int] = {}
    for item in items:
        for rule in item.rules:
            count[rule] = count.get(rule, 0) + 1
    return sorted(count, key=lambda rule: -count[rule])


def flying(qtbot: QtBot, window: MainWindow):
    """Wait for an item on the flying page and return it."""
    wait(qtbot, lambda: window.pages.currentWidget() is window.desk.page)
    window.driver.stop_clock()
    assert isinstance(window.practice, ItemPractice)
    name = window.practice.flyer.lesson.id
    return next(one for one in known_bank()[1].items if one.id == name)


def say(window: MainWindow, strip, confidence: Confidence = "sure") -> None:
    window.driver.act(lambda practice: practice.answer(Prediction(strip, confidence)))
    while window.practice.is_moving:
        window.driver.advance(0.25)
    assert window.practice.flyer.phase == "explained"


# --- what is due, and why -----------------------------------------------------------------------


def test_nothing_met_says_what_to_do(window: MainWindow) -> None:
    show(window)
    assert page(window).summary.text() == NOTHING_MET
    assert not page(window).list.isVisible()
    assert page(window).new.hasFocus()
    assert not page(window).practise.isEnabled()


def test_due_rules_come_first_with_the_reason(window: MainWindow) -> None:
    wrong, right, *_ = asked_rules()
    met(window, right, at_utc="2026-03-19T10:00:00Z")
    met(window, right, at_utc="2026-03-19T11:00:00Z", confidence="sure")
    met(window, wrong, right=False)
    desk = show(window)
    sentences = desk._sentences(SHIP)
    assert [row[2] for row in rows(window)] == [sentences[wrong], sentences[right]]
    assert rows(window)[0][:2] == ("● Due now", "✗ not so")
    assert rows(window)[1][0].startswith("○")
    assert page(window).summary.text() == "1 of 2 rules met is due."
    assert "Last met 19 days ago in “First flight”: wrong, sure." in page(window).why.text()
    assert "The chance that you still know it" in page(window).why.text()
    assert page(window).sentence.text() == sentences[wrong]


def test_what_is_not_due_stands_in_the_order_in_which_it_comes(window: MainWindow) -> None:
    late, soon, *_ = asked_rules()
    for hour in (10, 11, 12):
        met(window, late, at_utc=f"2026-03-20T{hour}:00:00Z")
    met(window, soon, right=False, at_utc="2026-03-20T12:04:30Z")
    chart = window.desk.workspace.installation(SHIP).chart
    lessons_only = next(name for name in chart.rules if name not in asked_rules())
    met(window, lessons_only, right=False, at_utc="2026-03-01T12:00:00Z")
    desk = show(window, "2026-03-20T12:05:00Z")
    desk.engines[SHIP] = Engine.of(small_bank())
    window.desk.rooms.show_due()
    sentences = desk._sentences(SHIP)
    expected = [sentences[rule] for rule in (soon, late, lessons_only)]
    assert [row[2] for row in rows(window)] == expected


def test_only_the_rules_of_a_wrong_cell_are_taken_as_wrong(window: MainWindow) -> None:
    """A capture called rightly stays right, though what it disarms was overlooked."""
    chart = window.desk.workspace.installation(SHIP).chart
    captured, ended, refused = "altitude_captured", "altitude_arm_ends", "no_attitude"
    made = met(window, captured, right=False)
    made = replace(made, id="1", rule_ids=(captured, ended), wrong_cells=("vertical_armed",))
    assert is_called_rightly(captured, made, chart)
    assert not is_called_rightly(ended, made, chart)
    assert not is_called_rightly(refused, made, chart)
    assert not is_called_rightly("a_rule_that_is_gone", made, chart)
    chosen = replace(made, wrong_cells=("choice",))
    assert not is_called_rightly(captured, chosen, chart)
    right = replace(made, wrong_cells=(), is_right=True)
    assert is_called_rightly(ended, right, chart)
    at = "2026-03-10T10:00:00Z"
    with Store.open(user(window) / FILE_NAME) as store:
        store.add(replace(made, at_utc=at))
    show(window, "2026-03-10T10:01:00Z")
    last = {row[2]: row[1] for row in rows(window)}
    assert last[chart.rules[captured].because] == "✓ right"
    assert last[chart.rules[ended].because] == "✗ not so"
    due = {s.rule: s.due for s in spacing_of([made], chart).states(show(window).now)}
    assert due[ended] < due[captured]


def test_nothing_due_says_when_the_next_comes(window: MainWindow) -> None:
    rule = asked_rules()[0]
    for hour in (10, 11, 12):
        met(window, rule, at_utc=f"2026-03-20T{hour}:00:00Z")
    show(window, "2026-03-20T12:05:00Z")
    words = page(window).summary.text()
    assert words.startswith("Nothing is due. Next comes in ")
    assert "'Something new'" in words


def test_a_wrong_answer_comes_back_sooner_than_a_right_one(window: MainWindow) -> None:
    first, second, *_ = asked_rules()
    made = [
        met(window, rule, at_utc=at, right=rule == first or at != "2026-03-12T10:00:00Z")
        for at in ("2026-03-01T10:00:00Z", "2026-03-04T10:00:00Z", "2026-03-12T10:00:00Z")
        for rule in (first, second)
    ]
    chart = window.desk.workspace.installation(SHIP).chart
    due = {state.rule: state.due for state in spacing_of(made, chart).states(show(window).now)}
    assert due[second] < due[first]


def test_only_the_aircraft_in_hand_counts(window: MainWindow) -> None:
    met(window, asked_rules()[0], right=False, installation=OTHER)
    show(window)
    assert rows(window) == []
    made = page(window)
    made.aircraft.setCurrentIndex(made.aircraft.findData(OTHER))
    made.aircraft.activated.emit(made.aircraft.currentIndex())
    assert len(rows(window)) == 1


def test_a_rule_that_no_item_shows_is_said_to_be_for_lessons(
    qtbot: QtBot, window: MainWindow
) -> None:
    chart = window.desk.workspace.installation(SHIP).chart
    rule = next(name for name in chart.rules if name not in asked_rules())
    met(window, rule, right=False)
    desk = show(window)
    page(window).practise.click()
    wait(qtbot, lambda: "fly its lesson" in page(window).message.text())
    assert SHIP in desk.engines
    window.desk.rooms.show_due()
    assert rows(window)[0][0] == "Only in lessons"
    assert not page(window).practise.isEnabled()
    assert "No situation of the practice shows this rule" in page(window).why.text()


# --- practising ---------------------------------------------------------------------------------


def test_a_due_rule_is_practised_with_feedback_and_kept(qtbot: QtBot, window: MainWindow) -> None:
    rule = asked_rules()[0]
    met(window, rule, right=False)
    show(window)
    qtbot.keyClick(window, Qt.Key.Key_Return)
    item = flying(qtbot, window)
    assert rule in item.rules
    assert window.practice.flyer.phase == "asking"
    assert window.desk.page.builder.isVisible()
    say(window, item.true)
    words = window.desk.page.lesson
    assert words.verdict.isVisible()
    assert words.reasons.text()
    one = kept(user(window))[-1]
    assert (one.item_id, one.lesson_id, one.is_right) == (item.id, LESSON_ID, True)
    assert one.check_id == ""
    qtbot.keyClick(window, Qt.Key.Key_Return)
    wait(qtbot, lambda: window.pages.currentWidget() is page(window))
    assert "Nothing is due" in page(window).summary.text()


def test_the_next_due_rule_follows_at_once(qtbot: QtBot, window: MainWindow) -> None:
    first = asked_rules()[0]
    beside = {name for i in known_bank()[1].items if first in i.rules for name in i.rules}
    second = next(rule for rule in asked_rules() if rule not in beside)
    met(window, first, right=False)
    met(window, second, right=False, at_utc="2026-03-02T10:00:00Z")
    show(window)
    page(window).practise.click()
    one = flying(qtbot, window)
    say(window, one.true)
    qtbot.keyClick(window, Qt.Key.Key_Return)
    other = flying(qtbot, window)
    assert other.id != one.id
    assert second in other.rules
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert window.pages.currentWidget() is page(window)


def test_something_new_is_about_a_rule_not_met(qtbot: QtBot, window: MainWindow) -> None:
    rule = asked_rules()[0]
    met(window, rule)
    show(window)
    page(window).new.click()
    item = flying(qtbot, window)
    assert set(item.rules) - {rule}


def test_an_answer_after_a_restart_is_not_kept(qtbot: QtBot, window: MainWindow) -> None:
    met(window, asked_rules()[0], right=False)
    show(window)
    page(window).practise.click()
    item = flying(qtbot, window)
    say(window, item.before if item.before != item.true else item.true, "guess")
    before = len(kept(user(window)))
    window.top.restart.click()
    window.driver.stop_clock()
    while window.practice.is_moving:
        window.driver.advance(0.25)
    say(window, item.true)
    assert len(kept(user(window))) == before


def test_an_item_left_before_its_answer_is_known_is_kept_before_the_page_is_filled(
    window: MainWindow,
) -> None:
    workspace = Workspace()
    tutor = workspace.start_lesson(workspace.lesson(workspace.lesson_paths[0]))
    while tutor.prompt is None or tutor.prompt.kind != "next_change":
        tutor.advance(60.0)
        if tutor.phase == "asking" and tutor.prompt.kind != "next_change":
            tutor.answer(Prediction(tutor.prompt.before, "guess"))
        tutor.proceed()
    order: list[str] = []
    made = ItemPractice(
        tutor, lambda _answered: order.append("kept"), lambda: order.append("left"), lambda: None
    )
    window.open_item(made)
    window.driver.stop_clock()
    window.driver.act(lambda practice: practice.answer(Prediction(tutor.prompt.before, "sure")))
    assert tutor.phase == "revealing"
    window.end_lesson()
    assert order == ["kept", "left"]


def test_an_answer_that_cannot_be_kept_is_told(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    met(window, asked_rules()[0], right=False)
    desk = show(window)
    page(window).practise.click()
    item = flying(qtbot, window)

    def refuse(*_: object) -> None:
        raise RecordsError(user(window), "the disk is full")

    monkeypatch.setattr(desk, "keep", refuse)
    say(window, item.true)
    assert "the disk is full" in window.note.text()


def test_items_of_an_open_check_are_kept_back(qtbot: QtBot, window: MainWindow) -> None:
    door = begin(qtbot, window)
    answered = answer(door)
    sitting = door.item.taken.sitting
    assert asked(door) in sitting.items
    door.stop()
    desk = show(window)
    assert rows(window) == []  # nobody may look at the answers yet
    desk.engines[SHIP] = Engine.of(known_bank()[1])
    back = desk._kept_back()
    assert back >= {answered, *sitting.items}
    # Whoever it is: the same person may be written otherwise here.
    for who in (ME, ME.lower(), f"{ME} "):
        for rule in ("", *asked_rules()):
            item = desk.item(who, SHIP, rule)
            assert item is None or item.id not in back


def test_the_same_situation_does_not_come_twice_while_there_are_others(
    window: MainWindow,
) -> None:
    desk = show(window)
    desk.engines[SHIP] = Engine.of(known_bank()[1])
    rule = asked_rules()[0]
    items = [one for one in known_bank()[1].items if rule in one.rules]
    seen: list[str] = []
    for number in range(len(items)):
        item = desk.item(ME, SHIP, rule)
        assert item.id not in seen
        seen.append(item.id)
        met(window, rule, at_utc=f"2026-03-02T10:{number:02d}:00Z", item_id=item.id)
    assert desk.item(ME, SHIP, rule).id in seen  # all were met: one comes round again


def test_what_the_answers_point_to_is_asked_first(window: MainWindow) -> None:
    # Among the situations of a rule the one is taken whose answer is expected to tell most.
    desk = show(window)
    engine = Engine.of(known_bank()[1])
    desk.engines[SHIP] = engine
    rule = asked_rules()[0]
    chosen = desk.item(ME, SHIP, rule)
    telling = [one for one in engine.bank.items if rule in one.rules and one.answers]
    assert not telling or chosen.answers


def test_of_equally_telling_items_the_least_answered_comes_by_the_kept_answers(
    window: MainWindow,
) -> None:
    """Another member's answers count, and count again after the window was closed."""
    desk = show(window)
    desk.engines[SHIP] = Engine.of(known_bank()[1])
    told: list[dict[str, int]] = []
    selector = desk.engines[SHIP].selector
    select = selector.select
    selector.select = lambda *asked: told.append(dict(asked[3])) or select(*asked)
    first = desk.item(ME, SHIP, "")
    with Store.open(user(window) / FILE_NAME) as store:
        made = met(window, asked_rules()[0], item_id=first.id)
        store.add(replace(made, id="of-another", member="Ash"))
    desk.item(ME, SHIP, "")
    assert told[0] == {}
    assert told[-1] == {first.id: 2}
