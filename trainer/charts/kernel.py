"""A chart compiled into numbers: the one place where a step of the logic is decided.

A kernel is made once from a specialised chart and answers from its arguments alone: a configuration
and the signals go in, what happens comes out. Live sessions, exploration, comparison, wrong rules
and the check's items all read it, so none of them can drift from another, and any number of
threads may ask the same one.

Inside, a configuration is one integer with a bit for each state (its code), so that everything a
guard asks of the regions is one mask; signals are the bits of another. A guard is a list of tests,
one of which must hold. For each event and code the tests that can still hold are gathered once
(a program); programs depend on nothing but the rows, so remembering them can't be seen from
outside. Plain integers beat arrays up to about a thousand sends at once: `symbolic` is for more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from trainer.charts.conflicts import ordered_rules
from trainer.charts.guard import Configuration, conjunctions
from trainer.charts.spec import All, ChartSpec, Guard, RefusalSpec, RuleSpec
from trainer.errors import TrainerError

AUTOMATIC = "automatic"
MAXIMUM_ROUNDS = 100
REFUSALS = -1
"""Stands for a region's number in the row of an event's refusals."""

_NAMED = 20
"""Microsteps whose rules are named where it doesn't rest and no configuration came twice."""

_MOST_REMEMBERED = 50_000
"""Answers of one kind that a kernel remembers at a time; a flight asks for a few hundred, random
questions about all that a shipped ship can reach for some 20,000 programs."""

Row = tuple[str, int, str]
"""Event or `automatic`, region's number, state; `REFUSALS` and an empty state for its refusals."""

Point = tuple[str, int, int]
"""A microstep: event or `automatic`, code of the configuration before it, signal bits."""


class UnsettledError(TrainerError):
    """Automatic rules that never come to rest.

    Attributes:
        loop: Ids of the rules that went on firing, in order.
    """

    def __init__(self, loop: tuple[str, ...]) -> None:
        self.loop = loop
        super().__init__("the logic doesn't settle; rules that go on firing: " + ", ".join(loop))


class UnknownEventError(TrainerError):
    """An event that the chart doesn't have, or that isn't fitted in this aircraft."""

    def __init__(self, event: str, accepted: Iterable[str]) -> None:
        self.event = event
        super().__init__(f"no event '{event}'; accepted: {', '.join(sorted(accepted))}")


class Test(NamedTuple):
    """One way for a guard to hold: none of these states, and these signals with these values."""

    barred: int
    """Bits of the states that the configuration must not hold."""
    mask: int
    """Bits of the signals that are asked for."""
    value: int
    """Their values."""


Tests = tuple[Test, ...]
"""A guard: one of its tests must hold."""

ALWAYS = Test(0, 0, 0)


class Entry(NamedTuple):
    """What a row leads to if one of its tests holds: a state, or a refusal's id."""

    tests: Tests
    leads_to: str
    rule: RuleSpec | RefusalSpec
    """What it was compiled from."""


@cache
def made_up(region: str) -> RuleSpec:
    """Return what stands for the rule of an entry that no chart holds, in a region."""
    return RuleSpec("a believed rule", region, (), (), "", All(), "", "", "automatic", 0)


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired, from where to where."""

    rule: RuleSpec
    left: str
    entered: str


class Microstep(NamedTuple):
    """One round in which every region moves at most once, all guards reading the same moment."""

    event: str
    code: int
    """Before it."""
    firings: tuple[Firing, ...]
    """In the order of the regions; empty if nothing was enabled."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a settle or an event did.

    `refusal` is set when the event was refused.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> kernel = Kernel(lamp())
        >>> outcome = kernel.send(kernel.initial, kernel.bits(["powered"]), "press")
        >>> outcome.firings[0].rule.because
        'The key lights the lamp.'
    """

    configuration: Configuration
    steps: tuple[Microstep, ...]
    """Every microstep that was looked at, the quiet ones too."""
    refusal: RefusalSpec | None = None

    @property
    def microsteps(self) -> tuple[tuple[Firing, ...], ...]:
        """The rules of each microstep in which any fired, in firing order."""
        return tuple(step.firings for step in self.steps if step.firings)

    @property
    def firings(self) -> tuple[Firing, ...]:
        """All rules that fired, in order."""
        return tuple(firing for step in self.steps for firing in step.firings)


Move = tuple[int, int, int, Firing]
"""Mask and value of the signals, the bits of the code that change, and the rule that fires."""

Bar = tuple[int, int, RefusalSpec]
"""Mask and value of the signals, and the refusal that then stands."""

Program = tuple[tuple[Move, ...], ...]
"""For an event and a code: for each region that may move how, in order."""


_Shared = tuple[int, Microstep, dict[int, Firing]]
"""The code after a microstep, the microstep, and its firings by region's number."""


