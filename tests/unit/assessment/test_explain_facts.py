"""No statement of an explanation is false at its step: held over walks through the whole chart.

The oracle is the configuration and the signals of the step themselves, and for "otherwise" the
machine of the chart without the rule.
"""

import random
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.helpers.charts import (
    default_options,
    generic_chart,
    machine_for,
    make_possible,
    microstep,
)
from tests.helpers.definition import Definition
from tests.helpers.situations import APPROACH, workspace
from trainer.assessment.answers.explain import explain, explain_firing
from trainer.assessment.answers.facts import deciding_facts
from trainer.charts.guard import signals_in
from trainer.charts.kernel import AUTOMATIC, UnsettledError
from trainer.charts.machine import ModeMachine
from trainer.charts.reason import reason_of
from trainer.charts.spec import ChartSpec
from trainer.flight import InitialCondition
from trainer.lesson.question import compute_answer
from trainer.lesson.spec import Predict
from trainer.session.record import FiredRule
from trainer.session.situation import Selected, Start, StartModes

STEPS = 3000
KEPT_OF_A_RULE = 4
SETS = 8
MORE = 30
SEED = 0
# Mostly so, or nothing but failures would be met.
HEALTHY = (
    "electrical_ok", "self_test_passed", "attitude_valid", "servo_ok", "bank_allows_engagement",
    "pitch_allows_engagement", "engagement_height_reached", "airspeed_above_lowest",
    "airspeed_below_highest", "source_is_approach", "course_signal_valid",
)  # fmt: skip


def option_sets() -> list[dict[str, str]]:
    """The default options, and sets drawn by chance; together they fit every rule.

    Each option has a chance of its own, so that one more option leaves the others as they were.
    """
    drawn = {
        name: random.Random(f"{SEED} {name}").choices(list(one.choices), k=SETS)
        for name, one in generic_chart().options.items()
    }
    return [default_options(generic_chart())] + [
        {name: choices[number] for name, choices in drawn.items()} for number in range(SETS)
    ]


def walk(machine: ModeMachine, seed: int) -> Iterator[tuple[FiredRule, str]]:
    """Fire whatever fires on a random walk of events and possible signals."""
    chance = random.Random(seed)
    chart = machine.chart
    true: set[str] = set()
    configuration = machine.initial
    for step in range(STEPS):
        for name in chance.sample(list(chart.signals), chance.choice((0, 0, 1, 2, 4))):
            true ^= {name}
        if chance.random() < 0.8:
            true = true - {"bank_beyond_disconnect"} | set(HEALTHY)
            # For a while in front of the antenna with a glidepath, for a while on the back course.
            glidepath = {"source_has_glidepath", "glidepath_signal_valid"}
            true = true | glidepath if step // 100 % 2 else true - glidepath
        true = set(make_possible(chart, true))
        bits = machine.bits(true)
        event = chance.choice((*chart.events, AUTOMATIC))
        if event != AUTOMATIC and machine.kernel.refusal(configuration, bits, event):
            event = AUTOMATIC
        for _ in range(20):
            after, fired = microstep(machine, configuration, bits, event)
            for one in fired:
                yield (
                    FiredRule(
                        one.rule.id, one.rule.region, one.left, one.entered,
                        reason_of(one.rule, chart, configuration, bits, event),
                        one.rule.by, event if one.rule.events else "", configuration, bits,
                    ),
                    event,
                )  # fmt: skip
            if not fired and event == AUTOMATIC:
                break
            configuration, event = after, AUTOMATIC


def is_so(words: str, chart: ChartSpec, fired: FiredRule) -> bool:
    """Return whether a stated fact stands in the states and signals of its step."""
    named = [n for n, signal in enumerate(chart.signals.values()) if signal.label == words]
    if named:
        assert len(named) == 1, words
        return bool(fired.bits >> named[0] & 1)
    for now, region in zip(fired.configuration, chart.regions.values(), strict=True):
        said = words.removeprefix(f"{region.label[0].lower()}{region.label[1:]} is ")
        labels = {state.label: name for name, state in region.states.items()}
        if region.kind == "armed" and words in labels:
            return labels[words] == now
        if said != words:
            found = re.split(r", | or ", said)
            return now in [labels[label] for label in found]
    raise AssertionError(f"no signal and no region says: {words}")


def state_in(other: Definition, fired: FiredRule) -> str:
    """The state that a region comes to by another chart; empty: it never comes to rest."""
    event = fired.event or AUTOMATIC
    try:
        after, _ = other.send(fired.configuration, fired.bits, event, settle_first=False)
    except UnsettledError:
        return ""
    return after[list(other.chart.regions).index(fired.region)]


