"""Reads the guards of a chart file and resolves every name in them.

Grammar of `when`: a list, all of whose entries must hold. An entry is `signal`, `not signal`,
`condition`, `not condition`, or a mapping with one key: `any: [...]`, `all: [...]`, `not: [...]`,
`in: {region: [states]}`, `not_in: {region: [states]}`.
"""

from __future__ import annotations

from collections.abc import Mapping as MappingType

from trainer.charts.guard import size_of
from trainer.charts.spec import (
    All,
    Any,
    Guard,
    In,
    Not,
    OptionNeeds,
    OptionSpec,
    RegionSpec,
    Signal,
)
from trainer.document import Mapping, near

MAXIMUM_PARTS = 200
MAXIMUM_WAYS = 500
"""The chart that comes with the program has at most 11 parts and 33 ways."""
_FORMS = ("any", "all", "not", "in", "not_in")


class GuardReader:
    """Reads guards against the names known so far."""

    def __init__(
        self,
        regions: dict[str, RegionSpec],
        signals: frozenset[str],
        conditions: dict[str, Guard],
    ) -> None:
        self.regions = regions
        self._signals = signals
        self._conditions = conditions

    def read(self, mapping: Mapping) -> Guard:
        """Return the guard of a rule: its `in`, `not_in` and `when` together."""
        parts: list[Guard] = []
        if mapping.has("in"):
            parts.append(self._in(mapping, "in"))
        if mapping.has("not_in"):
            parts.append(Not(self._in(mapping, "not_in")))
        if mapping.has("when"):
            parts.extend(self._entries(mapping, "when"))
        return _bounded(parts[0] if len(parts) == 1 else All(tuple(parts)), mapping)

    def read_list(self, mapping: Mapping, key: str) -> Guard:
        """Return the guard written as a list under `key`."""
        return _bounded(All(self._entries(mapping, key)), mapping)

    def _entries(self, mapping: Mapping, key: str) -> tuple[Guard, ...]:
        found: list[Guard] = []
        for entry in mapping.items(key):
            if isinstance(entry, str):
                found.append(self._name(entry, mapping, key))
            else:
                found.append(self._form(entry))
        return tuple(found)

    def _name(self, text: str, mapping: Mapping, key: str) -> Guard:
        name = text.removeprefix("not ").strip()
        guard: Guard
        if name in self._signals:
            guard = Signal(name)
        elif name in self._conditions:
            guard = self._conditions[name]
        else:
            accepted = near(name, sorted(self._signals) + sorted(self._conditions))
            mapping.problem(f"'{name}' is no signal or condition", accepted, key=key)
            guard = All()
        return Not(guard) if text.startswith("not ") else guard

    def _form(self, entry: Mapping) -> Guard:
        keys = entry.keys()
        if len(keys) != 1 or keys[0] not in _FORMS:
            entry.problem(f"a guard with keys {', '.join(keys)}", "one of " + ", ".join(_FORMS))
            return All()
        match keys[0]:
            case "any":
                return Any(self._entries(entry, "any"))
            case "all":
                return All(self._entries(entry, "all"))
            case "not":
                return Not(All(self._entries(entry, "not")))
            case "in":
                return self._in(entry, "in")
            case _:
                return Not(self._in(entry, "not_in"))

    def _in(self, mapping: Mapping, key: str) -> Guard:
        inner = mapping.mapping(key)
        parts: list[Guard] = []
        for region_id in inner.keys() if inner else ():
            assert inner is not None
            region = self.regions.get(region_id)
            if region is None:
                inner.texts(region_id)
                inner.problem(
                    f"'{region_id}' is no region", near(region_id, self.regions), key=region_id
                )
                continue
            states = inner.texts(region_id, choices=region.states)
            parts.append(In(region_id, frozenset(states)))
        return parts[0] if len(parts) == 1 else All(tuple(parts))


def _bounded(guard: Guard, mapping: Mapping) -> Guard:
    """Refuse a guard that would take for ever to decide, as named conditions can make one."""
    size = size_of(guard)
    if size.parts <= MAXIMUM_PARTS and max(size.ways, size.ways_not) <= MAXIMUM_WAYS:
        return guard
    mapping.problem(
        f"a guard of {size.parts} parts that can hold in {size.ways} ways",
        f"at most {MAXIMUM_PARTS} parts and {MAXIMUM_WAYS} ways, conditions written out",
    )
    return All()


def read_needs(entry: Mapping, options: MappingType[str, OptionSpec]) -> OptionNeeds:
    """Return the options named under `option`, none if there are none; problems are noted."""
    inner = entry.mapping("option", None)
    found: list[tuple[str, tuple[str, ...]]] = []
    for name in inner.keys() if inner else ():
        assert inner is not None
        if name not in options:
            inner.texts(name)
            inner.problem(f"'{name}' is no option", near(name, options), key=name)
            continue
        found.append((name, inner.texts(name, choices=options[name].choices)))
    return tuple(found)
