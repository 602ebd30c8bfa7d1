"""Every loader takes whatever file it is given: it loads it, or says what is wrong with it.

A file is loaded, or refused by a TrainerError that names the file (and, for YAML, the line), and a
refused file leaves nothing behind. Files once found are in `corpus/`, by loader; `helpers/hunt.py`
finds more.
"""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.helpers.hunt import corpus_of, hunt, outcome_of, problem_with
from tests.helpers.loader_targets import TARGETS, seeds_of

FOUND = [(name, file) for name in sorted(TARGETS) for file in corpus_of(name)]
FEW = settings(max_examples=15, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize(("name", "file"), FOUND)
def test_what_was_found_once_is_mended(name: str, file: str) -> None:
    assert problem_with(TARGETS[name], corpus_of(name)[file]) == ""


@pytest.mark.parametrize("name", sorted(TARGETS))
def test_good_files_are_loaded(name: str) -> None:
    for data in seeds_of(name)[:3]:
        assert outcome_of(TARGETS[name], data) == ("loaded", "", "")


@pytest.mark.parametrize("name", sorted(TARGETS))
@FEW
@given(seed=st.integers(0, 2**32))
def test_a_spoilt_file_is_loaded_or_refused_in_plain_words(name: str, seed: int) -> None:
    chance, seeds = random.Random(seed), list(seeds_of(name))
    data = TARGETS[name].spoil(chance, chance.choice(seeds), seeds)
    assert problem_with(TARGETS[name], data) == ""


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(TARGETS))
def test_files_that_reach_new_code_are_spoilt_further(name: str) -> None:
    report = hunt(TARGETS[name], seed=11, executions=300, seconds=8.0)
    assert report.executions > 0
    assert {place: finding.what for place, finding in report.findings.items()} == {}


def test_the_hunt_can_fail() -> None:
    from dataclasses import replace

    def load(path: object) -> None:
        if b"9" in path.read_bytes():
            raise ZeroDivisionError

    broken = replace(TARGETS["check_plans"], load=load)
    report = hunt(broken, seed=1, executions=50)
    assert [one.what for one in report.findings.values()] == ["ZeroDivisionError: "]
