"""Cards, assignments and results between a member's program and a lead's book."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from trainer.records.assignment import (
    assignment_from_json,
    assignments,
    issue_assignment,
    preview_assignment,
    take_assignment,
)
from trainer.records.board_query import cell_evidence, member_outcomes, read_board
from trainer.records.card import enrol_member, read_card, trust_book, trusted_books, write_card
from trainer.records.check_outcome import (
    FoundMisconception,
    SureAndWrong,
    WholeCheck,
    outcome_from_json,
)
from trainer.records.club_attempts import attempts_of
from trainer.records.club_import import apply_result, import_results, preview_result
from trainer.records.error import InvalidRecordError, PacketError, TrainerError
from trainer.records.packet import read_packet, write_packet
from trainer.records.result import add_outcome, outcomes, result_from_json
from trainer.records.signing import SigningKey
from trainer.records.store import Store

NOW = "2026-03-10T12:00:00Z"
_OTHER = SigningKey.from_seed(b"O" * 32)


def _issue(club: Any, **changes: Any) -> bytes:
    values = {
        "lessons": ("lateral_selection", "go_around"),
        "check_form": "form_a",
        "check_seed": 77,
        "issued_utc": "2026-03-01T08:00:00Z",
        "due_utc": "2026-03-20T08:00:00Z",
    }
    return issue_assignment(
        club.book, club.key, club.member.id, "sister_one", **{**values, **changes}
    )


def _edit(club: Any, change: Any, key: SigningKey | None = None) -> bytes:
    """Return the club's result with a changed payload, properly signed by `key`."""
    payload = read_packet(club.result(), "result").payload
    change(payload)
    return write_packet("result", payload, key or club.member_key)


def _dump(club: Any) -> list[str]:
    return list(club.book.database._connection.iterdump())


def test_card_is_believed_only_with_its_code(club: Any) -> None:
    card = read_card(write_card("member_card", "Bo Hill", NOW, _OTHER), "member_card")
    member = club.book.add_member("Bo Hill", NOW)
    with pytest.raises(PacketError, match="code heard") as refused:
        enrol_member(club.book, member.id, card, club.key.short_code)
    assert _OTHER.short_code not in str(refused.value)
    assert club.book.member(member.id).public_key is None
    enrol_member(club.book, member.id, card, _OTHER.short_code)
    assert club.book.member(member.id).public_key == _OTHER.public_key


def test_one_key_is_not_enrolled_for_two_members(club: Any) -> None:
    other = club.book.add_member("Bo Hill", NOW)
    card = read_card(write_card("member_card", "Bo", NOW, club.member_key), "member_card")
    with pytest.raises(PacketError, match="for Robin Vale"):
        enrol_member(club.book, other.id, card, club.member_key.short_code)


def test_book_card_is_not_taken_for_a_member_card(club: Any) -> None:
    data = write_card("book_card", "Club", NOW, _OTHER)
    with pytest.raises(PacketError, match="this is a book_card"):
        read_card(data, "member_card")
    with pytest.raises(PacketError, match="accepted here: member_card"):
        enrol_member(club.book, 1, read_card(data, "book_card"), _OTHER.short_code)
    assert trusted_books(club.store) == {club.key.public_key: "Meadow Flying Club"}


def test_assignment_reaches_the_member_whole(club: Any) -> None:
    preview = preview_assignment(club.store, _issue(club), club.member_key.public_key, NOW)
    assert assignments(club.store) == []
    assert any("First sister ship" in line for line in preview.changes)
    take_assignment(club.store, preview, NOW)
    (taken,) = assignments(club.store)
    assert taken == preview.assignment == assignment_from_json(taken.to_json())
    assert taken.check_seed == 77
    assert [one.competency_id for one in taken.requirements] == ["lateral", "vertical"]


def test_assignment_is_refused_twice_and_from_strangers(club: Any, tmp_path: Path) -> None:
    data = _issue(club)
    own = club.member_key.public_key
    take_assignment(club.store, preview_assignment(club.store, data, own, NOW), NOW)
    with pytest.raises(PacketError, match="taken already"):
        preview_assignment(club.store, data, own, NOW)
    with pytest.raises(PacketError, match="not for this one"):
        preview_assignment(club.store, data, _OTHER.public_key, NOW)
    with (
        Store.open(tmp_path / "new.sqlite3") as stranger,
        pytest.raises(PacketError, match="no club this program trusts"),
    ):
        preview_assignment(stranger, data, own, NOW)
    with pytest.raises(PacketError, match="in the future"):
        preview_assignment(club.store, data, own, "2026-02-01T00:00:00Z")


