"""Plays a lesson: runs its steps, stops at prompts, and plays each prompt once it is answered.

Free of clocks and windows: a caller advances it by simulated time and reads its phase. It takes
no prediction and scores nothing; `assessment.tutor` does.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from trainer.errors import FileError, FileProblem
from trainer.lesson.answer import Answer, PromptPlay
from trainer.lesson.condition import is_met
from trainer.lesson.question import (
    STRIP_ONLY,
    Form,
    Posed,
    Prompt,
    default_question,
    finish,
    pose,
)
from trainer.lesson.spec import (
    Do,
    Inject,
    Lesson,
    Predict,
    Say,
    Set,
    Step,
    Wait,
    WaitUntil,
)
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session

Phase = Literal["running", "asking", "revealing", "explained", "finished"]


__all__ = ["LessonRunner", "Phase", "Prompt", "default_question"]


class LessonRunner:
    """One run of a lesson, from its start to its end.

    Attributes:
        lesson: The lesson.
        session: The session that flies it.
        phase: What the runner waits for.
        narration: The latest `say`.
        prompt: The question while asking, revealing or explained.
        played: The answers of all prompts played so far.
        forms: What the caller can ask for; a prompt of another form is asked as a strip.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> runner = LessonRunner(lesson, lambda: workspace.begin("ship_amber", lesson.start))
        >>> records = runner.advance(60.0)
        >>> runner.phase, runner.prompt.question
        ('asking', 'The next key is Director. What will the strip read after it?')
        >>> runner.commit()
        >>> records = runner.advance(60.0)
        >>> runner.phase, runner.played[0].after.engagement
        ('explained', 'director')
    """

    forms: frozenset[Form] = STRIP_ONLY

    def __init__(self, lesson: Lesson, start_session: Callable[[], Session]) -> None:
        self.lesson = lesson
        self._start_session = start_session
        self.prompt_count = sum(isinstance(step, Predict) for step in lesson.steps)
        self.restart()

    def restart(self) -> None:
        """Begin again from the lesson's start."""
        self.session = self._start_session()
        self.phase: Phase = "running"
        self.narration = ""
        self.prompt: Prompt | None = None
        self.played: list[Answer] = []
        self._index = 0
        self._entered = False
        self._step_began_s = 0.0
        self._before = self.session.annunciation
        self._posed: Posed | None = None
        self._play: PromptPlay | None = None
        self._remaining_s = 0.0

    @property
    def asked(self) -> Predict | None:
        """The step of the present or latest prompt, for those who compute its answer ahead."""
        return self._posed.asked if self._posed is not None else None

    @property
    def playing(self) -> Predict | None:
        """The strip prompt as which the present or latest prompt is played."""
        return self._posed.play if self._posed is not None else None

    @property
    def step_index(self) -> int:
        """Index of the step that the lesson has come to."""
        return self._index

    @property
    def prompt_number(self) -> int:
        """Number of the present or latest prompt, from 1; 0 before the first."""
        if self.prompt is not None:
            return self.prompt.number
        return len(self.played)

    def advance(self, dt_s: float) -> tuple[StepRecord, ...]:
        """Let simulated time run; it stops by itself at a prompt.

        Args:
            dt_s: Time to run [s]; what is less than a step is kept for the next call.

        Returns:
            The records of what happened, in order.

        Raises:
            FileError: A `wait_until` of the lesson was not met within its time.
        """
        records: list[StepRecord] = []
        self._run_instant_steps(records)
        self._remaining_s += dt_s
        while self._remaining_s >= STEP_S - 1e-9 and self.phase in ("running", "revealing"):
            self._remaining_s -= STEP_S
            self._fly(records)
        if self.phase not in ("running", "revealing"):
            self._remaining_s = 0.0
        return tuple(records)

    def commit(self) -> None:
        """The trainee has answered: play the prompt; time then shows what happens."""
        if self.phase != "asking" or self._posed is None:
            return
        self.phase = "revealing"
        self._play = PromptPlay(self._posed.play, self.session)
        if self._play.is_over:
            self._finish_prompt(self._play.answer)

    def proceed(self) -> tuple[StepRecord, ...]:
        """Go on after an explanation; the records of steps that need no time are returned."""
        if self.phase != "explained":
            return ()
        self.phase, self.prompt = "running", None
        self._next_step()
        records: list[StepRecord] = []
        self._run_instant_steps(records)
        return tuple(records)

    def _fly(self, records: list[StepRecord]) -> None:
        if self._play is not None:
            record = self._play.step()
            if record is not None:
                records.append(record)
            if self._play.is_over:
                self._finish_prompt(self._play.answer)
            return
        record = self.session.step(STEP_S)
        if record is not None:
            records.append(record)
        self._run_instant_steps(records)

    def _run_instant_steps(self, records: list[StepRecord]) -> None:
        """Do all steps that need no time, up to one that waits or asks."""
        while self.phase == "running":
            if self._index >= len(self.lesson.steps):
                self.phase = "finished"
                return
            if not self._do(self.lesson.steps[self._index], records):
                return
            if self.phase == "running":
                self._next_step()

    def _next_step(self) -> None:
        self._index += 1
        self._entered = False

    def _do(self, step: Step, records: list[StepRecord]) -> bool:
        """Do one step; False if it needs time, or asks."""
        if not self._entered:
            self._entered = True
            self._step_began_s = self.session.t_s
            self._before = self.session.annunciation
        match step:
            case Say(text):
                self.narration = text
            case Do(event):
                records.append(self.session.press(event))
            case Set(values):
                for name, value in values:
                    self._note(records, self.session.select(name, value))
            case Inject(fault, on):
                self._note(records, self.session.inject(fault, on))
            case Wait(seconds):
                return self.session.t_s - self._step_began_s >= seconds - STEP_S / 2.0
            case WaitUntil():
                return self._is_waited(step)
            case Predict():
                self._ask(step)
                return False
        return True

    @staticmethod
    def _note(records: list[StepRecord], record: StepRecord | None) -> None:
        if record is not None:
            records.append(record)

    def _is_waited(self, step: WaitUntil) -> bool:
        if is_met(step.condition, self.session, self._before):
            return True
        if self.session.t_s - self._step_began_s > step.within_s:
            found = f"the wait was not over after {step.within_s:g} s of flight"
            accepted = "a condition that comes true, or a longer within_s"
            raise FileError([FileProblem(self.lesson.path, step.line, 1, found, accepted)])
        return False

    def _ask(self, step: Predict) -> None:
        self._posed = pose(step, self.session, self.lesson.path, self.forms)
        self.prompt = self._posed.prompt(self.session, len(self.played) + 1)
        self.phase = "asking"

    def _finish_prompt(self, answer: Answer) -> None:
        self._play = None
        if self._posed is not None:
            answer = finish(self._posed, answer, self.session)
        self.played.append(answer)
        self.phase = "explained"
