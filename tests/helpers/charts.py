"""Reads the table of behaviour cases and runs a case on a chart; makes physically possible signals.

Cases say what the rulebook asks for in its own words (options, modes, signals, keys); nothing here
knows a rule by its id.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from trainer.charts.conflicts import signal_constraints
from trainer.charts.guard import Configuration
from trainer.charts.kernel import Firing, Microstep, Outcome, UnknownEventError
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import specialise
from trainer.errors import TrainerError
from trainer.resources import resource_folder

STATECHARTS = resource_folder("statecharts")
CASES_PATH = Path(__file__).parents[1] / "unit" / "charts" / "rulebook_cases.yaml"

HEALTHY = (
    "self_test_passed", "electrical_ok", "servo_ok", "attitude_valid", "bank_allows_engagement",
    "pitch_allows_engagement", "engagement_height_reached", "airspeed_above_lowest",
    "airspeed_below_highest",
)  # fmt: skip
"""Signals that are true in every case unless it says otherwise: nothing is wrong."""

GROUPS = {
    "approach_usable": ("course_signal_valid", "source_is_approach"),
    "precision_usable": (
        "course_signal_valid",
        "source_is_approach",
        "source_has_glidepath",
        "glidepath_signal_valid",
    ),
}
"""Words of the cases for several signals at once."""

_AXES = ("engagement", "lateral", "vertical")
_KEYS = {
    "name", "section", "options", "with", "from", "event", "become", "to", "refused", "does", "by",
    "no_such_key", "for_each", "disagrees", "through",
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One behaviour: in this state, with these signals, on this event, that follows.

    `to` None: the same configuration as before, and unless `refused`, no rule fires.
    """

    name: str
    section: int
    options: dict[str, str]
    before: frozenset[str]
    after: frozenset[str]
    start: tuple[str, ...]
    event: str
    to: tuple[str, ...] | None
    refused: str = ""
    does: tuple[str, ...] | None = None
    by: dict[str, str] = field(default_factory=dict)
    no_such_key: bool = False
    disagrees: str = ""
    through: tuple[str, ...] = ()
    """Regions that may leave a state and be in it again before all comes to rest."""


@cache
def generic_chart() -> ChartSpec:
    """Return the shipped generic chart."""
    return load_chart(STATECHARTS / "generic.yaml")


def default_options(chart: ChartSpec) -> dict[str, str]:
    """Return the default choice of every option."""
    return {option.id: option.default for option in chart.options.values()}


def chosen_options(chart: ChartSpec, chosen: Mapping[str, str]) -> dict[str, str]:
    """Return the default choices with some of them changed; unknown ones are an error."""
    for name, choice in chosen.items():
        if choice not in chart.options[name].choices:
            raise KeyError(f"{name}: {choice}")
    return {**default_options(chart), **chosen}


def machine_for(chart: ChartSpec, chosen: Mapping[str, str] | None = None) -> ModeMachine:
    """Return the machine of a chart under the default options, some of them changed."""
    return ModeMachine(specialise(chart, chosen_options(chart, chosen or {})))


def states_of(words: Iterable[str], chart: ChartSpec) -> dict[str, str]:
    """Return region -> state for the words of a case.

    The first three are engagement, lateral and vertical (`off` alone: nothing is on); then the name
    of an armed region, or `region=state`.
    """
    named = list(words)
    states = {"system": "ready"}
    if named and named[0] == "off":
        named.pop(0)
    else:
        for region in _AXES:
            states[region] = named.pop(0)
    for word in named:
        region, _, state = word.partition("=")
        states[region] = state or "armed"
    for region, state in states.items():
        assert state in chart.regions[region].states, f"no state {state} in {region}"
    return states


def change_signals(signals: Iterable[str], words: Iterable[str]) -> frozenset[str]:
    """Return the true signals after words such as `altitude_distant` or `-servo_ok`."""
    true = set(signals)
    for word in words:
        name = word.removeprefix("-")
        for one in GROUPS.get(name, (name,)):
            (true.discard if word.startswith("-") else true.add)(one)
    return frozenset(true)


def is_possible(chart: ChartSpec, true: Iterable[str]) -> bool:
    """True if the physical constraints of the chart allow these signals together."""
    implies, excludes = signal_constraints(chart)
    found = set(true)
    return all(implies[one] <= found and not excludes[one] & found for one in found)


def make_possible(chart: ChartSpec, true: Iterable[str]) -> frozenset[str]:
    """Return the signals with those removed that the physical constraints forbid."""
    implies, excludes = signal_constraints(chart)
    found = set(true)
    for name in chart.signals:
        if name in found and (excludes[name] & found or not implies[name] <= found):
            found.discard(name)
    for _ in chart.signals:
        found -= {one for one in found if not implies[one] <= found}
    return frozenset(found)


def read_cases(path: Path = CASES_PATH) -> list[Case]:
    """Return all cases of the table, those with `for_each` written out."""
    data = YAML(typ="safe", pure=True).load(path.read_text("utf-8"))
    return [_case(one) for entry in data["cases"] for one in _expand(entry)]


def _expand(entry: dict[str, Any]) -> Iterator[dict[str, Any]]:
    unknown = set(entry) - _KEYS
    assert not unknown, f"{entry.get('name')}: unknown keys {unknown}"
    each = entry.get("for_each")
    if not each:
        yield entry
        return
    ((word, values),) = each.items()
    for value in values:
        one = {key: _replace(part, word, value) for key, part in entry.items() if key != "for_each"}
        shown = value if isinstance(value, str) else ", ".join(value)
        yield {**one, "name": f"{entry['name']}: {shown.replace('_', ' ')}"}


