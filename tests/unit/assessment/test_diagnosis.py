"""Diagnosis: a posterior over wrong rules from whole answers, its evidence and its doubts."""

from __future__ import annotations

import random

import numpy as np
import pytest

from tests.helpers.flown import flown_answer
from trainer.app import Workspace
from trainer.assessment.diagnosis.diagnosis import Declared, Diagnosis, binomial_tail
from trainer.assessment.diagnosis.diagnosis_words import evidence_words, verdict_words
from trainer.assessment.diagnosis.hypotheses import UNFORESEEN, Hypotheses, Priors, merge
from trainer.assessment.diagnosis.next_item import ItemSelector
from trainer.assessment.diagnosis.posterior import information_gain_bits, update
from trainer.assessment.figures.simulation import Share, Simulator
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item_subject import topic_level
from trainer.assessment.wrong_rules.library import Library


@pytest.fixture(scope="module")
def hypotheses(bank: Bank) -> Hypotheses:
    return Hypotheses(bank)


@pytest.fixture(scope="module")
def selector(hypotheses: Hypotheses) -> ItemSelector:
    return ItemSelector(hypotheses)


def asked(
    selector: ItemSelector, hypotheses: Hypotheses, held: str, most: int, slip_at: int = -1
) -> Diagnosis:
    diagnosis, chance, seen = Diagnosis(hypotheses), random.Random(4), set()
    while len(diagnosis.answered) < most:
        item = selector.select(diagnosis, seen, chance)
        assert item is not None
        seen.add(item.id)
        answer = item.answer_of(held)
        if len(diagnosis.answered) == slip_at:
            alerts = ("automatic_disconnect_sounding", "disconnect_sounding")
            answer = answer.with_cell("alert", alerts[answer.alert == alerts[0]])
        diagnosis.answer(item, answer)
        if diagnosis.finding().verdict != "open":
            break
    return diagnosis


@pytest.mark.parametrize(
    "held", ["altitude_always_armed", "heading_keeps_glidepath", "go_around_vertical_only"]
)
def test_a_planted_misconception_is_named_with_its_evidence(
    selector: ItemSelector, hypotheses: Hypotheses, amber: Library, held: str
) -> None:
    diagnosis = asked(selector, hypotheses, held, 60, slip_at=1)
    finding = diagnosis.finding()
    assert finding.verdict == "holds"
    assert [one.misconception for one in finding.held] == [held]
    (evidence,) = finding.held
    assert evidence.fitting
    assert all(one.answer == one.item.answers[held] for one in evidence.fitting)
    words = evidence_words(evidence, amber.misconceptions)
    assert amber.beliefs[held].parts[0].sentence in words
    assert evidence.fitting[0].item.id in words


def test_a_sound_member_is_cleared(selector: ItemSelector, hypotheses: Hypotheses) -> None:
    finding = asked(selector, hypotheses, "", 150).finding()
    assert finding.verdict == "sound"
    assert not finding.held
    count = len(hypotheses.misconceptions)
    assert (finding.excluded, finding.listed) == (count, count)
    assert f"all {count} wrong rules of the library are ruled out" in verdict_words(finding)


def test_wrong_answers_that_nothing_foresees_are_unexplained(
    selector: ItemSelector, hypotheses: Hypotheses, bank: Bank
) -> None:
    diagnosis, chance, seen = Diagnosis(hypotheses), random.Random(4), set()
    verdicts = []
    while len(diagnosis.answered) < 20:
        item = selector.select(diagnosis, seen, chance)
        assert item is not None
        seen.add(item.id)
        is_wrong = item.stimulus.kind == "key" and "go_around" in item.stimulus.id
        answer = item.true.with_cell("protection", "overspeed") if is_wrong else item.true
        diagnosis.answer(item, answer)
        verdicts.append(diagnosis.finding().verdict)
    # Noticed soon, and from then on where it shows gets clearer.
    assert verdicts.index("unexplained") < 15
    finding = diagnosis.finding()
    assert finding.verdict == "unexplained"
    assert not finding.held
    assert "go around" in verdict_words(finding)


def test_no_item_is_asked_twice(selector: ItemSelector, hypotheses: Hypotheses) -> None:
    diagnosis = asked(selector, hypotheses, "", 50)
    ids = [one.item.id for one in diagnosis.answered]
    assert len(set(ids)) == len(ids)


