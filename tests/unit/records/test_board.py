from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from trainer.records.board import (
    STATUSES,
    Board,
    BoardFacts,
    LatestOutcome,
    Practised,
    build_board,
    changed_rules,
    readiness_ended,
)
from trainer.records.board_change import (
    board_changes,
    call_list,
    mark_seen,
    overdue,
    replacing_words,
    seen_statuses,
)
from trainer.records.board_json import board_lines, call_lines, change_lines
from trainer.records.board_query import read_board
from trainer.records.check_outcome import FoundMisconception
from trainer.records.club_schema import CLUB_BOOK
from trainer.records.error import UnknownEntryError
from trainer.records.migration import statements
from trainer.records.result import add_outcome
from trainer.records.roster import Aircraft, Member, Requirement

NOW = "2026-03-10T12:00:00Z"


_RULES = {"lateral": {"r1": "a", "r2": "a"}, "vertical": {"r3": "a"}}


def _read(club: Any, now_utc: str = NOW) -> Board:
    return read_board(club.book, "sister_one", now_utc)


def _status(club: Any, competency_id: str = "lateral", now_utc: str = NOW) -> tuple[str, str]:
    cell = _read(club, now_utc).cell(club.member.id, competency_id)
    return cell.status, cell.because


def _check(club: Any, outcome: Any) -> None:
    add_outcome(club.store, "Robin Vale", outcome)
    club.take()


def test_not_started_before_any_answer(club: Any) -> None:
    assert _status(club) == ("not_started", "no practice in these rules and no check yet")


def test_in_progress_with_practice_only_where_the_rules_were_asked(club: Any) -> None:
    club.take()
    right = sum(one.is_right for one in club.store.attempts())
    assert _status(club) == (
        "in_progress",
        f"{right} of 10 practice answers right, no check yet",
    )
    assert _status(club, "vertical")[0] == "not_started"


def test_answers_of_a_check_are_no_practice(club: Any, make_attempt: Any) -> None:
    rule = "vertical.capture_altitude"
    for number in range(11, 26):
        store_at = {"item_id": f"item-{number}", "check_id": "c", "rule_ids": (rule,)}
        club.store.add(make_attempt(number, **store_at))
    club.take()
    assert _status(club, "vertical") == (
        "not_started",
        "no practice in these rules and no check yet",
    )
    assert _read(club).cell(club.member.id, "lateral").attempts == 10


def test_an_older_book_sums_practice_as_an_import_does(club: Any, make_attempt: Any) -> None:
    both = ("lateral.capture_course", "lateral.select_heading")
    club.store.add(make_attempt(11, rule_ids=both))
    club.store.add(make_attempt(12, check_id="c", item_id="i", rule_ids=both))
    club.take()
    everything = "SELECT * FROM practised ORDER BY member_id, installation_id, rule_ids_json"
    imported = club.book.database.read(everything)
    (step,) = (one for one in CLUB_BOOK.migrations if one.number == 5)
    (filled,) = (one for one in statements(step.sql) if one.startswith("INSERT"))
    with club.book.database.write() as connection:
        connection.execute("DELETE FROM practised")
        connection.execute(filled)
    assert club.book.database.read(everything) == imported
    assert sum(row[3] for row in imported) == 11


def test_an_answer_about_two_rules_of_a_competency_counts_once(
    club: Any, make_attempt: Any
) -> None:
    both = ("lateral.capture_course", "lateral.select_heading")
    club.store.add(make_attempt(11, rule_ids=both))
    club.store.add(make_attempt(12, rule_ids=both[::-1]))
    club.take()
    cell = _read(club).cell(club.member.id, "lateral")
    right = sum(one.is_right for one in club.store.attempts())
    assert (cell.attempts, cell.right_answers) == (12, right)


def test_ready_until_the_last_day_of_validity(club: Any, make_outcome: Any) -> None:
    _check(club, make_outcome(at_utc="2026-03-02T10:00:00Z"))
    assert _status(club)[0] == "ready"
    assert _status(club, now_utc="2027-03-02T09:59:59Z")[0] == "ready"
    status, because = _status(club, now_utc="2027-03-02T10:00:00Z")
    assert status == "expired"
    assert "valid 365 days" in because


@pytest.mark.parametrize("verdict", ["not_yet", "undecided"])
def test_in_progress_after_a_check_that_was_not_passed(
    club: Any, make_outcome: Any, verdict: str
) -> None:
    _check(club, make_outcome(verdict=verdict))
    status, because = _status(club)
    assert status == "in_progress"
    assert verdict.replace("_", " ") in because


