"""The rulebook, behaviour by behaviour, on the machine of the generic chart.

The table is written from the rulebook's text and knows no rule by its id; a case that the chart
doesn't meet is marked there with the reason and must fail until one of the two is mended.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.helpers.charts import (
    Case,
    generic_chart,
    is_possible,
    machine_for,
    read_cases,
    run_case,
    states_of,
)
from trainer.charts.machine import ModeMachine

CASES = read_cases()
SECTIONS = range(1, 19)


@cache
def _machine(options: tuple[tuple[str, str], ...]) -> ModeMachine:
    return machine_for(generic_chart(), dict(options))


def _parameters() -> list[object]:
    return [
        pytest.param(
            case,
            id=case.name.replace(" ", "-"),
            marks=[pytest.mark.xfail(reason=case.disagrees, strict=True)] * bool(case.disagrees),
        )
        for case in CASES
    ]


@pytest.mark.parametrize("case", _parameters())
def test_the_chart_does_what_the_rulebook_says(case: Case) -> None:
    assert run_case(case, _machine(tuple(sorted(case.options.items())))) == ""


def test_case_names_are_plain_and_unique() -> None:
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names)
    assert all("_" not in name for name in names)


def test_every_section_has_cases() -> None:
    assert {case.section for case in CASES} == set(SECTIONS)


def test_every_choice_of_every_option_has_a_case_of_its_own() -> None:
    chart = generic_chart()
    tried = {(name, choice) for case in CASES for name, choice in case.options.items()}
    tried |= {(option.id, option.default) for option in chart.options.values()}
    wanted = {(o.id, choice) for o in chart.options.values() for choice in o.choices}
    assert wanted <= tried


def test_every_reason_for_a_refusal_is_met_by_a_case() -> None:
    reasons = {refusal.reason for refusal in generic_chart().refusals.values()}
    assert reasons == {case.refused for case in CASES} - {""}


def test_every_state_of_every_region_is_in_some_case() -> None:
    chart = generic_chart()
    seen = {(region.id, region.initial) for region in chart.regions.values()}
    for case in CASES:
        seen |= set(states_of(case.start, chart).items())
        seen |= set(states_of(case.to or case.start, chart).items())
    assert seen >= {(r.id, state) for r in chart.regions.values() for state in r.states}


def test_every_event_is_in_some_case() -> None:
    assert {case.event for case in CASES} - {""} == set(generic_chart().events)


def test_all_signals_of_the_cases_can_be_true_together() -> None:
    chart = generic_chart()
    for case in CASES:
        assert case.before <= set(chart.signals), case.name
        assert is_possible(chart, case.before), case.name
        assert is_possible(chart, case.after), case.name
