"""Finds what a lesson that loads and flies can still have wrong with it.

Each finding is a `FileProblem`: the line, what was found, and what would be accepted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from trainer.errors import FileError, FileProblem
from trainer.lesson.answer import Answer
from trainer.lesson.condition import is_met
from trainer.lesson.question import ALL_FORMS, FORMS, compute_answer
from trainer.lesson.reading import measure
from trainer.lesson.robustness import SMALL_VARIATIONS, Begin, Variation, fragile_prompts
from trainer.lesson.runner import LessonRunner, Prompt
from trainer.lesson.spec import Do, Lesson, Predict, Say, Set, Step, Wait, WaitUntil
from trainer.lesson.told import told
from trainer.session.session import Session

HIGHEST_GRADE = 9.0
"""Narration is heard once, while flying: school year 9 at most."""
LONGEST_SENTENCE_WORDS = 30
_INSTANT = ("after_key", "after_set", "after_fault")
HORIZON_MARGIN_S = 1.5
"""A change this near to the moment asked about makes the moment a matter of luck."""


def review(
    lesson: Lesson,
    begin: Begin,
    competencies: tuple[str, ...] = (),
    variations: tuple[Variation, ...] = SMALL_VARIATIONS,
) -> tuple[FileProblem, ...]:
    """Return everything found, in file order.

    Args:
        lesson: A loaded lesson.
        begin: Starts a session of the lesson's installation in a situation.
        competencies: Ids that a lesson may name; empty: not checked.
        variations: Changes of the start under which no answer may differ.
    """
    found = [*_heading(lesson, competencies), *_narration(lesson)]
    if not any(isinstance(step, Predict) for step in lesson.steps):
        found.append(_at(lesson, 1, "a lesson that asks nothing", "a predict step"))
    flight = _Flight(lesson, begin)
    try:
        flight.fly()
        found.extend(flight.found)
        found.extend(
            _at(lesson, one.line, f"another answer when the start is a little different "
                f"({one.variation}): {one.what}", "a prompt with one defensible answer")
            for one in fragile_prompts(lesson, begin, variations)
        )  # fmt: skip
    except FileError as error:
        found.extend(flight.found)
        found.extend(error.problems)
    return tuple(sorted(dict.fromkeys(found), key=lambda one: one.line))


def _at(lesson: Lesson, line: int, found: str, accepted: str) -> FileProblem:
    return FileProblem(lesson.path, line, 1, found, accepted)


def _heading(lesson: Lesson, competencies: tuple[str, ...]) -> list[FileProblem]:
    found = []
    if not lesson.summary:
        found.append(_at(lesson, 1, "no summary", "a line 'summary: ...'"))
    if not lesson.competencies:
        found.append(_at(lesson, 1, "no competencies", "a line 'competencies: [...]'"))
    accepted = ", ".join(competencies)
    found.extend(
        _at(lesson, 1, f"competency '{name}'", accepted)
        for name in lesson.competencies
        if competencies and name not in competencies
    )
    found.extend(
        _at(lesson, 1, f"an objective of {len(text.split())} words: '{text}'", "3 to 25 words")
        for text in lesson.objectives
        if not 3 <= len(text.split()) <= 25
    )
    return found


def _narration(lesson: Lesson) -> list[FileProblem]:
    found = []
    said = [step for step in lesson.steps if isinstance(step, Say)]
    for step in said:
        reading = measure(step.text)
        if reading.longest_words > LONGEST_SENTENCE_WORDS:
            found.append(_at(
                lesson, step.line, f"a sentence of {reading.longest_words} words",
                f"at most {LONGEST_SENTENCE_WORDS} words",
            ))  # fmt: skip
    grade = measure(" ".join(step.text for step in said)).grade
    if grade > HIGHEST_GRADE:
        words = f"narration for school year {grade:.0f}"
        found.append(_at(lesson, said[0].line, words, f"plain words, year {HIGHEST_GRADE:.0f}"))
    for before, after in zip(lesson.steps, lesson.steps[1:], strict=False):
        if isinstance(before, Say) and isinstance(after, Say):
            what = "narration that is replaced at once"
            found.append(_at(lesson, before.line, what, "a wait or a prompt after it"))
    return found


class _Flight:
    """Flies a lesson and looks at every step and prompt on the way."""

    def __init__(self, lesson: Lesson, begin: Begin) -> None:
        self._lesson = lesson
        self._runner = _WatchedRunner(lesson, lambda: begin(lesson.start), self._look)
        self._runner.forms = ALL_FORMS
        self._asked: list[tuple[object, ...]] = []
        self._place: tuple[str, ...] = ()
        self.found: list[FileProblem] = []

    def fly(self) -> None:
        runner = self._runner
        while runner.phase != "finished":
            if runner.phase == "asking":
                self._look_at_prompt()
                runner.commit()
            elif runner.phase == "explained":
                assert runner.prompt is not None
                self._look_at_answer(runner.prompt, runner.played[-1])
                runner.proceed()
            else:
                runner.advance(1.0)

    def _add(self, line: int, found: str, accepted: str) -> None:
        self.found.append(_at(self._lesson, line, found, accepted))

    def _look(self, step: Step, session: Session) -> None:
        """Look at a step before it is done."""
        what = _dead_step(step, session)
        if what:
            self._add(step.line, f"a dead step: {what}", "a step that does something, or a prompt")

    def _look_at_prompt(self) -> None:
        runner = self._runner
        step, session = runner.asked, runner.session
        assert step is not None
        self._place = session.configuration
        for other in _near_horizons(step):
            was, now = (compute_answer(one, session, self._lesson.path) for one in (step, other))
            if was.after != now.after:
                self._add(
                    step.line,
                    f"a change {HORIZON_MARGIN_S:g} s or less from the moment asked about",
                    "a moment well clear of any change",
                )
                break

    def _look_at_answer(self, prompt: Prompt, answer: Answer) -> None:
        if prompt.kind in ("first_capture", "level_off") and answer.nothing_changes:
            self._add(prompt.line, "nothing captures in the time asked about", "a longer within_s")
        if len(answer.accepted) > 3:
            keys = ", ".join(answer.accepted)
            self._add(prompt.line, f"as many as {len(answer.accepted)} right keys: {keys}",
                      "a goal that fewer keys reach")  # fmt: skip
        pressed = (prompt.key, *prompt.then)
        again = (prompt.kind, pressed, prompt.target, self._place, answer.after, answer.rule_ids)
        if again in self._asked and prompt.kind in ("after_key", "is_allowed", "which_key"):
            self._add(prompt.line, "the same question in the same modes as before",
                      "each question once")  # fmt: skip
        self._asked.append(again)
        runner = self._runner
        given = told(prompt, answer, runner.narration, runner.session.installation.chart)
        if given:
            self._add(prompt.line, f"the answer is told beforehand: '{given}'",
                      "narration that leaves it open")  # fmt: skip


class _WatchedRunner(LessonRunner):
    """A runner that shows every step before it is done."""

    def __init__(
        self, lesson: Lesson, start: Callable[[], Session], look: Callable[[Step, Session], None]
    ) -> None:
        self._look = look
        super().__init__(lesson, start)

    def _do(self, step: Step, records: list) -> bool:  # type: ignore[type-arg]
        if not self._entered:
            self._look(step, self.session)
        return super()._do(step, records)


def _dead_step(step: Step, session: Session) -> str:
    """Return why a step does nothing here, or an empty text."""
    match step:
        case Wait(seconds) if seconds == 0:
            return "a wait of no time"
        case Do(event):
            if event in session.flight.faults.stuck_keys:
                return ""
            record = session.fork().press(event)
            if record.refusal is not None:
                return f"the key is refused ({record.refusal.reason})"
            return "" if record.rules else "the key does nothing"
        case Set(values):
            return next((f"{n} is so already" for n, v in values if _is_set(session, n, v)), "")
        case WaitUntil(condition):
            if is_met(condition, session, session.annunciation):
                return "what it waits for is so already"
    return ""


def _is_set(session: Session, name: str, value: float | str) -> bool:
    references = session.references
    if name == "source":
        return references.source_id == value
    if name == "power_percent":
        return session.flight.controls.power_percent == value
    return bool(getattr(references, name, None) == value)


def _near_horizons(step: Predict) -> tuple[Predict, ...]:
    if FORMS[step.kind] != "strip" or step.kind in _INSTANT:
        return ()
    early = max(0.1, step.horizon_s - HORIZON_MARGIN_S)
    times = (early, step.horizon_s + HORIZON_MARGIN_S)
    return tuple(replace(step, horizon_s=time_s) for time_s in times)