class Kernel:
    """A specialised chart as rows of tests.

    Args:
        chart: The specialised chart.
        like: A kernel of a chart of the same shape that shares most rules: they aren't compiled
            again.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> kernel = Kernel(lamp())
        >>> powered = kernel.bits(["powered"])
        >>> lit = kernel.send(kernel.initial, powered, "press").configuration
        >>> lit, kernel.settle(lit, 0).configuration  # the power goes
        (('lit',), ('none',))
        >>> kernel.send(kernel.initial, 0, "press").refusal.reason
        'No power'
    """

    def __init__(self, chart: ChartSpec, like: Kernel | None = None) -> None:
        self.chart = chart
        self.region_index: dict[str, int] = {name: i for i, name in enumerate(chart.regions)}
        self.signal_bit: dict[str, int] = {name: i for i, name in enumerate(chart.signals)}
        self.initial: Configuration = tuple(r.initial for r in chart.regions.values())
        self.state_bits: tuple[dict[str, int], ...] = _state_bits(chart)
        self.selectors = frozenset(e.id for e in chart.events.values() if e.kind == "selector")
        self.guards: dict[str, Tests] = {}
        """The tests of each rule, by its id."""
        self._rows: dict[Row, tuple[Entry, ...]] = {}
        self._programs: dict[tuple[str, int], Program] = {}
        self._known_bars: dict[tuple[str, int], tuple[Bar, ...]] = {}
        self._known_steps: dict[Point, _Shared] = {}
        self._packed: dict[Configuration, int] = {}
        self._unpacked: dict[int, Configuration] = {}
        for rule in ordered_rules(chart.rules):
            self._add_rule(rule, like)
        for refusal in chart.refusals.values():
            entry = Entry(self.tests(refusal.guard), refusal.id, refusal)
            for event in refusal.events:
                self._append((event, REFUSALS, ""), entry)

    def _add_rule(self, rule: RuleSpec, like: Kernel | None) -> None:
        known = None if like is None else like.chart.rules.get(rule.id)
        if like is not None and known is not None and known.guard == rule.guard:
            tests = like.guards[rule.id]
        else:
            tests = self.tests(rule.guard)
        self.guards[rule.id] = tests
        entry, index = Entry(tests, rule.target, rule), self.region_index[rule.region]
        for event in rule.events or (AUTOMATIC,):
            for source in rule.sources:
                self._append((event, index, source), entry)

    def _append(self, row: Row, entry: Entry) -> None:
        self._rows[row] = (*self._rows.get(row, ()), entry)

    def tests(self, guard: Guard) -> Tests:
        """Return a guard over this chart's states and signals as tests."""
        states = {region.id: frozenset(region.states) for region in self.chart.regions.values()}
        tests = []
        for signals, regions in conjunctions(guard, states):
            mask = value = barred = 0
            for name, wanted in signals:
                mask |= 1 << self.signal_bit[name]
                value |= wanted << self.signal_bit[name]
            for region, allowed in regions:
                barred |= self.barring(self.region_index[region], allowed)
            tests.append(Test(barred, mask, value))
        return tuple(tests)

    def barring(self, region: int, allowed: Iterable[str]) -> int:
        """Return the bits of all states of a region but some, by the region's number."""
        kept = set(allowed)
        return sum(bit for state, bit in self.state_bits[region].items() if state not in kept)

    def bits(self, signals: Iterable[str]) -> int:
        """Return the signal bits for the names of the signals that are true."""
        value = 0
        for name in signals:
            value |= 1 << self.signal_bit[name]
        return value

    def pack(self, configuration: Configuration) -> int:
        """Return the code of a configuration."""
        known = self._packed.get(configuration)
        if known is None:
            pairs = zip(self.state_bits, configuration, strict=True)
            known = sum(states[state] for states, state in pairs)
            _remember(self._packed, configuration, known)
        return known

    def unpack(self, code: int) -> Configuration:
        """Return the configuration of a code."""
        known = self._unpacked.get(code)
        if known is None:
            known = tuple(
                next(state for state, bit in states.items() if code & bit)
                for states in self.state_bits
            )
            _remember(self._unpacked, code, known)
        return known

    @property
    def all_rows(self) -> tuple[Row, ...]:
        """The rows of its rules and of its refusals."""
        return tuple(self._rows)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows of its rules."""
        return tuple(row for row in self.all_rows if row[1] != REFUSALS)

    def entries(self, row: Row) -> tuple[Entry, ...]:
        """Return what a row leads to, the first that holds counting."""
        return self._rows.get(row, ())

    def differing_rows(self, other: Kernel) -> frozenset[Row]:
        """Return the rows in which another kernel of the same shape leads elsewhere."""
        rows = {*self.all_rows, *other.all_rows}
        return frozenset(
            row for row in rows if not _are_alike(self.entries(row), other.entries(row))
        )

    def settle(self, configuration: Configuration, bits: int) -> Outcome:
        """Fire automatic rules until none is enabled.

        Raises:
            UnsettledError: The rules don't come to rest.
        """
        steps: list[Microstep] = []
        code = self._settle(self.pack(configuration), bits, steps)
        return Outcome(self.unpack(code), tuple(steps))

    def send(
        self, configuration: Configuration, bits: int, event: str, *, settle_first: bool = True
    ) -> Outcome:
        """Settle, take one event unless it is refused, and settle again.

        Args:
            configuration: The configuration to start from.
            bits: The signals.
            event: The event.
            settle_first: False for a selector: turning it changes signals and raises the event in
                one act, so nothing may act on the new signals before the event has.

        Raises:
            UnknownEventError: The chart has no such event.
            UnsettledError: The rules don't come to rest.
        """
        if event not in self.chart.events:
            raise UnknownEventError(event, self.chart.events)
        steps: list[Microstep] = []
        code = self.pack(configuration)
        if settle_first:
            code = self._settle(code, bits, steps)
        code, refusal = self._take(code, bits, event, steps)
        return Outcome(self.unpack(code), tuple(steps), refusal)

    def _take(
        self, code: int, bits: int, event: str, steps: list[Microstep]
    ) -> tuple[int, RefusalSpec | None]:
        """Take an event unless it is refused, and settle: the signals act all the same."""
        refusal = self._refusal(event, code, bits)
        if refusal is None:
            code = self._microstep(code, bits, event, steps)
        return self._settle(code, bits, steps), refusal

    def refusal(self, configuration: Configuration, bits: int, event: str) -> RefusalSpec | None:
        """Return the first refusal, in chart order, that stands against the event."""
        return self._refusal(event, self.pack(configuration), bits)

    def _refusal(self, event: str, code: int, bits: int) -> RefusalSpec | None:
        for mask, value, refusal in self._bars(event, code):
            if bits & mask == value:
                return refusal
        return None

    def lead(self, code: int, bits: int, events: Iterable[str]) -> int:
        """Return the code after several events under the same signals, from a code at rest.

        `automatic` is an event too: signals alone. A selector, which changes signals, may be the
        first: nothing settles before it.

        Raises:
            UnsettledError: The rules don't come to rest.
        """
        steps: list[Microstep] = []
        for event in events:
            if event == AUTOMATIC:
                code = self._settle(code, bits, steps)
            else:
                code, _ = self._take(code, bits, event, steps)
        return code

    def send_all(
        self, configuration: Configuration, bits: int, events: Iterable[str]
    ) -> Configuration:
        """Return the configuration after several events; see `lead`."""
        return self.unpack(self.lead(self.pack(configuration), bits, events))

    def points(self, code: int, bits: int, events: Iterable[str]) -> list[Point]:
        """Return the microsteps that some events lead through, as `lead` takes them.

        Another chart that finds the same outcome in every row of every point does the same. An
        event that is refused is a point too.

        Raises:
            UnsettledError: The rules don't come to rest.
        """
        points: list[Point] = []
        for event in events:
            steps: list[Microstep] = []
            refusal: RefusalSpec | None = None
            here = code
            if event == AUTOMATIC:
                code = self._settle(code, bits, steps)
            else:
                code, refusal = self._take(code, bits, event, steps)
            if refusal is not None:
                points.append((event, here, bits))
                steps = steps if steps[0].firings else []
            points.extend((step.event, step.code, bits) for step in steps)
        return points

    def outcomes(self, point: Point) -> list[tuple[Row, str]]:
        """Return the rows that a microstep looks at, its refusals first, and what each leads to."""
        event, code, bits = point
        return [(row, self._led(row, code, bits)) for row in self.rows_of(event, code)]

    def rows_of(self, event: str, code: int) -> list[Row]:
        """Return the rows that an event's microstep looks at, its refusals first."""
        rows: list[Row] = [(event, n, state) for n, state in enumerate(self.unpack(code))]
        return rows if event == AUTOMATIC else [(event, REFUSALS, ""), *rows]

    def is_at_rest(self, configuration: Configuration, bits: int) -> bool:
        """True if no automatic rule is enabled."""
        return self.rests(self.pack(configuration), bits)

    def rests(self, code: int, bits: int) -> bool:
        """True if no automatic rule is enabled in a configuration's code."""
        return not self._stepped(AUTOMATIC, code, bits)[1].firings

    def outcome(self, row: Row, configuration: Configuration, bits: int) -> str:
        """Return what a row leads to: a state, a refusal's id, or an empty text for nothing."""
        return self._led(row, self.pack(configuration), bits)

    def _led(self, row: Row, code: int, bits: int) -> str:
        entry = _first(self.entries(row), code, bits)
        return "" if entry is None else entry.leads_to

    def _microstep(self, code: int, bits: int, event: str, steps: list[Microstep]) -> int:
        """Fire at most one rule in each region and return the code after it."""
        after, step = self._stepped(event, code, bits)
        steps.append(step)
        return after

    def _stepped(self, event: str, code: int, bits: int) -> tuple[int, Microstep]:
        """Return the code after a microstep, and the microstep."""
        after, fired = code, []
        for moves in self.program(event, code):
            for mask, value, change, firing in moves:
                if bits & mask == value:
                    after ^= change
                    fired.append(firing)
                    break
        return after, Microstep(event, code, tuple(fired))

    def _step_for_overlays(self, event: str, code: int, bits: int) -> _Shared:
        """Return a microstep that overlays share; each of them asks for the same ones."""
        key = (event, code, bits)
        known = self._known_steps.get(key)
        if known is None:
            after, step = self._stepped(event, code, bits)
            moved = {self.region_index[firing.rule.region]: firing for firing in step.firings}
            known = (after, step, moved)
            _remember(self._known_steps, key, known)
        return known

    def _settle(self, code: int, bits: int, steps: list[Microstep]) -> int:
        first = len(steps)
        for _ in range(MAXIMUM_ROUNDS + 1):  # the last of them looks whether it rests
            after = self._microstep(code, bits, AUTOMATIC, steps)
            if not steps[-1].firings:
                return code
            # The signals stand still, so a code that comes again comes for ever.
            if any(step.code == after for step in steps[first:]):
                loop = [step.code for step in steps].index(after, first)
                raise UnsettledError(_rule_ids(steps[loop:]))
            code = after
        raise UnsettledError(_rule_ids(steps[-_NAMED:]))

    def program(self, event: str, code: int) -> Program:
        """Return what may happen on an event in a configuration, whatever the signals."""
        key = (event, code)
        known = self._programs.get(key)
        if known is None:
            known = self._compiled(event, code)
            _remember(self._programs, key, known)
        return known

    def _compiled(self, event: str, code: int) -> Program:
        regions = (
            tuple(self._moves(self.entries((event, index, state)), index, state, code))
            for index, state in enumerate(self.unpack(code))
        )
        return tuple(moves for moves in regions if moves)

    def _bars(self, event: str, code: int) -> tuple[Bar, ...]:
        """Return what may refuse an event in a configuration, in chart order."""
        key = (event, code)
        known = self._known_bars.get(key)
        if known is None:
            known = _bars(self.entries((event, REFUSALS, "")), code)
            _remember(self._known_bars, key, known)
        return known

    def _moves(self, entries: Iterable[Entry], index: int, state: str, code: int) -> Iterable[Move]:
        bit = self.state_bits[index]
        for tests, target, rule in entries:
            firing = Firing(rule, state, target)  # type: ignore[arg-type]  # a state's row names rules
            for barred, mask, value in tests:
                if not code & barred:
                    yield mask, value, bit[state] ^ bit[target], firing