def test_priors_and_posteriors_are_probabilities(
    selector: ItemSelector, hypotheses: Hypotheses
) -> None:
    assert hypotheses.prior.sum() == pytest.approx(1.0)
    diagnosis = asked(selector, hypotheses, "no_altitude_capture", 5)
    assert diagnosis.posterior.sum() == pytest.approx(1.0)
    # Of answers that some hypothesis foresees the order doesn't matter. A wrong one that none does
    # is weighed by those before it, since a rule puts the same thing in the same cell again.
    again = Diagnosis(hypotheses)
    for one in reversed(diagnosis.answered):
        again.answer(one.item, one.answer)
    assert again.posterior == pytest.approx(diagnosis.posterior, abs=1e-12)


def test_the_quick_gain_is_the_information_gain(
    selector: ItemSelector, hypotheses: Hypotheses
) -> None:
    diagnosis = asked(selector, hypotheses, "course_brings_glidepath", 3)
    quick = selector.gains_bits(diagnosis)
    declared = diagnosis.declared
    for place in (0, 17, 101, 230):
        item = selector.items[place]
        foreseen = hypotheses.foreseen(item)
        columns = declared.alternatives + 1
        response = np.empty((hypotheses.count, columns))
        for column in range(columns):
            response[:, column] = np.where(
                foreseen.index == column, 1 - declared.noise, declared.noise / (columns - 1)
            )
        unlisted = foreseen.index == UNFORESEEN
        response[unlisted] = declared.unforeseen / (columns - 1)
        response[unlisted, 0] = 1.0 - declared.unforeseen
        exact = information_gain_bits(diagnosis.posterior, response)
        assert quick[place] == pytest.approx(exact, abs=1e-9)


def test_two_wrong_rules_together_are_really_composed(
    workspace: Workspace, amber: Library, bank: Bank, hypotheses: Hypotheses
) -> None:
    chance = random.Random(6)
    alike = 0
    items = chance.sample([i for i in bank.items if len(i.answers) >= 2], 40)
    for item in items:
        one, other = pair = tuple(sorted(chance.sample(sorted(item.answers), 2)))
        believed = amber.believe(amber.beliefs[one].parts[0], amber.beliefs[other].parts[0])
        real = flown_answer(item, believed, amber, lambda s: workspace.begin("ship_amber", s))
        assert item.pair_answers[pair] == real
        foreseen = hypotheses.foreseen(item)
        column = int(np.flatnonzero(hypotheses.holding(pair))[0])
        assert foreseen.answers[foreseen.index[column]] == real
        alike += real == merge(item.true, item.answers[one], item.answers[other])
    # Cell by cell is what remains where nobody has composed them, and mostly right.
    assert alike / len(items) >= 0.5


def test_sorts_of_topics_are_as_likely_as_declared(hypotheses: Hypotheses) -> None:
    topics = hypotheses.prior[hypotheses.first_topic : hypotheses.first_automatic]
    levels = np.array([topic_level(name) for name in hypotheses.topics])
    shares = np.array([topics[levels == level].sum() for level in range(5)])
    declared = np.array(Priors().by_topic)
    assert shares / shares.sum() == pytest.approx(declared / declared.sum())


def test_wrong_answers_that_deviate_alike_say_more_than_those_that_do_not(
    hypotheses: Hypotheses, bank: Bank
) -> None:
    items = [i for i in bank.items if i.stimulus.id == "go_around"][:3]
    unlisted = []
    for cells in (("overspeed",) * 3, ("overspeed", "underspeed", "none")):
        diagnosis = Diagnosis(hypotheses)
        for item, value in zip(items, cells, strict=True):
            answer = item.true.with_cell("protection", value)
            if answer == item.true:
                answer = answer.with_cell("alert", "low_on_path")
            diagnosis.answer(item, answer)
        unlisted.append(diagnosis.finding().unlisted)
    assert unlisted[0] > 0.95 > unlisted[1]


def test_two_answers_are_too_few_to_name_a_rule(hypotheses: Hypotheses, bank: Bank) -> None:
    held = "altitude_always_armed"
    items = [i for i in bank.items if held in i.answers and len(i.answers) == 1][:3]
    diagnosis = Diagnosis(hypotheses, Declared(certainty=0.5))
    found = []
    for item in items:
        diagnosis.answer(item, item.answers[held])
        found.append(diagnosis.finding())
    assert [one.verdict for one in found] == ["open", "open", "holds"]
    assert [one.misconception for one in found[1].suspected] == [held]
    assert not found[1].held


