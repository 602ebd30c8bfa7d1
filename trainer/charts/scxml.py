"""A specialised chart as a W3C SCXML 1.0 document that any engine can run by itself.

Each region is a compound state of one parallel state. A rule becomes a transition of each of its
source states, in the order in which the rules are tried; automatic rules have no event; a rule to
its own state has no target, since nothing is left or entered; a refusal becomes a denied
condition of every transition on its events. Signals are numbers of the data model, 0 or 1,
changed by the events `signal.NAME.true` and `signal.NAME.false`. Words for people and the ids of
rules stand in attributes of this program's own name space, which other readers skip.

Source: State Chart XML (SCXML), W3C Recommendation, 1 September 2015 [SCX-01].
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree

from trainer.charts.conflicts import ordered_rules
from trainer.charts.scxml_guard import NEVER, condition, refused_by, state_id
from trainer.charts.spec import ChartSpec, RegionSpec, RuleSpec, StateSpec
from trainer.errors import TrainerError

SCXML_NAMESPACE = "http://www.w3.org/2005/07/scxml"
OWN_NAMESPACE = "urn:mode-logic-trainer:chart"
ROOT, SIGNALS, SIGNAL_EVENT = "logic", "signals", "signal"
_NAME = re.compile(r"[a-z][a-z0-9_]*\Z")
# Words of ECMAScript and of Python that no datum may be called; the rest hold capitals.
_RESERVED_WORDS = (
    "and as assert async await break case catch class const continue def default del delete do "
    "elif else enum except export extends false finally for from function global if import in "
    "instanceof is lambda let new nonlocal not null or package pass private protected public "
    "raise return static super switch this throw true try typeof var void while with yield "
    "event machine model"
)
_RESERVED = frozenset(_RESERVED_WORDS.split())


class ScxmlError(TrainerError):
    """A chart with names that SCXML can't have."""


def to_scxml(chart: ChartSpec, name: str = "") -> str:
    """Return the chart as an SCXML document, a text that ends with a newline.

    Args:
        chart: A specialised chart.
        name: Name of the document, for instance the installation's id; the chart's id if empty.

    Raises:
        ScxmlError: A name isn't lower-case letters, digits and underscores, is a reserved word,
            or stands for two things.
    """
    _check_names(chart)
    top = ElementTree.Element(
        "scxml",
        {
            "xmlns": SCXML_NAMESPACE, "xmlns:mode": OWN_NAMESPACE, "version": "1.0",
            "name": name or chart.id, "datamodel": "ecmascript", "initial": ROOT,
            "mode:label": chart.title,
        },
    )  # fmt: skip
    datamodel = ElementTree.SubElement(top, "datamodel")
    for signal in chart.signals.values():
        ElementTree.SubElement(
            datamodel, "data", {"id": signal.id, "expr": "0", "mode:label": signal.label}
        )
    logic = ElementTree.SubElement(top, "parallel", {"id": ROOT})
    for region in chart.regions.values():
        _region(logic, region, chart)
    _signals(logic, chart)
    ElementTree.indent(top)
    body = ElementTree.tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def _region(parent: ElementTree.Element, region: RegionSpec, chart: ChartSpec) -> None:
    element = ElementTree.SubElement(
        parent,
        "state",
        {
            "id": region.id, "initial": state_id(region.id, region.initial),
            "mode:label": region.label, "mode:kind": region.kind,
        },
    )  # fmt: skip
    rules = [rule for rule in ordered_rules(chart.rules) if rule.region == region.id]
    for state in region.states.values():
        inner = ElementTree.SubElement(element, "state", _state_attributes(region, state))
        for rule in rules:
            if state.id in rule.sources:
                for attributes in _transitions(rule, state, chart):
                    ElementTree.SubElement(inner, "transition", attributes)


def _state_attributes(region: RegionSpec, state: StateSpec) -> dict[str, str]:
    attributes = {"id": state_id(region.id, state.id), "mode:label": state.label}
    if state.enter:
        attributes["mode:enter"] = " ".join(state.enter)
    return attributes


def _transitions(rule: RuleSpec, source: StateSpec, chart: ChartSpec) -> Iterator[dict[str, str]]:
    """Yield the attributes of a rule's transitions: one for each set of refusals of its events."""
    states = {region.id: tuple(region.states) for region in chart.regions.values()}
    for events, refusals in _by_refusals(rule, chart):
        guard = refused_by([chart.refusals[one].guard for one in refusals], rule.guard)
        attributes = {"event": " ".join(events)} if events else {}
        cond = condition(guard, states)
        if cond == NEVER:
            continue
        if cond:
            attributes["cond"] = cond
        if rule.target != source.id:
            attributes["target"] = state_id(rule.region, rule.target)
        attributes |= {"mode:rule": rule.id, "mode:by": rule.by, "mode:because": rule.because}
        if rule.effects:
            attributes["mode:effects"] = " ".join(rule.effects)
        if refusals:
            attributes["mode:unless_refused"] = " ".join(refusals)
        yield attributes


def _by_refusals(rule: RuleSpec, chart: ChartSpec) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return (events, refusals that stand against each of them) of a rule."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for event in rule.events:
        against = tuple(one.id for one in chart.refusals.values() if event in one.events)
        groups.setdefault(against, []).append(event)
    if not rule.events:
        return [((), ())]
    return [(tuple(events), against) for against, events in groups.items()]


def _signals(parent: ElementTree.Element, chart: ChartSpec) -> None:
    """Add the state that lets events change the signals, which needs no host program."""
    element = ElementTree.SubElement(parent, "state", {"id": SIGNALS, "mode:label": "Signals"})
    for signal in chart.signals:
        for word, value in (("true", "1"), ("false", "0")):
            event = f"{SIGNAL_EVENT}.{signal}.{word}"
            transition = ElementTree.SubElement(element, "transition", {"event": event})
            ElementTree.SubElement(transition, "assign", {"location": signal, "expr": value})


def _check_names(chart: ChartSpec) -> None:
    regions = chart.regions.values()
    ids = [*chart.regions, *chart.signals]
    names = [*ids, *chart.events, *(state for region in regions for state in region.states)]
    wrong = sorted({name for name in names if not _NAME.match(name)})
    if wrong:
        accepted = "lower-case letters, digits and underscores, a letter first"
        raise ScxmlError(f"no names for SCXML: {', '.join(wrong)}; accepted: {accepted}")
    reserved = sorted(set(chart.signals) & _RESERVED)
    if reserved:
        raise ScxmlError(f"signals with reserved words for names: {', '.join(reserved)}")
    twice = sorted({name for name in ids if [*ids, ROOT, SIGNALS].count(name) > 1})
    if twice:
        raise ScxmlError(f"region and signal names must differ from each other: {', '.join(twice)}")
    if SIGNAL_EVENT in chart.events:
        raise ScxmlError(f"no event may be called '{SIGNAL_EVENT}': it would match all signals")
