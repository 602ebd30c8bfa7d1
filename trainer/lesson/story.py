"""A lesson flown as its author sees it: when each step came, what it did, what changed by itself.

The story is made from the lesson alone, so that a lesson written by hand has one as well as
a recorded flight.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from trainer.errors import FileError, StoppedError
from trainer.lesson.question import ALL_FORMS
from trainer.lesson.recording import situation_of
from trainer.lesson.runner import LessonRunner
from trainer.lesson.spec import Do, Lesson, Predict, Step, Wait
from trainer.session.annunciation import CELLS, Annunciation, changed_cells
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session
from trainer.session.situation import SituationError, Start

Did = Literal["", "acted", "refused", "nothing"]
Content = str | tuple[str, ...]
LONGEST_S = 7200.0
"""A lesson is flown no longer than this to tell its story."""
_LEAP_S = 1.0


@dataclass(frozen=True, slots=True)
class Moment:
    """A step of the lesson, or a change of the annunciation that came by itself."""

    t_s: float
    """From the lesson's start [s]."""
    step: int
    """Number of the step from 0; for a change: of the step during which it came."""
    is_change: bool = False
    did: Did = ""
    """What became of a key."""
    shows: tuple[tuple[str, Content], ...] = ()
    """Cells that changed then, with what they read afterwards."""


@dataclass(frozen=True, slots=True)
class Span:
    """A time during which a cell of the annunciation read the same."""

    cell: str
    start_s: float
    end_s: float
    content: Content


@dataclass(frozen=True, slots=True)
class Story:
    """What one flight of a lesson showed."""

    lesson: Lesson
    began_s: tuple[float, ...]
    """When each step began [s]; shorter than the steps if the flight broke off."""
    moments: tuple[Moment, ...]
    """Steps but plain waits, and changes, in order."""
    spans: tuple[Span, ...]
    ended_s: float
    problem: str = ""
    """Why the flight broke off; empty: it came to its end."""
    plays: Mapping[int, Predict] = field(default_factory=dict)
    """Number of each step that asks -> the strip prompt that it played as."""

    def ended_at(self, step: int) -> float:
        """Return when a step ended [s]."""
        return self.began_s[step + 1] if step + 1 < len(self.began_s) else self.ended_s

    @property
    def dead_keys(self) -> tuple[int, ...]:
        """Numbers of the steps that press a key which does nothing at all."""
        return tuple(one.step for one in self.moments if one.did == "nothing")


def tell(
    lesson: Lesson,
    begin: Callable[[Start], Session],
    goes_on: Callable[[], bool] = lambda: True,
) -> Story:
    """Fly a lesson and return its story; a flight that breaks off tells what there was until then.

    Args:
        lesson: A loaded lesson.
        begin: Starts a session of the lesson's installation in a situation.
        goes_on: Asked about once a second of flight; False stops.

    Raises:
        StoppedError: `goes_on` said so.
    """
    try:
        runner = _Teller(lesson, lambda: begin(lesson.start))
    except SituationError as error:
        return Story(lesson, (), (), (), 0.0, str(error))
    problem = ""
    try:
        for _ in _flown(runner):
            if not goes_on():
                raise StoppedError("not wanted any more")
    except FileError as error:
        problem = str(error)
    return _story(runner, problem)


def situation_at(lesson: Lesson, begin: Callable[[Start], Session], t_s: float) -> Start:
    """Return the situation that a lesson is in after some time, as a start.

    The flight begins trimmed there, so it goes on nearly, not exactly, as it did.

    Args:
        lesson: The lesson.
        begin: Starts a session of its installation in a situation.
        t_s: The moment, from the lesson's start [s].

    Raises:
        TrainerError: The lesson doesn't come that far, or a flight can't begin at that moment.
    """
    runner = LessonRunner(lesson, lambda: begin(lesson.start))
    runner.forms = ALL_FORMS
    end_s = runner.session.t_s + t_s - STEP_S / 2.0
    while runner.phase != "finished" and runner.session.t_s < end_s:
        _advance(runner, STEP_S)
    start = situation_of(runner.session)
    begin(start)
    return start


