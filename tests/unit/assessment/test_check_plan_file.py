"""Plans of the check as the lead writes them: read, explained, and refused where they can't be."""

from __future__ import annotations

import json

import jsonschema
import pytest
from ruamel.yaml import YAML

from trainer.assessment.check.check_plan_file import load_check_plans
from trainer.assessment.check.sprt import cut_score
from trainer.errors import FileError
from trainer.resources import resource_folder

SHIPPED = resource_folder("statecharts") / "check_plans.yaml"
PLAN = """\
format: check_plans/1
plans:
  A:
    title: Short
    nonmaster_percent: 60
    master_percent: 90
    false_pass_percent: 5
    false_fail_percent: 5
"""


@pytest.fixture
def write(tmp_path):
    def written(text: str):
        path = tmp_path / "check_plans.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def test_shipped_plans_are_a_sequential_a_fixed_and_a_thorough_one():
    plans = load_check_plans(SHIPPED)
    assert list(plans) == ["A", "B", "C"]
    assert plans["A"].plan.each is None
    assert plans["C"].plan.each is not None
    assert (plans["C"].plan.each.alpha, plans["C"].plan.each_most) == (0.2, 11)
    assert "every competency is decided by itself, after 11 items" in plans["C"].words
    assert (plans["A"].plan.least, plans["A"].plan.most, plans["A"].plan.fixed) == (12, 40, 0)
    assert plans["B"].plan.fixed == 30
    cut = cut_score(30, plans["B"].plan.rates).least_right
    assert f"30 items for everybody; at least {cut} must be right." in plans["B"].words
    assert "12 to 40 items" in plans["A"].words


def test_shipped_plans_fit_the_published_schema():
    from importlib.resources import files

    path = files("trainer.assessment.check").joinpath("check_plan.schema.json")
    schema = json.loads(path.read_text())
    jsonschema.Draft202012Validator(schema).validate(YAML(typ="safe").load(SHIPPED))


def test_a_cut_of_the_leads_own_is_used_with_its_rationale(write):
    path = write(PLAN + "    fixed_items: 20\n    cut: 18\n    rationale: We fly in cloud.\n")
    plan = load_check_plans(path)["A"]
    assert (plan.plan.cut, plan.plan.cut_rationale) == (18, "We fly in cloud.")
    assert "at least 18 must be right" in plan.words


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ("    fixed_items: 20\n    cut: 18\n", "without a rationale"),
        ("    fixed_items: 20\n    cut: 21\n    rationale: x\n", "cut 21 of 20"),
        ("    fixed_items: 2\n", "can't keep false passes"),
        ("    least_items: 30\n    most_items: 20\n", "most_items 20"),
        ("    least_items: 12.5\n", "12.5"),
        ("    lenght: 3\n", "unknown key 'lenght'"),
        ("    each_competency: {false_pass_percent: 20}\n", "false_fail_percent"),
        (
            "    each_competency: {false_pass_percent: 60, false_fail_percent: 10}\n",
            "error rate 0.6",
        ),
        (
            "    each_competency: {false_pass_percent: 20, false_fail_percent: 10, most: 3}\n",
            "unknown key 'most'",
        ),
    ],
)
def test_a_plan_that_cannot_be_is_refused_with_its_line(write, lines, found):
    with pytest.raises(FileError, match=found) as caught:
        load_check_plans(write(PLAN + lines))
    assert all(problem.line >= 3 for problem in caught.value.problems)


def test_rates_that_make_no_test_are_refused(write):
    with pytest.raises(FileError, match="non-master"):
        load_check_plans(write(PLAN.replace("master_percent: 90", "master_percent: 50")))
