"""What a plan comes to: against every sequence of answers, and against a statistics library."""

from __future__ import annotations

from itertools import product

import pytest
from scipy.stats import binom

from trainer.assessment.check.check_form import CheckPlan
from trainer.assessment.check.check_plan_file import NamedPlan
from trainer.assessment.check.plan_rates import passed_share, plan_rates, rates_words
from trainer.assessment.check.sprt import Sprt


@pytest.mark.parametrize(("fixed", "cut"), [(6, 0), (20, 0), (20, 1), (30, 28)])
def test_a_fixed_form_comes_to_what_the_binomial_law_says(fixed: int, cut: int) -> None:
    plan = CheckPlan(rates=Sprt(0.6, 0.9, 0.05, 0.05), fixed=fixed, cut=cut)
    found = plan_rates(plan)
    least = plan.cut_of_fixed
    assert found.false_pass == pytest.approx(binom.sf(least - 1, fixed, 0.6))  # scipy.stats
    assert found.false_fail == pytest.approx(binom.cdf(least - 1, fixed, 0.9))


@pytest.mark.parametrize(
    "plan",
    [
        CheckPlan(least=1, most=12),
        CheckPlan(rates=Sprt(0.6, 0.7, 0.05, 0.01), least=6, most=12),
        CheckPlan(rates=Sprt(0.3, 0.8, 0.2, 0.2), least=3, most=9),
    ],
)
def test_a_sequential_plan_comes_to_what_all_its_sequences_do(plan: CheckPlan) -> None:
    for share in (plan.rates.nonmaster, plan.rates.master):
        passed = 0.0
        for answers in product((True, False), repeat=plan.most):
            right = 0
            for count, is_right in enumerate(answers, 1):
                right += is_right
                decision = plan.decide(right, count - right)
                if decision != "open":
                    break
            assert decision != "open"
            if decision == "pass":
                sure = sum(answers)
                passed += share**sure * (1.0 - share) ** (plan.most - sure)
        assert passed_share(plan.decide, share, plan.most) == pytest.approx(passed)


def test_a_test_that_must_end_ends_on_the_nearer_side() -> None:
    rates = Sprt(0.6, 0.9, 0.05, 0.05)  # the middle of its bounds is zero
    for right in range(13):
        ratio = rates.ratio(right, 12 - right)
        if rates.lower < ratio < rates.upper:
            assert rates.decide(right, 12 - right) == "open"
            assert rates.decide(right, 12 - right, 12) == ("pass" if ratio > 0.0 else "fail")
    sides = {rates.decide(right, 12 - right, 12) for right in (8, 9, 10)}
    assert sides == {"pass", "fail"}


def test_what_is_told_is_what_the_plan_comes_to_not_what_it_declares() -> None:
    short = CheckPlan(least=1, most=12)
    share = plan_rates(short).false_pass
    assert share > 0.2  # declared: 0.05
    assert f"60 % right passes in about {100 * share:.0f} of 100" in rates_words(short)
    assert rates_words(short) in NamedPlan("A", "Short", short, "").words
    lax = CheckPlan(fixed=20, cut=1, cut_rationale="all pass")
    assert "60 % right passes in about 100 of 100" in rates_words(lax)


def test_the_shipped_rates_of_a_competency_hold_at_its_own_length() -> None:
    each = Sprt(0.60, 0.90, 0.20, 0.10)
    most = CheckPlan().each_most

    def decide(right: int, wrong: int) -> str:
        return each.decide(right, wrong, most)

    assert passed_share(decide, 0.60, most) <= 0.20
    assert 1.0 - passed_share(decide, 0.90, most) <= 0.10