class Overlay(Kernel):
    """A kernel with other entries in some rows: what somebody takes the chart for.

    Everything else is the base's, also every microstep that no changed row is for.

    Args:
        base: The kernel of the true chart, or another overlay.
        rows: The changed rows.
        chart: The changed chart, if it was made from one; else the base's.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> true = Kernel(lamp())
        >>> believed = Overlay(true, {("press", 0, "none"): ()})
        >>> believed.send(("none",), true.bits(["powered"]), "press").configuration
        ('none',)
    """

    def __init__(
        self, base: Kernel, rows: Mapping[Row, tuple[Entry, ...]], chart: ChartSpec | None = None
    ) -> None:
        self.__dict__.update(base.__dict__)
        self.chart = chart or base.chart
        self._base = base
        self._own = dict(rows)
        self._programs, self._known_steps = {}, {}  # the base's own hold for the base alone
        self._changes: dict[str, list[tuple[int, str, int]]] = {}
        self._touched: dict[str, int] = {}
        for event, index, state in rows:
            if index != REFUSALS:
                bit = self.state_bits[index][state]
                self._touched[event] = self._touched.get(event, 0) | bit
                self._changes.setdefault(event, []).append((index, state, bit))

    @property
    def all_rows(self) -> tuple[Row, ...]:
        """The rows of its rules and of its refusals."""
        return tuple(dict.fromkeys((*self._base.all_rows, *self._own)))

    def entries(self, row: Row) -> tuple[Entry, ...]:
        """Return what a row leads to, the first that holds counting."""
        own = self._own.get(row)
        return self._base.entries(row) if own is None else own

    def _bars(self, event: str, code: int) -> tuple[Bar, ...]:
        own = self._own.get((event, REFUSALS, ""))
        return self._base._bars(event, code) if own is None else _bars(own, code)

    def _stepped(self, event: str, code: int, bits: int) -> tuple[int, Microstep]:
        """Return the base's microstep, in the changed rows as they say."""
        after, step, moved = self._base._step_for_overlays(event, code, bits)
        if not code & self._touched.get(event, 0):
            return after, step
        firings: dict[int, Firing] | None = None
        for index, state, bit in self._changes[event]:
            if not code & bit:
                continue
            entry, was = _first(self._own[event, index, state], code, bits), moved.get(index)
            if entry is None and was is None:
                continue
            states = self.state_bits[index]
            if entry and was and entry.rule is was.rule and entry.leads_to == was.entered:
                continue
            firings = dict(moved) if firings is None else firings
            if was is not None:
                after ^= bit ^ states[was.entered]
                del firings[index]
            if entry is not None:
                after ^= bit ^ states[entry.leads_to]
                firings[index] = Firing(entry.rule, state, entry.leads_to)  # type: ignore[arg-type]
        if firings is None:
            return after, step
        return after, Microstep(event, code, tuple(firings[n] for n in sorted(firings)))


