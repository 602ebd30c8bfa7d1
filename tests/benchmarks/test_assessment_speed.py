"""Selecting the next item: at most 50 ms, over the whole library with pairs."""

from __future__ import annotations

import random

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.helpers.kept_bank import kept_bank
from trainer.assessment.diagnosis.diagnosis import Diagnosis
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.diagnosis.next_item import ItemSelector
from trainer.assessment.items.bank import Bank


@pytest.fixture(scope="module")
def bank() -> Bank:
    return kept_bank("ship_amber")


def test_next_item_is_selected_in_50_ms(benchmark: BenchmarkFixture, bank: Bank) -> None:
    hypotheses = Hypotheses(bank)
    selector, diagnosis = ItemSelector(hypotheses), Diagnosis(hypotheses)
    chance = random.Random(1)
    item = benchmark(selector.select, diagnosis, set(), chance)
    assert item is not None
    if benchmark.stats is not None:
        assert benchmark.stats.stats.median < 0.050


def test_an_answer_is_taken_and_judged_in_20_ms(benchmark: BenchmarkFixture, bank: Bank) -> None:
    hypotheses = Hypotheses(bank)
    item = bank.items[0]

    def answer() -> str:
        diagnosis = Diagnosis(hypotheses)
        diagnosis.answer(item, item.true)
        return diagnosis.finding().verdict

    assert benchmark(answer) == "open"
    if benchmark.stats is not None:
        assert benchmark.stats.stats.median < 0.020
