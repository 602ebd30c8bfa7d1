"""Rules that no question tells apart are named together; too many slips leave no rule named."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from tests.helpers.small_bank import SHIP, small_bank
from trainer.app import Workspace
from trainer.assessment.diagnosis.diagnosis import Declared, Diagnosis
from trainer.assessment.diagnosis.diagnosis_words import evidence_words
from trainer.assessment.diagnosis.hypotheses import Hypotheses, alike_rules, topics_of
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import Item
from trainer.assessment.wrong_rules.library import Library

HELD = "altitude_always_armed"


@pytest.fixture(scope="module")
def bank() -> Bank:
    return small_bank()


def with_twin(bank: Bank, name: str) -> Bank:
    """Return a bank in which another rule answers just as one does."""
    items = tuple(
        replace(one, answers={**one.answers, "twin": one.answers[name]})
        if name in one.answers
        else one
        for one in bank.items
    )
    return replace(bank, items=items)


def telling(bank: Bank, name: str, count: int) -> list[Item]:
    return [one for one in bank.items if name in one.answers][:count]


def test_twins_are_named_together(bank: Bank) -> None:
    both = with_twin(bank, HELD)
    diagnosis = Diagnosis(Hypotheses(both))
    for item in telling(both, HELD, 8):
        diagnosis.answer(item, item.answers[HELD])
    finding = diagnosis.finding()
    assert finding.verdict == "holds"
    (evidence,) = finding.held
    assert (evidence.misconception, evidence.twins) == (HELD, ("twin",))
    assert len(evidence.fitting) == 8
    # Each alone stays below what is needed to be named.
    certainty = Declared().certainty
    assert diagnosis.probability(HELD) < certainty < evidence.probability
    known = Workspace().library(SHIP).misconceptions
    known["twin"] = replace(known[HELD], id="twin", sentence="Said in other words.")
    words = evidence_words(evidence, known)
    assert known[HELD].sentence in words
    assert "Said in other words." in words
    assert "One of these 2, which no question tells apart" in words


def test_a_rule_that_no_item_shows_has_no_twin(bank: Bank) -> None:
    names = ("not shown", "not shown either", *bank.exposed)
    groups = alike_rules(bank.items, names)
    assert ("not shown",) in groups
    assert ("not shown either",) in groups
    assert sorted(name for group in groups for name in group) == sorted(names)


def test_rules_that_make_the_same_chart_are_told() -> None:
    known = Workspace().library(SHIP)
    assert known.alike() == []
    one = known.beliefs[HELD].parts[0]
    others = [known.beliefs[name].parts[0] for name in ("second_press_ignored", "arming_is_active")]
    library = Library(known.logic, [one, *others, replace(one, id="again")])
    assert library.alike() == [(HELD, "again")]


def slipped(bank: Bank, diagnosis: Diagnosis, count: int) -> None:
    """Give wrong answers that no rule foresees, each on other topics: nothing speaks for a rule."""
    chance = random.Random(count)
    strips = sorted({a for i in bank.items for a in (i.true, *i.answers.values())}, key=repr)
    used: set[str] = set()
    given = 0
    others = [one for one in bank.items if HELD not in one.answers]
    chance.shuffle(others)
    for item in others:
        foreseen = (item.true, *item.answers.values(), *item.automatic.values())
        if given < count and not used.intersection(topics_of(item)):
            diagnosis.answer(item, chance.choice([one for one in strips if one not in foreseen]))
            used.update(topics_of(item))
            given += 1
    assert given == count


@pytest.mark.parametrize(("slips", "verdict"), [(2, "holds"), (10, "unexplained")])
def test_more_slips_than_declared_leave_even_a_certain_rule_unnamed(
    bank: Bank, slips: int, verdict: str
) -> None:
    """Only the look back at all answers tells: a rule is certain, and none unlisted is likely."""
    diagnosis = Diagnosis(Hypotheses(bank))
    for item in telling(bank, HELD, 8):
        diagnosis.answer(item, item.answers[HELD])
    slipped(bank, diagnosis, slips)
    finding = diagnosis.finding()
    assert finding.verdict == verdict
    assert [one.misconception for one in finding.held] == [HELD]
    assert finding.unlisted < 0.1
    assert (finding.misfit < diagnosis.declared.misfit) == (verdict == "unexplained")