def _replace(part: Any, word: str, value: Any) -> Any:
    if part == word:
        return value
    if isinstance(part, list):
        found: list[Any] = []
        for one in part:
            new = _replace(one, word, value)
            found.extend(new) if one == word and isinstance(new, list) else found.append(new)
        return found
    if isinstance(part, dict):
        return {key: _replace(one, word, value) for key, one in part.items()}
    return part


def _case(entry: dict[str, Any]) -> Case:
    before = change_signals(HEALTHY, entry.get("with", ()))
    to = entry.get("to")
    does = entry.get("does")
    return Case(
        entry["name"], entry["section"], dict(entry.get("options", {})), before,
        change_signals(before, entry.get("become", ())), tuple(entry["from"]),
        entry.get("event", ""), None if to is None else tuple(to), entry.get("refused", ""),
        None if does is None else tuple(does), dict(entry.get("by", {})),
        bool(entry.get("no_such_key", False)), entry.get("disagrees", ""),
        tuple(entry.get("through", ())),
    )  # fmt: skip


def run_case(case: Case, machine: ModeMachine) -> str:
    """Return what is wrong, or an empty text if the machine does what the case says."""
    chart = machine.chart
    try:
        start = machine.configuration(states_of(case.start, chart))
        before, after = machine.bits(case.before), machine.bits(case.after)
        rest = machine.settle(start, before)
        if rest.microsteps:
            return f"not at rest at first: {_shown(machine, rest)}"
        outcome = run_event(machine, start, after, case.event)
        wanted = machine.configuration(states_of(case.to or case.start, chart))
    except UnknownEventError as error:
        return "" if case.no_such_key else str(error)
    except TrainerError as error:
        return str(error)
    return _difference(case, machine, outcome, wanted)


def run_event(machine: ModeMachine, start: tuple[str, ...], bits: int, event: str) -> Outcome:
    """Return what an event does; without one, what the signals alone do.

    A selector changes signals and raises its event in one act, so nothing settles in between.
    """
    if not event:
        return machine.settle(start, bits)
    spec = machine.chart.events.get(event)
    return machine.send(start, bits, event, settle_first=spec is None or not spec.changes)


def microstep(
    machine: ModeMachine, configuration: Configuration, bits: int, event: str
) -> tuple[Configuration, tuple[Firing, ...]]:
    """Let the library itself fire every region of a machine once, whatever the kernel decides."""
    step = Microstep(event, machine.kernel.pack(configuration), ())
    fired = [machine.fire(index, state, step, bits) for index, state in enumerate(configuration)]
    after = tuple(
        state if firing is None else firing.entered
        for state, firing in zip(configuration, fired, strict=True)
    )
    return after, tuple(firing for firing in fired if firing is not None)


def _difference(case: Case, machine: ModeMachine, outcome: Outcome, wanted: tuple[str, ...]) -> str:
    if case.no_such_key:
        return "there is such a key"
    if outcome.configuration != wanted:
        return f"{_shown(machine, outcome)}; wanted {_words(machine, wanted)}"
    reason = outcome.refusal.reason if outcome.refusal is not None else ""
    if reason != case.refused:
        return f"refused with '{reason}', wanted '{case.refused}'"
    if case.to is None and outcome.firings:
        return f"something happened: {_shown(machine, outcome)}"
    if case.does is not None and sorted(case.does) != sorted(effects_of(machine, outcome)):
        return f"effects {sorted(effects_of(machine, outcome))}, wanted {sorted(case.does)}"
    flickers = [region for region in flickering(outcome) if region not in case.through]
    if flickers:
        return f"{', '.join(flickers)} left and came back: {_shown(machine, outcome)}"
    causes = {firing.rule.region: firing.rule.by for firing in outcome.firings}
    for region, by in case.by.items():
        if causes.get(region) != by:
            return f"{region} changed by {causes.get(region)}, wanted {by}"
    return ""


def flickering(outcome: Outcome) -> list[str]:
    """Return the regions that left a state and were in it again before all came to rest."""
    first: dict[str, str] = {}
    last: dict[str, str] = {}
    moved: set[str] = set()
    for firing in outcome.firings:
        first.setdefault(firing.rule.region, firing.left)
        last[firing.rule.region] = firing.entered
        if firing.left != firing.entered:
            moved.add(firing.rule.region)
    return [region for region in first if region in moved and first[region] == last[region]]


def effects_of(machine: ModeMachine, outcome: Outcome) -> list[str]:
    """Return the effects on references, of states entered and of rules."""
    found: list[str] = []
    for firing in outcome.firings:
        if firing.left != firing.entered:
            found.extend(machine.chart.regions[firing.rule.region].states[firing.entered].enter)
        found.extend(firing.rule.effects)
    return found


def _words(machine: ModeMachine, configuration: tuple[str, ...]) -> str:
    pairs = zip(machine.region_ids, configuration, strict=True)
    changed = [f"{r}={s}" for r, s in pairs if s != machine.chart.regions[r].initial]
    return ", ".join(changed)


def _shown(machine: ModeMachine, outcome: Outcome) -> str:
    rules = ", ".join(firing.rule.id for firing in outcome.firings)
    refused = f", refused: {outcome.refusal.id}" if outcome.refusal is not None else ""
    return f"{_words(machine, outcome.configuration)} by [{rules}]{refused}"
