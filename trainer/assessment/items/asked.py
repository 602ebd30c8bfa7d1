"""One stimulus in a flown situation, answered under many charts that share nearly all their rows.

The same as `believed_answer.FlownQuestion` says for one chart at a time; a test compares them.
"""

from __future__ import annotations

from collections.abc import Sequence

from trainer.assessment.items.item import Stimulus
from trainer.assessment.items.overlaid import NO_CHANGE, Change, Overlaid, Place
from trainer.charts.kernel import (
    ALWAYS,
    AUTOMATIC,
    REFUSALS,
    Entry,
    Point,
    Row,
    UnsettledError,
    made_up,
)
from trainer.session.annunciation import Annunciation
from trainer.session.session import Session

_TRIED = 2
"""Other outcomes of a row that are tried."""


class Asked:
    """A stimulus at the moment of the question.

    Args:
        overlaid: The charts of the installation.
        session: The session at the question; it isn't touched.
        stimulus: What happens.
        signals: The signals that it leads through, each change of them; none for keys.
        true: The true answer, if it was flown; None: what the true chart leads to.
    """

    def __init__(
        self,
        overlaid: Overlaid,
        session: Session,
        stimulus: Stimulus,
        signals: Sequence[int],
        true: Annunciation | None = None,
    ) -> None:
        self._overlaid = overlaid
        self._truth = overlaid.truth
        self._code, self._bits = overlaid.truth.pack(session.configuration), session.bits
        self._before = session.annunciation
        self.stimulus, self._signals = stimulus, signals
        self.points = self._points()
        self.true = self._answer(NO_CHANGE) if true is None else true

    def _points(self) -> list[Place]:
        """Return the microsteps of the true chart on the way."""
        over = self._overlaid
        if self.stimulus.kind == "wait":
            return [
                p for bits in self._signals for p in over.points(self._code, bits, (AUTOMATIC,))
            ]
        bits = self._signals[0] if self._signals else self._bits
        return over.points(self._code, bits, self.stimulus.events)

    @property
    def moments(self) -> list[Point]:
        """The events with the configuration and the signals that they come in.

        A wait or a malfunction is one event: `automatic`, with the signals at its end.
        """
        if not self.stimulus.keys:
            bits = self._signals[-1] if self._signals else self._bits
            return [(AUTOMATIC, self._truth.unpack(self._code), bits)]
        return [
            (event, self._truth.unpack(code), bits)
            for event, code, bits in self.points
            if event != AUTOMATIC
        ]

    def denies(self, change: Change) -> bool:
        """True if under a chart the situation wouldn't last: what is shown overrules it."""
        return not self._overlaid.is_at_rest(change, self._code, self._bits)

    def answer(self, change: Change) -> Annunciation:
        """Return the answer under a chart; the true one if what is shown overrules it.

        A chart under which the logic never comes to rest foresees nothing.
        """
        if self.denies(change):
            return self.true
        try:
            return self._answer(change)
        except UnsettledError:
            return self.true

    def _answer(self, change: Change) -> Annunciation:
        over = self._overlaid
        if self.stimulus.kind == "wait":
            for bits in self._signals:
                shown = over.shown(over.settle(change, self._code, bits))
                if shown != self._before:
                    return shown
            return self._before
        bits = self._signals[0] if self._signals else self._bits
        return over.shown(over.send_all(change, self._code, bits, self.stimulus.events))

    def exposed(self) -> tuple[Row, ...]:
        """Return the rows of the chart that show in the answer: done otherwise, it's another strip.

        What a later key overwrites doesn't count.
        """
        rows: dict[Row, str] = {}
        for place in self.points:
            for row, outcome in self._overlaid.outcomes(place):
                if outcome or place[0] != AUTOMATIC:
                    rows.setdefault(row, outcome)
        shown = [row for row, outcome in rows.items() if self._shows(row, outcome)]
        if not self.stimulus.keys:
            # What might have changed by itself and didn't is asked about as well.
            here = self._truth.unpack(self._code)
            shown.extend((AUTOMATIC, index, state) for index, state in enumerate(here))
        return tuple(dict.fromkeys(shown))

    def _shows(self, row: Row, outcome: str) -> bool:
        return all(
            self.answer(self._overlaid.change({row: _always(to)})) != self.true
            for to in self._others(row, outcome)
        )

    def _others(self, row: Row, outcome: str) -> tuple[str, ...]:
        """Return what a row might lead to instead, at most two: nothing, and other states."""
        _, region, state = row
        if region == REFUSALS:
            return ("",) if outcome else ("believed",)
        states = self._truth.state_bits[region]
        elsewhere = tuple(name for name in states if name not in (state, outcome))
        return ("", *elsewhere)[:_TRIED] if outcome else elsewhere[:_TRIED]


def _always(outcome: str) -> tuple[Entry, ...]:
    return (Entry((ALWAYS,), outcome, made_up("")),) if outcome else ()
