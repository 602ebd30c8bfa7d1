"""Prompts as they are put: how one is answered, which choices it offers, and what is right.

Every kind plays on the session as one of the strip kinds, so a caller that can only ask for
a strip asks the same thing as a strip. What is right is found by trying, on forks, never read
from a file.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from trainer.errors import FileError, FileProblem
from trainer.lesson.answer import Answer, PromptPlay
from trainer.lesson.condition import is_met
from trainer.lesson.spec import Condition, Predict, PromptKind
from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.faults import fault_words
from trainer.session.selectors import SELECTORS, TEXT_SELECTORS
from trainer.session.session import STEP_S, Session

Form = Literal["strip", "choice", "number"]
STRIP_ONLY: frozenset[Form] = frozenset({"strip"})
ALL_FORMS: frozenset[Form] = frozenset({"strip", "choice", "number"})
FORMS: dict[PromptKind, Form] = {
    "next_change": "strip", "after_key": "strip", "after_set": "strip",
    "after_fault": "strip", "after_time": "strip",
    "first_capture": "choice", "which_key": "choice", "is_allowed": "choice",
    "what_to_do": "choice", "level_off": "number",
}  # fmt: skip

_QUESTIONS: dict[PromptKind, str] = {
    "next_change": "What will the strip read after its next change?",
    "after_key": "The next key is {key}. What will the strip read after it?",
    "after_set": "Next you set {values}. What will the strip read after it?",
    "after_fault": "Next comes this: {fault}. What will the strip read after it?",
    "after_time": "What will the strip read in {seconds} seconds?",
    "first_capture": "What will capture first, within {seconds} seconds?",
    "which_key": "Which single key makes the strip read: {cells}?",
    "level_off": "At what altitude will it begin to level off?",
    "is_allowed": "What happens if you press {key} now?",
    "what_to_do": "What must you do, so that within {seconds} seconds {goal}?",
}
_SEQUENCE = "The next keys are {keys}. What will the strip read after the last?"
NO_KEY = "no_key"
NOTHING = "nothing"
ACCEPTED, REFUSED, IGNORED = "accepted", "refused", "ignored"
LEAST_TOLERANCE_FT = 20.0
TOLERANCE_S = 3.0
"""A level-off counts as foreseen within the height flown in this time (the model's own speed)."""


@dataclass(frozen=True, slots=True)
class Option:
    """One choice that a prompt offers."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class Prompt:
    """A question as it is put: without its answer."""

    kind: PromptKind
    key: str
    question: str
    before: Annunciation
    horizon_s: float
    number: int
    line: int = 0
    form: Form = "strip"
    options: tuple[Option, ...] = ()
    unit: str = ""
    target: Annunciation | None = None
    """`which_key`: the strip that the key is to bring."""
    then: tuple[str, ...] = ()
    """`after_key`: further keys pressed at once after it."""
    hide: tuple[str, ...] = ()
    """What isn't seen while it is open: names of `spec.HIDEABLE`."""


@dataclass(frozen=True, slots=True)
class Posed:
    """A prompt made ready: how it plays, and what is already known to be right."""

    play: Predict
    asked: Predict
    form: Form
    options: tuple[Option, ...] = ()
    right: tuple[str, ...] = ()

    @property
    def unit(self) -> str:
        """Unit of the number asked for, or an empty text."""
        return "ft" if self.form == "number" else ""

    def prompt(self, session: Session, number: int) -> Prompt:
        """Return the prompt as it is put, the session being at its moment."""
        asked, before = self.asked, session.annunciation
        target = None
        if asked.kind == "which_key":
            target = before
            for name, content in asked.shows:
                target = target.with_cell(name, content)
        return Prompt(
            asked.kind, asked.key, asked.question or default_question(asked, session), before,
            asked.horizon_s, number, asked.line, self.form, self.options, self.unit, target,
            asked.then, asked.hide,
        )  # fmt: skip


def pose(step: Predict, session: Session, path: str, forms: frozenset[Form] = ALL_FORMS) -> Posed:
    """Return a prompt made ready, without touching the session.

    Args:
        step: The prompt of the lesson.
        session: The session at the moment of the prompt.
        path: The lesson's file, for messages.
        forms: What the caller can ask for; other kinds become their strip form.

    Raises:
        FileError: No key at all does what the prompt asks for.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> runner = workspace.start_lesson_without_trainee(lesson)
        >>> records = runner.advance(60.0)
        >>> pose(runner.asked, runner.session, lesson.path).form
        'strip'
    """
    form = FORMS[step.kind]
    right = _right_keys(step, session, path) if step.kind in ("which_key", "what_to_do") else ()
    play = _play(step, right)
    if form not in forms:
        return Posed(play, play, "strip")
    return Posed(play, step, form, _options(step, session), right)


def finish(posed: Posed, answer: Answer, session: Session) -> Answer:
    """Return a played answer with what is right in the prompt's own form.

    Args:
        posed: The prompt.
        answer: What its play led to.
        session: The session after the play.
    """
    if posed.form == "strip":
        return answer
    if posed.asked.kind == "level_off":
        flight = session.flight
        flown_ft = abs(flight.vertical_speed_fpm) / 60.0 * TOLERANCE_S
        tolerance_ft = max(LEAST_TOLERANCE_FT, flown_ft)
        return replace(answer, number=flight.altitude_ft, tolerance=tolerance_ft)
    if posed.asked.kind == "first_capture":
        return replace(answer, accepted=(_captured(answer),))
    if posed.asked.kind == "is_allowed":
        return replace(answer, accepted=(_reception(answer),))
    return replace(answer, accepted=posed.right)


def compute_answer(predict: Predict, session: Session, path: str = "<lesson>") -> Answer:
    """Return the answer to a prompt without touching the session.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> runner = workspace.start_lesson_without_trainee(lesson)
        >>> records = runner.advance(60.0)
        >>> answer = compute_answer(runner.asked, runner.session)
        >>> answer.after.engagement, runner.session.annunciation.engagement  # only the fork flew
        ('director', 'no_guidance')
    """
    fork = session.fork()
    posed = pose(predict, fork, path)
    play = PromptPlay(posed.play, fork)
    while not play.is_over:
        play.step()
    return finish(posed, play.answer, fork)


def default_question(step: Predict, session: Session) -> str:
    """Return the wording of a prompt that has none of its own.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> runner = workspace.start_lesson_without_trainee(lesson)
        >>> records = runner.advance(60.0)
        >>> default_question(runner.asked, runner.session)
        'The next key is Director. What will the strip read after it?'
    """
    events = session.installation.chart.events
    event = events.get(step.key)
    if step.then:
        labels = [events[key].label for key in (step.key, *step.then)]
        return _SEQUENCE.format(keys=", then ".join(labels))
    return _QUESTIONS[step.kind].format(
        key=event.label if event else "",
        seconds=f"{step.horizon_s:g}",
        cells=_cells_words(step, session),
        goal=step.goal_words,
        fault=fault_words(step.fault).lower(),
        values=" and ".join(_value_words(session, *pair) for pair in step.values),
    )


def _play(step: Predict, right: tuple[str, ...]) -> Predict:
    """Return the strip prompt that plays as this one."""
    if FORMS[step.kind] == "strip":
        return step
    if step.kind in ("first_capture", "level_off"):
        return replace(step, kind="next_change", question="")
    if step.kind == "is_allowed":
        return replace(step, kind="after_key", question="")
    if right[0] == NO_KEY:
        return replace(step, kind="after_time", question="")
    return replace(step, kind="after_key", key=right[0], question="")


def _right_keys(step: Predict, session: Session, path: str) -> tuple[str, ...]:
    keys = [key.id for key in _key_options(session)]
    if step.kind == "what_to_do":
        keys.insert(0, NO_KEY)
    right = tuple(key for key in keys if _does(step, session.fork(), key))
    if right:
        return right
    wanted = step.goal_words or "; ".join(f"{cell}: {content}" for cell, content in step.shows)
    found = f"no single key leads to this here: {wanted}"
    raise FileError([FileProblem(path, step.line, 1, found, "what some key of the aircraft does")])


def _does(step: Predict, fork: Session, key: str) -> bool:
    before = fork.annunciation
    if key != NO_KEY:
        fork.press(key)
    if step.kind == "which_key":
        after = fork.annunciation
        return all(after.cell(name) == content for name, content in step.shows)
    end_s = fork.t_s + step.horizon_s
    while fork.t_s < end_s - STEP_S / 2.0:
        fork.step()
    return is_met(step.goal or Condition(), fork, before)


def _options(step: Predict, session: Session) -> tuple[Option, ...]:
    chart = session.installation.chart
    if step.kind == "first_capture":
        shown = session.annunciation
        armed = (*shown.lateral.armed, *shown.vertical.armed)
        labels = {r.arms: r.label.removesuffix(" armed") for r in chart.regions.values() if r.arms}
        modes = tuple(Option(mode, labels[mode]) for mode in armed)
        return (*modes, Option(NOTHING, "Nothing captures"))
    if step.kind == "is_allowed":
        return (
            Option(ACCEPTED, "It is accepted"),
            Option(REFUSED, "It is refused, with a reason"),
            Option(IGNORED, "Nothing happens at all"),
        )
    if step.kind == "level_off":
        return ()
    keys = _key_options(session)
    return (Option(NO_KEY, "No key: wait"), *keys) if step.kind == "what_to_do" else keys


def _key_options(session: Session) -> tuple[Option, ...]:
    events = session.installation.chart.events.values()
    return tuple(Option(e.id, e.label) for e in events if e.kind == "key")


def _captured(answer: Answer) -> str:
    """Return the armed mode that became active first."""
    for record in answer.records:
        for axis in ("lateral", "vertical"):
            armed = record.before.cell(f"{axis}_armed")
            active = str(record.after.cell(f"{axis}_active"))
            if active == record.before.cell(f"{axis}_active"):
                continue
            # Altitude is armed under its own name and becomes active as altitude capture.
            mode = "altitude" if active == "altitude_capture" else active
            if mode in armed:
                return mode
    return NOTHING


def _reception(answer: Answer) -> str:
    if any(record.refusal is not None for record in answer.records):
        return REFUSED
    return ACCEPTED if answer.records else IGNORED


def cell_words(session: Session, name: str, content: str | tuple[str, ...]) -> str:
    """Return one cell and its content in words, for a question."""
    chart = session.installation.chart
    modes = (content,) if isinstance(content, str) else content
    words = " and ".join(chart.mode_label(mode) for mode in modes) or "nothing"
    return f"{name.replace('_', ' ')} {words}"


def _value_words(session: Session, name: str, value: float | str) -> str:
    if isinstance(value, str):
        source = session.flight.sources.get(value)
        words = TEXT_SELECTORS[name].split(":")[0].lower()
        return f"the {words} to {source.label if source else value}"
    selector = SELECTORS[name]
    return f"the {selector.label.lower()} to {value:g} {selector.unit}".rstrip()


def _cells_words(step: Predict, session: Session) -> str:
    order = sorted(step.shows, key=lambda pair: CELLS.index(pair[0]))
    return ", ".join(cell_words(session, name, content) for name, content in order)
