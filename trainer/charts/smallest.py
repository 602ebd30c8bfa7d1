"""A chart small enough to read at once: what the examples in docstrings are tried on.

A lamp on a key; while the power is away it is off, and the key is refused. `key_again` is the one
option.
"""

from __future__ import annotations

from trainer.charts.loader import read_chart
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import specialise
from trainer.document import parse_document

SMALLEST_CHART = """\
format: chart/1
id: lamp
title: A lamp on a key
competencies: [lamp]
options:
  key_again:
    section: 6
    question: What does the key do while the lamp is on?
    choices: {off: It goes off., ignored: Nothing.}
    default: off
limits: {}
events:
  press: {label: Press, kind: key, group: lateral}
signals:
  powered: {label: there is power, quantity: electrical_ok}
regions:
  lamp:
    label: Lamp
    kind: active
    axis: lateral
    initial: none
    states: {none: {label: dark}, lit: {label: lit}}
rules:
  - {id: lights, section: 6, region: lamp, on: press, from: none, to: lit,
     competency: lamp, because: The key lights the lamp., source: common practice}
  - {id: goes_off, section: 6, region: lamp, on: press, from: lit, to: none,
     competency: lamp, option: {key_again: off}, because: The key again puts it off.,
     source: common practice}
  - {id: fails, section: 15, region: lamp, from: lit, to: none, when: [not powered],
     competency: lamp, by: reversion, because: Without power it is dark., source: common practice}
refusals:
  - {id: dead, section: 15, on: press, when: [not powered], reason: No power,
     competency: lamp, because: Without power the key does nothing., source: common practice}
invariants:
  - {id: dark_without_power, sentence: Without power the lamp is dark., if: [not powered],
     then: [{in: {lamp: [none]}}], source: common practice}
"""


def lamp(key_again: str = "off") -> ChartSpec:
    """Return the smallest chart as an aircraft would have it.

    Args:
        key_again: The choice for its option: `off` or `ignored`.

    Example:
        >>> tuple(lamp("ignored").rules)
        ('lights', 'fails')
    """
    return specialise(read_chart(parse_document(SMALLEST_CHART)), {"key_again": key_again})
