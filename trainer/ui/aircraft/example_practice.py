"""Free practice from the very moment of an example or of a difference; nothing of it is kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from trainer.assessment.differences.differences import FlownDifference
from trainer.assessment.items.item import fly_to
from trainer.session.example import Moment
from trainer.session.example_words import ExampleSide
from trainer.session.logic import Logic
from trainer.session.session import Session
from trainer.session.start import begin
from trainer.ui.check.item_practice import ItemPractice
from trainer.ui.practice.free_flight import FreeFlight

if TYPE_CHECKING:
    from trainer.app import Workspace

EXAMPLE, DIFFERENCE = "Fly this example", "Fly this difference"
_NOT_KEPT = "Nothing of this flight is kept. Esc goes back."


class ExamplePractice(ItemPractice):
    """A free flight that goes back to where it was asked for.

    Args:
        start_session: Returns a session at the moment.
        title: What stands above it.
        words: What is to be done in it.
        then: Called when the flight is left.
    """

    def __init__(
        self,
        start_session: Callable[[], Session],
        title: str,
        words: str,
        then: Callable[[], None],
    ) -> None:
        flyer = FreeFlight(start_session, title, f"{words}\n\n{_NOT_KEPT}")
        super().__init__(flyer, lambda _answered: None, then, lambda: None)
        self.is_running = False

    def restart(self) -> None:
        """Go back to the moment, and wait there."""
        super().restart()
        self.is_running = False


def example_practice(
    side: ExampleSide, workspace: Workspace, then: Callable[[], None]
) -> ExamplePractice:
    """Return a flight from where one side of an example begins.

    Raises:
        TrainerError: Its aircraft isn't there any more.
    """
    moment: Moment = side.moment
    logic, aircraft = Logic(moment.installation), workspace.aircraft(moment.installation.aircraft)
    words = "\n\n".join(step.line for step in side.steps[:2])
    made = ExamplePractice(
        lambda: moment.begin(logic, aircraft), f"{EXAMPLE}: {side.title}", words, then
    )
    made.start = moment.start if not moment.lead_s else None
    return made


def difference_practice(
    one: FlownDifference, name: str, words: str, workspace: Workspace, then: Callable[[], None]
) -> ExamplePractice:
    """Return a flight in one ship from the moment at which two ships part.

    Args:
        one: The difference.
        name: Id of the ship to fly.
        words: What happens there, and what both ships then do.
        workspace: Where the ship is.
        then: Called when the flight is left.

    Raises:
        TrainerError: The ship isn't there any more, or doesn't come to this moment any more.
    """
    logic = Logic(workspace.installation(name))
    aircraft = workspace.aircraft(logic.installation.aircraft)

    def start_session() -> Session:
        return fly_to(one.situation, lambda start: begin(logic, aircraft, start))

    title = f"{DIFFERENCE} in {logic.installation.title}"
    return ExamplePractice(start_session, title, words, then)