def test_needs_briefing_until_an_instructor_has_given_it(club: Any, make_outcome: Any) -> None:
    wrong_rule = FoundMisconception("m", "Thinks the key toggles.", ("attempt-3",))
    _check(club, make_outcome(verdict="not_yet", misconceptions=(wrong_rule,)))
    assert _status(club) == ("needs_briefing", "check found: Thinks the key toggles.")
    instructor = club.book.add_instructor("Kim Lark")
    club.book.add_briefing(
        club.member.id, "sister_one", "lateral", instructor_id=instructor.id,
        at_utc="2026-03-05T10:00:00Z", note="Walked through the key's rules.",
    )  # fmt: skip
    assert _status(club) == ("in_progress", "briefed 2026-03-05, to be checked again")


@pytest.mark.parametrize(
    ("briefed_utc", "status"),
    [
        ("2026-03-02T10:00:00Z", "needs_briefing"),
        ("2026-03-02T10:00:01Z", "in_progress"),
    ],
)
def test_a_briefing_counts_that_came_after_the_check(
    club: Any, make_outcome: Any, briefed_utc: str, status: str
) -> None:
    """In the very second of the check nobody can have been briefed on what it found."""
    _check(club, make_outcome(verdict="needs_briefing", at_utc="2026-03-02T10:00:00Z"))
    instructor = club.book.add_instructor("Kim Lark")
    club.book.add_briefing(
        club.member.id, "sister_one", "lateral", instructor_id=instructor.id,
        at_utc=briefed_utc, note="Walked through the key's rules.",
    )  # fmt: skip
    assert _status(club)[0] == status


def test_latest_outcome_counts(club: Any, make_outcome: Any) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome(at_utc="2026-03-03T10:00:00Z"))
    _check(club, make_outcome(verdict="needs_briefing"))
    assert _status(club)[0] == "ready"


def test_change_of_fit_expires_only_what_it_changed(
    club: Any, make_outcome: Any, set_stage: Any
) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome("vertical"))
    _check(club, make_outcome("lateral"))
    rules = {
        "lateral": {"lateral.select_heading": "aa", "lateral.capture_course": "CHANGED"},
        "vertical": {"vertical.capture_altitude": "ba"},
        "protection": {"protection.underspeed": "ca"},
    }
    set_stage(club.book, 2, rules)
    status, because = _status(club, "lateral")
    assert status == "expired"
    assert because == (
        "the aircraft's fit changed since the check at stage 1: 1 rule changed, new or gone"
    )
    assert _read(club).cell(1, "lateral").changed_rules == ("lateral.capture_course",)
    assert _status(club, "vertical")[0] == "ready"
    assert _status(club, "protection")[0] == "not_started"


def test_another_installation_in_an_aircrafts_place_is_told_with_the_readiness_lost(
    club: Any, make_outcome: Any
) -> None:
    _check(club, make_outcome())
    titles = {"sister_one": "One", "other": "Other"}
    before = club.book.one_aircraft("sister_one")

    def words(after: Aircraft, required: list[Requirement]) -> str:
        return replacing_words(club.book, after, required, now_utc=NOW, titles=titles)

    required = club.book.requirements("sister_one")
    other = replace(before, installation_id="other")
    assert "'Other' at stage 1 would take its place, which is not its next stage, 2" in words(
        other, required
    )
    assert "On its board 0 cells" in words(other, required)
    assert "On its board 1 cell that" in words(other, [])
    assert words(replace(other, stage=2), []) == ""
    assert words(replace(other, id="new"), []) == ""
    assert words(before, []) == ""


def test_what_changed_since_the_board_was_seen(club: Any, make_outcome: Any) -> None:
    mark_seen(club.book, _read(club))
    assert board_changes(seen_statuses(club.book, "sister_one"), _read(club)) == ()
    _check(club, make_outcome())
    (change,) = board_changes(seen_statuses(club.book, "sister_one"), _read(club))
    assert str(change).startswith("Robin Vale, Lateral: not started -> ready (checked 2026-03-02")
    mark_seen(club.book, _read(club))
    later = _read(club, "2028-01-01T00:00:00Z")
    (change,) = board_changes(seen_statuses(club.book, "sister_one"), later)
    assert (change.before, change.after) == ("ready", "expired")


def test_members_off_the_board_and_on_other_aircraft_are_left_out(club: Any) -> None:
    club.book.add_member("Bo Hill", NOW)
    assert [one.name for one in _read(club).members] == ["Robin Vale"]
    club.book.set_active(club.member.id, is_active=False)
    assert _read(club).members == ()
    with pytest.raises(UnknownEntryError, match="in the book: sister_one"):
        read_board(club.book, "glider", NOW)


