"""Chart files: what a chart is read into, and that every mistake is told with file, line,
what was found and what is accepted."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.charts import STATECHARTS, generic_chart
from tests.unit.charts.small_chart import SMALL
from trainer.charts.loader import load_chart
from trainer.charts.spec import All, Any, In, Not, Signal, Threshold
from trainer.errors import FileError, FileProblem, MissingFileError


def _load(tmp_path: Path, text: str) -> tuple[FileProblem, ...]:
    path = tmp_path / "spoiled.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(FileError) as caught:
        load_chart(path)
    assert all(problem.path == str(path) for problem in caught.value.problems)
    return caught.value.problems


SPOILED: list[tuple[str, str, str, str, str]] = [
    # what is wrong, line as it was, line as it is, what the message says was found, accepted
    ("format", "format: chart/1", "format: chart/2", "'chart/2'", "chart/1"),
    ("no id", "id: small", "title2: x", "'id' is missing", "id: ..."),
    ("key at the top", "title: Small chart", "title: S\nname: x", "unknown key 'name'", "title"),
    ("key of an option", "    default: off", "    default: off\n    why: x", "unknown key 'why'",
     "question"),
    ("default of an option", "    default: off", "    default: of", "'of'", "off"),
    ("question", "    question: What does the key do again?", "    question: ''", "empty", "text"),
    ("section", "    section: 6", "    section: six", "'six' for 'section'", "a number"),
    ("limit outside", "unit: ft, default: 500", "unit: ft, default: 5000", "5000", "0 to 2000"),
    ("limit not a number", "unit: ft, default: 500", "unit: ft, default: .nan", "nan", "0 to 2000"),
    ("limit without a unit", "unit: ft, default: 500", "default: 500", "'unit' is missing", "unit"),
    ("key of a limit", "unit: ft, default: 500", "unit: ft, step: 1, default: 500",
     "unknown key 'step'", "label"),
    ("kind of an event", "kind: key, group", "kind: knob, group", "'knob'", "key, selector, world"),
    ("group of an event", "{label: Press, kind: key, group: lateral}",
     "{label: Press, kind: key, group: side}", "'side'", "lateral"),
    ("option of an event", "option: {key_again: ignored}}", "option: {key_agian: ignored}}",
     "'key_agian' is no option", "key_again"),
    ("choice of an option", "option: {key_again: ignored}}", "option: {key_again: ignoerd}}",
     "'ignoerd'", "ignored?"),
    ("quantity", "quantity: airspeed_kt", "quantity: airspeed", "'airspeed'", "airspeed_kt?"),
    ("threshold missing", "true_above: 100, ", "", "'true_below' is missing", "true_below"),
    ("threshold no number", "true_above: 100", "true_above: much", "'much'", "a number"),
    ("threshold infinite", "true_above: 100", "true_above: .inf", "inf", "a number"),
    ("threshold inside out", "false_below: 95", "false_below: 105", "off threshold", "a band"),
    ("threshold inside out below", "false_above: 0.1", "false_above: -0.1", "off threshold",
     "a band"),
    ("threshold inside out of a limit", "plus: -50", "plus: 50", "off threshold", "a band"),
    ("limit of a threshold", "true_above: {limit: lowest_ft}", "true_above: {limit: lowest}",
     "'lowest'", "lowest_ft?"),
    ("key of a threshold", "plus: -50", "minus: 50", "unknown key 'minus'", "plus"),
    ("threshold of a yes or no", "quantity: course_valid}",
     "quantity: course_valid, true_above: 1}", "unknown key 'true_above'", "quantity"),
    ("signal implied", "implies: [valid]", "implies: [vaild]", "'vaild'", "valid?"),
    ("signal excluded", "excludes: [on_path]", "excludes: [path]", "'path'", "on_path"),
    ("kind of a region", "    kind: active", "    kind: actve", "'actve'", "active?"),
    ("axis of a region", "    arms: followed", "    arms: followed\n    axes: x",
     "unknown key 'axes'", "axis?"),
    ("initial state", "    initial: clear", "    initial: cleared", "'cleared'", "clear?"),
    ("effect on entering", "enter: take_present_bank", "enter: take_bank", "'take_bank'",
     "take_present_bank?"),
    ("state without a label", "none: {label: none}", "none: {short: none}", "'label' is missing",
     "label"),
    ("key of a state", "none: {label: none}", "none: {label: none, colour: red}",
     "unknown key 'colour'", "label"),
    ("option of a state", "short: follow, option: {key_again: off}",
     "short: follow, option: {key_again: on}", "'on'", "off"),
    ("name in a condition", "    when: [valid, not fast]", "    when: [valid, not fats]",
     "'fats' is no signal or condition", "fast?"),
    ("region of a rule", "    region: arm", "    region: amr", "'amr'", "arm?"),
    ("state a rule starts in", "    from: none", "    from: nothing", "'nothing'", "none"),
    ("state a rule leads to", "    to: followed", "    to: follow", "'follow'", "followed?"),
    ("state excluded", "    from_all_but: [armed]", "    from_all_but: [arm]", "'arm'", "armed?"),
    ("rule that starts nowhere", "    from_all_but: [armed]", "    from_all_but: [armed, clear]",
     "starts nowhere", "at least one state"),
    ("no start at all", "    from: none", "    when_not: x", "'from' is missing", "from"),
    ("event of a rule", "    on: press\n    from: held", "    on: pres\n    from: held", "'pres'",
     "press?"),
    ("effect of a rule", "    do: [take_present_heading]", "    do: [take_heading]",
     "'take_heading'", "take_present_heading?"),
    ("who acts", "    by: reversion", "    by: itself", "'itself'", "pilot, automatic, reversion"),
    ("automatic rule to itself", "    to: none\n    when: [not valid]",
     "    to: held\n    when: [not valid]", "to itself", "another target"),
    ("no sentence", "    because: It arms.\n", "", "'because' is missing", "because"),
    ("empty sentence", "    because: It arms.", "    because: ''", "'because' is empty", "text"),
    ("sentence without a cause", "    because: It arms.",
     "    because: It arms.\n    because_if: [{says: It arms now.}]", "without a cause", "'in'"),
    ("cause by a key of another rule", "    because: It arms.",
     "    because: It arms.\n    because_if: [{on: elsewhere, says: It arms now.}]", "'elsewhere'",
     ""),
    ("no provenance", "    because: It arms.\n    source: common practice",
     "    because: It arms.", "'source' is missing", "source"),
    ("key of a rule", "    do: [take_present_heading]", "    does: [take_present_heading]",
     "unknown key 'does'", "do?"),
    ("rule before no rule", "    before: [captured]", "    before: [capture]",
     "'capture' is no rule", "captured?"),
    ("name in a guard", "    when: [not valid]", "    when: [not vaild]",
     "'vaild' is no signal or condition", "valid?"),
    ("region in a guard", "    in: {arm: armed}", "    in: {arms: armed}", "'arms' is no region",
     "arm?"),
    ("state in a guard", "    in: {arm: armed}", "    in: {arm: ready}", "'ready'", "clear, armed"),
    ("form of a guard", "when: [{any: [on_path,", "when: [{some: [on_path,", "keys some",
     "any, all, not, in, not_in"),
    ("two forms in a guard", "{not: [fast]}", "{not: [fast], any: [fast]}", "keys not, any",
     "any, all, not, in, not_in"),
    ("list in a guard", "{not: [fast]}", "[fast]", "a list", "a word or a mapping"),
    ("guard that is no list", "    when: [not valid]", "    when: {valid: true}", "mapping",
     "a list"),
    ("deep name in a guard", "{not: [fast]}", "{not: [slow]}", "'slow' is no signal", "fast"),
    ("event of a refusal", "    on: [press]", "    on: [pressed]", "'pressed'", "press?"),
    ("reason of a refusal", "    reason: Not ready", "    reasons: x", "'reason' is missing",
     "reason"),
    ("state of a refusal", "    not_in: {mode: [held, followed]}", "    not_in: {mode: [hold]}",
     "'hold'", "held?"),
    ("key of an invariant", "    then: [{not_in: {arm: [armed]}}]",
     "    then: [{not_in: {arm: [armed]}}]\n    else: x", "unknown key 'else'", "then"),
    ("invariant without a then", "    then: [{not_in: {arm: [armed]}}]", "    than: []",
     "'then' is missing", "then"),
    ("state of an invariant", "    if: [{in: {mode: [followed]}}]",
     "    if: [{in: {mode: [follow]}}]", "'follow'", "followed?"),
    ("id twice", "  - id: end", "  - id: begin", "id 'begin' already in line 43", "of its own"),
    ("id of a refusal twice", "  - id: not_ready", "  - id: end", "id 'end' already", "of its own"),
    ("no competencies at all", "competencies: [logic]", "competencies: []", "no competencies",
     "at least one id"),
    ("rule without a competency", "    competency: logic\n    region: arm", "    region: arm",
     "'competency' is missing in 'arming'", "one of: logic"),
    ("competency of a rule", "    competency: logic\n    region: arm",
     "    competency: logik\n    region: arm", "'logik'", "logic?"),
    ("competency of a rule that an option needs",
     "    competency: logic\n    region: mode\n    from: held",
     "    competency: logik\n    region: mode\n    from: held", "'logik'", "logic?"),
    ("refusal without a competency", "    competency: logic\n    on: [press]", "    on: [press]",
     "'competency' is missing in 'not_ready'", "one of: logic"),
    ("competency of a refusal", "    competency: logic\n    on: [press]",
     "    competency: logik\n    on: [press]", "'logik'", "logic?"),
    ("critical group of a rule", "    competency: logic\n    region: arm",
     "    competency: logic\n    critical: disconect\n    region: arm", "'disconect'",
     "disconnect?"),
    ("critical group of a refusal", "    competency: logic\n    on: [press]",
     "    competency: logic\n    critical: heights\n    on: [press]", "'heights'",
     "disconnect, level_recovery, engagement_height, minimum_use_height"),
    ("key twice", "    to: armed", "    to: armed\n    to: armed", "to", ""),
    ("region twice", "  arm:\n    label: Arm", "  mode:\n    label: Arm", "mode", ""),
]  # fmt: skip


def test_a_chart_is_read_again_only_when_its_text_changed(tmp_path: Path) -> None:
    path = tmp_path / "small.yaml"
    path.write_text(SMALL, "utf-8")
    first = load_chart(path)
    assert load_chart(path) is first
    path.write_text(SMALL.replace("Small chart", "Large chart"), "utf-8")
    assert load_chart(path).title == "Large chart"


def test_the_small_chart_is_accepted(tmp_path: Path) -> None:
    path = tmp_path / "small.yaml"
    path.write_text(SMALL, "utf-8")
    chart = load_chart(path)
    assert (chart.id, chart.title, chart.path) == ("small", "Small chart", str(path))
    assert chart.options["key_again"].choices == {"off": "It ends.", "ignored": "Nothing."}
    assert chart.limits["lowest_ft"].default == 500.0
    high, fast, on_path = (chart.signals[name] for name in ("high", "fast", "on_path"))
    assert (high.sense, high.on, high.off) == (
        "above", Threshold(limit="lowest_ft"), Threshold(limit="lowest_ft", plus=-50.0),
    )  # fmt: skip
    assert (fast.on.value, fast.off.value) == (100.0, 95.0)
    assert (on_path.sense, on_path.implies) == ("below", ("valid",))
    assert chart.events["turn"].needs == (("key_again", ("ignored",)),)
    mode = chart.regions["mode"].states
    assert mode["none"].short == "none"
    assert (mode["followed"].short, mode["held"].enter) == ("follow", ("take_present_bank",))
    assert chart.regions["arm"].arms == "followed"


def test_guards_and_defaults_of_the_small_chart(tmp_path: Path) -> None:
    path = tmp_path / "small.yaml"
    path.write_text(SMALL, "utf-8")
    rules = load_chart(path).rules
    assert rules["begin"].guard == Signal("valid")
    assert rules["end"].guard == All()
    assert rules["lost"].guard == Not(Signal("valid"))
    assert rules["captured"].guard == All(
        (
            In("arm", frozenset({"armed"})),
            Any((Signal("on_path"), All((Signal("high"), Not(All((Signal("fast"),))))))),
        )
    )
    assert [rules[name].by for name in ("begin", "lost", "captured")] == [
        "pilot", "reversion", "automatic",
    ]  # fmt: skip
    assert (rules["arming"].sources, rules["arming"].events) == (("clear",), ("press",))
    assert rules["captured"].events == ()
    assert rules["lost"].line == SMALL[: SMALL.index("id: lost")].count("\n") + 1


@pytest.mark.parametrize("spoiled", SPOILED, ids=[one[0].replace(" ", "-") for one in SPOILED])
def test_a_mistake_is_told_with_its_line(
    spoiled: tuple[str, str, str, str, str], tmp_path: Path
) -> None:
    _, before, after, found, accepted = spoiled
    assert SMALL.count(before) >= 1
    problems = _load(tmp_path, SMALL.replace(before, after, 1))
    told = [p for p in problems if found in p.found]
    assert told, [str(p) for p in problems]
    assert any(accepted in p.accepted for p in told), [str(p) for p in told]
    first = SMALL[: SMALL.index(before)].count("\n") + 1
    around = range(_entry_line(before, first), first + after.count("\n") + 1)
    assert any(p.line in around for p in told), (first, [str(p) for p in told])


def _entry_line(before: str, line: int) -> int:
    """Return the line at which the entry begins; what is missing from it is told there."""
    lines = SMALL.splitlines()
    while line > 1 and not lines[line - 1].startswith(("  - ", "  arm", "  mode", "  key_again")):
        if not lines[line - 1].startswith("    "):
            break
        line -= 1
    return 1 if before == "id: small" else line


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    text = SMALL.replace("    to: followed", "    to: follow").replace("kind: key", "kind: knob")
    text = text.replace("in: {arm: armed}", "in: {arm: arm}")
    problems = _load(tmp_path, text)
    assert len(problems) == 3
    assert [p.line for p in problems] == sorted(p.line for p in problems)


def _rule(name: str, **changed: str) -> str:
    keys = {
        "id": name, "section": "1", "competency": "logic", "region": "mode", "on": "press",
        "from": "none", "to": "held", "because": f"{name} acts.", "source": "common practice",
        **changed,
    }  # fmt: skip
    lines = [f"{key}: {value}" for key, value in keys.items() if value]
    return "  - " + "\n    ".join(lines) + "\n"


def _with_rules(*rules: str) -> str:
    return SMALL.replace("refusals:", "".join(rules) + "refusals:")


@pytest.mark.parametrize(
    "rule",
    [
        _rule("rival"),
        _rule("rival", to="none", **{"from": "[held, none]", "when": "[high]"}),
        _rule("rival", when="[fast]"),
        _rule("rival", on="[turn, press]", when="[{any: [not valid, high]}]"),
        _rule("rival", on="", to="none", when="[not fast]", **{"from": "held"}),
    ],
)
def test_rules_that_could_fire_together_need_an_order(rule: str, tmp_path: Path) -> None:
    problems = _load(tmp_path, _with_rules(rule))
    assert any("rival" in p.found and "can fire together" in p.found for p in problems)
    assert all("before: [" in p.accepted for p in problems)
    line = SMALL[: SMALL.index("refusals:")].count("\n") + 1
    assert any(p.line == line or f"line {line}" in p.found for p in problems)


@pytest.mark.parametrize(
    "rule",
    [
        _rule("rival", when="[not valid]"),
        _rule("rival", before="[begin]"),
        _rule("rival", on="turn"),
        _rule("rival", region="arm", to="clear", **{"from": "armed"}),
        _rule("rival", on="", when="[valid]", to="followed"),
        _rule("rival", on="", to="none", when="[not fast]", before="[captured, lost]",
              **{"from": "held"}),
        _rule("rival", on="", to="followed", when="[valid, not high, not on_path]",
              **{"from": "held"}),
        _rule("rival", on="", to="none", when="[high, on_path]", **{"from": "held"}),
        _rule("rival", on="", to="none", when="[not valid, on_path]", **{"from": "held"}),
        _rule("rival", on="", to="none", when="[high, not fast]", before="[lost]",
              option="{key_again: ignored}", **{"from": "held"}),
    ],
)  # fmt: skip
def test_rules_that_exclude_each_other_need_no_order(rule: str, tmp_path: Path) -> None:
    path = tmp_path / "fine.yaml"
    path.write_text(_with_rules(rule), "utf-8")
    assert "rival" in load_chart(path).rules


def test_an_order_holds_through_a_third_rule(tmp_path: Path) -> None:
    path = tmp_path / "fine.yaml"
    path.write_text(
        _with_rules(_rule("first", before="[second]"), _rule("second", before="[begin]")), "utf-8"
    )
    assert set(load_chart(path).rules) >= {"first", "second"}


@pytest.mark.parametrize(
    "rules",
    [
        (_rule("first", before="[first]"),),
        (_rule("first", before="[second]"), _rule("second", before="[first, begin]")),
        (
            _rule("first", before="[second, begin]"),
            _rule("second", before="[third, begin]"),
            _rule("third", before="[first, begin]"),
        ),
    ],
)
def test_an_order_in_a_circle_is_refused(rules: tuple[str, ...], tmp_path: Path) -> None:
    problems = _load(tmp_path, _with_rules(*rules))
    assert any(
        "'first' comes before itself" in p.found and p.accepted == "no circle" for p in problems
    )


def test_an_alias_is_refused(tmp_path: Path) -> None:
    text = SMALL.replace("[held, followed]\n    to: none", "&both [held, followed]\n    to: none")
    text = text.replace("not_in: {mode: [held, followed]}", "not_in: {mode: *both}")
    (problem,) = _load(tmp_path, text)
    assert "alias" in problem.found
    assert problem.accepted == "the value written out"


def test_a_file_cut_short_is_refused_unless_it_ends_with_a_rule(tmp_path: Path) -> None:
    path = tmp_path / "cut.yaml"
    whole = []
    for cut in range(0, len(SMALL), 97):
        path.write_text(SMALL[:cut], "utf-8")
        try:
            whole.append(len(load_chart(path).rules))
        except FileError as error:
            found = error.problems
            assert all(problem.line >= 1 and problem.found for problem in found)
    assert len(whole) <= 5
    assert all(whole)


def test_a_file_that_is_not_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes(SMALL.replace("Small", "Sm\u00e4ll").encode("latin-1"))
    with pytest.raises(MissingFileError, match="isn't UTF-8"):
        load_chart(path)


def test_every_line_of_the_generic_chart_matters(tmp_path: Path) -> None:
    """A word put wrong anywhere in the shipped chart is told, whatever line it stands in."""
    lines = (STATECHARTS / "generic.yaml").read_text("utf-8").splitlines()
    spoiled = [n for n, line in enumerate(lines) if line.startswith(("    to:", "    on:"))][::120]
    for number in spoiled:
        text = "\n".join([*lines[:number], lines[number] + "_wrong", *lines[number + 1 :]])
        if lines[number].endswith("]"):
            text = text.replace("]_wrong", ", wrong]")
        assert any(problem.line == number + 1 for problem in _load(tmp_path, text))


def test_the_generic_chart_names_what_every_option_asks() -> None:
    for option in generic_chart().options.values():
        assert option.question.endswith("?")
        assert len(option.choices) >= 2
        assert all(text.endswith(".") for text in option.choices.values())
        assert 1 <= option.section <= 18


def test_the_mark_of_an_uncommanded_change_lasts_ten_seconds_unless_set_otherwise() -> None:
    limit = generic_chart().limits["uncommanded_mark_s"]
    assert (limit.default, limit.unit) == (10.0, "s")
