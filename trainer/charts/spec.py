"""A mode-logic chart as frozen values: what the file says, every name resolved.

No file reading and no execution here: `loader` builds these, `machine` runs them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from trainer.charts.installation import Installation

RegionKind = Literal["active", "armed", "engagement", "alert", "protection", "internal"]
RuleCause = Literal["pilot", "automatic", "reversion"]

OptionNeeds = tuple[tuple[str, tuple[str, ...]], ...]
"""Options a part of the chart needs: (option, accepted choices), all of them."""


@dataclass(frozen=True, slots=True)
class Signal:
    """A guard's leaf: a named signal is true."""

    name: str


@dataclass(frozen=True, slots=True)
class In:
    """A guard's leaf: a region is in one of some states."""

    region: str
    states: frozenset[str]


@dataclass(frozen=True, slots=True)
class Not:
    """A guard that holds when its part doesn't."""

    part: Guard


@dataclass(frozen=True, slots=True)
class All:
    """A guard that holds when every part does; empty: always."""

    parts: tuple[Guard, ...] = ()


@dataclass(frozen=True, slots=True)
class Any:
    """A guard that holds when some part does; empty: never."""

    parts: tuple[Guard, ...] = ()


Guard = Signal | In | Not | All | Any
ALWAYS = All()


@dataclass(frozen=True, slots=True)
class StateSpec:
    """A state of a region. `label` is the whole word; `short` fits a narrow cell."""

    id: str
    label: str
    short: str
    enter: tuple[str, ...] = ()
    """Effects on references when the state is entered."""
    shown_as: str = ""
    """Word that replaces the engagement on the strip while this state is active."""
    needs: OptionNeeds = ()
    line: int = 0


@dataclass(frozen=True, slots=True)
class RegionSpec:
    """A region: one of its states is active at any time."""

    id: str
    label: str
    kind: RegionKind
    axis: Literal["lateral", "vertical", "none"]
    initial: str
    states: dict[str, StateSpec]
    arms: str = ""
    """For an armed region: the mode that it arms."""
    needs: OptionNeeds = ()
    line: int = 0


@dataclass(frozen=True, slots=True)
class EventSpec:
    """Something that happens: a key, a selector turned, or the world."""

    id: str
    label: str
    kind: Literal["key", "selector", "world"]
    group: Literal["engagement", "lateral", "vertical", "both", "reference"]
    needs: OptionNeeds = ()
    changes: tuple[str, ...] = ()
    """For a selector: signals that turning it may change in the same act."""
    line: int = 0


@dataclass(frozen=True, slots=True)
class Threshold:
    """A number of a signal: written out, or a limit of the installation plus an offset."""

    value: float = 0.0
    limit: str = ""
    plus: float = 0.0

    def of(self, installation: Installation) -> float:
        """Return the number in an installation, in the unit of the signal's quantity.

        Example:
            >>> from trainer.charts.installation import load_installation
            >>> from trainer.resources import resource_folder
            >>> charts = resource_folder("statecharts")
            >>> amber = load_installation(charts / "installations" / "ship_amber.yaml", charts)
            >>> limit = amber.limit("bank_limit_deg").value
            >>> Threshold(limit="bank_limit_deg", plus=5.0).of(amber) - limit
            5.0
        """
        return installation.limit(self.limit).value + self.plus if self.limit else self.value


@dataclass(frozen=True, slots=True)
class SignalSpec:
    """A true/false condition on the flight, with hysteresis.

    `sense` `true`: a boolean quantity. `above`: true at or above `on`, false below `off`.
    `below`: true at or below `on`, false above `off`.
    """

    id: str
    label: str
    quantity: str
    sense: Literal["true", "above", "below"]
    on: Threshold = Threshold()
    off: Threshold = Threshold()
    implies: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    line: int = 0


@dataclass(frozen=True, slots=True)
class OptionSpec:
    """A question about the aircraft's own logic."""

    id: str
    question: str
    choices: dict[str, str]
    """Choice -> its consequence in one sentence."""
    default: str
    section: int
    line: int = 0


@dataclass(frozen=True, slots=True)
class LimitSpec:
    """A number that an installation sets."""

    id: str
    label: str
    unit: str
    default: float
    low: float
    high: float
    line: int = 0


@dataclass(frozen=True, slots=True)
class Reason:
    """The sentence for one of several causes that a rule can have.

    `events` empty: whatever it answered. The guard is read as the rule's own: before it fired.
    """

    events: tuple[str, ...]
    guard: Guard
    says: str
    line: int = 0


@dataclass(frozen=True, slots=True)
class RuleSpec:
    """One rule: in these states, on this event, if the guard holds, go there.

    `events` empty: automatic. `target` equal to the source: only effects happen.
    """

    id: str
    region: str
    events: tuple[str, ...]
    sources: tuple[str, ...]
    target: str
    guard: Guard
    because: str
    source: str
    by: RuleCause
    section: int
    effects: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    needs: OptionNeeds = ()
    line: int = 0
    reasons: tuple[Reason, ...] = ()
    """Instead of `because` after it has fired: the first whose cause was so."""
    competency: str = ""
    """For what an answer about it counts; empty only in a rule that no chart file has, as one that
    somebody believes in."""
    critical: str = ""
    """Group of `CRITICAL_GROUPS` that a wrong answer about it belongs to, or empty."""


@dataclass(frozen=True, slots=True)
class RefusalSpec:
    """A pilot's event that isn't accepted while the guard holds."""

    id: str
    events: tuple[str, ...]
    guard: Guard
    reason: str
    because: str
    source: str
    section: int
    needs: OptionNeeds = ()
    line: int = 0
    reasons: tuple[Reason, ...] = ()
    """Instead of `because` after it has refused: the first whose cause was so."""
    competency: str = ""
    """As for a rule."""
    critical: str = ""
    """As for a rule."""


@dataclass(frozen=True, slots=True)
class InvariantSpec:
    """A property of every settled configuration: `if_` holds, then `then` holds."""

    id: str
    sentence: str
    if_: Guard
    then: Guard
    source: str
    needs: OptionNeeds = ()
    line: int = 0


@dataclass(frozen=True, slots=True)
class ChartSpec:
    """A whole chart. Dictionaries keep the order of the file and aren't changed after loading."""

    id: str
    title: str
    path: str
    regions: dict[str, RegionSpec]
    events: dict[str, EventSpec]
    signals: dict[str, SignalSpec]
    options: dict[str, OptionSpec]
    limits: dict[str, LimitSpec]
    rules: dict[str, RuleSpec]
    refusals: dict[str, RefusalSpec]
    invariants: dict[str, InvariantSpec] = field(default_factory=dict)
    conditions: dict[str, Guard] = field(default_factory=dict)
    competencies: tuple[str, ...] = ()
    """Ids that its rules and refusals may name."""

    @property
    def rules_and_refusals(self) -> dict[str, RuleSpec | RefusalSpec]:
        """All that answers an event or acts by itself, by id; no two have one id."""
        return {**self.rules, **self.refusals}

    def mode_label(self, mode: str) -> str:
        """Return the whole words for a state id of any region, or the id with spaces."""
        for region in self.regions.values():
            for state in region.states.values():
                if mode in (state.id, state.shown_as):
                    return state.label
        return mode.replace("_", " ")
