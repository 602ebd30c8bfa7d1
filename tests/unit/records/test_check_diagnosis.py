"""Answers to items of the bank, diagnosed as they lie on the disk and on the command line."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import pytest

from tests.helpers.believers import answers_under, most_exposed
from tests.helpers.small_bank import SHIP, keep_small_bank, small_bank
from trainer.app import Workspace
from trainer.cli.main import main
from trainer.records.check_diagnosis import diagnose_attempts, item_id_of, tells_something

ME = "Robin Vale"


def items_by_id():
    return {one.id: one for one in small_bank().items}


@cache
def listed():
    """Return the ids of the whole library."""
    return tuple(Workspace().library(SHIP).beliefs)


def test_a_held_rule_is_named_with_the_answers_that_fit():
    rule = most_exposed()
    found = diagnose_attempts(answers_under(rule, ME), items_by_id(), SHIP, listed())
    assert found.finding.verdict == "holds"
    held = {one.misconception: one for one in found.finding.held}
    assert rule in held
    behind = found.attempts_of(held[rule].fitting)
    assert behind
    assert all(not one.is_right for one in behind)
    sure = {one.id for one in found.sure_and_wrong}
    assert {one.id for one in behind} <= sure
    assert found.left_out == ()


def test_somebody_without_a_wrong_rule_is_not_accused():
    found = diagnose_attempts(answers_under("", ME), items_by_id(), SHIP, listed())
    assert found.finding.held == ()
    assert found.sure_and_wrong == ()


def test_nobody_is_sound_while_a_listed_rule_was_never_asked_about():
    """A bank of one scene shows some rules of the library; the others can't be ruled out."""
    shown = set(small_bank().exposed)
    assert shown < set(listed())
    finding = diagnose_attempts(answers_under("", ME), items_by_id(), SHIP, listed()).finding
    assert finding.verdict == "open"
    assert finding.listed == len(listed())
    assert 0 < finding.excluded <= len(shown)


def test_the_whole_library_asked_about_can_be_sound():
    """The same answers, if the library were no more than what they are about, and made rules."""
    items = items_by_id()
    made = {name for one in items.values() for name in one.automatic}
    assert made
    finding = diagnose_attempts(answers_under("", ME), items, SHIP, ()).finding
    assert finding.excluded == finding.listed
    assert finding.verdict == "sound"
    without = {name: replace(one, automatic={}) for name, one in items.items()}
    finding = diagnose_attempts(answers_under("", ME), without, SHIP, ()).finding
    assert finding.excluded == finding.listed
    assert finding.verdict == "open"


def test_without_an_answer_nobody_is_sound():
    for names in (listed(), ()):
        for items in (items_by_id(), {}):
            finding = diagnose_attempts((), items, SHIP, names).finding
            assert (finding.verdict, finding.answered, finding.excluded) == ("open", 0, 0)


def test_items_that_are_gone_or_have_changed_are_left_out():
    attempts = answers_under("", ME)[:3]
    items = items_by_id()
    first, second, _ = (items[one.item_id] for one in attempts)
    del items[first.id]
    items[second.id] = replace(second, true=second.true.with_cell("alert", "signal_lost"))
    found = diagnose_attempts(attempts, items, SHIP, listed())
    assert found.left_out == tuple(attempts[:2])
    assert [one for one, _ in found.used] == attempts[2:]


def test_only_strips_say_something():
    one = answers_under("", ME)[0]
    assert tells_something(one)
    assert item_id_of(one) == one.item_id
    choice = replace(one, item_id="", lesson_id="x", prompt_kind="is_allowed", prompt_number=2)
    assert not tells_something(choice)
    assert tells_something(replace(choice, prompt_kind="after_key"))
    assert item_id_of(choice) == "x#2"


@pytest.mark.parametrize("holds", [True, False])
def test_the_command_diagnoses_answers_to_the_bank(tmp_path, monkeypatch, capsys, holds):
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path))
    keep_small_bank(tmp_path)
    rule = most_exposed()
    attempts = answers_under(rule if holds else "", ME)
    gone = replace(attempts[0], id="gone", item_id="no such item")
    path = tmp_path / "answers.jsonl"
    path.write_text("\n".join(json.dumps(one.to_json()) for one in [*attempts, gone]), "utf-8")
    code = main(["diagnose", str(path), "--json"])
    said = capsys.readouterr()
    rows = [json.loads(line) for line in said.out.splitlines()]
    assert code == (1 if holds else 0)
    sure = [row["id"] for row in rows if row["kind"] == "sure_and_wrong"]
    assert sure == [one.id for one in attempts if not one.is_right]
    assert bool(sure) == holds
    # What was sure and wrong comes before everything else.
    diagnosis = rows[len(sure)]
    assert diagnosis["kind"] == "diagnosis"
    assert diagnosis["answers"] == len(attempts)
    assert (rule in {row["id"] for row in rows if row["kind"] == "misconception"}) == holds
    assert "left out: no such item" in said.err
    assert rows[-1] == {"kind": "end", "members": 1}


def test_the_same_record_again_counts_once():
    """Two exports put together hold every answer twice."""
    wrong = [one for one in answers_under(most_exposed(), ME) if not one.is_right][:2]
    once = diagnose_attempts(wrong, items_by_id(), SHIP, listed())
    again = diagnose_attempts([*wrong, *wrong, *wrong], items_by_id(), SHIP, listed())
    assert (once.repeated, again.repeated) == (0, 4)
    assert again.finding == once.finding
    assert again.used == once.used


def test_the_same_item_answered_again_and_again_names_no_rule():
    """Three answers must fit, to three different items: one is remembered, not thought out anew."""
    rule = most_exposed()
    one = next(
        one
        for one in answers_under(rule, ME)
        if not one.is_right and len(items_by_id()[one.item_id].answers) == 1
    )
    six = [replace(one, id=f"day {day}") for day in range(6)]
    found = diagnose_attempts(six, items_by_id(), SHIP, listed())
    assert found.repeated == 0
    assert found.finding.answered == 6
    assert [len(each.fitting) for each in found.finding.suspected] == [6]
    assert found.finding.held == ()
    assert found.finding.verdict != "holds"


def test_the_command_says_how_many_answers_came_again(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path))
    keep_small_bank(tmp_path)
    one = json.dumps(answers_under("", ME)[0].to_json())
    path = tmp_path / "answers.jsonl"
    path.write_text(f"{one}\n{one}\n{one}\n", "utf-8")
    main(["diagnose", str(path)])
    assert "2 answers came again with the same id, and counted once" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        *(["diagnose", "x.jsonl", f"--noise={one}"] for one in ("0", "1", "2", "-1", "nan", "inf")),
        *(["simulate", f"--members={one}"] for one in ("0", "-5", "2.5")),
        ["simulate", "--noise=nan"],
        ["simulate", "--lures=1.5"],
        ["simulate", "--rules=0"],
        ["simulate", "--folds=1"],
    ],
)
def test_a_number_out_of_its_range_is_refused_with_what_is_accepted(capsys, words):
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert "isn't accepted; accepted: a" in capsys.readouterr().err
