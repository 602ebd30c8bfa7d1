"""My attempts: empty state, lines in words, the strips of the line in hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.records.attempt import Attempt
from trainer.session.annunciation import Annunciation
from trainer.ui.debrief.attempts_table import attempt_line, reasons, summary
from trainer.ui.debrief.attempts_view import AttemptsView
from trainer.ui.look.words import StripWords


@pytest.fixture
def attempt(climbing: Annunciation) -> Attempt:
    """One wrong answer."""
    said = climbing.with_cell("vertical_active", "altitude_capture")
    return Attempt(
        "1", "2026-03-01T18:05:09Z", "me", "l1", "Lesson one", "ship", 2, "next_change",
        "What will it read next?", climbing.to_json(), said.to_json(), climbing.to_json(),
        ("vertical_active",), False, "sure", ("r1",), 12.5, "0.1",
    )  # fmt: skip


def attempt_with(rules: tuple[str, ...]) -> Attempt:
    """Return an answer behind which some rules stand."""
    return Attempt(
        "1", "2026-03-01T18:05:09Z", "me", "l1", "Lesson one", "ship_amber", 2, "after_key",
        "What?", {}, {}, {}, (), True, "sure", rules, 12.5, "0.1",
    )  # fmt: skip


@pytest.fixture
def view(qtbot: QtBot, words: StripWords) -> AttemptsView:
    """A shown view."""
    widget = AttemptsView(words)
    qtbot.addWidget(widget)
    widget.resize(1280, 700)
    widget.show()
    return widget


def test_empty_view_says_what_to_do(view: AttemptsView) -> None:
    view.show_attempts([])
    assert view.empty.isVisible()
    assert "Start a lesson" in view.empty.text()


def test_line_is_in_plain_words(attempt: Attempt) -> None:
    assert attempt_line(attempt) == (
        "2026-03-01 18:05",
        "Lesson one",
        "2: What will it read next?",
        "✗ not so",
        "sure",
        "vertical active",
    )


def test_summary_counts(attempt: Attempt) -> None:
    right = replace(attempt, is_right=True)
    assert summary([attempt, right]) == "2 answers, 1 right, 1 not so although sure"
    assert summary([]) == "No answers yet"


def test_reasons_are_those_of_the_rules_and_each_stands_once() -> None:
    chart = Workspace().installation("ship_amber").chart
    rule = next(iter(chart.rules.values()))
    refusal = next(iter(chart.refusals.values()))
    made = attempt_with((rule.id, refusal.id, rule.id, "gone"))
    told = reasons(made, chart)
    assert told[0] == rule.because
    assert told[1] == f"Refused: {refusal.reason}. {refusal.because}"
    assert "gone" in told[2]
    assert len(told) == 3
    assert "gone" in reasons(made, None)[0]
    assert reasons(attempt_with(()), chart)[0].startswith("No rule acted")


def test_answer_in_hand_stands_whole_with_its_reason(
    qtbot: QtBot, view: AttemptsView, attempt: Attempt
) -> None:
    many = replace(attempt, wrong_cells=("lateral_active", "vertical_active", "vertical_armed"))
    view.show_attempts([many, replace(attempt, id="2")], reasons_of=lambda one: (one.id, "why"))
    assert view.where.text() == (
        "Lesson one, question 2.  Not so: lateral active, vertical active, vertical armed."
    )
    assert view.reasons.text() == "1\nwhy"
    assert view.reasons.isVisible()
    view.take_focus()
    assert view.table.hasFocus()
    qtbot.keyClick(view.table, Qt.Key.Key_Down)
    assert view.reasons.text() == "2\nwhy"
    view.show_attempts([])
    view.take_focus()
    assert view.exchange.hasFocus()


def test_line_in_hand_shows_its_strips(
    qtbot: QtBot, view: AttemptsView, attempt: Attempt, climbing: Annunciation
) -> None:
    other = replace(attempt, id="2", before=Annunciation().to_json())
    view.show_attempts([attempt, other])
    assert view.strips["before"].annunciation == climbing
    assert "wrong" in view.strips["predicted"].cells["vertical_active"].accessibleName()
    qtbot.keyClick(view.table, Qt.Key.Key_Down)
    assert view.strips["before"].annunciation == Annunciation()
