"""Check and due practice for the window: made when first asked for, and told what it needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from trainer.errors import TrainerError
from trainer.records.check_sitting import sittings
from trainer.session.strip_design import StripDesign
from trainer.ui.look.theme import Theme

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.records.store import Store
    from trainer.ui.check.check_banks import Banks
    from trainer.ui.check.check_door import CheckDoor
    from trainer.ui.check.due_door import DueDoor
    from trainer.ui.look.words import StripWords
    from trainer.ui.window.main_window import MainWindow


class CheckRooms(QObject):
    """Owns both doors and the banks that they share.

    Args:
        window: Shows the pages.
        workspace: Aircraft, plans and lessons.
        store: Returns the open file of answers.
        words_of: Returns an installation's words for the strip.
    """

    def __init__(
        self,
        window: MainWindow,
        workspace: Workspace,
        store: Callable[[], Store],
        words_of: Callable[[str], StripWords],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._workspace = workspace
        self._store = store
        self._words_of = words_of
        self._look: tuple[Theme, StripDesign] | None = None
        self._banks: Banks | None = None
        self.check_door: CheckDoor | None = None
        self.due_door: DueDoor | None = None
        self._is_renamed = False

    @property
    def banks(self) -> Banks:
        """Where item banks come from."""
        if self._banks is None:
            from trainer.ui.check.check_banks import Banks

            self._banks = Banks(self._workspace, self)
        return self._banks

    def show_check(self) -> None:
        """Show the first page of the check."""
        self._window.show_page(self._check())
        self.check_door.intro.take_focus()

    def show_due(self) -> None:
        """Show due practice."""
        self._window.show_page(self._due())
        self.due_door.made.take_focus()

    def _check(self) -> QWidget:
        if self.check_door is None:
            from trainer.ui.check.check_desk import CheckDesk
            from trainer.ui.check.check_door import CheckDoor

            desk = CheckDesk(self._workspace, self._store)
            self.check_door = door = CheckDoor(desk, self.banks, self._words_of, self)
            window = self._window
            door.closed.connect(window.show_lessons)
            door.opened.connect(window.show_page)
            door.quiet.connect(self._set_quiet)
            door.news.connect(lambda words: window.say(words, "told"))
            door.member_named.connect(self._name)
            door.item.answered.connect(lambda *_: window.say(""))
            door.lesson_asked.connect(self._open_lesson)
            door.due_asked.connect(self.show_due)
            door.exchange_asked.connect(window.show_exchange)
            door.flown.connect(window.open_item)
            self._use_look()
        self.check_door.use_keys(self._window.preferences.keys)
        return self.check_door.page(self._window.preferences.member)

    def _due(self) -> QWidget:
        if self.due_door is None:
            from trainer.ui.check.due_desk import DueDesk
            from trainer.ui.check.due_door import DueDoor

            desk = DueDesk(self._workspace, self._store)
            self.due_door = door = DueDoor(desk, self.banks, self)
            door.closed.connect(self._window.show_lessons)
            door.opened.connect(self._window.show_page)
            door.flown.connect(self._window.open_item)
            door.said.connect(self._window.say)
        return self.due_door.page(self._window.preferences.member)

    def set_look(self, theme: Theme, design: StripDesign) -> None:
        """Use another theme and strip design."""
        self._look = (theme, design)
        self._use_look()

    def open_note(self) -> str:
        """Return a line about a check that can be gone on with, or an empty text."""
        try:
            one = next((s for s in sittings(self._store()) if s.is_open), None)
        except TrainerError:
            return ""  # the page says what is wrong with the file
        if one is None:
            return ""
        return (
            f"A check of {one.sitting.aircraft_title} by {one.sitting.member} waits at item"
            f" {one.answered + 1}: Ctrl+T goes on with it."
        )

    def press_enter(self, page: QWidget) -> bool:
        """Do what Enter does on one of these pages; False if it is none of them."""
        check, due = self.check_door, self.due_door
        if check is not None and page is check.intro:
            check.intro.press_enter()
        elif check is not None and page is check.item:
            check.item.page.builder.finish()
        elif check is not None and page is check.outcome:
            check.outcome.replay.click()
        elif due is not None and page is due.made:
            due.made.press_enter()
        else:
            return False
        return True

    def press_esc(self, page: QWidget) -> bool:
        """Go back from an item or an outcome; False if it is neither."""
        check = self.check_door
        if check is not None and page is check.item:
            check.stop()
        elif check is not None and page is check.outcome:
            check.outcome.back.click()
        else:
            return False
        return True

    def close(self) -> None:
        """Stop what is going on."""
        if self._banks is not None:
            self._banks.close()

    def forget(self) -> None:
        """The aircraft have changed: what was made of them is made anew."""
        if self.due_door is not None:
            self.due_door.desk.engines.clear()

    def _name(self, name: str) -> None:
        """Keep answers under the name given for a check; the window says so if it is another."""
        self._is_renamed = name != self._window.preferences.member
        self._window.name_member(name)

    def _set_quiet(self, is_quiet: bool) -> None:
        """Take everything away that could tell an answer, or bring it back."""
        self._window.top.setVisible(not is_quiet)
        self._window.keys.set_quiet(is_quiet)
        if is_quiet:
            self._window.desk.hush()
            if not self._is_renamed:
                self._window.say("")  # that a check waits is over, and the cautions stay in sight
            self._is_renamed = False

    def _use_look(self) -> None:
        if self.check_door is not None and self._look is not None:
            is_still = self._window.preferences.is_still
            self.check_door.set_look(*self._look, is_still=is_still)

    def _open_lesson(self, name: str) -> None:
        for path in self._workspace.lesson_paths:
            try:
                lesson = self._workspace.lesson(path)
            except TrainerError:
                continue
            if lesson.id == name:
                self._window.open_lesson(lesson)
                return
