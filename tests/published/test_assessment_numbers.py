"""The maths of diagnosis, selection, mastery and spacing against worked numbers.

[ASM-01] model with slip and guess, three items, two skills; [ASM-02] selection by expected
entropy on the same items; [ASM-03] Wald's boundaries and lengths; [ASM-04] the scheduler's own
test figures; [ASM-05] its forgetting curve at declared stabilities.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from fsrs import Card, Rating, Scheduler

from trainer.assessment.check.spacing import Review, Spacing
from trainer.assessment.check.sprt import Sprt, cut_score
from trainer.assessment.diagnosis.posterior import (
    entropy_bits,
    expected_entropy_bits,
    information_gain_bits,
    skill_likelihood,
    update,
)

# Profiles in the order 00, 10, 01, 11.
PROFILES = np.array([[0, 0], [1, 0], [0, 1], [1, 1]], dtype=bool)
NEEDS = np.array([[1, 0], [0, 1], [1, 1]], dtype=bool)
SLIP, GUESS = (0.1, 0.1, 0.2), (0.2, 0.25, 0.1)
UNIFORM = np.full(4, 0.25)


def likelihood(item: int, *, is_right: bool) -> np.ndarray:
    has_all = np.array([bool(np.all(profile | ~NEEDS[item])) for profile in PROFILES])
    return skill_likelihood(has_all, SLIP[item], GUESS[item], is_right=is_right)


def response(item: int) -> np.ndarray:
    return np.column_stack([likelihood(item, is_right=True), likelihood(item, is_right=False)])


@pytest.mark.parametrize(
    ("answers", "likelihoods", "posterior", "skills"),
    [
        ((1, 0, 0), (0.135, 0.6075, 0.018, 0.018), (0.173410, 0.780347, 0.023121, 0.023121),
         (0.803468, 0.046243)),
        ((1, 1, 1), (0.005, 0.0225, 0.018, 0.648), (0.007210, 0.032444, 0.025955, 0.934391),
         (0.966835, 0.960346)),
        ((1, 1, 0), (0.045, 0.2025, 0.162, 0.162), (0.078740, 0.354331, 0.283465, 0.283465),
         (0.637795, 0.566929)),
    ],
)  # fmt: skip
def test_posterior_of_skills(
    answers: tuple[int, ...],
    likelihoods: tuple[float, ...],
    posterior: tuple[float, ...],
    skills: tuple[float, ...],
) -> None:
    """[ASM-01]"""
    joint = np.prod([likelihood(i, is_right=bool(x)) for i, x in enumerate(answers)], axis=0)
    assert joint == pytest.approx(likelihoods, abs=1e-9)
    held = UNIFORM
    for item, answer in enumerate(answers):
        held = update(held, likelihood(item, is_right=bool(answer)))
    assert held == pytest.approx(posterior, abs=1e-6)
    assert held @ PROFILES == pytest.approx(skills, abs=1e-6)


def test_first_item_by_expected_entropy() -> None:
    """[ASM-02]"""
    assert entropy_bits(UNIFORM) == pytest.approx(2.0)
    expected = [expected_entropy_bits(UNIFORM, response(item)) for item in range(3)]
    assert expected == pytest.approx([1.602687, 1.656429, 1.683681], abs=1e-6)
    assert information_gain_bits(UNIFORM, response(0)) == pytest.approx(0.397313, abs=1e-6)


def test_second_item_goes_from_worst_to_best() -> None:
    """[ASM-02]"""
    held = update(UNIFORM, likelihood(0, is_right=True))
    assert held == pytest.approx([0.090909, 0.409091, 0.090909, 0.409091], abs=1e-6)
    assert entropy_bits(held) == pytest.approx(1.684038, abs=1e-6)
    expected = [expected_entropy_bits(held, response(item)) for item in (1, 2)]
    assert expected == pytest.approx([1.340467, 1.294094], abs=1e-6)
    gains = [information_gain_bits(held, response(item)) for item in (1, 2)]
    assert gains == pytest.approx([0.343571, 0.389945], abs=1e-6)


@pytest.mark.parametrize(
    ("rates", "bounds", "steps", "shortest", "lengths"),
    [
        ((0.60, 0.85, 0.05, 0.05), (2.9444, -2.9444), (0.3483, -0.9808), (9, 4), (17.8, 14.5)),
        ((0.60, 0.90, 0.05, 0.05), (2.9444, -2.9444), (0.4055, -1.3863), (8, 3), (11.7, 8.5)),
        ((0.50, 0.80, 0.05, 0.10), (2.8904, -2.2513), (0.4700, -0.9163), (7, 3), (12.3, 8.9)),
        ((0.70, 0.90, 0.01, 0.05), (4.5539, -2.9857), (0.2513, -1.0986), (19, 3), (35.9, 18.9)),
        ((0.50, 0.90, 0.01, 0.01), (4.5951, -4.5951), (0.5878, -1.6094), (8, 3), (12.2, 8.8)),
    ],
)
def test_sequential_test(
    rates: tuple[float, ...],
    bounds: tuple[float, float],
    steps: tuple[float, float],
    shortest: tuple[int, int],
    lengths: tuple[float, float],
) -> None:
    """[ASM-03]"""
    test = Sprt(*rates)
    assert (test.upper, test.lower) == pytest.approx(bounds, abs=5e-5)
    assert (test.step_right, test.step_wrong) == pytest.approx(steps, abs=5e-5)
    right, wrong = shortest
    assert test.decide(right, 0) == "pass"
    assert test.decide(right - 1, 0) == "open"
    assert test.decide(0, wrong) == "fail"
    assert test.decide(0, wrong - 1) == "open"
    assert test.expected_length(test.master) == pytest.approx(lengths[0], abs=0.05)
    assert test.expected_length(test.nonmaster) == pytest.approx(lengths[1], abs=0.05)


def test_three_wrong_are_just_not_enough() -> None:
    """[ASM-03] the boundary case: -2.9425 against -2.9444."""
    test = Sprt(0.60, 0.85, 0.05, 0.05)
    assert test.ratio(0, 3) == pytest.approx(-2.9425, abs=5e-5)
    assert test.decide(0, 3) == "open"


def test_cut_of_a_fixed_form_against_binomial_tables() -> None:
    """Binomial tails at n = 20: P(X >= 16 | 0.6) = 0.051, P(X >= 17 | 0.6) = 0.016 (tables)."""
    cut = cut_score(20, Sprt(0.60, 0.90, 0.05, 0.05))
    assert cut.least_right == 17
    assert cut.false_pass == pytest.approx(0.0160, abs=5e-5)
    assert cut.false_fail == pytest.approx(0.1330, abs=5e-5)


def test_scheduler_gives_its_published_intervals() -> None:
    """[ASM-04]"""
    ratings = [Rating.Good] * 6 + [Rating.Again] * 2 + [Rating.Good] * 5
    scheduler = Scheduler(enable_fuzzing=False)
    now = datetime(2022, 11, 29, 12, 30, tzinfo=UTC)
    card, intervals = Card(card_id=1, due=now), []
    for rating in ratings:
        card, _ = scheduler.review_card(card, rating, now)
        intervals.append((card.due - now).days)
        now = card.due
    assert intervals == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]


def test_scheduler_gives_its_published_memory_state() -> None:
    """[ASM-04]"""
    ratings = [Rating.Again] + [Rating.Good] * 5
    scheduler = Scheduler()
    now = datetime(2022, 11, 29, 12, 30, tzinfo=UTC)
    card = Card(card_id=1, due=now)
    for rating, gap_days in zip(ratings, [0, 0, 1, 3, 8, 21], strict=True):
        now += timedelta(days=gap_days)
        card, _ = scheduler.review_card(card, rating, now)
    assert card.stability == pytest.approx(53.62691, abs=1e-4)
    assert card.difficulty == pytest.approx(6.3574867, abs=1e-4)


@pytest.mark.parametrize(
    ("days", "recall"), [(1, 0.985682), (5, 0.940344), (10, 0.9), (20, 0.845885), (50, 0.760528)]
)
def test_forgetting_curve(days: int, recall: float) -> None:
    """[ASM-05] stability 10 days."""
    moment = datetime(2026, 1, 1, tzinfo=UTC)
    card = Card(card_id=1, due=moment, stability=10.0, last_review=moment)
    now = moment + timedelta(days=days)
    assert Scheduler().get_card_retrievability(card, now) == pytest.approx(recall, abs=1e-5)


def test_rules_are_spaced_as_the_scheduler_says() -> None:
    """[ASM-04] the same intervals come out of reviews of a rule."""
    spacing = Spacing(learning=(timedelta(minutes=1), timedelta(minutes=10)))
    now = datetime(2022, 11, 29, 12, 30, tzinfo=UTC)
    intervals = []
    for is_right in [True] * 6 + [False] * 2 + [True] * 5:
        spacing.add([Review("altitude_captured", now, is_right, "think_so")])
        (state,) = spacing.states(now)
        intervals.append((state.due - now).days)
        now = state.due
    assert intervals == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]
