"""A check kept answer by answer: gone on with at the same item, never answered twice."""

from __future__ import annotations

import csv
import io
import json
import random
import shutil
import sqlite3
import sys
from contextlib import closing
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from tests.helpers.kept_bank import SOME_SCENES, kept_bank
from tests.helpers.killing import told_until_killed
from tests.unit.records.conftest import build_attempt
from trainer.app import Workspace
from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.check.check_form import CheckPlan, draw_form
from trainer.assessment.check.sprt import Sprt
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import lesson_of, play
from trainer.cli.records_member import csv_text, xapi_text
from trainer.lesson.question import compute_answer
from trainer.records.attempt_check import attempt_from_json
from trainer.records.check_sitting import (
    Sitting,
    SittingError,
    answer_attempt,
    answers_of,
    begin_sitting,
    check_of,
    end_sitting,
    keep_answer,
    new_sitting,
    sitting_from_json,
    sittings,
    state_of,
)
from trainer.records.check_verdict import CheckGround, report_of
from trainer.records.error import RecordsError
from trainer.records.packet import read_packet
from trainer.records.result import outcomes, result_from_json, write_result
from trainer.records.signing import SigningKey
from trainer.records.store import Store

NOW = "2026-03-10T12:00:00Z"
SHIP = "ship_amber"
PLAN = CheckPlan(fixed=8, cut=6, cut_rationale="Eight items, for these tests.")
_SAMPLES = Path(__file__).with_name("samples")
_VICTIM = Path(__file__).with_name("check_victim.py")


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    return Workspace()


@pytest.fixture(scope="module")
def library(workspace):
    return workspace.library(SHIP)


@pytest.fixture(scope="module")
def bank() -> Bank:
    return kept_bank(SHIP, SOME_SCENES)


def sitting_on(bank: Bank, plan: CheckPlan = PLAN, seed: int = 7) -> Sitting:
    return new_sitting(
        bank, plan, seed, member="Robin Vale", aircraft_id=SHIP, aircraft_title="Ship Amber",
        stage=1, form="B", begun_utc=NOW, program_version="0",
    )  # fmt: skip


def answer(store: Store, sitting: Sitting, bank: Bank, *, right: bool = True, sure: bool = True):
    """Answer the next item and return it."""
    check = check_of(sitting, bank, answers_of(store, sitting))
    item = check.next_item()
    said = item.true if right else item.true.with_cell("alert", "signal_lost")
    number = len(check.answers) + 1
    given = Prediction(said, "sure" if sure else "guess")
    store.add(answer_attempt(sitting, item, number, given, question="What?", taken_s=3.0,
                             at_utc=NOW))  # fmt: skip
    return item


def ground_of(workspace: Workspace, library, bank: Bank) -> CheckGround:
    return CheckGround(bank, library.misconceptions, workspace.requirements(SHIP, 365), {})


def test_a_sitting_is_kept_whole(store_path, bank):
    sitting = sitting_on(bank)
    assert sitting_from_json(json.loads(json.dumps(asdict(sitting)))) == sitting
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        answer(store, sitting, bank)
    with Store.open(store_path) as store:
        (state,) = sittings(store, "Robin Vale")
        assert (state.sitting, state.is_open, state.answered) == (sitting, True, 1)
        assert sittings(store, "Bo Hill") == []
        assert len(store.attempts("Robin Vale")) == 1
        assert store.shown_attempts("Robin Vale") == []


def _count_in_result(store: Store) -> int:
    data = write_result(
        store, SigningKey.from_seed(b"M" * 32), "Robin Vale", book_key=b"L" * 32,
        assignment_id=None, made_utc=NOW, program_version="0",
    )  # fmt: skip
    return len(result_from_json(read_packet(data, "result").payload).attempts)


WAYS_OUT = {
    "debrief and cards": lambda store: len(store.shown_attempts("Robin Vale")),
    "result": _count_in_result,
    "all my data": lambda store: len(store.export_member("Robin Vale")["attempts"]),
    "csv": lambda store: len(list(csv.reader(io.StringIO(csv_text(store, "Robin Vale"))))) - 1,
    "xapi": lambda store: len(xapi_text(store, "Robin Vale").splitlines()),
}


@pytest.mark.parametrize("way", WAYS_OUT)
def test_no_way_out_shows_an_answer_of_an_open_check(store_path, bank, way):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        store.add(build_attempt(member="Robin Vale"))
        begin_sitting(store, sitting)
        answer(store, sitting, bank)
        answer(store, sitting, bank)
        assert WAYS_OUT[way](store) == 1
        assert store.export_member("Robin Vale")["checks"] == []
        assert store.kept_back_words("Robin Vale") == (
            "2 answers of a check that isn't over are left out until it is."
        )
        assert store.kept_back_words("Bo Hill") == ""
        end_sitting(store, sitting, "none", [], NOW)
        assert WAYS_OUT[way](store) == 3
        assert len(store.export_member("Robin Vale")["checks"]) == 1


