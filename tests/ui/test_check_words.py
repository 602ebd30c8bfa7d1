"""What a member reads before and after a check: how long, what passes, what next, plainly."""

import pytest

from trainer.assessment.answers.confidence import CalibrationRow
from trainer.assessment.check.check_plan_file import load_check_plans
from trainer.resources import resource_folder
from trainer.ui.check.check_words import calibration_line, plan_words

PLANS = load_check_plans(resource_folder("statecharts") / "check_plans.yaml")


@pytest.mark.parametrize("form", PLANS)
def test_time_pass_and_what_is_next_come_before_any_rate(form):
    first, rates, *_ = plan_words(PLANS[form]).split("\n\n")
    assert first.startswith("It takes some ")
    assert " minutes" in first
    assert "You pass " in first
    assert "is wrong twice" in first
    assert "At the end you see every wrong answer" in first
    assert rates == PLANS[form].words
    # Where each competency is decided for itself, one that fails leaves the whole passed.
    assert ("no competency fails" in first) == (PLANS[form].plan.each is None)


def test_the_time_and_the_cut_are_those_of_the_form():
    assert "some 6 to 20 minutes" in plan_words(PLANS["A"])
    fixed = PLANS["B"].plan
    assert "some 15 minutes" in plan_words(PLANS["B"])
    assert f"at least {fixed.cut_of_fixed} of {fixed.fixed} right" in plan_words(PLANS["B"])


def test_a_range_is_told_in_words():
    line = calibration_line(CalibrationRow("sure", 10, 2, 0.08, 0.48))
    assert line == ("Sure", "2 of 10 right", "in the long run likely 8 to 48 %")
