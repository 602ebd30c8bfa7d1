"""The lesson panel shows what is said, asked and what came of it, and nothing before its time."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from trainer.assessment.answers.prediction import score
from trainer.session.annunciation import CELLS, Annunciation
from trainer.ui.lesson.comparison import compared_cells, verdict
from trainer.ui.lesson.lesson_panel import LessonPanel
from trainer.ui.lesson.lesson_panel_text import LessonText
from trainer.ui.look.words import StripWords


@pytest.fixture
def panel(qtbot: QtBot) -> LessonPanel:
    """A shown panel."""
    widget = LessonPanel()
    qtbot.addWidget(widget)
    widget.resize(330, 600)
    widget.show()
    return widget


def read(panel: LessonPanel) -> list[str]:
    """Return all words that can be seen."""
    return [w.text() for w in panel.findChildren(QLabel) if w.isVisibleTo(panel) and w.text()]


def test_comparison_names_every_cell_and_marks_the_wrong_ones(
    words: StripWords, climbing: Annunciation
) -> None:
    said = climbing.with_cell("vertical_active", "altitude_capture")
    lines = compared_cells(score(said, climbing), words)
    assert [line.cell for line in lines] == list(CELLS)
    (wrong,) = [line for line in lines if not line.is_right]
    assert (wrong.title, wrong.said, wrong.read) == (
        "Vertical active",
        "Altitude capture",
        "Vertical speed",
    )


def test_verdict_takes_confidence_into_account(climbing: Annunciation) -> None:
    right, wrong = score(climbing, climbing), score(Annunciation(), climbing)
    assert verdict(right, "guess") != verdict(right, "sure")
    assert "you were sure" in verdict(wrong, "sure")
    assert verdict(wrong, "guess") == "5 cells not so."


def test_panel_shows_only_what_there_is(panel: LessonPanel) -> None:
    panel.show_text(LessonText(title="Armed and active", narration="Watch the strip."))
    assert read(panel) == ["Armed and active", "Watch the strip."]


def test_panel_shows_outcome_and_forgets_it(
    qtbot: QtBot, panel: LessonPanel, words: StripWords, climbing: Annunciation
) -> None:
    cells = compared_cells(score(Annunciation(), climbing), words)
    panel.show_text(LessonText(title="A", cells=cells, verdict="No", reasons=("Because.",)))
    shown = {"You said", "It read", "Because.", "Heading select"}
    qtbot.waitUntil(lambda: shown <= set(read(panel)), timeout=20_000)
    panel.show_text(LessonText(title="A"))
    assert read(panel) == ["A"]


def test_rows_of_the_comparison_begin_at_the_same_height(
    qtbot: QtBot, panel: LessonPanel, words: StripWords, climbing: Annunciation
) -> None:
    cells = compared_cells(score(Annunciation(), climbing), words)
    panel.show_text(LessonText(cells=cells))
    grid = panel._grid_holder.layout()
    for row in range(1, len(cells) + 1):
        shown = [grid.itemAtPosition(row, column).widget() for column in range(4)]
        assert {one.alignment() for one in shown} == {Qt.AlignmentFlag.AlignTop}


def test_no_line_ends_within_a_unit(panel: LessonPanel) -> None:
    panel.show_text(LessonText(narration="Climbing at 500 ft/min."))
    assert panel.narration.text() == "Climbing at 500 ft/\N{WORD JOINER}min."
    metrics = QFontMetrics(panel.narration.font())
    whole = metrics.horizontalAdvance("Climbing at 500 ft/min.")
    flags = Qt.TextFlag.TextWordWrap
    for width in range(whole - 40, whole):
        first = metrics.boundingRect(0, 0, width, 500, flags, panel.narration.text())
        assert first.width() <= metrics.horizontalAdvance("Climbing at 500 "), width


def test_one_button_leads_on(qtbot: QtBot, panel: LessonPanel) -> None:
    panel.show_text(LessonText(title="A", next_step="Continue"))
    with qtbot.waitSignal(panel.proceeded):
        qtbot.mouseClick(panel.next, Qt.MouseButton.LeftButton)
