"""How fast the club's page shows a large board: 300 members by 12 competencies."""

from __future__ import annotations

import os
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from pytestqt.qtbot import QtBot

from trainer.records.board import BoardFacts, LatestOutcome, build_board
from trainer.records.board_change import board_changes, call_list
from trainer.records.roster import Aircraft, Member, Requirement, pseudonym_of
from trainer.ui.club.club_board_view import ClubBoardView
from trainer.ui.club.club_work import BoardPicture

# Said by the offscreen platform whatever a window does; a real screen never says it.
pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints")
VERDICTS = ("ready", "needs_briefing", "not_yet")
SINCE = "2026-01-01T00:00:00Z"


@pytest.fixture(scope="module")
def picture() -> BoardPicture:
    """A board on which every cell has changed."""
    required = tuple(
        Requirement(f"c{n}", f"Competency {n}", 365, {f"r{n}": "aa"}) for n in range(12)
    )
    members = tuple(
        Member(n, f"Member {n}", pseudonym_of(n), SINCE, True, None) for n in range(1, 301)
    )
    outcomes = {
        (member.id, one.competency_id): LatestOutcome(
            1, 1, VERDICTS[(member.id + place) % 3], "2026-03-01T00:00:00Z", one.rules, 5, 1, ()
        )
        for member in members
        for place, one in enumerate(required)
    }
    facts = BoardFacts(Aircraft("a", "A", "a", 1), required, members, outcomes, {}, {})
    board = build_board(facts, "2026-03-10T00:00:00Z")
    return BoardPicture(board, board_changes({}, board), call_list(board, {}))


@pytest.fixture
def view(qtbot: QtBot) -> ClubBoardView:
    """The board, shown."""
    made = ClubBoardView(None)
    qtbot.addWidget(made)
    made.resize(1200, 650)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_show_board_of_300(benchmark: Any, qtbot: QtBot, view: ClubBoardView, picture: Any) -> None:
    def show() -> None:
        view.show_picture(picture)
        view.repaint()

    benchmark.pedantic(show, rounds=10, warmup_rounds=1)
    assert view.model.rowCount() == 300
    # Up to 100 ms feels like an instant answer (common practice).
    assert benchmark.stats.stats.median < 0.1


def test_filter_board_of_300(
    benchmark: Any, qtbot: QtBot, view: ClubBoardView, picture: Any
) -> None:
    view.show_picture(picture)

    def filter_names() -> None:
        view.name.setText("")
        view.name.setText("12")
        view.repaint()

    benchmark.pedantic(filter_names, rounds=10, warmup_rounds=1)
    assert view.model.rowCount() == 13
    assert benchmark.stats.stats.median < 0.1