def forced(kernel: Kernel, row: Row, outcome: str) -> Overlay:
    """Return a kernel with one row that always leads to the same; an empty text: to nothing."""
    names = ("", *kernel.region_index)  # a refusal has no region
    rule = made_up(names[row[1] + 1])
    return Overlay(kernel, {row: (Entry((ALWAYS,), outcome, rule),) if outcome else ()})


def row_texts(kernel: Kernel, rows: Iterable[Row]) -> frozenset[tuple[Row, tuple[object, ...]]]:
    """Return what stands in some rows, to compare kernels by."""
    return frozenset((row, _texts(kernel.entries(row))) for row in rows)


def _are_alike(some: tuple[Entry, ...], others: tuple[Entry, ...]) -> bool:
    """Return whether two rows do the same; mostly they hold the very same rules."""
    is_same = len(some) == len(others) and all(
        one.rule is other.rule and one[:2] == other[:2]
        for one, other in zip(some, others, strict=True)
    )
    return is_same or _texts(some) == _texts(others)


def _texts(entries: Iterable[Entry]) -> tuple[object, ...]:
    """Return what entries do; words and the order of a guard's tests don't count."""
    return tuple(
        (entry.rule.guard, entry.leads_to, entry.rule.effects)
        if isinstance(entry.rule, RuleSpec)
        else entry.rule.guard
        for entry in entries
    )


