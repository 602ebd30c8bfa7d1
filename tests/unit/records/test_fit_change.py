"""Who was found ready under the old logic, and the next stage of an aircraft in the book."""

from __future__ import annotations

from typing import Any

from trainer.records.board_query import read_board
from trainer.records.fit_change import enter_next_stage, ready_under_old_logic
from trainer.records.result import add_outcome
from trainer.records.roster import Requirement

NOW = "2026-03-10T12:00:00Z"
AFTER = (
    Requirement("lateral", "Lateral", 365, {"lateral.select_heading": "changed",
                                            "lateral.capture_course": "ab"}),
    Requirement("vertical", "Vertical", 365, {"vertical.capture_altitude": "ba"}),
)  # fmt: skip


def _checked(club: Any, make_outcome: Any, *competencies: str, **changes: Any) -> None:
    for name in competencies:
        add_outcome(club.store, "Robin Vale", make_outcome(name, **changes))
    club.take()


def test_only_who_is_ready_in_what_changes_is_named(club: Any, make_outcome: Any) -> None:
    (aircraft,) = club.book.aircraft()
    assert ready_under_old_logic(club.book, aircraft.installation_id, AFTER, NOW) == ()
    _checked(club, make_outcome, "vertical")
    assert ready_under_old_logic(club.book, aircraft.installation_id, AFTER, NOW) == ()
    _checked(club, make_outcome, "lateral", verdict="not_yet")
    assert ready_under_old_logic(club.book, aircraft.installation_id, AFTER, NOW) == ()


def test_a_member_found_ready_is_named_with_rules_and_day(club: Any, make_outcome: Any) -> None:
    _checked(club, make_outcome, "lateral")
    (aircraft,) = club.book.aircraft()
    (found,) = ready_under_old_logic(club.book, aircraft.installation_id, AFTER, NOW)
    assert (found.member, found.aircraft, found.checked_utc) == (
        "Robin Vale", aircraft, "2026-03-02T10:00:00Z",
    )  # fmt: skip
    assert found.rules == ("lateral.select_heading",)
    assert ready_under_old_logic(club.book, "another", AFTER, NOW) == ()
    same = club.book.requirements("sister_one")
    assert ready_under_old_logic(club.book, aircraft.installation_id, same, NOW) == ()


def test_readiness_that_has_ended_already_is_not_lost(club: Any, make_outcome: Any) -> None:
    _checked(club, make_outcome, "lateral")
    (aircraft,) = club.book.aircraft()
    later = "2028-01-01T00:00:00Z"
    assert ready_under_old_logic(club.book, aircraft.installation_id, AFTER, later) == ()


def test_the_next_stage_keeps_results_and_the_board_says_what_changed(
    club: Any, make_outcome: Any
) -> None:
    _checked(club, make_outcome, "lateral", "vertical")
    (aircraft,) = club.book.aircraft()
    before = read_board(club.book, aircraft.id, NOW)
    (entered,) = enter_next_stage(club.book, aircraft.installation_id, AFTER)
    assert entered.stage == aircraft.stage + 1
    after = read_board(club.book, aircraft.id, NOW)
    member = club.member.id
    assert before.cell(member, "lateral").status == "ready"
    cell = after.cell(member, "lateral")
    assert cell.status == "expired"
    assert cell.changed_rules == ("lateral.select_heading",)
    assert f"since the check at stage {aircraft.stage}" in cell.because
    assert after.cell(member, "vertical") == before.cell(member, "vertical")
    assert [one.valid_days for one in after.requirements] == [
        one.valid_days for one in before.requirements
    ]


def test_nothing_is_entered_if_no_required_rule_acts_otherwise(club: Any) -> None:
    (aircraft,) = club.book.aircraft()
    same = club.book.requirements(aircraft.id)
    assert enter_next_stage(club.book, aircraft.installation_id, same) == ()
    assert club.book.one_aircraft(aircraft.id).stage == aircraft.stage


def test_a_competency_without_any_rule_left_is_no_longer_required(club: Any) -> None:
    (aircraft,) = club.book.aircraft()
    enter_next_stage(club.book, aircraft.installation_id, AFTER[1:])
    kept = [one.competency_id for one in club.book.requirements(aircraft.id)]
    assert kept == ["vertical"]
