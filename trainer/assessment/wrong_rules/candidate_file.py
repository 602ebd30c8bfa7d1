"""Candidates as a file of misconceptions, for an instructor to go through, reword and keep.

Who calls: `trainer.cli`. The loader of such files is `misconception_file`.
"""

from __future__ import annotations

from collections.abc import Iterable
from io import StringIO

from ruamel.yaml import YAML

from trainer.assessment.wrong_rules.misconception import Add, Misconception, Relax
from trainer.assessment.wrong_rules.misconception_file import FORMAT
from trainer.charts.spec import ChartSpec, RuleSpec

HEAD = """\
# Wrong rules that the program made from the chart; nobody has been seen to hold one. Keep those
# that sound like somebody you know, reword them, and put the file into statecharts/misconceptions.
"""
_WIDTH = 100


def candidate_text(candidates: Iterable[Misconception], chart: ChartSpec) -> str:
    """Return the text of a misconception file with candidates.

    Args:
        candidates: Made by `candidates.dropped_conditions` or `candidates.carried_over_rules`.
        chart: The specialised chart that they were made from.
    """
    entries = [_entry(one, chart) for one in candidates]
    yaml, stream = YAML(), StringIO()
    yaml.width, yaml.default_flow_style = _WIDTH, None
    yaml.indent(mapping=2, sequence=4, offset=2)
    yaml.dump({"format": FORMAT, "chart": chart.id, "misconceptions": entries}, stream)
    return HEAD + stream.getvalue()


def _entry(one: Misconception, chart: ChartSpec) -> dict[str, object]:
    rule = made_from(one, chart)
    (operation,) = one.operations
    step: dict[str, object]
    if isinstance(operation, Relax):
        step = {"relax": {"rules": list(operation.names), "drop": sorted(operation.drop)}}
    else:
        assert isinstance(operation, Add)
        assert operation.rule is not None
        step = {
            "copy_rule": {
                "rule": rule.id, "on": list(operation.rule.events),
                "from": list(operation.rule.sources), "to": operation.rule.target,
            }
        }  # fmt: skip
    return {
        "id": one.id, "rule": one.sentence, "competency": rule.competency,
        "evidence": "derived", "patch": [step],
    }  # fmt: skip


def made_from(one: Misconception, chart: ChartSpec) -> RuleSpec:
    """Return the rule of the chart that a candidate forgets a condition of, or carries over."""
    (operation,) = one.operations
    if isinstance(operation, Relax):
        return chart.rules[operation.names[0]]
    assert isinstance(operation, Add)
    assert operation.rule is not None
    events = operation.rule.events
    return next(
        rule
        for rule in chart.rules.values()
        if one.id in {f"carried_{rule.id}_{event}" for event in events}
    )
