"""The way through due practice: fetch the items, ask one, explain it, and on to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from trainer.assessment.items.item import Item
from trainer.errors import TrainerError
from trainer.ui.check.check_banks import Banks, Known
from trainer.ui.check.due_desk import DueDesk, Engine
from trainer.ui.check.due_page import DuePage
from trainer.ui.check.due_words import none_left
from trainer.ui.check.item_practice import ItemPractice
from trainer.ui.club.club_kit import sentence, tried

if TYPE_CHECKING:
    from trainer.ui.lesson.practice import Answered


class DueDoor(QObject):
    """Owns the page; the flying page shows the items."""

    closed = Signal()
    opened = Signal(object)
    """A page that is to be shown."""
    flown = Signal(object)
    """A practice that is to be flown."""
    said = Signal(str)

    def __init__(self, desk: DueDesk, banks: Banks, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._banks = banks
        self._member = ""
        self._installation = ""
        self.made = DuePage()
        self.made.closed.connect(self.closed)
        self.made.aircraft_chosen.connect(self.choose)
        self.made.practised.connect(self.practise)
        self.made.wait.stopped.connect(banks.stop)
        banks.waiting.connect(self.made.show_waiting)

    def page(self, member: str, installation: str = "") -> QWidget:
        """Return the page for a member, in an aircraft or in the one that was in hand."""
        self._member = member
        titles = {name: one.title for name, one in self.desk.workspace.installations.items()}
        wanted = installation or self._installation
        self._installation = wanted if wanted in titles else next(iter(titles), "")
        self.made.show_aircraft(titles, self._installation)
        self.made.say("")
        self._fill()
        return self.made

    def choose(self, installation: str) -> None:
        """Look at another aircraft."""
        self._installation = installation
        self.made.say("")
        self._fill()

    def practise(self, rule: str) -> None:
        """Ask for a rule, or for something new, once the items are known."""
        installation = self._installation
        if installation in self.desk.engines:
            tried(lambda: self._ask(rule), self.made.say)
            return

        def learn(known: Known) -> None:
            _, bank = known
            self._banks.run(lambda _check: Engine.of(bank), ready, self.made.say)

        def ready(engine: Engine) -> None:
            self.desk.engines[installation] = engine
            if self.made.isVisible() and installation == self._installation:
                tried(lambda: self._ask(rule), self.made.say)

        if not self._banks.fetch(installation, learn, lambda why: self.made.say(sentence(why))):
            self.made.say("Something else is being done still: wait, or stop it.")

    def _fill(self) -> None:
        def show() -> None:
            rules = self.desk.rules(self._member, self._installation)
            self.made.show_rules(rules, self.desk.now)

        if self._installation:
            tried(show, self.made.say)

    def _ask(self, rule: str) -> None:
        item = self.desk.item(self._member, self._installation, rule)
        if item is None:
            self._fill()
            self.made.say(none_left(rule))
            return
        self.flown.emit(self._practice(item, is_new=not rule))

    def _practice(self, item: Item, *, is_new: bool) -> ItemPractice:
        flyer = self.desk.flown(item, self._installation)
        return ItemPractice(
            flyer,
            lambda answered: self._keep(answered, flyer, item),
            self.back,
            (lambda: self._go_on("")) if is_new else self._next_due,
        )

    def _keep(self, answered: Answered, flyer: object, item: Item) -> None:
        try:
            self.desk.keep(answered, flyer, self._member, item)
        except TrainerError as error:
            self.said.emit(f"This answer isn't kept: {error}")

    def _next_due(self) -> None:
        """Go on with the rule that is due next, or show that none is."""
        rules = self.desk.rules(self._member, self._installation)
        due = next((one.rule for one in rules if one.is_due), None)
        if due is None:
            self.back()
        else:
            self._go_on(due)

    def _go_on(self, rule: str) -> None:
        item = self.desk.item(self._member, self._installation, rule)
        if item is None:
            self.back()
            self.made.say(none_left(rule))
        else:
            self.flown.emit(self._practice(item, is_new=not rule))

    def back(self) -> None:
        """Show the page again."""
        self.opened.emit(self.page(self._member))
        self.made.take_focus()
