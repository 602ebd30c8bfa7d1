"""A lesson as a quiz on paper: the session flies it, so every answer is computed."""

from __future__ import annotations

from trainer.assessment.answers.explain import explain
from trainer.lesson.question import STRIP_ONLY
from trainer.lesson.runner import LessonRunner
from trainer.report.strip_quiz import QuizQuestion
from trainer.session.session import STEP_S, Session

_LEVEL_FPM = 50.0
"""Below this the sentence says level."""


def lesson_questions(runner: LessonRunner) -> list[QuizQuestion]:
    """Fly a lesson to its end and return each of its prompts with its answer.

    Args:
        runner: A run at its start, without a trainee.

    Raises:
        FileError: A wait of the lesson was not over in its time.
    """
    runner.forms = STRIP_ONLY
    found: list[QuizQuestion] = []
    situation = ""
    while runner.phase != "finished":
        if runner.phase == "asking":
            situation = situation_sentence(runner.session)
            runner.commit()
        elif runner.phase == "explained":
            assert runner.prompt is not None
            answer = runner.played[-1]
            because = explain(answer, runner.session.installation)
            prompt = runner.prompt
            found.append(
                QuizQuestion(situation, prompt.question, prompt.before, answer.after, because)
            )
            runner.proceed()
        else:
            runner.advance(STEP_S)
    return found


def situation_sentence(session: Session) -> str:
    """Return where the aircraft is, what it does and what is selected, in one line."""
    flight, selected = session.flight.sample(), session.references
    speed_fpm = flight.vertical_speed_fpm
    motion = "level"
    if abs(speed_fpm) >= _LEVEL_FPM:
        motion = f"{'climbing' if speed_fpm > 0 else 'descending'} {abs(speed_fpm):,.0f} ft/min"
    parts = [
        f"At {flight.altitude_ft:,.0f} ft, heading {flight.heading_deg:03.0f}, "
        f"{flight.airspeed_kt:.0f} kt, {motion}.",
        f"Selected: heading {selected.selected_heading_deg:03.0f}, "
        f"altitude {selected.selected_altitude_ft:,.0f} ft.",
    ]
    if selected.source_id and flight.course_valid:
        parts.append(
            f"Tuned: {selected.source_id.replace('_', ' ')}, {flight.distance_nm:.1f} NM away, "
            f"course deviation {abs(flight.course_deviation):.2f} of full scale."
        )
    return " ".join(parts)