def _rule_ids(steps: Iterable[Microstep]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(firing.rule.id for step in steps for firing in step.firings))


def holds(tests: Tests, code: int, bits: int) -> bool:
    """Return whether a guard holds."""
    # Called far too often for a generator.
    for barred, mask, value in tests:  # noqa: SIM110
        if not code & barred and bits & mask == value:
            return True
    return False


def _first(entries: Iterable[Entry], code: int, bits: int) -> Entry | None:
    """Return the first entry that holds."""
    for entry in entries:
        if holds(entry.tests, code, bits):
            return entry
    return None


def _bars(entries: Iterable[Entry], code: int) -> tuple[Bar, ...]:
    return tuple(
        (mask, value, entry.rule)  # type: ignore[misc]  # a refusal's row names refusals
        for entry in entries
        for barred, mask, value in entry.tests
        if not code & barred
    )


def _remember(known: dict[Any, Any], key: object, value: object) -> None:
    """Keep an answer that depends on the question alone; too many are all forgotten."""
    if len(known) >= _MOST_REMEMBERED:
        known.clear()
    known[key] = value


def _state_bits(chart: ChartSpec) -> tuple[dict[str, int], ...]:
    bits: list[dict[str, int]] = []
    place = 0
    for region in chart.regions.values():
        bits.append({state: 1 << place + i for i, state in enumerate(region.states)})
        place += len(region.states)
    return tuple(bits)
