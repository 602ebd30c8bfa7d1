from __future__ import annotations

import pytest
from scipy.stats import binomtest

from trainer.assessment.answers.proportion import wilson_interval


@pytest.mark.parametrize("count", [1, 2, 7, 30, 400])
def test_interval_is_that_of_a_reference_library(count: int) -> None:
    # Source: [SCIPY] scipy.stats.binomtest, method 'wilson'.
    for right in range(0, count + 1, max(1, count // 7)):
        expected = binomtest(right, count).proportion_ci(0.95, method="wilson")
        assert wilson_interval(right, count) == pytest.approx(
            (expected.low, expected.high), abs=1e-12
        )


def test_nothing_asked_says_nothing() -> None:
    assert wilson_interval(0, 0) == (0.0, 1.0)
