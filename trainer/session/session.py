"""A session: chart, aircraft and clock, running. Steps in, records of what happened out.

The annunciation is only ever that of a settled configuration. A fork is independent and starts
with an empty trace, so that it can run ahead without touching the original.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.kernel import Outcome
from trainer.charts.reason import reason_of
from trainer.flight import FlightModel, References
from trainer.session.annunciation import Annunciation, changed_cells
from trainer.session.effects import EFFECT_FUNCTIONS
from trainer.session.faults import STUCK, apply_fault, slipped
from trainer.session.logic import Logic
from trainer.session.marks import commanded_cells
from trainer.session.record import Cause, FiredRule, Refusal, StepRecord
from trainer.session.selectors import apply_selection
from trainer.session.trace import Trace

STEP_S = 0.05
"""The one step of the simulation [s]: the same inputs give the same trace, bit for bit."""

_MAXIMUM_RESETTLES = 10


@dataclass(frozen=True, slots=True)
class Untaken:
    """A press or a turn that didn't do what was asked."""

    what: str
    """A key's event or a selector's name."""
    t_s: float
    can_be_seen: bool
    """True if it would have changed something that the trainee sees."""


class Session:
    """Runs one installation's logic on one flight.

    Attributes:
        logic: What the installation shares among sessions.
        flight: The flight; the session writes its modes and references.
        configuration: The settled configuration.
        bits: The signals of the last evaluation.
        marks: Cells that changed by themselves -> seconds for which they stay marked.
        along: The same of cells that changed in the moment of a key that didn't ask for it.
        untaken: The latest press or turn that a stuck key or selector didn't take as asked.

    Example:
        >>> from trainer.app import Workspace
        >>> from trainer.flight.types import InitialCondition
        >>> from trainer.session.situation import Start
        >>> start = Start(InitialCondition(3000.0, 90.0, 105.0))
        >>> session = Workspace().begin("ship_amber", start)
        >>> session.press("autopilot").after.engagement
        'autopilot'
        >>> session.press("heading_select").after.lateral.active
        'heading_select'
        >>> ahead = session.fork()
        >>> ahead.press("disconnect").after.alert, session.annunciation.alert
        ('disconnect_sounding', 'quiet')
    """

    __slots__ = (
        "_along", "_marks", "_stuck", "annunciation", "bits", "configuration", "flight", "logic",
        "powered_s", "trace", "untaken",
    )  # fmt: skip

    def __init__(
        self, logic: Logic, flight: FlightModel, configuration: Configuration, powered_s: float
    ) -> None:
        self.logic = logic
        self.flight = flight
        self.configuration = configuration
        self.powered_s = powered_s
        self.bits = 0
        self.trace = Trace()
        self._marks: dict[str, float] = {}
        self._along: dict[str, float] = {}
        self._stuck: frozenset[str] = frozenset()
        self.untaken: Untaken | None = None
        self.annunciation: Annunciation = logic.annunciation(configuration)
        self._show(configuration)
        self.bits = self._evaluate()

    @property
    def installation(self) -> Installation:
        """The installation that runs."""
        return self.logic.installation

    @property
    def t_s(self) -> float:
        """Time since the session began [s]."""
        return self.flight.t_s

    @property
    def references(self) -> References:
        """What the pilot selected and what guidance follows."""
        return self.flight.references

    @property
    def marks(self) -> dict[str, float]:
        """Cells changed by themselves, no key in that moment -> seconds that they stay marked."""
        return self._left_s(self._marks)

    @property
    def along(self) -> dict[str, float]:
        """Cells changed with a key that didn't ask for it -> seconds that they stay marked."""
        return self._left_s(self._along)

    def _left_s(self, ends_s: dict[str, float]) -> dict[str, float]:
        now_s = self.flight.t_s
        return {cell: end_s - now_s for cell, end_s in ends_s.items() if end_s > now_s}

    def clear_marks(self) -> None:
        """Take all marks off: a situation begins without changes to show."""
        self._marks.clear()
        self._along.clear()

    def signal_names(self) -> tuple[str, ...]:
        """Names of the signals that are true now."""
        return self.logic.machine.signal_names(self.bits)

    def fork(self) -> Session:
        """Return an independent session in the same instant, with an empty trace."""
        other = Session.__new__(Session)
        other.logic = self.logic
        other.flight = self.flight.copy()
        other.configuration = self.configuration
        other.powered_s = self.powered_s
        other.bits = self.bits
        other.trace = Trace()
        other._marks = dict(self._marks)
        other._along = dict(self._along)
        other._stuck = self._stuck
        other.untaken = None
        other.annunciation = self.annunciation
        return other

    def step(self, dt_s: float = STEP_S) -> StepRecord | None:
        """Fly one step, then settle the logic.

        Args:
            dt_s: Length of the step [s]; keep to `STEP_S` for repeatable traces.

        Returns:
            What changed, or None if nothing did.
        """
        flight = self.flight
        flight.step(dt_s)
        self.powered_s = self.powered_s + dt_s if flight.electrical_ok else -1.0
        self.trace.sample(flight)
        bits = self.logic.signals.evaluate(flight, self.powered_s, self.bits)
        if bits == self.bits:
            return None
        self.bits = bits
        return self.settle()

    def settle(self) -> StepRecord | None:
        """Settle the logic on the present signals; None if nothing was enabled."""
        outcome = self.logic.machine.settle(self.configuration, self.bits)
        if not outcome.microsteps:
            return None
        by: Cause = "automatic"
        if any(firing.rule.by == "reversion" for firing in outcome.firings):
            by = "reversion"
        return self._take(outcome, outcome.firings[0].rule.id, by)

    def press(self, event: str, by: Cause = "pilot") -> StepRecord:
        """Send an event: a key pressed, or something that the instructor causes.

        Raises:
            UnknownEventError: This aircraft has no such event.
        """
        if event in self._stuck:
            self.untaken = Untaken(event, self.t_s, self._would_change(event))
            outcome = self.logic.machine.settle(self.configuration, self.bits)
        else:
            outcome = self.logic.machine.send(self.configuration, self.bits, event)
        return self._take(outcome, event, by)

    def select(self, name: str, value: float | str) -> StepRecord | None:
        """Turn a selector or a lever, or change the scene; None if the logic has no part in it.

        Args:
            name: One of `selectors.SELECTORS`; the unit is in the name.
            value: The new value, in that unit; a text for `source`.

        Raises:
            SelectionError: No such selector, or a value outside its range.
        """
        if name in self._stuck or name in self.flight.faults.slipping:
            now = getattr(self.references, name, None)
            if now == value:
                return None
            self.untaken = Untaken(name, self.t_s, True)
            if name in self._stuck or isinstance(value, str):
                return None
            value = slipped(name, value, value if now is None else now)
        event = apply_selection(self.flight, name, value)
        self.bits = self._evaluate()
        if event is None or event not in self.logic.installation.chart.events:
            return self.settle()
        outcome = self.logic.machine.send(self.configuration, self.bits, event, settle_first=False)
        return self._take(outcome, event, "pilot")

    def inject(self, fault: str, on: bool = True) -> StepRecord | None:
        """Start or end a malfunction; None if the logic doesn't notice at once.

        Raises:
            SelectionError: No such fault.
        """
        self._stuck = apply_fault(self.flight, fault, on)
        if not self.flight.electrical_ok:
            self.powered_s = -1.0
        self.bits = self._evaluate()
        return self.settle()

    def _would_change(self, event: str) -> bool:
        """True if a stuck key would have changed the strip."""
        fork = self.fork()
        fork.inject(f"{STUCK}{event}", False)
        return fork.press(event).has_changed

    def _evaluate(self) -> int:
        return self.logic.signals.evaluate(self.flight, self.powered_s, self.bits)

    def _take(self, outcome: Outcome, event: str, by: Cause) -> StepRecord:
        """Apply an outcome's effects, settle what they enable, and record all as one step."""
        before, signals = self.annunciation, self.signal_names()
        began, bits_then = self.configuration, self.bits
        fired = self._fired(outcome, event)
        refusal = self._refusal(outcome, event)
        self._apply(outcome)
        for _ in range(_MAXIMUM_RESETTLES):
            bits = self._evaluate()
            if bits == self.bits:
                break
            self.bits = bits
            more = self.logic.machine.settle(self.configuration, self.bits)
            fired.extend(self._fired(more, event))
            self._apply(more)
        record = StepRecord(
            self.t_s, event, by, before, self.annunciation, tuple(fired),
            refusal, signals, began, bits_then,
        )  # fmt: skip
        self._mark(record)
        self.trace.add(record)
        return record

    def _fired(self, outcome: Outcome, event: str) -> list[FiredRule]:
        """Return the rules of an outcome that isn't applied yet, each with what its guard read."""
        index, configuration = self.logic.machine.region_index, self.configuration
        chart = self.logic.installation.chart
        fired = []
        for firings in outcome.microsteps:
            after = list(configuration)
            for one in firings:
                rule = one.rule
                after[index[rule.region]] = one.entered
                answered = event if event in rule.events else ""
                because = reason_of(rule, chart, configuration, self.bits, answered)
                fired.append(
                    FiredRule(
                        rule.id, rule.region, one.left, one.entered, because, rule.by,
                        answered, configuration, self.bits,
                    )
                )  # fmt: skip
            configuration = tuple(after)
        return fired

    def _refusal(self, outcome: Outcome, event: str) -> Refusal | None:
        if outcome.refusal is None:
            return None
        chart = self.logic.installation.chart
        told = reason_of(outcome.refusal, chart, outcome.configuration, self.bits, event)
        return Refusal(outcome.refusal.id, outcome.refusal.reason, told)

    def _apply(self, outcome: Outcome) -> None:
        regions = self.logic.installation.chart.regions
        for firing in outcome.firings:
            if firing.left != firing.entered:
                for name in regions[firing.rule.region].states[firing.entered].enter:
                    EFFECT_FUNCTIONS[name](self.flight)
            for name in firing.rule.effects:
                EFFECT_FUNCTIONS[name](self.flight)
        self._show(outcome.configuration)

    def _show(self, configuration: Configuration) -> None:
        self.configuration = configuration
        self.annunciation = shown = self.logic.annunciation(configuration)
        modes = self.flight.modes
        modes.lateral, modes.vertical = shown.lateral.active, shown.vertical.active
        modes.servos = shown.engagement.startswith("autopilot")
        modes.protection = shown.protection

    def _mark(self, record: StepRecord) -> None:
        if not record.has_changed:
            return
        commanded = commanded_cells(record, self.logic.installation.chart)
        end_s = self.t_s + self.logic.mark_s
        for cell in changed_cells(record.before, record.after):
            self._marks.pop(cell, None)
            self._along.pop(cell, None)
            if cell not in commanded:
                marks = self._along if record.by == "pilot" else self._marks
                marks[cell] = end_s
