"""What charts may name and what sessions implement are the same words."""

from trainer.app import Workspace
from trainer.charts.vocabulary import BOOLEAN_QUANTITIES, EFFECTS, NUMBER_QUANTITIES
from trainer.session.effects import EFFECT_FUNCTIONS
from trainer.session.logic import _GUIDANCE_LIMITS
from trainer.session.quantities import QUANTITIES


def test_every_quantity_is_measured():
    assert set(QUANTITIES) == {*NUMBER_QUANTITIES, *BOOLEAN_QUANTITIES}


def test_every_effect_is_implemented():
    assert set(EFFECT_FUNCTIONS) == set(EFFECTS)


def test_every_limit_of_the_generic_chart_is_used():
    chart = Workspace().installation("ship_amber").generic
    in_signals = {
        threshold.limit
        for signal in chart.signals.values()
        for threshold in (signal.on, signal.off)
        if threshold.limit
    }
    used = in_signals | set(_GUIDANCE_LIMITS) | {"uncommanded_mark_s"}
    assert set(chart.limits) == used


def test_every_option_of_the_generic_chart_decides_something():
    chart = Workspace().installation("ship_amber").generic
    needed = {
        name
        for part in (
            *chart.rules.values(), *chart.refusals.values(), *chart.events.values(),
            *chart.regions.values(),
            *(state for region in chart.regions.values() for state in region.states.values()),
        )
        for name, _ in part.needs
    }  # fmt: skip
    by_guidance = {"level_recovery_pitch", "capture_law"}
    assert needed | by_guidance == set(chart.options)
