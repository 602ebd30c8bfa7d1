"""What the buttons below a lesson do: go on, fly again, take the next one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.ui.lesson.lesson_end import FLY_AGAIN, NEXT, steps_after

if TYPE_CHECKING:
    from trainer.ui.window.main_window import MainWindow


def take_main_step(window: MainWindow) -> None:
    """Go on from where the lesson waits."""
    practice = window.practice
    if practice is not None and practice.looking is not None:
        window.desk.take_up(practice)
        window.fly_on_from(practice.looking.t_s)
    elif practice is not None and practice.flyer.phase == "finished":
        _do(window, steps_after(practice)[0])
    else:
        window.driver.act(lambda flown: flown.proceed())


def take_other_step(window: MainWindow) -> None:
    """Do what the second button says: after a lesson its other step, in it begin again."""
    practice = window.practice
    if practice is not None and practice.flyer.phase == "finished":
        _do(window, steps_after(practice)[1])
    elif practice is not None:
        window.restart()


def _do(window: MainWindow, step: str) -> None:
    practice = window.practice
    if step == FLY_AGAIN:
        window.restart()
    elif step == NEXT and (lesson := window.chooser.lesson_after(practice.flyer.lesson.id)):
        window.open_lesson(lesson)
    else:
        window.end_lesson()
