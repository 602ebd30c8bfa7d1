"""Free practice: a session with no script, and the call-it-first drill. No Qt here.

It has the face of a `Tutor`, so that the window shows both the same way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Outcome, Tutor
from trainer.lesson.runner import Phase, Prompt
from trainer.lesson.spec import Lesson, Predict
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S, Session
from trainer.session.situation import Start
from trainer.ui.practice.verify_drill import VerifyDrill

TITLE = "Free practice"
LESSON_ID = "free_practice"
DRILL_RATES = (0, 1, 2, 4)
"""A call is asked at every n-th key; 0: never."""


def rate_words(rate: int) -> str:
    """Return a drill rate in words."""
    if rate == 0:
        return "Call it first: off"
    if rate == 1:
        return "Call it first: every key"
    return f"Call it first: every {rate}th key" if rate > 3 else "Call it first: every 2nd key"


class FreeFlight:
    """Flies until told otherwise; with the drill on, a key asks before it acts."""

    def __init__(
        self, start_session: Callable[[], Session], title: str = TITLE, narration: str = ""
    ) -> None:
        """Begin a flight.

        Args:
            start_session: Returns a session at its beginning; called for each restart.
            title: What stands above it.
            narration: What is said about it; empty: what is said about any.
        """
        self._start_session = start_session
        self.title, self.narration = title, narration
        self.drill_rate = 0
        self.verify: VerifyDrill | None = None
        self.restart()

    def restart(self) -> None:
        """Begin the situation again; calls made so far stay counted."""
        self.session = self._start_session()
        self.phase: Phase = "running"
        self.prompt: Prompt | None = None
        self.outcome: Outcome | None = None
        self.outcomes: list[Outcome] = getattr(self, "outcomes", [])
        self._call: Tutor | None = None
        self._keys_pressed = 0
        self._remaining_s = 0.0

    @property
    def prompt_number(self) -> int:
        """Number of the call in hand, or of the latest."""
        return self.prompt.number if self.prompt else len(self.outcomes)

    def press(self, event: str) -> StepRecord | None:
        """Press a key; None if the drill asks for a call first."""
        if self.phase != "running":
            return None
        is_release = event.endswith("_released")
        self._keys_pressed += not is_release
        is_asked = self.drill_rate and self._keys_pressed % self.drill_rate == 0
        if not is_asked or is_release:
            if self.verify is not None and not is_release:
                return self.verify.press(self.session, event)
            return self.session.press(event)
        self._call = Tutor(_one_question(self.session, event), lambda: self.session)
        self._call.advance(0.0)
        assert self._call.prompt is not None
        self.prompt = replace(self._call.prompt, number=len(self.outcomes) + 1)
        self.phase = "asking"
        return None

    def select(self, name: str, value: float | str) -> StepRecord | None:
        """Turn a selector, which may stick or slip while the verify drill is on."""
        if self.verify is not None:
            return self.verify.select(self.session, name, value)
        return self.session.select(name, value)

    def advance(self, dt_s: float) -> tuple[StepRecord, ...]:
        """Let simulated time run; what is less than a step is kept for the next call."""
        records: list[StepRecord] = []
        if self.phase != "running":
            return ()
        self._remaining_s += dt_s
        while self._remaining_s >= STEP_S - 1e-9:
            self._remaining_s -= STEP_S
            record = self.session.step(STEP_S)
            if record is not None:
                records.append(record)
        return tuple(records)

    def answer(self, prediction: Prediction) -> None:
        """Take the call; then the key acts at once."""
        if self.phase != "asking" or self._call is None or self.prompt is None:
            return
        self._call.answer(prediction)
        self.outcome = replace(self._call.outcomes[-1], prompt=self.prompt)
        self.outcomes.append(self.outcome)
        self.phase = "explained"

    def proceed(self) -> None:
        """Fly on after an explanation."""
        if self.phase == "explained":
            self.phase, self.prompt, self.outcome = "running", None, None


def _one_question(session: Session, event: str) -> Lesson:
    """Return a lesson that asks only what the strip reads after a key."""
    return Lesson(
        id=LESSON_ID,
        path="",
        title=TITLE,
        installation=session.installation.id,
        objectives=(),
        competencies=(),
        start=Start(),
        steps=(Predict("after_key", event),),
    )