def test_what_was_wrong_is_asked_again_before_anybody_is_cleared(
    selector: ItemSelector, hypotheses: Hypotheses
) -> None:
    rechecks = hypotheses.rechecks
    before = asked(selector, hypotheses, "", 20).answered
    place = next(n for n, one in enumerate(before) if n > 2 and rechecks.alike(one.item))
    diagnosis = asked(selector, hypotheses, "", 150, slip_at=place)
    slipped = diagnosis.answered[place]
    assert not slipped.is_right
    alike = rechecks.alike(slipped.item)
    assert any(one.item.id in alike for one in diagnosis.answered[place + 1 :])
    assert diagnosis.finding().verdict == "sound"


def test_once_nothing_listed_is_likely_what_was_never_asked_comes_first(
    selector: ItemSelector, hypotheses: Hypotheses
) -> None:
    diagnosis = asked(selector, hypotheses, "", 150)
    assert diagnosis.is_cleared
    untold = selector.untold(diagnosis)
    assert (untold >= 0.0).all()
    places = {item.id: place for place, item in enumerate(selector.items)}
    had = [untold[places[one.item.id]] for one in diagnosis.answered]
    seen = {one.item.id for one in diagnosis.answered}
    left = [untold[place] for name, place in places.items() if name not in seen]
    assert max(had) < max(left)


def test_wrong_rules_made_from_the_chart_are_weighed_but_never_named(
    selector: ItemSelector, hypotheses: Hypotheses
) -> None:
    """Somebody believes in one of them: the answers stay unexplained, and the place is told."""
    made = hypotheses.automatic[3]
    diagnosis, chance, seen = Diagnosis(hypotheses), random.Random(8), set()
    while diagnosis.finding().verdict == "open":
        item = selector.select(diagnosis, seen, chance)
        assert item is not None
        seen.add(item.id)
        diagnosis.answer(item, item.automatic.get(made, item.true))
    finding = diagnosis.finding()
    assert finding.verdict == "unexplained"
    assert finding.topic
    assert made not in verdict_words(finding)


def test_of_equally_telling_items_the_least_answered_comes_first(
    selector: ItemSelector, hypotheses: Hypotheses
) -> None:
    diagnosis, chance, seen = Diagnosis(hypotheses), random.Random(3), set()

    def picked(often: dict[str, int]) -> set[str]:
        found = [selector.select(diagnosis, seen, random.Random(n), often) for n in range(12)]
        return {item.id for item in found if item is not None}

    alike = picked({})
    while len(alike) < 2:
        item = selector.select(diagnosis, seen, chance)
        assert item is not None
        seen.add(item.id)
        diagnosis.answer(item, item.true)
        alike = picked({})
    one = min(alike)
    assert one not in picked({one: 1})
    assert picked(dict.fromkeys((item.id for item in selector.items), 2) | {one: 1}) == {one}


def test_binomial_tail_against_tables() -> None:
    """Binomial tables, from memory: n = 10, p = 0.1."""
    assert binomial_tail(10, 0.1, 1) == pytest.approx(0.6513, abs=5e-5)
    assert binomial_tail(10, 0.1, 3) == pytest.approx(0.0702, abs=5e-5)
    assert binomial_tail(10, 0.1, 0) == pytest.approx(1.0)


def test_an_impossible_answer_is_an_error() -> None:
    with pytest.raises(ValueError, match="impossible"):
        update(np.array([0.5, 0.5]), np.array([0.0, 0.0]))


def test_standard_error_of_a_share() -> None:
    assert Share(50, 100).error == pytest.approx(0.05)
    assert Share(100, 100).error > 0.0


@pytest.mark.long
def test_declared_noise_needs_not_be_exact(
    workspace: Workspace, amber: Library, whole_bank: Bank
) -> None:
    begin = lambda start: workspace.begin("ship_amber", start)  # noqa: E731
    simulator = Simulator(whole_bank, amber, begin, noise=0.05, seed=31)
    simulator.declared = Declared(noise=0.10)
    assert simulator.single(1).share.value >= 0.95
