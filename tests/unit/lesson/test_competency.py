"""Competencies as data: every rule names one, every lesson's name known."""

from __future__ import annotations

import re

import pytest

from trainer.errors import FileError
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.resources import resource_folder

PATH = resource_folder("statecharts") / FILE_NAME


@pytest.fixture(scope="module")
def generic(workspace):
    return next(iter(workspace.installations.values())).generic


def test_each_has_objectives_and_a_basis(generic):
    found = load_competencies(PATH, generic)
    assert found
    assert all(one.objectives and one.title and one.basis for one in found.values())


def test_every_rule_of_the_chart_belongs_to_a_competency_of_the_file(generic):
    named = {one.competency for one in generic.rules_and_refusals.values()}
    assert named == set(generic.competencies)
    assert named <= set(load_competencies(PATH))


def test_one_that_rules_name_must_be_there(tmp_path, generic):
    text = PATH.read_text("utf-8").replace("  go_around:", "  go_arround:")
    path = tmp_path / "competencies.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(FileError, match="no 'go_around', which the chart 'generic' names"):
        load_competencies(path, generic)


def test_every_shipped_lesson_names_known_competencies_and_all_are_used(workspace):
    known = set(load_competencies(PATH))
    used = {name for lesson in workspace.lessons() for name in lesson.competencies}
    assert used == known


def test_keys_of_the_basis_are_well_formed():
    for one in load_competencies(PATH).values():
        for key in re.findall(r"\[([^\]]+)\]", one.basis):
            assert re.fullmatch(r"[A-Z]{3}-\d\d", key)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("title: Approach", "title: Approach\n    rules: [glidepath_armed]", "unknown key 'rules'"),
        ("title: Go-around", "titel: Go-around", "'title' is missing"),
        ("competencies/1", "competencies/2", "'competencies/2'"),
    ],
)
def test_mistakes_are_told(tmp_path, generic, old, new, words):
    text = PATH.read_text("utf-8")
    assert old in text
    path = tmp_path / "competencies.yaml"
    path.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(FileError, match=words):
        load_competencies(path, generic)
