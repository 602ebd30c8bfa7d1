"""Two rules that could fire together must have an order, or the chart doesn't load.

Decided from the file alone: same region, a common event (or both automatic), a common source
state, options that can be chosen together, and guards that some configuration with physically
possible signals satisfies at once.
"""

from __future__ import annotations

from itertools import combinations

from trainer.charts.guard import can_hold_together
from trainer.charts.spec import ChartSpec, OptionNeeds, RuleSpec
from trainer.errors import FileError, FileProblem


def order_closure(rules: dict[str, RuleSpec]) -> dict[str, frozenset[str]]:
    """Return for each rule the rules that it comes before, directly or through others."""
    closure: dict[str, frozenset[str]] = {}
    for rule_id in rules:
        found: set[str] = set()
        waiting = [rule_id]
        while waiting:
            later = {name for name in rules[waiting.pop()].before if name in rules} - found
            found |= later
            waiting.extend(later)
        closure[rule_id] = frozenset(found)
    return closure


def ordered_rules(rules: dict[str, RuleSpec]) -> list[RuleSpec]:
    """Return the rules so that each comes before those named in its `before`; else file order."""
    done: dict[str, RuleSpec] = {}
    earlier: dict[str, list[str]] = {rule_id: [] for rule_id in rules}
    for rule in rules.values():
        for later in rule.before:
            if later in earlier:
                earlier[later].append(rule.id)

    for rule_id in rules:
        path = [(rule_id, iter(earlier[rule_id]))]
        while path:
            name, left = path[-1]
            first = next((one for one in left if one not in done), None)
            if first is not None:
                path.append((first, iter(earlier[first])))
            else:
                done.setdefault(name, rules[name])
                path.pop()
    return list(done.values())


def options_compatible(left: OptionNeeds, right: OptionNeeds) -> bool:
    """Return True if one installation can meet both needs."""
    wanted = dict(left)
    return all(set(wanted.get(name, choices)) & set(choices) for name, choices in right)


def signal_constraints(
    chart: ChartSpec,
) -> tuple[dict[str, frozenset[str]], dict[str, frozenset[str]]]:
    """Return (implies, excludes) of the signals: implication closed, exclusion symmetric."""
    implies = {name: set(spec.implies) for name, spec in chart.signals.items()}
    size = -1
    while size != sum(map(len, implies.values())):
        size = sum(map(len, implies.values()))
        for found in implies.values():
            found.update(*[implies[name] for name in found])
    excludes: dict[str, set[str]] = {name: set() for name in chart.signals}
    for name, spec in chart.signals.items():
        for other in spec.excludes:
            excludes[name].add(other)
            excludes[other].add(name)
    return (
        {name: frozenset(found) for name, found in implies.items()},
        {name: frozenset(found) for name, found in excludes.items()},
    )


def check_conflicts(chart: ChartSpec) -> None:
    """Raise FileError for every pair of rules that could fire together without an order."""
    closure = order_closure(chart.rules)
    states = {region.id: frozenset(region.states) for region in chart.regions.values()}
    implies, excludes = signal_constraints(chart)
    problems = [
        FileProblem(chart.path, rule.line, 1, f"rule '{rule.id}' comes before itself", "no circle")
        for rule in chart.rules.values()
        if rule.id in closure[rule.id]
    ]
    for left, right in combinations(chart.rules.values(), 2):
        if left.region != right.region or not set(left.sources) & set(right.sources):
            continue
        if bool(left.events) != bool(right.events):
            continue
        if left.events and not set(left.events) & set(right.events):
            continue
        if right.id in closure[left.id] or left.id in closure[right.id]:
            continue
        if not options_compatible(left.needs, right.needs):
            continue
        if can_hold_together((left.guard, right.guard), states, implies, excludes):
            found = f"rules '{left.id}' and '{right.id}' (line {right.line}) can fire together"
            accepted = f"'before: [{right.id}]' in one of them, or guards that exclude each other"
            problems.append(FileProblem(chart.path, left.line, 1, found, accepted))
    if problems:
        raise FileError(problems)