def test_assignment_needs_an_enrolled_key_and_a_due_date_ahead(club: Any) -> None:
    club.book.add_member("Bo Hill", NOW)
    with pytest.raises(PacketError, match="no key enrolled"):
        issue_assignment(
            club.book, club.key, 2, "sister_one", lessons=(), check_form="a", check_seed=1,
            issued_utc=NOW, due_utc=NOW,
        )  # fmt: skip
    with pytest.raises(PacketError, match="before issued"):
        _issue(club, due_utc="2026-02-01T00:00:00Z")


def test_result_preview_changes_nothing_and_apply_stores_all(club: Any, make_outcome: Any) -> None:
    outcome = make_outcome(
        sure_and_wrong=(SureAndWrong("attempt-3", "Was sure of altitude armed."),),
        misconceptions=(FoundMisconception("m1", "Thinks keys toggle.", ("attempt-3",)),),
    )
    add_outcome(club.store, "Robin Vale", outcome)
    add_outcome(club.store, "Robin Vale", outcome)
    assert outcomes(club.store, "Robin Vale") == [outcome]
    before = _dump(club)
    preview = preview_result(club.book, club.result(), club.key.public_key, NOW)
    assert _dump(club) == before
    assert preview.changes[0].startswith("Robin Vale: 10 new answers (0 in")
    assert "Thinks keys toggle" in preview.changes[1]
    assert preview.warnings == ()
    apply_result(club.book, preview, NOW)
    assert attempts_of(club.book, club.member.id) == club.store.attempts()
    assert member_outcomes(club.book, club.member.id) == [outcome]
    cell = read_board(club.book, "sister_one", NOW).cell(club.member.id, "lateral")
    evidence = cell_evidence(club.book, cell.outcome_id or 0)
    assert evidence.outcome == outcome
    assert [one.id for one in evidence.attempts] == ["attempt-1", "attempt-2", "attempt-3"]


def test_replayed_result_is_refused(club: Any) -> None:
    data = club.result()
    early = preview_result(club.book, data, club.key.public_key, NOW)
    club.take(data)
    with pytest.raises(PacketError, match="taken on 2026-03-10 already"):
        club.take(data)
    with pytest.raises(PacketError, match="preview it again"):
        apply_result(club.book, early, NOW)
    assert len(attempts_of(club.book, club.member.id)) == 10


def test_later_result_adds_only_what_is_new(club: Any, make_attempt: Any) -> None:
    club.take()
    club.store.add(make_attempt(11))
    preview = club.take(club.result(made_utc="2026-03-10T13:00:00Z"))
    assert [one.id for one in preview.attempts] == ["attempt-11"]
    rows = club.book.database.read("SELECT sum(attempts) FROM practice")
    assert rows == [(11,)]


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"key": _OTHER}, "not enrolled"),
        ({"book_key": _OTHER.public_key}, "another club's book"),
        ({"assignment_id": "nothing"}, "not given to Robin Vale"),
        ({"made_utc": "2026-03-12T12:00:00Z"}, "in the future"),
        ({"made_utc": "2026-02-12T12:00:00Z"}, "but holds something of 2026-03-01"),
    ],
)
def test_foreign_result_is_refused_and_nothing_changes(
    club: Any, change: dict[str, Any], word: str
) -> None:
    before = _dump(club)
    with pytest.raises(PacketError, match=word):
        club.take(club.result(**change))
    assert _dump(club) == before


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda p: p["attempts"].append(p["attempts"][0]), "in it twice"),
        (
            lambda p: p["attempts"][0].update(is_right=not p["attempts"][0]["is_right"]),
            "contradict",
        ),
        (lambda p: p.update(attempts={}), "attempts must be a list"),
        (lambda p: p.update(member=5), "member must be a text"),
        (lambda p: p.update(made_utc="yesterday"), "made_utc must be a moment"),
        (lambda p: p.update(made_utc="2026-02-30T00:00:00Z"), "no such moment"),
        (lambda p: p.update(book_key="AAAA"), "32 bytes"),
        (lambda p: p.pop("outcomes"), "missing or unknown: outcomes"),
    ],
)
def test_impossible_result_is_refused_though_signed(club: Any, change: Any, word: str) -> None:
    before = _dump(club)
    with pytest.raises(TrainerError, match=word):
        club.take(_edit(club, change))
    assert _dump(club) == before


def test_attempt_changed_after_it_was_handed_in_is_refused(club: Any) -> None:
    club.take()
    with pytest.raises(PacketError, match="with another content"):
        club.take(_edit(club, lambda p: p["attempts"][0].update(taken_s=99.0)))


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"competency_id": "lateral", "aircraft_id": "glider"}, "which the book lacks"),
        ({"evidence": ("attempt-99",)}, "rests on the answer attempt-99"),
        ({"evidence": ()}, "without any answer"),
    ],
)
def test_outcome_without_ground_is_refused(
    club: Any, make_outcome: Any, changes: dict[str, Any], word: str
) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome(**changes))
    with pytest.raises(PacketError, match=word):
        club.take()