def test_the_same_seed_draws_the_same_form(bank):
    form = draw_form(bank, PLAN, 7)
    assert sitting_on(bank).items == tuple(one.id for one in form.items)
    assert sitting_on(bank).items != sitting_on(bank, seed=8).items


def test_a_check_goes_on_at_the_same_item(store_path, bank):
    sitting = sitting_on(bank)
    asked = []
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
    while True:
        with Store.open(store_path) as store:  # as after a power loss, before every item
            check = check_of(sitting, bank, answers_of(store, sitting))
            waiting = check.next_item()
            if waiting is None:
                break
            asked.append(waiting.id)
            assert answer(store, sitting, bank).id == waiting.id
    assert asked == list(sitting.items)


def test_an_answered_item_takes_no_second_answer(store_path, bank):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        answer(store, sitting, bank, right=False)
        (kept,) = answers_of(store, sitting)
        with pytest.raises(RecordsError):
            store.add(replace(kept, id="another", wrong_cells=(), is_right=True))
        assert answers_of(store, sitting) == [kept]
        assert attempt_from_json(kept.to_json()) == kept


def test_a_bank_that_has_changed_is_told_and_nothing_is_lost(store_path, bank):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        first = answer(store, sitting, bank)
        given = answers_of(store, sitting)
        shorter = Bank(bank.installation, tuple(i for i in bank.items if i.id != first.id))
        with pytest.raises(SittingError, match="1 of its items"):
            check_of(sitting, shorter, given)
        other = tuple(
            replace(i, true=i.true.with_cell("alert", "signal_lost")) if i.id == first.id else i
            for i in bank.items
        )
        with pytest.raises(SittingError, match="1 of its items"):
            check_of(sitting, Bank(bank.installation, other), given)
        assert len(answers_of(store, sitting)) == 1


def test_an_assignment_is_begun_once_in_whatever_window(store_path, bank):
    one = replace(sitting_on(bank), assignment_id="as1")
    other = replace(sitting_on(bank), assignment_id="as1")
    with Store.open(store_path) as store, Store.open(store_path) as second:
        begin_sitting(store, one)
        with pytest.raises(SittingError, match=r"is being taken already: Robin Vale.*go on with"):
            begin_sitting(second, other)
        end_sitting(store, one, "given_up", [], NOW)
        with pytest.raises(SittingError, match=r"was taken already.*another assignment"):
            begin_sitting(second, other)
        with pytest.raises(sqlite3.IntegrityError), closing(sqlite3.connect(store_path)) as raw:
            raw.execute(
                "INSERT INTO check_sitting (id, member, installation_id, begun_utc, sitting_json,"
                " assignment_id) VALUES ('x', 'Robin Vale', 'y', 'z', '{}', 'as1')"
            )
        # Those that one takes for oneself have no assignment, and may be as many as one likes.
        for _ in range(2):
            begin_sitting(second, sitting_on(bank))
        assert len(sittings(store)) == 3


def test_an_old_file_with_an_assignment_begun_twice_still_opens(tmp_path, bank):
    path = Path(shutil.copyfile(_SAMPLES / "attempts-5.sqlite3", tmp_path / "a.sqlite3"))
    kept = [replace(sitting_on(bank), assignment_id=name) for name in ("as1", "as1", "as2", "")]
    with closing(sqlite3.connect(path)) as raw:
        for one in kept:
            raw.execute(
                "INSERT INTO check_sitting (id, member, installation_id, begun_utc, sitting_json)"
                " VALUES (?, ?, ?, ?, ?)",
                (one.id, one.member, SHIP, NOW, json.dumps(asdict(one))),
            )
        # As a file from before assignments were kept in it, and one that isn't understood.
        raw.execute("INSERT INTO check_sitting SELECT 'old', member, installation_id, begun_utc,"
                    " NULL, '', '{}' FROM check_sitting LIMIT 1")  # fmt: skip
        raw.commit()
    with Store.open(path) as store:
        rows = store.database.read("SELECT assignment_id FROM check_sitting ORDER BY rowid")
        assert [row[0] for row in rows] == ["as1", "", "as2", "", ""]
        for name in ("as1", "as2"):
            with pytest.raises(SittingError, match="being taken already"):
                begin_sitting(store, replace(sitting_on(bank), assignment_id=name))
        begin_sitting(store, replace(sitting_on(bank), assignment_id="as3"))


