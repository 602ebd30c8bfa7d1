"""A change of the fit is seen in the rules that it changes, and in no others."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from trainer.assessment.items.item_subject import competencies_asked, rules_behind
from trainer.charts.installation import Installation, load_installation
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.records.board import changed_rules
from trainer.records.fit import fit_requirements, rule_fingerprints
from trainer.resources import resource_folder

_CHARTS = resource_folder("statecharts")
_AMBER = _CHARTS / "installations" / "ship_amber.yaml"


def _edited(folder: Path, old: str, new: str) -> Installation:
    """Return the shipped installation with a part of its file replaced."""
    path = folder / _AMBER.name
    text = _AMBER.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    return load_installation(path, _CHARTS)


@pytest.fixture(scope="module")
def amber() -> Installation:
    return load_installation(_AMBER, _CHARTS)


def test_same_fit_has_the_same_fingerprints(amber: Installation) -> None:
    again = load_installation(_AMBER, _CHARTS)
    assert rule_fingerprints(amber) == rule_fingerprints(again)
    assert set(rule_fingerprints(amber)) == {*amber.chart.rules, *amber.chart.refusals}


def test_words_and_provenance_change_nothing(amber: Installation, tmp_path: Path) -> None:
    charts = tmp_path / "charts"
    shutil.copytree(_CHARTS, charts)
    chart = charts / "generic.yaml"
    text = chart.read_text(encoding="utf-8")
    reworded = text.replace("because: ", "because: Note that ", 5)
    assert reworded != text
    chart.write_text("# moved down\n\n" + reworded, encoding="utf-8")
    other = load_installation(charts / "installations" / _AMBER.name, charts)
    assert rule_fingerprints(other) == rule_fingerprints(amber)


def test_other_ship_differs_in_some_rules_only(amber: Installation) -> None:
    slate = load_installation(_AMBER.with_name("ship_slate.yaml"), _CHARTS)
    changed = changed_rules(rule_fingerprints(amber), rule_fingerprints(slate))
    assert 0 < len(changed) < len(rule_fingerprints(amber)) / 2


def test_limit_changes_the_rules_whose_guards_look_at_it(
    amber: Installation, tmp_path: Path
) -> None:
    assert amber.limit("minimum_engagement_height_ft").value == 800
    raised = _edited(
        tmp_path, "minimum_engagement_height_ft: 800", "minimum_engagement_height_ft: 900"
    )
    changed = changed_rules(rule_fingerprints(amber), rule_fingerprints(raised))
    assert 0 < len(changed) < 20
    assert all(rule in raised.chart.rules or rule in raised.chart.refusals for rule in changed)


def test_requirements_name_only_rules_of_the_fit(amber: Installation) -> None:
    competencies = load_competencies(_CHARTS / FILE_NAME, amber.generic)
    requirements = fit_requirements(amber, competencies.values(), 365)
    prints = rule_fingerprints(amber)
    assert [one.competency_id for one in requirements] == [
        name for name in competencies if name in competencies_asked(amber.chart)
    ]
    for one in requirements:
        assert one.rules == {
            rule: prints[rule] for rule in rules_behind(one.competency_id, amber.chart)
        }
