"""Many charts that differ from the true one in a few rows, asked at the same moments.

An item is answered under a thousand wrong rules, each a chart of its own that shares nearly all its
rows with the true one. A step of the true chart is decided once and remembered; of another one only
its own rows are looked at. What comes out is what the kernels of the charts say; a test compares.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from trainer.charts.kernel import (
    AUTOMATIC,
    MAXIMUM_ROUNDS,
    REFUSALS,
    Entry,
    Kernel,
    Row,
    UnsettledError,
    holds,
)
from trainer.session.annunciation import Annunciation
from trainer.session.logic import Logic

_MOST_REMEMBERED = 100_000
"""Steps of the true chart that are remembered: those of all items of an aircraft."""

Place = tuple[str, int, int]
"""A microstep: event or `automatic`, code of the configuration before it, signal bits."""

Own = tuple[int, int, tuple[Entry, ...]]
"""A region's number, the bit of its state, and what leads from it."""


class Change(NamedTuple):
    """The rows in which a chart differs from the true one, by event.

    Attributes:
        rows: For each event what its own rows lead to.
        refusals: For each event whose refusals differ, what may refuse it.
    """

    rows: dict[str, list[Own]]
    refusals: dict[str, tuple[Entry, ...]]


NO_CHANGE = Change({}, {})


class _Step(NamedTuple):
    """A microstep of the true chart.

    Attributes:
        after: Code after it.
        leads: What each region is led to; empty: nowhere.
        fired: How many regions are led somewhere, be it where they are.
    """

    after: int
    leads: tuple[str, ...]
    fired: int


class Overlaid:
    """The true chart with what others make of it, for one installation.

    Args:
        logic: The installation's logic.
        truth: Its chart.
    """

    def __init__(self, logic: Logic, truth: Kernel) -> None:
        self._logic = logic
        self.truth = truth
        self._masks = tuple(sum(states.values()) for states in truth.state_bits)
        self._steps: dict[Place, _Step] = {}
        self._refused: dict[Place, bool] = {}
        self._shown: dict[int, Annunciation] = {}

    def change(self, rows: Mapping[Row, tuple[Entry, ...]]) -> Change:
        """Return what changed rows of a chart mean."""
        change = Change({}, {})
        for (event, index, state), entries in rows.items():
            if index == REFUSALS:
                change.refusals[event] = entries
            else:
                bit = self.truth.state_bits[index][state]
                change.rows.setdefault(event, []).append((index, bit, entries))
        return change

    def of(self, kernel: Kernel, rows: Iterable[Row]) -> Change:
        """Return what a chart changes in the rows in which it differs."""
        return self.change({row: kernel.entries(row) for row in rows})

    def shown(self, code: int) -> Annunciation:
        """Return what a configuration's code shows."""
        shown = self._shown.get(code)
        if shown is None:
            shown = self._logic.annunciation(self.truth.unpack(code))
            self._shown[code] = shown
        return shown

    def is_at_rest(self, change: Change, code: int, bits: int) -> bool:
        """True if no automatic rule is enabled."""
        return self._step(change, code, bits, AUTOMATIC)[1] == 0

    def settle(self, change: Change, code: int, bits: int) -> int:
        """Return the code at rest.

        Raises:
            UnsettledError: It never comes to rest.
        """
        met: set[int] = set()
        for _ in range(MAXIMUM_ROUNDS):
            after, fired = self._step(change, code, bits, AUTOMATIC)
            if not fired:
                return code
            met.add(code)
            if after in met:
                break
            code = after
        raise UnsettledError(("a believed rule",))

    def send_all(self, change: Change, code: int, bits: int, events: Iterable[str]) -> int:
        """Return the code after several events under the same signals, as `Kernel.send_all`.

        Raises:
            UnsettledError: It never comes to rest.
        """
        for event in events:
            if event != AUTOMATIC and not self._is_refused(change, code, bits, event):
                code = self._step(change, code, bits, event)[0]
            code = self.settle(change, code, bits)
        return code

    def points(self, code: int, bits: int, events: Iterable[str]) -> list[Place]:
        """Return the microsteps of the true chart, as `Kernel.points_of_all`.

        Raises:
            UnsettledError: It never comes to rest.
        """
        points: list[Place] = []
        for event in events:
            here = points[-1][1] if points else code
            is_refused = False
            if event != AUTOMATIC:
                points.append((event, here, bits))
                is_refused = self._is_refused(NO_CHANGE, here, bits, event)
                here = here if is_refused else self.step((event, here, bits)).after
            met = self._settling(here, bits)
            if not (is_refused and len(met) == 1):
                points.extend((AUTOMATIC, one, bits) for one in met)
        return points

    def _settling(self, code: int, bits: int) -> list[int]:
        """Return the codes that the true chart goes through by itself, to rest."""
        met = [code]
        while (step := self.step((AUTOMATIC, met[-1], bits))).fired:
            if step.after in met:
                raise UnsettledError(("a rule of the chart",))
            met.append(step.after)
        return met

    def outcomes(self, place: Place) -> list[tuple[Row, str]]:
        """Return the rows that a microstep of the true chart looks at, and what each leads to."""
        event, code, bits = place
        rows: list[tuple[Row, str]] = []
        if event != AUTOMATIC:
            refusals = self.truth.entries((event, REFUSALS, ""))
            rows.append(((event, REFUSALS, ""), first_held(refusals, code, bits)))
        leads = self.step(place).leads
        for index, state in enumerate(self.truth.unpack(code)):
            rows.append(((event, index, state), leads[index]))
        return rows

    def _is_refused(self, change: Change, code: int, bits: int, event: str) -> bool:
        own = change.refusals.get(event)
        if own is not None:
            return any(holds(entry.tests, code, bits) for entry in own)
        place = (event, code, bits)
        refused = self._refused.get(place)
        if refused is None:
            entries = self.truth.entries((event, REFUSALS, ""))
            refused = any(holds(entry.tests, code, bits) for entry in entries)
            self._refused[place] = refused
        return refused

    def _step(self, change: Change, code: int, bits: int, event: str) -> tuple[int, int]:
        """Return the code after a microstep, and how many regions were led somewhere."""
        place = (event, code, bits)
        after, leads, fired = self.step(place)
        for index, bit, entries in change.rows.get(event, ()):
            if code & bit:
                lead = first_held(entries, code, bits)
                was = leads[index]
                if lead != was:
                    fired += bool(lead) - bool(was)
                    to = self.truth.state_bits[index][lead] if lead else bit
                    after = after & ~self._masks[index] | to
        return after, fired

    def step(self, place: Place) -> _Step:
        """Return a microstep of the true chart."""
        step = self._steps.get(place)
        if step is None:
            if len(self._steps) >= _MOST_REMEMBERED:
                self._steps.clear()
            step = self._steps[place] = self._true_step(place)
        return step

    def _true_step(self, place: Place) -> _Step:
        event, code, bits = place
        after, leads = code, []
        for index, state in enumerate(self.truth.unpack(code)):
            lead = first_held(self.truth.entries((event, index, state)), code, bits)
            leads.append(lead)
            if lead:
                after = after & ~self._masks[index] | self.truth.state_bits[index][lead]
        return _Step(after, tuple(leads), sum(map(bool, leads)))


def first_held(entries: Iterable[Entry], code: int, bits: int) -> str:
    """Return what the first entry whose guard holds leads to, or an empty text."""
    for tests, leads_to, _ in entries:
        for barred, mask, value in tests:
            if not code & barred and bits & mask == value:
                return leads_to
    return ""