def test_an_answer_after_the_end_or_from_a_window_left_behind_is_refused(store_path, bank):
    sitting = sitting_on(bank)
    first, second = (next(i for i in bank.items if i.id == name) for name in sitting.items[:2])

    def given(item, number):
        said = Prediction(item.true, "sure")
        return answer_attempt(sitting, item, number, said, question="?", taken_s=1.0, at_utc=NOW)

    with Store.open(store_path) as store, Store.open(store_path) as other:
        begin_sitting(store, sitting)
        keep_answer(store, sitting, given(first, 1))
        with pytest.raises(SittingError, match="answered in another window"):
            keep_answer(other, sitting, replace(given(first, 1), taken_s=9.0))
        end_sitting(store, sitting, "given_up", [], NOW)
        with pytest.raises(SittingError, match="the check is over, given up"):
            keep_answer(other, sitting, given(second, 2))
        assert [one.item_id for one in answers_of(store, sitting)] == [first.id]
        assert not state_of(other, sitting).is_open
        with pytest.raises(SittingError, match="isn't on record"):
            state_of(other, sitting_on(bank))


def test_a_check_that_is_over_is_shown_without_the_items_never_asked(
    store_path, bank, workspace, library
):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        report = finish(store, sitting, ground_of(workspace, library, bank), right=True)
        end_sitting(store, sitting, report.decided.decision, report.outcomes, NOW)
        given, state = answers_of(store, sitting), state_of(store, sitting)
    unasked = set(sitting.spare) - {one.item_id for one in given}
    assert unasked
    fewer = Bank(bank.installation, tuple(i for i in bank.items if i.id not in unasked))
    with pytest.raises(SittingError, match="can't go on"):
        check_of(sitting, fewer, given)
    assert check_of(sitting, fewer, given, state).outcome() == report.decided


def test_a_check_that_is_over_says_what_came_out_when_its_items_have_changed(store_path, bank):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        first = answer(store, sitting, bank)
        while check_of(sitting, bank, answers_of(store, sitting)).next_item() is not None:
            answer(store, sitting, bank, right=False)
        end_sitting(store, sitting, "fail", [], NOW)
        given, state = answers_of(store, sitting), state_of(store, sitting)
    shorter = Bank(bank.installation, tuple(i for i in bank.items if i.id != first.id))
    right = sum(one.is_right for one in given)
    kept = rf"is over, not passed: {right} of {len(given)} answers were right"
    for known, over in ((shorter, state), (bank, replace(state, decision="pass"))):
        with pytest.raises(SittingError) as told:
            check_of(sitting, known, given, over)
        assert "give it up" not in str(told.value)
        assert "stay on record" in str(told.value)
    with pytest.raises(SittingError, match=kept):
        check_of(sitting, shorter, given, state)


def finish(store, sitting, ground: CheckGround, *, right: bool):
    """Answer all that is asked, rightly or wrongly, and return the report."""
    while True:
        given = answers_of(store, sitting)
        check = check_of(sitting, ground.bank, given)
        if check.next_item() is None:
            return report_of(sitting, check, given, ground, NOW)
        answer(store, sitting, ground.bank, right=right)


def test_the_end_keeps_the_outcomes_once(store_path, bank, workspace, library):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        report = finish(store, sitting, ground_of(workspace, library, bank), right=True)
        end_sitting(store, sitting, report.decided.decision, report.outcomes, NOW)
        assert report.decided.decision == "pass"
        assert {one.verdict for one in report.outcomes} == {"ready"}
        assert report.wrong == ()
        kept = outcomes(store, "Robin Vale")
        assert sorted(kept, key=repr) == sorted(report.outcomes, key=repr)
        prints = {one.competency_id: one.rules for one in workspace.requirements(SHIP, 365)}
        # Watching has no rules of its own, so no club can require it.
        assert all(one.rules == prints.get(one.competency_id, {}) for one in kept)
        cited = {name for one in kept for name in one.evidence}
        assert cited == {one.id for one in answers_of(store, sitting)}
        end_sitting(store, sitting, "pass", [], NOW)
        with pytest.raises(SittingError, match="ended in another window: passed; that stays"):
            end_sitting(store, sitting, "fail", [], NOW)
        (state,) = sittings(store)
        assert (state.decision, state.is_open) == ("pass", False)
        assert store.shown_attempts("Robin Vale") == store.attempts("Robin Vale")
        assert store.kept_back_words("Robin Vale") == ""