def test_overdue_assignment_is_heard_of(club: Any) -> None:
    from trainer.records.assignment import issue_assignment

    issue_assignment(
        club.book, club.key, club.member.id, "sister_one", lessons=(), check_form="a",
        check_seed=1, issued_utc="2026-03-01T00:00:00Z", due_utc="2026-03-08T00:00:00Z",
    )  # fmt: skip
    assert overdue(club.book, "sister_one", "2026-03-07T00:00:00Z") == {}
    late = overdue(club.book, "sister_one", NOW)
    assert late == {club.member.id: "2026-03-08T00:00:00Z"}
    (call,) = call_list(_read(club), late)
    assert call.reasons == ("assignment was due 2026-03-08", "has not begun")


def _facts(outcomes: Any, practice: Any = None, briefed: Any = None) -> BoardFacts:
    members = tuple(Member(n, f"Member {n}", f"P {n}", NOW, True, None) for n in (1, 2, 3))
    requirements = (
        Requirement("lateral", "Lateral", 100, _RULES["lateral"]),
        Requirement("vertical", "Vertical", 100, _RULES["vertical"]),
    )
    aircraft = Aircraft("sister_one", "First", "sister_one", 1)
    return BoardFacts(aircraft, requirements, members, outcomes, practice or {}, briefed or {})


def _outcome(
    verdict: str = "ready",
    at_utc: str = "2026-03-01T00:00:00Z",
    competency: str = "lateral",
    **more: Any,
) -> Any:
    values = {"outcome_id": 1, "stage": 1, "rules": _RULES[competency]}
    values |= {"evidence": 5, "sure_and_wrong": 0, "misconceptions": ()}
    return LatestOutcome(verdict=verdict, at_utc=at_utc, **{**values, **more})  # type: ignore[arg-type]


def test_call_list_puts_the_most_urgent_first() -> None:
    facts = _facts(
        {
            (1, "lateral"): _outcome(at_utc="2025-01-01T00:00:00Z"),
            (2, "lateral"): _outcome("needs_briefing", sure_and_wrong=2),
            (3, "lateral"): _outcome(at_utc="2025-12-15T00:00:00Z"),
            (3, "vertical"): _outcome(competency="vertical"),
        },
        practice={1: [Practised(frozenset({"r3"}), 3, 2, "2026-01-01T00:00:00Z")]},
    )
    calls = call_list(build_board(facts, NOW), {})
    assert [call.member.id for call in calls] == [2, 1, 3]
    assert calls[0].reasons == ("needs a briefing: Lateral",)
    assert calls[1].reasons == ("expired: Lateral", "nothing heard since 2026-01-01")
    assert calls[2].reasons == ("ends within 30 days: Lateral",)


def test_board_is_filtered_by_name_and_status() -> None:
    board = build_board(
        _facts({(2, "lateral"): _outcome(), (2, "vertical"): _outcome(competency="vertical")}), NOW
    )
    assert board.is_ready(2)
    assert not board.is_ready(1)
    assert [one.id for one in board.filtered(text="BER 3").members] == [3]
    ready = frozenset({"ready"})
    assert [one.id for one in board.filtered(statuses=ready).members] == [2]
    assert board.filtered(statuses=ready, competency_id="vertical").row(2) == board.row(2)
    assert board.counts()["ready"] == 2
    assert sum(board.counts().values()) == 6


_VERDICTS = st.sampled_from(["ready", "not_yet", "undecided", "needs_briefing"])
_TIMES = st.sampled_from(["2025-01-01T00:00:00Z", "2026-03-01T00:00:00Z", "2026-03-09T00:00:00Z"])
_KEYS = st.tuples(st.sampled_from([1, 2, 3]), st.sampled_from(["lateral", "vertical"]))
_OUTCOMES = st.builds(
    _outcome,
    _VERDICTS,
    _TIMES,
    rules=st.dictionaries(st.sampled_from(["r1", "r2", "r3"]), st.sampled_from("ab")),
    misconceptions=st.sampled_from([(), ("Thinks so.",)]),
)


