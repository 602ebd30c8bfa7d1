"""A lesson flown in the window to its end, every answer right."""

from __future__ import annotations

from trainer.assessment.answers.prediction import Prediction
from trainer.lesson.question import compute_answer
from trainer.ui.window.main_window import MainWindow


def play_right(window: MainWindow) -> list[tuple[str, bool]]:
    """Answer everything right; return each kind with whether the numbers were to be seen."""
    window.driver.stop_clock()
    window.proceed()
    asked = []
    for _ in range(4000):
        flyer = window.practice.flyer
        if flyer.phase == "finished":
            break
        if flyer.phase == "asking":
            asked.append((flyer.prompt.kind, window.desk.page.numbers.isVisible()))
            answer = compute_answer(flyer.asked, flyer.session)
            choice = next(iter(answer.accepted), "")
            said = Prediction(answer.after, "sure", choice=choice, number=answer.number)
            window.driver.act(lambda practice, said=said: practice.answer(said))
        elif flyer.phase == "explained":
            assert flyer.outcome.score.is_right
            window.proceed()
        else:
            window.driver.advance(0.25)
    assert window.practice.flyer.phase == "finished"
    return asked
