"""Items and wrong rules speak for competencies that the file has, so no verdict is lost."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.assessment.test_misconception_file import CHARTS, read, written
from trainer.app import Workspace
from trainer.assessment.check.check import Check
from trainer.assessment.check.check_form import CheckPlan, draw_form
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.item_subject import competencies_asked
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.charts.spec import ChartSpec
from trainer.errors import FileError
from trainer.lesson.competency import FILE_NAME, load_competencies

KNOWN = load_competencies(CHARTS / FILE_NAME)


def test_every_item_speaks_for_a_competency_of_the_file(bank: Bank) -> None:
    assert {item.competency for item in bank.items} <= KNOWN.keys()


@pytest.mark.parametrize("ship", ["ship_amber", "ship_amber_stage_two", "ship_slate"])
def test_all_that_items_can_speak_for_is_in_the_file(workspace: Workspace, ship: str) -> None:
    assert competencies_asked(workspace.installation(ship).chart) <= KNOWN.keys()


def test_what_items_speak_for_is_among_what_they_can(bank: Bank, amber: Library) -> None:
    asked = competencies_asked(amber.logic.installation.chart)
    assert {item.competency for item in bank.items} <= asked


def test_every_wrong_rule_names_a_competency_of_the_file() -> None:
    assert {one.competency for one in load_folder(CHARTS)} <= KNOWN.keys()


def test_another_competency_is_refused_with_line_and_what_is_accepted(amber: Library) -> None:
    chart: ChartSpec = amber.logic.installation.generic
    text = written("drop_rules: [altitude_captured]").replace(
        "competency: approach", "competency: reversion_and_signal_loss"
    )
    with pytest.raises(FileError) as caught:
        read(text, chart)
    (problem,) = caught.value.problems
    assert problem.line == 6
    assert "'reversion_and_signal_loss'" in problem.found
    assert "reversion_and_loss_of_signal" in problem.accepted


def test_what_no_item_speaks_for_is_not_required(workspace: Workspace) -> None:
    # Otherwise nobody could ever be ready in everything.
    for ship in workspace.installations:
        required = {one.competency_id for one in workspace.requirements(ship, 365)}
        assert required <= competencies_asked(workspace.installation(ship).chart)
        assert "reversion_and_loss_of_signal" in required
        assert workspace.never_checked(ship) == (KNOWN["differences_between_ships"].title,)


def test_the_shortest_check_asks_about_every_competency(bank: Bank) -> None:
    # Who answers all right ends after the least number of items: none may come after it.
    names = {item.competency for item in bank.items if not item.is_sequence}
    for seed in range(1, 9):
        for plan in (CheckPlan(), replace(CheckPlan(), fixed=30)):
            check = Check(plan, draw_form(bank, plan, seed))
            while (item := check.next_item()) is not None:
                check.answer(item, item.true, "sure")
            decided = check.outcome()
            assert decided.decision == "pass"
            assert {one.competency for one in decided.competencies} == names
