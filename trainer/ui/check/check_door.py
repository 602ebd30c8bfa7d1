"""The way through a check: begin or go on, item after item, weigh, show what came out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from trainer.assessment.answers.prediction import Prediction
from trainer.charts.provenance import trained_words
from trainer.errors import TrainerError
from trainer.records.check_sitting import SittingError
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.ui.check.check_banks import Banks, Known
from trainer.ui.check.check_desk import CheckDesk, Purpose, Taken
from trainer.ui.check.check_intro import CheckIntro
from trainer.ui.check.check_item_view import CheckItemView
from trainer.ui.check.check_outcome_view import CheckOutcomeView
from trainer.ui.check.check_words import GIVE_UP_WORDS, WEIGHING
from trainer.ui.check.item_practice import replay
from trainer.ui.club.club_kit import sentence, tried
from trainer.ui.lesson.practice_page import strip_colours
from trainer.ui.look.theme import LIGHT, Theme
from trainer.ui.window.asker import Asker

if TYPE_CHECKING:
    from trainer.records.check_sitting import SittingState
    from trainer.records.check_verdict import CheckReport, WrongAnswer
    from trainer.ui.look.words import StripWords

_BUSY = "Something else is being done still: wait, or stop it."
_FOUND = "The items of the aircraft are found: begin the check, or go on, when you like."


@dataclass(frozen=True, slots=True)
class Weighed:
    """A check that is over, with what its page needs."""

    taken: Taken
    report: CheckReport
    titles: dict[str, str]
    lessons: dict[str, str]


class CheckDoor(QObject):
    """Owns the pages of the check; made when first asked for."""

    closed = Signal()
    opened = Signal(object)
    """A page that is to be shown."""
    quiet = Signal(bool)
    """True while an item is asked."""
    news = Signal(str)
    member_named = Signal(str)
    lesson_asked = Signal(str)
    due_asked = Signal()
    exchange_asked = Signal()
    flown = Signal(object)
    """A practice that is to be flown: an answer once more."""

    def __init__(
        self,
        desk: CheckDesk,
        banks: Banks,
        words_of: Callable[[str], StripWords],
        parent: QObject | None = None,
    ) -> None:
        """Make the door.

        Args:
            desk: What is asked and kept.
            banks: Where item banks come from.
            words_of: Returns an installation's words for the strip.
            parent: Who owns the door.
        """
        super().__init__(parent)
        self.desk = desk
        self._banks = banks
        self._words_of = words_of
        self._member = ""
        self._weighed: Weighed | None = None
        self.intro = CheckIntro(self._caution)
        self.asker = Asker(self.intro)
        self.item = CheckItemView()
        self.outcome = CheckOutcomeView()
        self._connect()
        self.set_look(LIGHT, DEFAULT_DESIGN, is_still=False)

    def page(self, member: str) -> QWidget:
        """Return the first page for a member."""
        self._member = member
        self.intro.say("")
        tried(self._fill, self.intro.say)
        return self.intro

    def set_look(self, theme: Theme, design: StripDesign, *, is_still: bool) -> None:
        """Use another theme and strip design."""
        self.item.page.set_theme(theme, design)
        self.item.page.set_still(is_still)
        self.outcome.set_design(design, strip_colours(design, theme))

    def use_keys(self, keys: dict[str, str]) -> None:
        """Show the user's own keys beside the controls."""
        self.item.page.keys = keys

    def begin(self, purpose: Purpose, form: str, member: str) -> None:
        """Begin a check once its items are known."""

        def begin(known: Known) -> None:
            taken = self.desk.begin(purpose, form, member, known)
            self.member_named.emit(member)
            self._member = member
            self._ask(taken)

        self._with_bank(purpose.installation_id, begin)

    def go_on(self, state: SittingState) -> None:
        """Go on with a check at its item, or show what it said."""
        sitting = state.sitting

        def go_on(known: Known) -> None:
            taken = self.desk.go_on(sitting, known)
            if taken.is_over:
                self._weigh(taken, is_over=True)
                return
            self.member_named.emit(sitting.member)
            self._member = sitting.member
            self._ask(taken)

        self._with_bank(sitting.installation_id, go_on)

    def give_up(self, state: SittingState) -> None:
        """End a check without a verdict, if that is really wanted."""
        whose = f"{state.sitting.member}, {state.sitting.aircraft_title}"
        if not self.asker.confirm("Give up", f"{whose}\n\n{GIVE_UP_WORDS}", "Give up"):
            return
        if tried(lambda: self.desk.give_up(state.sitting), self.intro.say):
            self.page(self._member)

    def stop(self) -> None:
        """Leave the item that is asked; it is asked again when the check goes on."""
        self.opened.emit(self.page(self._member))
        self.intro.take_focus()

    def back_to_outcome(self) -> None:
        """Show the outcome again, after an answer was flown once more."""
        self.opened.emit(self.outcome)
        self.outcome.list.setFocus()

    def _caution(self, installation: str, title: str) -> str:
        """Return what holds of an aircraft's limits that nobody has signed; empty if all are."""
        fit = self.desk.workspace.installations.get(installation)
        return trained_words(list(fit.limits.values()), title) if fit is not None else ""

    def _fill(self) -> None:
        self.intro.show_choices(self._member, self.desk.purposes(), self.desk.plans())
        self.intro.show_missing(self.desk.missing())
        self.intro.show_states(self.desk.states(self._member))

    def _with_bank(self, installation: str, act: Callable[[Known], None]) -> None:
        def go(known: Known) -> None:
            if not self.intro.isVisible():
                self.news.emit(_FOUND)
                return
            tried(lambda: act(known), self.intro.say)

        if not self._banks.fetch(installation, go, lambda words: self.intro.say(sentence(words))):
            self.intro.say(_BUSY)

    def _ask(self, taken: Taken) -> None:
        if taken.item is None:
            self._weigh(taken, is_over=False)
            return
        self.item.show_taken(taken)
        self.opened.emit(self.item)
        self.item.take_focus()

    def _answer(self, said: Prediction, taken_s: float) -> None:
        taken = self.item.taken
        if taken is None or taken.item is None:
            return
        try:
            self.desk.answer(taken, said, taken_s)
        except SittingError as error:
            self.stop()
            self.intro.say(sentence(str(error)))
            return
        except TrainerError as error:
            self.item.say(f"Not kept: {error}. The same item is still asked.", is_problem=True)
            return
        self._ask(taken)

    def _weigh(self, taken: Taken, *, is_over: bool) -> None:
        """Weigh the answers beside the window; a check that wasn't over ends here."""
        self.opened.emit(self.page(self._member))

        def work(_check: Callable[[], None]) -> Weighed:
            installation = taken.sitting.installation_id
            return Weighed(
                taken, self.desk.report(taken), self.desk.competency_titles(installation),
                self.desk.lesson_titles(),
            )  # fmt: skip

        def done(weighed: Weighed) -> None:
            if not is_over and not tried(
                lambda: self.desk.end(taken, weighed.report), self.intro.say
            ):
                return
            tried(lambda: self._show(weighed), self.intro.say)

        if self._banks.run(work, done, self.intro.say):
            self.intro.show_waiting(WEIGHING, can_stop=False)
        else:
            self.intro.say(_BUSY)

    def _show(self, weighed: Weighed) -> None:
        self._weighed = weighed
        taken = weighed.taken
        self.outcome.show_report(
            taken, weighed.report, self._words_of(taken.sitting.installation_id),
            titles=weighed.titles, lessons=weighed.lessons,
            because=lambda one: self.desk.because(taken, one.answer),
            not_asked_for=self.desk.not_asked_for(taken, weighed.report),
            caution=self._caution(taken.sitting.installation_id, taken.sitting.aircraft_title),
        )  # fmt: skip
        if self.intro.isVisible():
            self.opened.emit(self.outcome)
            self.outcome.take_focus()
        else:
            self.news.emit("The check is over: its outcome is on the page Check.")

    def _replay(self, one: WrongAnswer) -> None:
        if self._weighed is None:
            return
        sitting, given = self._weighed.taken.sitting, one.answer

        def fly() -> None:
            flyer = self.desk.flown(given.item, sitting.installation_id, f"Answer {one.number}")
            said = Prediction(given.answer, given.confidence)
            self.flown.emit(replay(flyer, said, self.back_to_outcome))

        tried(fly, self.news.emit)

    def _connect(self) -> None:
        intro, item, outcome = self.intro, self.item, self.outcome
        intro.begun.connect(self.begin)
        intro.resumed.connect(self.go_on)
        intro.given_up.connect(self.give_up)
        intro.due_asked.connect(self.due_asked)
        intro.closed.connect(self.closed)
        intro.wait.stopped.connect(self._banks.stop)
        self._banks.waiting.connect(intro.show_waiting)
        item.answered.connect(self._answer)
        item.stopped.connect(self.stop)
        item.seen.connect(self.quiet)
        outcome.closed.connect(lambda: self.opened.emit(self.page(self._member)))
        outcome.replayed.connect(self._replay)
        outcome.lesson_asked.connect(self.lesson_asked)
        outcome.exchange_asked.connect(self.exchange_asked)
