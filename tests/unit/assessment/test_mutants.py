"""Wrong rules made from the chart: found by their rows as by running them all, and kept apart."""

from __future__ import annotations

import random

import pytest

from trainer.app import Workspace
from trainer.assessment.figures.outsiders import folds, random_changes
from trainer.assessment.figures.simulated_member import FlownItems
from trainer.assessment.figures.simulation import Outside
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item import fly_to
from trainer.assessment.wrong_rules.believed_answer import FlownQuestion
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.mutants import is_mutant, mutants, unlisted_rules
from trainer.assessment.wrong_rules.row_index import RowIndex


@pytest.fixture(scope="module")
def made(amber: Library) -> RowIndex:
    return unlisted_rules(amber)


def test_every_mutant_differs_from_the_chart_in_its_rows_alone(amber: Library) -> None:
    truth = amber.truth
    for name, one in mutants(truth, amber.logic.installation.chart).items():
        assert is_mutant(name)
        assert one.rows
        changed = {row for row in one.rows if one.kernel.entries(row) != truth.entries(row)}
        assert changed, name
        others = [row for row in truth.rows if row not in one.rows]
        assert all(one.kernel.entries(row) is truth.entries(row) for row in others)


def test_the_index_finds_all_that_answer_otherwise(
    workspace: Workspace, amber: Library, bank: Bank, made: RowIndex
) -> None:
    chance = random.Random(2)
    names = chance.sample(sorted(made.charts), 150)
    for item in chance.sample(bank.items, 12):
        session = fly_to(item.situation, lambda start: workspace.begin("ship_amber", start))
        question = FlownQuestion(session, item.stimulus, item.true)
        found = question.wrong_answers(made, amber)
        for name in names:
            answer = question.answer(made.charts[name].kernel, amber)
            assert found.get(name, item.true) == answer, (item.id, name)
        assert {name: found[name] for name in item.automatic} == dict(item.automatic)


def test_the_topics_of_an_item_name_its_keys_and_what_was_so(bank: Bank) -> None:
    for item in bank.items:
        events = {topic.split(" ")[0].rstrip(":") for topic in item.topics}
        if item.is_sequence:
            assert events <= {*item.stimulus.keys, "automatic"}
            assert item.stimulus.keys[-1] in events
        else:
            event = item.stimulus.key or "automatic"
            assert f"{event} while lateral {item.before.lateral.active}" in item.topics
            assert f"{event} while vertical {item.before.vertical.active}" in item.topics


def test_random_changes_are_none_of_the_rules_that_are_weighed(
    workspace: Workspace, amber: Library, bank: Bank
) -> None:
    flown = FlownItems(amber, lambda start: workspace.begin("ship_amber", start))
    found = random_changes(amber, bank, flown, 4, seed=5)
    assert len(found) == 4
    for kernel in found.values():
        shows = {i.id: a for i in bank.items if (a := flown.answer(i, kernel)) != i.true}
        assert shows
        for name in bank.exposed:
            listed = {i.id: i.answers[name] for i in bank.items if name in i.answers}
            assert shows != listed


def test_folds_hold_every_misconception_once(amber: Library) -> None:
    held = list(amber.misconceptions.values())
    parts = folds(held, 5, seed=1)
    assert sorted(one.id for part in parts for one in part) == sorted(one.id for one in held)
    assert max(map(len, parts)) - min(map(len, parts)) <= 1


def test_figures_of_members_outside_the_library() -> None:
    found = Outside("some", ("unexplained", "holds"), (3, 2), (9, 4))
    found += Outside("some", ("sound", "unexplained"), (1, 5), (90, 12))
    flagged, met, told = found.figures
    assert (flagged.share.successes, flagged.share.count) == (2, 4)
    assert (met.share.successes, met.share.count) == (2, 3)
    assert (told.share.successes, told.lengths.mean) == (1, 28.75)
