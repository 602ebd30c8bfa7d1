"""What a plan really comes to: how often it passes and fails members with a known share of right.

Declared rates are those of an endless test. One that may end early, or must end, has others: they
are computed here exactly, so that nobody is told what doesn't hold.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from trainer.assessment.check.check_form import CheckPlan
from trainer.assessment.check.sprt import Decision
from trainer.charts.vocabulary import CRITICAL_GROUPS


@dataclass(frozen=True, slots=True)
class PlanRates:
    """Shares of checks, from 0 to 1.

    Attributes:
        false_pass: Passed by who answers right as often as the lower limit says; what critical
            items do to it is left out, so there are fewer.
        false_fail: Failed, by the count of right answers, by who answers as the upper limit says.
        critical_fail: Failed by that member through two slips on one critical matter.
    """

    false_pass: float
    false_fail: float
    critical_fail: float


@cache
def plan_rates(plan: CheckPlan) -> PlanRates:
    """Return what a plan comes to at its own limits.

    Example:
        >>> found = plan_rates(CheckPlan())
        >>> found.false_pass < 0.05, found.false_fail < 0.02, round(found.critical_fail, 3)
        (True, True, 0.039)
    """
    most, rates = plan.length, plan.rates
    slip = 1.0 - rates.master
    return PlanRates(
        passed_share(plan.decide, rates.nonmaster, most),
        1.0 - passed_share(plan.decide, rates.master, most),
        1.0 - (1.0 - slip * slip) ** len(CRITICAL_GROUPS),
    )


def passed_share(decide: Callable[[int, int], Decision], share_right: float, most: int) -> float:
    """Return the probability that a test ends in a pass.

    Args:
        decide: The decision after so many right and wrong answers.
        share_right: Probability of each answer to be right, from 0 to 1.
        most: Answers after which it has decided.
    """
    passed, going = 0.0, {0: 1.0}
    for count in range(1, most + 1):
        after: dict[int, float] = defaultdict(float)
        for right, probability in going.items():
            after[right + 1] += probability * share_right
            after[right] += probability * (1.0 - share_right)
        going = {}
        for right, probability in after.items():
            decision = decide(right, count - right)
            if decision == "pass":
                passed += probability
            elif decision == "open":
                going[right] = probability
    return passed


def rates_words(plan: CheckPlan) -> str:
    """Return what a plan comes to, in sentences for the member.

    Example:
        >>> rates_words(CheckPlan()).split(". ")[0]
        'Who answers 60 % right passes in about 4 of 100 such checks'
    """
    found, rates = plan_rates(plan), plan.rates
    whole = (
        f"Who answers {100 * rates.nonmaster:.0f} % right passes in {_of_hundred(found.false_pass)}"
        f" such checks. Who answers {100 * rates.master:.0f} % right fails in "
        f"{_of_hundred(found.false_fail)} by the count, and in {_of_hundred(found.critical_fail)} "
        "by two slips on one critical matter."
    )
    each = plan.each
    if each is None:
        return whole

    def decide(right: int, wrong: int) -> Decision:
        return each.decide(right, wrong, plan.each_most)

    weak = passed_share(decide, rates.nonmaster, plan.each_most)
    ready = passed_share(decide, rates.master, plan.each_most)
    return (
        f"{whole} Who passes is asked on until every competency is decided by itself, after "
        f"{plan.each_most} items of it at most; there the same two members are told ready in "
        f"{_of_hundred(weak)} and not yet in {_of_hundred(1.0 - ready)}."
    )


def _of_hundred(share: float) -> str:
    return "fewer than 1 of 100" if share < 0.005 else f"about {100.0 * share:.0f} of 100"