class _Teller(LessonRunner):
    """A runner that notes when it came to each step, and how much had happened by then."""

    def __init__(self, lesson: Lesson, start: Callable[[], Session]) -> None:
        self.began: list[tuple[float, int]] = []
        self.plays: dict[int, Predict] = {}
        super().__init__(lesson, start)
        self.forms = ALL_FORMS
        self.start_s = self.session.t_s

    def since_start(self, t_s: float) -> float:
        """Return a moment as counted from the start [s], free of summing errors."""
        return round(t_s - self.start_s, 2)

    def _do(self, step: Step, records: list[StepRecord]) -> bool:
        if not self._entered:
            self.began.append((self.session.t_s, len(self.session.trace.records)))
        return super()._do(step, records)

    def _ask(self, step: Predict) -> None:
        super()._ask(step)
        if self._posed is not None:
            self.plays[self._index] = self._posed.play


def _flown(runner: LessonRunner) -> Iterator[None]:
    """Fly to the end, stopping for a look about once a second."""
    while runner.phase != "finished" and runner.session.t_s < LONGEST_S:
        _advance(runner, _LEAP_S)
        yield


def _advance(runner: LessonRunner, seconds: float) -> None:
    if runner.phase == "asking":
        runner.commit()
    elif runner.phase == "explained":
        runner.proceed()
    else:
        runner.advance(seconds)


def _story(runner: _Teller, problem: str) -> Story:
    lesson, records = runner.lesson, tuple(runner.session.trace.records)
    ends = [count for _, count in runner.began[1:]] + [len(records)]
    moments: list[Moment] = []
    for number, ((began_s, first), end) in enumerate(zip(runner.began, ends, strict=True)):
        own = records[first:end]
        step = lesson.steps[number]
        if not isinstance(step, Wait):
            moments.append(_step_moment(number, step, runner.since_start(began_s), own))
        moments += [
            Moment(runner.since_start(one.t_s), number, True, "", _shows(one))
            for one in own
            if one.has_changed and one.by in ("automatic", "reversion")
        ]
    ended_s = runner.since_start(runner.session.t_s)
    began = tuple(runner.since_start(began_s) for began_s, _ in runner.began)
    spans = _spans(records, runner, ended_s)
    return Story(lesson, began, tuple(moments), spans, ended_s, problem, runner.plays)


def _step_moment(number: int, step: Step, t_s: float, own: tuple[StepRecord, ...]) -> Moment:
    did: Did = ""
    if isinstance(step, Do):
        is_refused = any(one.refusal is not None for one in own)
        did = "refused" if is_refused else "acted" if own else "nothing"
    commanded = [one for one in own if one.by not in ("automatic", "reversion")]
    shows = _shows(commanded[0]) if commanded and commanded[0].has_changed else ()
    return Moment(t_s, number, False, did, shows)


def _shows(record: StepRecord) -> tuple[tuple[str, Content], ...]:
    cells = changed_cells(record.before, record.after)
    return tuple((cell, record.after.cell(cell)) for cell in cells)


def _spans(records: tuple[StepRecord, ...], runner: _Teller, ended_s: float) -> tuple[Span, ...]:
    start: Annunciation = records[0].before if records else runner.session.annunciation
    spans: list[Span] = []
    for cell in CELLS:
        value, since_s = start.cell(cell), 0.0
        changes = [(runner.since_start(one.t_s), one.after.cell(cell)) for one in records]
        for t_s, after in changes:
            if after != value:
                spans.append(Span(cell, since_s, t_s, value))
                value, since_s = after, t_s
        spans.append(Span(cell, since_s, ended_s, value))
    return tuple(span for span in spans if span.end_s > span.start_s)