WHOLE = WholeCheck("fail", "A", 3, 15, ("disconnecting", "go_around"), "open")


def test_the_whole_check_is_told_once_and_kept(club: Any, make_outcome: Any) -> None:
    for name in ("lateral", "vertical"):
        outcome = make_outcome(name, verdict="undecided", check=WHOLE)
        add_outcome(club.store, "Robin Vale", outcome)
    changes = club.take().changes
    assert [one for one in changes if "form A" in one] == [
        "First sister ship, check of 2026-03-02, form A: not passed, 3 of 15 right; critical, "
        "not shown: disconnecting, go around"
    ]
    found = member_outcomes(club.book, club.member.id)
    assert [one.check for one in found] == [WHOLE, WHOLE]


def test_an_outcome_of_an_older_program_tells_no_whole_check(club: Any, make_outcome: Any) -> None:
    assert "check" not in make_outcome().to_json()
    add_outcome(club.store, "Robin Vale", make_outcome())
    club.take()
    assert [one.check for one in member_outcomes(club.book, club.member.id)] == [None]


@pytest.mark.parametrize(
    "changes",
    [{"right": 16}, {"decision": "ready"}, {"believed": "sure"}, {"form": ""}, {"answered": -1}],
)
def test_an_impossible_whole_check_is_refused(make_outcome: Any, changes: Any) -> None:
    data = make_outcome(check=WHOLE).to_json()
    assert outcome_from_json(data).check == WHOLE
    with pytest.raises(InvalidRecordError):
        outcome_from_json({**data, "check": {**data["check"], **changes}})


def test_outcome_may_not_be_rewritten_later(club: Any, make_outcome: Any) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome(verdict="not_yet"))
    club.take()
    better = make_outcome(verdict="ready").to_json()
    with pytest.raises(PacketError, match="contradicts what is known"):
        club.take(_edit(club, lambda p: p.update(outcomes=[better])))


def test_odd_result_is_taken_with_warnings(club: Any, make_attempt: Any, make_outcome: Any) -> None:
    club.store.add(make_attempt(11, at_utc="2026-02-01T00:00:00Z"))
    add_outcome(club.store, "Robin Vale", make_outcome(stage=2, rules={}))
    warnings = club.take(_edit(club, lambda p: p.update(member="R. Vale"))).warnings
    for word in ("calls its member 'R. Vale'", "set back 1 times", "stage 2", "other rules"):
        assert any(word in warning for warning in warnings), word
    club.store.add(make_attempt(12))
    older = club.take(club.result(made_utc="2026-03-09T00:00:00Z"))
    assert any("older than the result" in warning for warning in older.warnings)


def test_answers_to_an_assignment_settle_it(club: Any) -> None:
    preview = preview_assignment(club.store, _issue(club), club.member_key.public_key, NOW)
    club.take(club.result(assignment_id=preview.assignment.id))
    rows = club.book.database.read("SELECT assignment_id FROM result")
    assert rows == [(preview.assignment.id,)]


def test_import_of_many_files_says_what_became_of_each(club: Any, tmp_path: Path) -> None:
    good, bad = tmp_path / "good.result", tmp_path / "bad.result"
    good.write_bytes(club.result())
    bad.write_bytes(club.result()[:500])
    seen: list[Path] = []
    done = import_results(
        club.book, [bad, good, good, tmp_path / "none"], club.key.public_key, NOW,
        lambda one: seen.append(one.path),
    )  # fmt: skip
    assert [bool(one.refusal) for one in done] == [True, False, True, True]
    assert (done[1].member, done[1].attempts) == ("Robin Vale", 10)
    assert seen == [bad, good, good, tmp_path / "none"]


def test_result_and_outcome_survive_json(club: Any, make_outcome: Any) -> None:
    add_outcome(club.store, "Robin Vale", make_outcome())
    payload = read_packet(club.result(), "result").payload
    assert result_from_json(payload).to_json() == payload
    with pytest.raises(InvalidRecordError, match="verdict must be"):
        outcome_from_json({**make_outcome().to_json(), "verdict": "perfect"})


def test_names_of_members_may_hold_any_letters(club: Any) -> None:
    member = club.book.add_member("Zoë Ångström-李 'Q'", NOW)
    assert club.book.member_named("Zoë Ångström-李 'Q'") == member
    assert json.loads(json.dumps(member.name)) == member.name
    assert replace(member, name="x") != member


def test_trust_is_not_given_on_a_wrong_code(club: Any) -> None:
    card = read_card(write_card("book_card", "Other Club", NOW, _OTHER), "book_card")
    with pytest.raises(PacketError, match="somebody has changed"):
        trust_book(club.store, card, club.key.short_code, NOW)
    assert len(trusted_books(club.store)) == 1
