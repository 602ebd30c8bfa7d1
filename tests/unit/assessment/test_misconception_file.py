"""Misconception files: every name resolved, every fault told with its line."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

import trainer.assessment.wrong_rules.misconception_file as file_module
from trainer.app import Workspace
from trainer.assessment.wrong_rules.library import load_folder
from trainer.assessment.wrong_rules.misconception import Add, Misconception, relaxed
from trainer.assessment.wrong_rules.misconception_file import OPERATIONS, read_misconceptions
from trainer.charts.loader import load_chart
from trainer.charts.spec import All, ChartSpec, In, Not, Signal
from trainer.document import parse_document
from trainer.errors import FileError
from trainer.resources import guide_folder

CHARTS = Workspace().charts_folder
SCHEMA = json.loads(
    (Path(file_module.__file__).parent / "misconception.schema.json").read_text("utf-8")
)


@pytest.fixture(scope="module")
def chart() -> ChartSpec:
    return load_chart(CHARTS / "generic.yaml")


def written(patch: str, extra: str = "") -> str:
    return (
        "format: misconception/1\nchart: generic\nmisconceptions:\n  - id: one\n"
        f"    rule: It is so.\n    competency: approach\n    evidence: derived\n{extra}"
        f"    patch:\n      - {patch}\n"
    )


def read(text: str, chart: ChartSpec) -> tuple[Misconception, ...]:
    return read_misconceptions(parse_document(text, "wrong.yaml"), CHARTS, chart)


def test_shipped_files_hold_enough_wrong_rules_each_with_its_standing() -> None:
    found = load_folder(CHARTS)
    assert len(found) >= 30
    assert all(one.sentence.endswith(".") for one in found)
    assert all(one.source for one in found if one.evidence == "documented")
    assert len({one.sentence for one in found}) == len(found)


@pytest.mark.parametrize("path", sorted((CHARTS / "misconceptions").glob("*.yaml")), ids=str)
def test_shipped_files_match_the_published_schema(path: Path) -> None:
    data = YAML(typ="safe", pure=True).load(path.read_text("utf-8"))
    jsonschema.validate(data, SCHEMA)


def test_schema_and_reader_know_the_same_operations() -> None:
    assert set(SCHEMA["$defs"]["operation"]["properties"]) == set(OPERATIONS)


@pytest.mark.parametrize(
    ("patch", "line", "found"),
    [
        ("drop_rules: [altitude_capturd]", 9, "'altitude_capturd'"),
        ("drop_rule: [altitude_captured]", 9, "a patch with keys drop_rule"),
        ("retarget: {rules: [course_again], to: altitude_hold}", 9, "'altitude_hold'"),
        ("add_rule: {region: lateral, on: headin, from: none, to: level}", 9, "'headin'"),
        ("add_rule: {region: latera, on: approach, from: none, to: level}", 9, "'latera'"),
        ("add_rule: {region: lateral, on: approach, from: none, to: lvl}", 9, "'lvl'"),
        ("add_rule: {region: lateral, from: level, to: level}", 9, "from a state to itself"),
        ("add_rule: {region: lateral, on: approach, from: none, to: level, whn: []}", 9, "'whn'"),
        ("restrict: {rules: [course_captured]}", 9, "no condition"),
        ("restrict: {rules: [course_captured], when: [servo_okk]}", 9, "'servo_okk' is no signal"),
        ("relax: {rules: [course_captured], drop: [sun]}", 9, "'sun'"),
        ("choose_option: {go_around_autopilot: maybe}", 9, "'maybe'"),
        ("choose_option: {go_round: stays}", 9, "'go_round' is no option"),
        ("copy_rule: {rule: heading, on: approach}", 9, "'heading'"),
    ],
)
def test_a_fault_in_a_patch_is_told_with_its_line(
    chart: ChartSpec, patch: str, line: int, found: str
) -> None:
    with pytest.raises(FileError) as caught:
        read(written(patch), chart)
    problem = next(one for one in caught.value.problems if found in one.found)
    assert problem.line == line
    assert problem.accepted


def test_a_patch_that_changes_nothing_is_refused(chart: ChartSpec) -> None:
    # The quick disconnect leads to the director already.
    with pytest.raises(FileError, match="changes nothing"):
        read(written("retarget: {rules: [quick_disconnect], to: director}"), chart)


def test_documented_needs_a_source(chart: ChartSpec) -> None:
    text = written("drop_rules: [altitude_captured]").replace("derived", "documented")
    with pytest.raises(FileError, match="documented without a source"):
        read(text, chart)


def test_an_id_is_used_once(chart: ChartSpec) -> None:
    text = written("drop_rules: [altitude_captured]")
    body = text[text.index("  - id: one") :]
    with pytest.raises(FileError, match="already in line 4"):
        read(text + body, chart)


def test_a_copied_rule_keeps_its_region_and_guard(chart: ChartSpec) -> None:
    (one,) = read(written("copy_rule: {rule: approach_captured, on: approach}"), chart)
    (operation,) = one.operations
    assert isinstance(operation, Add)
    assert operation.rule is not None
    assert operation.rule.guard == chart.rules["approach_captured"].guard
    assert operation.rule.events == ("approach",)


def test_relaxing_drops_a_part_whichever_way_it_is_written() -> None:
    guard = All((Signal("a"), Not(Signal("b")), Not(In("lateral", frozenset({"level"})))))
    assert relaxed(guard, frozenset({"b", "lateral"})) == All((Signal("a"), All(), All()))


def test_the_example_of_the_guide_is_accepted(chart: ChartSpec) -> None:
    page = (guide_folder() / "check-and-diagnosis.md").read_text("utf-8")
    lines = page[page.index("    format: misconception/1") :].split("\n\n")[0].splitlines()
    (one,) = read("\n".join(line.removeprefix("    ") for line in lines), chart)
    assert one.id == "approach_key_disarms_altitude"
    assert all(f"`{name}`" in page for name in OPERATIONS)
