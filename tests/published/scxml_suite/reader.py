"""A small SCXML reader and interpreter of its own, for reading back what the program exports.

Written from the W3C algorithm for one parallel state of flat regions: eventless transitions come
first, of a state's enabled transitions the first in document order is taken, and all regions
choose on the configuration before the step. Shares nothing with the program but the text.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

NS = "{http://www.w3.org/2005/07/scxml}"
OWN = "{urn:mode-logic-trainer:chart}"
_TOKEN = re.compile(r"\s*(In\('([\w.]+)'\)|==|&&|\|\||\(|\)|[a-z_][a-z0-9_]*|[01])")

Active = frozenset[str]
Data = Mapping[str, int]
Condition = Callable[[Active, Data], bool]


class BadConditionError(Exception):
    """A condition outside the small language that the program promises."""


def parse_condition(text: str) -> Condition:
    """Return a condition as a function; raises BadConditionError."""
    tokens: list[str] = []
    at = 0
    while at < len(text.rstrip()):
        match = _TOKEN.match(text, at)
        if match is None:
            raise BadConditionError(f"{text!r} at {at}")
        tokens.append(match.group(1))
        at = match.end()
    condition, rest = _either(tokens)
    if rest:
        raise BadConditionError(f"{text!r}: left over {rest}")
    return condition


def _either(tokens: list[str]) -> tuple[Condition, list[str]]:
    left, rest = _both(tokens)
    parts = [left]
    while rest[:1] == ["||"]:
        right, rest = _both(rest[1:])
        parts.append(right)
    return (lambda active, data: any(p(active, data) for p in parts)), rest


def _both(tokens: list[str]) -> tuple[Condition, list[str]]:
    left, rest = _atom(tokens)
    parts = [left]
    while rest[:1] == ["&&"]:
        right, rest = _atom(rest[1:])
        parts.append(right)
    return (lambda active, data: all(p(active, data) for p in parts)), rest


def _atom(tokens: list[str]) -> tuple[Condition, list[str]]:
    if not tokens:
        raise BadConditionError("nothing where a condition should be")
    first, rest = tokens[0], tokens[1:]
    if first == "(":
        inner, rest = _either(rest)
        if rest[:1] != [")"]:
            raise BadConditionError("a bracket isn't closed")
        return inner, rest[1:]
    if first.startswith("In("):
        state = first[4:-2]
        if rest[:1] == ["=="]:
            if rest[1:2] != ["false"]:
                raise BadConditionError(f"{first} == {rest[1:2]}")
            return (lambda active, _data: state not in active), rest[2:]
        return (lambda active, _data: state in active), rest
    if re.fullmatch(r"[a-z_]\w*", first) and rest[:1] == ["=="] and rest[1:2] in (["0"], ["1"]):
        value = int(rest[1])
        return (lambda _active, data: data[first] == value), rest[2:]
    raise BadConditionError(f"{tokens[:3]}")


@dataclass(frozen=True)
class Transition:
    """A transition as it stands in the document."""

    events: tuple[str, ...]
    condition: Condition
    target: str
    rule: str
    assigns: tuple[tuple[str, int], ...]


class Document:
    """An SCXML document of one parallel state, as read."""

    def __init__(self, text: str) -> None:
        top = ElementTree.fromstring(text)
        assert top.tag == NS + "scxml"
        self.top = top
        self.data = {e.attrib["id"]: int(e.attrib["expr"]) for e in top.iter(NS + "data")}
        logic = top.find(NS + "parallel")
        assert logic is not None
        assert top.attrib["initial"] == logic.attrib["id"]
        self.regions = logic.findall(NS + "state")
        self.transitions = {
            state.attrib["id"]: [_transition(e) for e in state.findall(NS + "transition")]
            for state in logic.iter(NS + "state")
        }
        self.initial = tuple(r.attrib.get("initial", r.attrib["id"]) for r in self.regions)

    def settle(
        self, active: tuple[str, ...], data: dict[str, int]
    ) -> tuple[tuple[str, ...], list[str]]:
        """Take eventless transitions until none is enabled; return (active, rules taken)."""
        taken: list[str] = []
        for _ in range(100):
            active, now = self._microstep(active, data, "")
            if not now:
                return active, taken
            taken += now
        raise AssertionError("the document doesn't settle")

    def send(
        self, active: tuple[str, ...], data: dict[str, int], event: str
    ) -> tuple[tuple[str, ...], list[str]]:
        """Settle, take an event, settle; `data` changes in place."""
        active, first = self.settle(active, data)
        active, now = self._microstep(active, data, event)
        active, last = self.settle(active, data)
        return active, [*first, *now, *last]

    def _microstep(
        self, active: tuple[str, ...], data: dict[str, int], event: str
    ) -> tuple[tuple[str, ...], list[str]]:
        inside = frozenset(active) | {r.attrib["id"] for r in self.regions}
        chosen = [self._choose(state, inside, data, event) for state in active]
        after = []
        for state, transition in zip(active, chosen, strict=True):
            after.append(transition.target if transition and transition.target else state)
            if transition:
                data.update(transition.assigns)
        return tuple(after), [t.rule for t in chosen if t]

    def _choose(self, state: str, inside: Active, data: Data, event: str) -> Transition | None:
        for transition in self.transitions[state]:
            matches = event in transition.events if event else not transition.events
            if matches and transition.condition(inside, data):
                return transition
        return None


def _transition(element: ElementTree.Element) -> Transition:
    cond = element.attrib.get("cond")
    return Transition(
        tuple(element.attrib.get("event", "").split()),
        parse_condition(cond) if cond else lambda _active, _data: True,
        element.attrib.get("target", ""),
        element.attrib.get(OWN + "rule", ""),
        tuple((a.attrib["location"], int(a.attrib["expr"])) for a in element.iter(NS + "assign")),
    )
