"""The page of the training lead: a club book, its board, roster, exchange and records."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QSizePolicy,
    QStackedWidget,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.errors import TrainerError
from trainer.records.error import CorruptStoreError
from trainer.ui.check.check_belief_view import CheckBeliefView
from trainer.ui.club import club_work
from trainer.ui.club.club_board_view import ClubBoardView
from trainer.ui.club.club_data_view import ClubDataView
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_exchange_view import ClubExchangeView
from trainer.ui.club.club_kit import named, row, sentence, tried
from trainer.ui.club.club_roster_view import ClubRosterView
from trainer.ui.look.kit import button, label, panel, set_role
from trainer.ui.look.theme import Theme
from trainer.ui.window.asker import Asker
from trainer.ui.window.background import Background

BOOK_KINDS = "Club books (*.sqlite3)"
WORDS = (
    "A club book is one file: members, aircraft with what each requires, results, briefings. It"
    " stays on this computer; members hand in result files. A member who only practises needs none."
)
STUDY = "Reports, backups, records"


class ClubPage(QWidget):
    """Opens or makes a book, then shows it on four pages."""

    closed = Signal()

    def __init__(self, desk: ClubDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.desk = desk
        self.asker = Asker(self)
        self.background = Background(self)
        self.keeper = Background(self)
        self._damaged: Path | None = None
        self._board_wanted = ""
        self.open = button("Open a club book…", "main")
        self.latest = button("Open the latest book")
        self.club_name = QLineEdit()
        self.make = button("Make a club book…")
        self.recover = button("Recover the damaged book…", "main")
        self.other = button("Another book…")
        self.back = button("Back  Esc", name="Back")
        self.book_words = label("", "quiet")
        self.message = label("", wraps=True)
        self.busy = QProgressBar()
        self.board = ClubBoardView(desk)
        self.beliefs = CheckBeliefView(desk)
        self.roster = ClubRosterView(desk, self.asker)
        self.exchange = ClubExchangeView(desk, self.asker, self.background)
        self.data = ClubDataView(desk, self.asker, self.background)
        self.tabs = QTabWidget()
        self._stack = QStackedWidget()
        self._lay_out()
        self._connect()
        self.show_start()

    def use_asker(self, asker: Asker) -> None:
        """Ask with another asker."""
        self.asker = asker
        for view in (self.roster, self.exchange, self.data):
            view.asker = asker

    def show_start(self) -> None:
        """Show how to open or make a book, unless one is open."""
        if self.desk.book is not None:
            return
        latest = self.desk.latest
        self.latest.setVisible(latest is not None)
        if latest is not None:
            self.latest.setText(f"Open {latest.name} again")
            self.latest.setToolTip(str(latest))
        self.recover.setVisible(self._damaged is not None)
        self.other.hide()
        self._stack.setCurrentIndex(0)

    def open_book(self, path: Path) -> None:
        """Open a book; a damaged one is offered for recovery."""
        self._damaged = None
        self._board_wanted = ""
        self.background.close()
        self.keeper.close()
        self.beliefs.close_records()
        try:
            self.desk.open(path)
        except CorruptStoreError as error:
            self._damaged = path
            self.say(str(error), "wrong")
            self._stack.setCurrentIndex(0)
            self.show_start()
            self.recover.show()
            return
        except TrainerError as error:
            self.say(str(error), "wrong")
            return
        self._show_book()

    def read_again(self) -> None:
        """Show the book anew if another program, or another window, wrote to it meanwhile."""
        moved: list[bool] = []
        if tried(lambda: moved.append(self.desk.has_moved()), self._tell_failure) and moved[0]:
            self._refresh()

    def showEvent(self, event: QShowEvent) -> None:
        """Show what is in the book now."""
        super().showEvent(event)
        if self.desk.book is not None:
            tried(self.roster.show_installations, self._tell_failure)
            self.read_again()

    def event(self, event: QEvent) -> bool:
        """Read again when the window is used again: a command may have taken a result."""
        if event.type() == QEvent.Type.WindowActivate and self.isVisible():
            self.read_again()
        return super().event(event)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self.board.set_theme(theme)

    def say(self, words: str, role: str = "") -> None:
        """Show what came of something, or why it was refused."""
        self.message.setText(words)
        set_role(self.message, role)

    def close_book(self) -> None:
        """Wait for what is being done, and close the book."""
        self._board_wanted = ""
        self.background.close()
        self.keeper.close()
        self.exchange.close_work()
        self.beliefs.close_records()
        self.desk.close()

    def _show_book(self) -> None:
        self.say("")
        self._stack.setCurrentIndex(1)
        self.other.show()
        self._refresh()
        if not self.desk.opened.read_only_reason:
            self._back_up()

    def _back_up(self) -> None:
        """Make the day's backup, beside whatever else is done: a large book takes a while."""
        path, day = self.desk.opened.path, self.desk.now()[:10]
        self.keeper.close()
        self.keeper.run(
            lambda _: club_work.back_up_book(path, day),
            lambda made: made and self.data.show_book(),
            lambda words: self._tell_failure(f"No backup was made: {words}"),
        )

    def _refresh(self) -> None:
        tried(self.desk.has_moved, self._tell_failure)  # what is shown now counts as seen
        tried(
            lambda: self.book_words.setText(self.desk.head_line()),
            self._tell_failure,
        )
        self.book_words.setToolTip(self.book_words.text())
        # One page that can't be shown keeps none of the others from it.
        for view in (self.roster, self.exchange, self.data, self.beliefs, self.board):
            tried(view.show_book, self._tell_failure)

    def _changed(self, words: str) -> None:
        self._refresh()
        self._tell(words)

    def _tell(self, words: str) -> None:
        self.say(words, "right")

    def _tell_failure(self, words: str) -> None:
        self.say(sentence(words), "wrong")

    def _read_board(self, aircraft_id: str) -> None:
        self._board_wanted = aircraft_id
        self._read_wanted_board()

    def _read_wanted_board(self) -> None:
        if not self._board_wanted or self.desk.book is None or self.background.is_busy:
            return
        wanted, self._board_wanted = self._board_wanted, ""
        path, now = self.desk.opened.path, self.desk.now()
        self.background.run(
            lambda _: club_work.read_picture(path, wanted, now),
            self.board.show_picture,
            self._tell_failure,
        )

    def _show_busy(self, is_busy: bool) -> None:
        self.busy.setVisible(is_busy)
        if not is_busy:
            self._read_wanted_board()

    def _ask_open(self) -> None:
        path = self.asker.open_file("Club book", BOOK_KINDS)
        if path is not None:
            self.open_book(path)

    def _ask_make(self) -> None:
        if not self.club_name.text().strip():
            self._tell_failure("Name the club first.")
            self.club_name.setFocus()
            return
        path = self.asker.save_file("New club book", "club.sqlite3", BOOK_KINDS)
        if path is None:
            return
        path = path if path.suffix else path.with_suffix(".sqlite3")
        if tried(lambda: self.desk.make(path, self.club_name.text()), self._tell_failure):
            self._show_book()
            self.tabs.setCurrentWidget(self.roster)
            self.roster.tabs.setCurrentIndex(2)
            self.say("The book is made. Enter its aircraft first, then the members.", "right")

    def _recover(self) -> None:
        path, said = self._damaged, []
        words = "The newest sound backup comes back, with all younger rows that can be read."
        if path is None or not self.asker.confirm("Recover", words, "Recover"):
            return
        if tried(lambda: said.append(self.desk.recover(path)), self._tell_failure):
            self._damaged = None
            self._show_book()
            self.say(said[0], "right")

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(label("Club", "title"))
        head.addSpacing(12)
        self.book_words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        head.addWidget(self.book_words, 1)
        head.addWidget(self.busy)
        head.addWidget(self.other)
        head.addWidget(self.back)
        layout.addLayout(head)
        layout.addWidget(self.message)
        self.busy.setRange(0, 0)
        self.busy.setFixedWidth(90)
        self.busy.setTextVisible(False)
        self.busy.setAccessibleName("Something is being done")
        self.busy.hide()
        self._stack.addWidget(self._start_page())
        self.tabs.addTab(self.board, "Readiness board")
        self.tabs.addTab(self.beliefs, "Wrong rules")
        self.tabs.addTab(self.roster, "Roster")
        self.tabs.addTab(self.exchange, "Exchange")
        self.tabs.addTab(self.data, STUDY)
        self._stack.addWidget(self.tabs)
        layout.addWidget(self._stack, 1)

    def _start_page(self) -> QWidget:
        frame, column = panel("Club book")
        self.club_name.setPlaceholderText("name of the club")
        column.addWidget(label("The club book", "heading"))
        column.addWidget(label(WORDS, wraps=True))
        column.addSpacing(8)
        column.addLayout(row(self.open, self.latest, self.recover))
        column.addSpacing(8)
        column.addLayout(row(named("Club", self.club_name), self.make))
        column.addStretch(1)
        return frame

    def _connect(self) -> None:
        self.back.clicked.connect(self.closed)
        self.open.clicked.connect(self._ask_open)
        self.other.clicked.connect(self._ask_open)
        self.latest.clicked.connect(lambda: self.open_book(self.desk.latest))
        self.make.clicked.connect(self._ask_make)
        self.club_name.returnPressed.connect(self._ask_make)
        self.recover.clicked.connect(self._recover)
        self.background.busy.connect(self._show_busy)
        self.board.aircraft_asked.connect(self._read_board)
        self.board.failed.connect(self._tell_failure)
        self.board.told.connect(self._tell)
        # What was said belongs to the page that is left.
        self.tabs.currentChanged.connect(lambda _place: self.say(""))
        self.beliefs.failed.connect(self._tell_failure)
        self.data.begun.connect(self.keeper.close)
        for view in (self.roster, self.exchange, self.data):
            view.changed.connect(self._changed)
            view.failed.connect(self._tell_failure)