# Rules drawn by chance are hardly ever those of the aircraft, so that no drawn cell is ready.
@example({(1, "lateral"): _outcome(), (2, "vertical"): _outcome(competency="vertical")}, {})
@given(st.dictionaries(_KEYS, _OUTCOMES), st.dictionaries(_KEYS, _TIMES))
def test_every_cell_has_one_status_and_a_reason(outcomes: Any, briefed: Any) -> None:
    board = build_board(_facts(outcomes, briefed=briefed), NOW)
    for key, cell in board.cells.items():
        assert cell.status in STATUSES
        assert cell.because
        outcome = outcomes.get(key)
        if cell.status == "ready":
            assert outcome.verdict == "ready"
            assert not cell.changed_rules
            assert cell.expires_utc > NOW
        if cell.status == "expired":
            assert outcome.verdict == "ready"
            assert cell.changed_rules or cell.expires_utc <= NOW
        if cell.status == "not_started":
            assert outcome is None
    assert Counter(board.counts()) == Counter(cell.status for cell in board.cells.values())


@given(st.dictionaries(st.text(max_size=2), st.text(max_size=1)))
def test_same_rules_have_not_changed(rules: dict[str, str]) -> None:
    assert changed_rules(rules, rules) == ()
    assert set(changed_rules({}, rules)) == set(changed_rules(rules, {})) == set(rules)


def _moved(*, to_vertical: bool) -> Any:
    """Return what is required once a rule has changed places, and acts as before."""
    moved = dict(_RULES["lateral" if to_vertical else "vertical"])
    rule, act = moved.popitem()
    other = {**_RULES["vertical" if to_vertical else "lateral"], rule: act}
    lateral, vertical = (moved, other) if to_vertical else (other, moved)
    facts = _facts({})
    return tuple(
        replace(one, rules=rules)
        for one, rules in zip(facts.requirements, (lateral, vertical), strict=True)
    )


@pytest.mark.parametrize("to_vertical", [True, False])
def test_a_rule_that_only_changed_places_expires_nobody_who_was_ready_in_both(
    to_vertical: bool,
) -> None:
    both = {(1, "lateral"): _outcome(), (1, "vertical"): _outcome(competency="vertical")}
    facts = replace(_facts(both), requirements=_moved(to_vertical=to_vertical))
    assert build_board(facts, NOW).is_ready(1)
    assert readiness_ended(_facts(both), facts.requirements, NOW) == ()


@pytest.mark.parametrize(
    "lateral",
    [_outcome("not_yet"), _outcome(at_utc="2026-02-01T00:00:00Z"), None],
    ids=["not ready there", "checked there before", "never checked there"],
)
def test_a_rule_that_came_expires_who_was_not_found_ready_in_it(lateral: Any) -> None:
    outcomes = {(1, "vertical"): _outcome(competency="vertical")}
    if lateral is not None:
        outcomes[1, "lateral"] = lateral
    facts = _facts(outcomes)
    required = _moved(to_vertical=True)
    cell = build_board(replace(facts, requirements=required), NOW).cell(1, "vertical")
    (rule,) = required[1].rules.keys() - _RULES["vertical"].keys()
    assert (cell.status, cell.changed_rules) == ("expired", (rule,))
    (ended, *_) = [one for one in readiness_ended(facts, required, NOW)
                   if one.requirement.competency_id == "vertical"]  # fmt: skip
    assert ended.rules == (rule,)


def test_a_rule_that_changed_places_and_acts_otherwise_expires_both() -> None:
    both = {(1, "lateral"): _outcome(), (1, "vertical"): _outcome(competency="vertical")}
    lateral, vertical = _moved(to_vertical=True)
    (rule,) = vertical.rules.keys() - _RULES["vertical"].keys()
    edited = (lateral, replace(vertical, rules={**vertical.rules, rule: "otherwise"}))
    board = build_board(replace(_facts(both), requirements=edited), NOW)
    assert [cell.changed_rules for cell in board.row(1)] == [(rule,), (rule,)]


def test_what_is_no_longer_required_is_ended_readiness() -> None:
    facts = _facts({(1, "lateral"): _outcome()})
    (ended,) = readiness_ended(facts, facts.requirements[1:], NOW)
    assert (ended.member.id, ended.rules) == (1, tuple(sorted(_RULES["lateral"])))


def test_board_as_json_lines(club: Any, make_outcome: Any) -> None:
    _check(club, make_outcome())
    board = _read(club)
    lines = [json.loads(json.dumps(line)) for line in board_lines(board)]
    assert [line["kind"] for line in lines] == ["cell", "cell", "end"]
    assert lines[0]["status"] == "ready"
    assert lines[-1]["cells"]["ready"] == 1
    (change,) = change_lines(board_changes({}, board))
    assert (change["before"], change["after"]) == ("not_started", "ready")
    (call,) = call_lines(call_list(board, {club.member.id: "2026-03-08T00:00:00Z"}))
    assert call["reasons"] == ["assignment was due 2026-03-08"]