def test_sure_and_wrong_comes_first_and_no_verdict_is_ready(store_path, bank, workspace, library):
    sitting = sitting_on(bank)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        answer(store, sitting, bank, right=False, sure=False)
        report = finish(store, sitting, ground_of(workspace, library, bank), right=False)
    assert report.decided.decision == "fail"
    assert "ready" not in {one.verdict for one in report.outcomes}
    assert [one.is_sure for one in report.wrong] == sorted(
        (one.is_sure for one in report.wrong), reverse=True
    )
    assert not report.wrong[-1].is_sure
    (whole,) = {one.check for one in report.outcomes}
    decided = report.decided
    assert (whole.decision, whole.form, whole.right) == ("fail", sitting.form, decided.right)
    assert whole.answered == decided.right + decided.wrong
    assert whole.critical_failed == decided.critical_failed
    assert whole.believed == report.finding.verdict
    told = [sure.sentence for one in report.outcomes for sure in one.sure_and_wrong]
    assert len(told) == sum(one.is_sure for one in report.wrong)
    assert all("said signal lost" in sentence for sentence in told)


def test_a_held_wrong_rule_is_named_with_its_answers_and_lesson(
    store_path, bank, workspace, library
):
    exposed = [name for name in bank.exposed if library.misconceptions[name].lesson]
    count = {n: sum(n in i.answers for i in bank.items) for n in exposed}
    rule = max(exposed, key=lambda name: count[name])
    telling = tuple(one for one in bank.items if rule in one.answers)[:4]
    others = tuple(one for one in bank.items if rule not in one.answers)[:8]
    plan = replace(PLAN, fixed=12)
    sitting = replace(sitting_on(bank), plan=plan, items=tuple(i.id for i in (*telling, *others)),
                      spare=())  # fmt: skip
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        for number, item in enumerate((*telling, *others), 1):
            said = Prediction(item.answer_of(rule), "sure")
            store.add(answer_attempt(sitting, item, number, said, question="What?", taken_s=3.0,
                                     at_utc=NOW))  # fmt: skip
        given = answers_of(store, sitting)
        check = check_of(sitting, bank, given)
        report = report_of(sitting, check, given, ground_of(workspace, library, bank), NOW)
    named = {f.misconception_id: f for one in report.outcomes for f in one.misconceptions}
    assert rule in named
    assert set(named[rule].evidence) == {one.id for one in given[:4]}
    assert library.misconceptions[rule].sentence in " ".join(report.diagnosis)
    assert {one.lesson for one in report.wrong} == {library.misconceptions[rule].lesson}
    briefed = [one for one in report.outcomes if one.misconceptions]
    assert {one.verdict for one in briefed} == {"needs_briefing"}


@pytest.mark.parametrize("kind", ["key", "set", "fault", "wait"])
def test_an_item_flies_as_a_lesson_to_its_own_answer(bank, workspace, kind):
    item = next(one for one in bank.items if one.stimulus.kind == kind)
    tutor = workspace.start_lesson(lesson_of(item, SHIP))
    while tutor.phase == "running":
        tutor.advance(0.1)
    assert tutor.session.annunciation == item.before
    assert tutor.prompt.question
    assert compute_answer(tutor.asked, tutor.session).after == item.true
    assert play(item.stimulus, tutor.session.fork()) == item.true


def kill_while_answering(folder: Path, kills: int) -> int:
    """Kill a check again and again; return how many answers were acknowledged."""
    path = folder / "attempts.sqlite3"
    chance = random.Random(3)
    acknowledged: list[str] = []
    waiting = ""
    for _ in range(kills):
        lines = told_until_killed(_VICTIM, path, wait_s=chance.uniform(0, 0.02))
        told = [line.split() for line in lines]
        with Store.open(path) as store:
            (state,) = sittings(store)
            kept = [one.item_id for one in answers_of(store, state.sitting)]
        acknowledged += [name for word, name in told if word == "kept"]
        # The last answer may be kept without having been acknowledged; never the other way.
        assert kept[: len(acknowledged)] == acknowledged
        assert len(kept) - len(acknowledged) in (0, 1)
        acknowledged = kept
        assert told[0] == ["asked", waiting or state.sitting.items[0]]
        waiting = state.sitting.items[len(kept)]
    return len(acknowledged)


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_killed_in_a_check(tmp_path):
    kill_while_answering(tmp_path, 2)


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_killed_40_times_in_checks(tmp_path):
    assert kill_while_answering(tmp_path, 40) > 40


def test_a_sitting_that_decides_each_competency_is_kept_as_it_is(bank, store_path):
    plan = CheckPlan(each=Sprt(0.6, 0.9, 0.2, 0.1), each_most=7)
    sitting = replace(sitting_on(bank), plan=plan)
    with Store.open(store_path) as store:
        begin_sitting(store, sitting)
        (state,) = sittings(store)
    assert state.sitting == sitting
