"""Every transition of every shipped installation has a reason of its own, in words."""

import re

import pytest

from trainer.app import Workspace
from trainer.assessment.answers.explain import explain_firing
from trainer.charts.guard import conjunctions
from trainer.charts.reason import reason_of
from trainer.charts.spec import ChartSpec, RuleSpec
from trainer.session.record import FiredRule

GENERIC = re.compile(r"\b(something|some rule|for some reason|the logic|TODO|unknown)\b", re.I)


def firings(chart: ChartSpec):
    """All (rule, left, entered) that the chart has; explore shows that none is dead."""
    for rule in chart.rules.values():
        for source in rule.sources:
            yield rule, firing(rule, source, chart)


def firing(rule: RuleSpec, source: str, chart: ChartSpec) -> FiredRule:
    """A rule as it fires in the first way in which its guard can hold."""
    regions = {region.id: frozenset(region.states) for region in chart.regions.values()}
    signals, states = conjunctions(rule.guard, regions)[0]
    now = {region.id: region.initial for region in chart.regions.values()}
    now |= {"system": "ready", "engagement": "director"}
    now |= {name: min(allowed) for name, allowed in states} | {rule.region: source}
    true = {"self_test_passed", "electrical_ok", "servo_ok", "attitude_valid"}
    true |= {name for name, value in signals if value}
    true -= {name for name, value in signals if not value}
    bits = sum(1 << n for n, name in enumerate(chart.signals) if name in true)
    event = rule.events[0] if rule.events else ""
    return FiredRule(
        rule.id, rule.region, source, rule.target,
        reason_of(rule, chart, tuple(now.values()), bits, event), rule.by,
        event, tuple(now.values()), bits,
    )  # fmt: skip


@pytest.fixture(scope="module", params=["ship_amber", "ship_amber_stage_two", "ship_slate"])
def chart(request) -> ChartSpec:
    return Workspace().installation(request.param).chart


def test_every_transition_has_its_own_sentence(chart):
    sentences: dict[str, str] = {}
    for rule, fired in firings(chart):
        # Without its id: the words alone must tell one rule from another.
        sentence = explain_firing(fired, chart).replace(f" [{rule.id}]", "")
        key = f"{rule.id}: {fired.left} -> {fired.entered}"
        assert sentence not in sentences, f"{key} and {sentences[sentence]} read the same"
        sentences[sentence] = key
    assert len(sentences) > 200


def test_every_sentence_is_specific(chart):
    for rule, fired in firings(chart):
        sentence = explain_firing(fired, chart)
        states = chart.regions[rule.region].states
        assert len(rule.because.split()) >= 5, rule.id
        assert not GENERIC.search(sentence), sentence
        assert states[fired.left].label in sentence, sentence
        assert rule.id in sentence


def test_a_reason_names_what_was_armed_and_what_decided(chart):
    rule = chart.rules["altitude_captured"]
    sentence = explain_firing(firing(rule, "vertical_speed", chart), chart)
    assert "what was armed: altitude" in sentence
    assert "the level-off at the selected altitude begins now" in sentence
    assert "without this rule 'vertical speed' would have stayed" in sentence


def test_two_visible_rules_of_one_moment_never_say_the_same(chart):
    """Rules of different cells that fire together must not repeat one sentence."""
    for event in chart.events:
        visible = [
            rule
            for rule in chart.rules.values()
            if event in rule.events and chart.regions[rule.region].kind in ("active", "engagement")
        ]
        by_region: dict[str, set[str]] = {}
        for rule in visible:
            by_region.setdefault(rule.region, set()).add(rule.because)
        regions = list(by_region.values())
        for index, left in enumerate(regions):
            for right in regions[index + 1 :]:
                assert not left & right