@pytest.fixture(scope="module")
def walked() -> list[tuple[ModeMachine, list[FiredRule]]]:
    """For each set of options the firings of a walk, not too many of one rule.

    Rules that these walks miss are looked for in walks through sets that fit them: which they are
    changes with every option, event and signal of the chart.
    """
    chart = generic_chart()
    result = [walked_through(options, seed) for seed, options in enumerate(option_sets())]
    for seed in range(SETS, SETS + MORE):
        met = {fired.id for _, firings in result for fired in firings}
        missed = [rule for name, rule in chart.rules.items() if name not in met]
        if not missed:
            break
        needed = {name: choices[seed % len(choices)] for name, choices in missed[0].needs}
        result.append(walked_through(default_options(chart) | needed, seed))
    return result


def walked_through(options: dict[str, str], seed: int) -> tuple[ModeMachine, list[FiredRule]]:
    machine, kept = machine_for(generic_chart(), options), []
    seen: Counter[tuple[str, str]] = Counter()
    for fired, _ in walk(machine, seed):
        seen[fired.id, fired.because] += 1
        if seen[fired.id, fired.because] <= KEPT_OF_A_RULE:
            kept.append(fired)
    return machine, kept


def test_the_walks_come_by_every_rule_of_the_generic_chart(walked):
    met = {fired.id for _, firings in walked for fired in firings}
    assert met == set(generic_chart().rules)


def test_every_fact_of_an_explanation_is_so_at_its_step(walked):
    for machine, firings in walked:
        chart = machine.chart
        for fired in firings:
            facts = deciding_facts(fired, chart)
            sentence = explain_firing(fired, chart)
            for words in facts.so:
                assert is_so(words, chart, fired), sentence
            for words in facts.not_so:
                assert not is_so(words, chart, fired), sentence
            if signals_in(chart.rules[fired.id].guard):
                assert facts.so or facts.not_so, sentence
            for title, told in (("decided", facts.so), ("was not so", facts.not_so)):
                if told:
                    assert f"what {title}: {', '.join(told)}; " in sentence
                else:
                    assert f"what {title}:" not in sentence


def test_what_would_have_come_otherwise_is_what_the_chart_without_the_rule_does(walked):
    for machine, firings in walked:
        chart = machine.chart
        fewer: dict[str, Definition] = {}
        for fired in firings:
            if fired.left == fired.entered:
                continue
            if fired.id not in fewer:
                rules = {n: r for n, r in chart.rules.items() if n != fired.id}
                fewer[fired.id] = Definition(replace(chart, rules=rules))
            other = fewer[fired.id]
            came = state_in(other, fired)
            states = chart.regions[fired.region].states
            left, entered = states[fired.left].label, states[fired.entered].label
            sentence = explain_firing(fired, chart)
            if not came:
                assert "without this rule" not in sentence
            elif came == fired.left:
                assert f"'{left}' would have stayed instead of '{entered}'" in sentence
            elif came == fired.entered:
                assert f"'{left}' into '{entered}' all the same" in sentence
            else:
                assert f"would have become '{states[came].label}'" in sentence


def test_a_number_in_a_sentence_is_the_threshold_of_its_signal():
    chart = generic_chart()
    tolerance_ft = chart.signals["captured_altitude_reached"].on.value
    words = f"reached to within {tolerance_ft:.0f} ft"
    assert words in chart.rules["altitude_levelled"].because
    assert words in chart.signals["captured_altitude_reached"].label


def test_no_two_rules_of_a_shipped_chart_have_the_same_sentence():
    """In due practice and in a check's debrief the sentence stands alone."""
    for chart in (generic_chart(),):
        said: dict[str, str] = {}
        for rule in (*chart.rules.values(), *chart.refusals.values()):
            assert rule.because not in said, f"{rule.id} and {said.get(rule.because)}"
            said[rule.because] = rule.id


def test_the_caution_that_ends_with_the_approach_says_nothing_of_the_height():
    """Autopilot on the approach at 150 ft above ground, the minimum being 200 ft."""
    session = workspace().begin(
        "ship_amber",
        Start(
            InitialCondition(altitude_ft=150, heading_deg=0, airspeed_kt=80, north_nm=-0.4),
            modes=StartModes("autopilot", "approach_course", "pitch_hold"),
            selected=Selected(altitude_ft=2000, heading_deg=90, source="approach"),
            sources=(APPROACH,),
        ),
    )
    session.step()
    assert session.annunciation.alert == "below_minimum_use_height"
    record = session.press("heading_select")
    chart = session.installation.chart
    assert "below_minimum_use_height" in record.signals
    (ended,) = (one for one in record.rules if one.id == "below_minimum_ends")
    assert deciding_facts(ended, chart).not_so == ("lateral mode is approach course",)
    assert ended.because.startswith("The approach was left, so")
    assert "the aircraft is as low as before" in ended.because
    assert "above" not in ended.because


