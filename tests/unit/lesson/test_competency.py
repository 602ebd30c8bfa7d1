"""Competencies as data: all twelve, every rule known, every lesson's name known."""

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


def test_each_has_objectives_known_rules_and_a_basis(generic):
    found = load_competencies(PATH, generic)
    assert found
    assert all(one.objectives and one.title and one.basis for one in found.values())


def test_nearly_every_rule_of_the_chart_belongs_to_a_competency(generic):
    named = {rule for one in load_competencies(PATH).values() for rule in one.rules}
    # Hand steering has no competency of its own: no ship of the fleet has the button.
    everything = [
        rule for rule in (*generic.rules, *generic.refusals) if not rule.startswith("hand_steering")
    ]
    loose = [rule for rule in everything if rule not in named]
    assert len(loose) <= 0.05 * len(everything), loose


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
        ("rules: [director_on,", "rules: [director_onn,", "'director_onn'"),
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
