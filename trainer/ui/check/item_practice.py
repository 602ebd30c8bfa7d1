"""One item of the bank as practice: flown, asked, shown and explained; then on to what follows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from trainer.assessment.answers.prediction import Prediction
from trainer.assessment.answers.tutor import Tutor
from trainer.assessment.items.item import Item, lesson_of
from trainer.lesson.spec import Lesson, Predict
from trainer.ui.lesson.practice import Answered, Practice

if TYPE_CHECKING:
    from trainer.app import Workspace

_FLY_S = 0.1


class ItemPractice(Practice):
    """A practice of a single question, which runs to it by itself.

    Args:
        flyer: A run of the item's lesson.
        keep: What becomes of the answer; one after a restart isn't kept: what is right was seen.
        then: Called when the flight is left.
        after: Called when the explanation was read.
    """

    def __init__(
        self,
        flyer: Tutor,
        keep: Callable[[Answered], None],
        then: Callable[[], None],
        after: Callable[[], None],
    ) -> None:
        super().__init__(flyer, self._keep_first)
        self.then = then
        self.is_running = True
        self._keep_answer: Callable[[Answered], None] = keep
        self._after = after

    def _keep_first(self, answered: Answered) -> None:
        keep, self._keep_answer = self._keep_answer, _nothing
        keep(answered)

    def restart(self) -> None:
        """Begin again; the answer isn't kept."""
        super().restart()
        self._keep_answer = _nothing
        self.is_running = True

    def proceed(self) -> None:
        """Go on; after the explanation there is nothing more to fly."""
        super().proceed()
        if self.flyer.phase == "finished":
            self._after()


def _nothing(_answered: Answered) -> None:
    """Keep nothing."""


def item_tutor(workspace: Workspace, item: Item, installation: str, title: str) -> Tutor:
    """Return a run of an item that has come to its question.

    Args:
        workspace: Where the installation is.
        item: The item.
        installation: Id of the installation.
        title: What stands above it; empty: its situation.

    Raises:
        FileError: The situation doesn't hold any more.
    """
    tutor = workspace.start_lesson(_asked(lesson_of(item, installation), item, title))
    while tutor.phase == "running":
        tutor.advance(_FLY_S)
    return tutor


def _asked(lesson: Lesson, item: Item, title: str) -> Lesson:
    """Return an item's lesson with its title, and with a wait that says how long it is."""
    *steps, last = lesson.steps
    wait_s = item.stimulus.wait_s
    if isinstance(last, Predict) and item.stimulus.kind == "wait":
        question = (
            f"Nothing is pressed for {wait_s:.0f} seconds. What will the strip read after its next"
            " change, if one comes?"
        )
        last = replace(last, question=question)
    return replace(lesson, title=title or lesson.title, steps=(*steps, last))


def replay(flyer: Tutor, said: Prediction, then: Callable[[], None]) -> ItemPractice:
    """Return an item that has come to its question, answered as it was answered then."""
    made = ItemPractice(flyer, _nothing, then, then)
    made.answer(said)
    return made
