"""Makes the club's and the exchange's pages when first asked for, and closes them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.ui.look.theme import LIGHT, Theme

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.ui.club.club_desk import ClubDesk
    from trainer.ui.club.club_page import ClubPage
    from trainer.ui.club.exchange_page import ExchangePage


class ClubDoor(QObject):
    """Knows the two pages; loads nothing of them before."""

    closed = Signal()
    aircraft_brought = Signal()
    """An assignment has brought an aircraft."""
    member_named = Signal(str)

    def __init__(
        self,
        folder: Path,
        workspace: Workspace,
        close_records: Callable[[], None],
        parent: QObject | None = None,
    ) -> None:
        """Make the door.

        Args:
            folder: Where records and keys are kept.
            workspace: Installations, competencies and lessons.
            close_records: Closes the file of answers, so that it can be replaced.
            parent: Who owns the door.
        """
        super().__init__(parent)
        self._folder = folder
        self._workspace = workspace
        self._close_records = close_records
        self._theme: Theme = LIGHT
        self._design: StripDesign = DEFAULT_DESIGN
        self._club_desk: ClubDesk | None = None
        self.page: ClubPage | None = None
        self.exchange: ExchangePage | None = None

    def club(self) -> QWidget:
        """Return the club's page."""
        if self.page is None:
            from trainer.ui.club.club_desk import ClubDesk
            from trainer.ui.club.club_page import ClubPage

            self._club_desk = ClubDesk(self._folder, self._workspace)
            self._club_desk.design = self._design
            self.page = ClubPage(self._club_desk)
            self.page.set_theme(self._theme)
            self.page.closed.connect(self.closed)
        self.page.show_start()
        return self.page

    def member(self, name: str) -> QWidget:
        """Return the exchange's page for a member."""
        if self.exchange is None:
            from trainer.ui.club.exchange_page import ExchangePage
            from trainer.ui.club.member_exchange import MemberExchange

            own = self._workspace.own_aircraft
            self.exchange = ExchangePage(MemberExchange(self._folder, own=own))
            self.exchange.aircraft_brought.connect(self._reload)
            self.exchange.member_named.connect(self.member_named)
            self.exchange.closed.connect(self.closed)
            self.exchange.records_moved.connect(self._close_records)
        self.exchange.show_member(name)
        return self.exchange

    def _reload(self) -> None:
        self._workspace.reload_installations()
        self.aircraft_brought.emit()

    def set_look(self, theme: Theme, design: StripDesign) -> None:
        """Use another theme and strip design."""
        self._theme, self._design = theme, design
        if self.page is not None and self._club_desk is not None:
            self.page.set_theme(theme)
            self._club_desk.design = design

    def close(self) -> None:
        """Wait for what is being done, and close the book."""
        if self.page is not None:
            self.page.close_book()
        if self.exchange is not None:
            self.exchange.close_records()