@pytest.mark.parametrize(
    ("vertical", "key", "begins"),
    [
        ("vertical_speed", "altitude_hold", "Altitude hold keeps the altitude at hand"),
        ("vertical_speed", "director", "With guidance off nothing is armed"),
        ("vertical_speed", "", "Altitude capture has taken over"),
    ],
)
def test_a_rule_of_several_causes_names_the_one_that_was_so(vertical, key, begins):
    """Climbing to an armed altitude: another mode, guidance off, or the capture itself."""
    session = workspace().begin(
        "ship_amber",
        Start(
            InitialCondition(3700, 0, 95, vertical_speed_fpm=700),
            modes=StartModes("director", "heading_select", vertical, ("altitude",)),
            selected=Selected(altitude_ft=4000, heading_deg=0, vertical_speed_fpm=700),
        ),
    )
    records = [session.press(key)] if key else []
    while not records or not any(one.id == "altitude_arm_ends" for one in records[-1].rules):
        assert session.t_s < 60.0
        record = session.step()
        records.extend([record] if record else [])
    (ended,) = (one for one in records[-1].rules if one.id == "altitude_arm_ends")
    chart = session.installation.chart
    assert ended.because.startswith(begins)
    assert " or " not in ended.because
    assert explain_firing(ended, chart).startswith(begins)


def test_after_any_firing_of_a_rule_of_several_causes_one_of_them_stands(walked):
    told: dict[str, set[str]] = {}
    for machine, firings in walked:
        for fired in firings:
            reasons = machine.chart.rules[fired.id].reasons
            if reasons:
                assert fired.because in [one.says for one in reasons], fired
                told.setdefault(fired.id, set()).add(fired.because)
    assert len(told) == sum(bool(rule.reasons) for rule in generic_chart().rules.values())
    assert len(told["altitude_arm_ends"]) >= 4


def test_no_sentence_of_the_generic_chart_offers_causes_to_choose_from():
    chart = generic_chart()
    for rule in (*chart.rules.values(), *chart.refusals.values()):
        for words in (rule.because, *(one.says for one in rule.reasons)):
            assert not re.search(r",? or ", words), words


def test_altitude_capture_says_why_altitude_is_no_longer_armed():
    chart = workspace().installation("ship_amber").chart
    states = {region.id: region.initial for region in chart.regions.values()}
    states |= {"engagement": "autopilot", "vertical": "altitude_capture", "altitude_arm": "armed"}
    rule = chart.rules["altitude_arm_ends"]
    now = tuple(states.values())
    because = reason_of(rule, chart, now, 0)
    fired = FiredRule(rule.id, rule.region, "armed", "clear", because, rule.by, "", now)
    assert deciding_facts(fired, chart).so == ("vertical mode is altitude capture",)
    assert because == "Altitude capture has taken over, so altitude is no longer armed."


def test_a_cell_called_wrongly_that_no_rule_moves_is_told():
    """Going around, vertical speed is pressed: who calls roll hold is told that lateral stays."""
    session = workspace().begin(
        "ship_amber",
        Start(
            InitialCondition(altitude_ft=2000, heading_deg=0, airspeed_kt=90),
            modes=StartModes("director", "go_around", "go_around"),
            selected=Selected(altitude_ft=4000, heading_deg=0),
        ),
    )
    prompt = Predict("after_key", "vertical_speed", 0.0)
    answer = compute_answer(prompt, session)
    assert answer.after.lateral.active == "go_around"
    told = explain(answer, session.installation, wrong=["lateral_active", "vertical_active"])
    assert told[-1] == "Lateral active stays as it was: no rule moves it here."
    assert len(told) > 1
    assert "no rule moves" not in " ".join(explain(answer, session.installation))


@pytest.mark.parametrize(
    ("ship", "modes", "keys", "told"),
    [
        ("ship_slate", "altitude_hold", ("heading_select",), "roll hold: heading ends."),
        ("ship_slate", "altitude_hold", ("altitude_hold",), "pitch hold: altitude hold ends."),
        ("ship_slate", "altitude_hold", ("altitude_hold", "heading_select"), "heading ends."),
        ("ship_amber", "go_around", ("go_around",), ""),
    ],
)
def test_a_key_that_an_option_silences_names_the_option(ship, modes, keys, told):
    """Slate's second press of an active key: the option's words, and what Amber's rule does."""
    lateral = modes if modes == "go_around" else "heading_select"
    session = workspace().begin(
        ship,
        Start(
            InitialCondition(altitude_ft=3500, heading_deg=60, airspeed_kt=105),
            modes=StartModes("director", lateral, modes),
            selected=Selected(altitude_ft=3500, heading_deg=60),
        ),
    )
    answer = compute_answer(Predict("after_key", keys[0], 0.0, then=keys[1:]), session)
    assert answer.nothing_changes
    sentences = explain(answer, session.installation)
    if told:
        option = session.installation.generic.options["active_key_again"]
        assert option.question in sentences[-1]
        assert option.choices["ignored"] in sentences[-1]
        assert sentences[-1].endswith(told)
    else:
        assert sentences == ("Nothing changes: no rule answers this key in these modes.",)
