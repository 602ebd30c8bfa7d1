"""What the training lead does with an open book, in words for the window. No Qt here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import TrainerError
from trainer.records.assignment import issue_assignment
from trainer.records.backup import backups_of
from trainer.records.board import Board
from trainer.records.board_change import mark_seen, replacing_words
from trainer.records.board_query import cell_evidence
from trainer.records.card import Card, enrol_member, read_card, write_card
from trainer.records.club_book import ClubBook
from trainer.records.club_privacy import retention_days
from trainer.records.packet import read_file_bytes
from trainer.records.roster import Aircraft, Instructor, Member, Requirement
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.report.standing import Suspected, suspected_rules
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.text_file import read_text, write_whole
from trainer.ui.club.board_words import evidence_lines
from trainer.ui.club.club_work import ReportKind, ReportOrder
from trainer.ui.lesson.recorder import now_utc

if TYPE_CHECKING:
    from trainer.app import Workspace
    from trainer.charts.spec import ChartSpec
    from trainer.records.attempt import Attempt

LATEST_FILE = "club-book.path"
_LONGEST_PATH = 10_000
MEMBER_HEADS = ("Name", "In class reports", "Key", "Aircraft", "On the board")
AIRCRAFT_HEADS = ("Aircraft", "Installation", "Stage", "Required competencies", "Valid")


@dataclass(frozen=True, slots=True)
class AircraftEntry:
    """An aircraft as the lead would save it."""

    aircraft: Aircraft
    required: tuple[Requirement, ...]
    is_new: bool
    """No aircraft of that name is in the book."""


def rule_sentences(chart: ChartSpec) -> dict[str, str]:
    """Return the reason of each rule and refusal of a chart, by its id."""
    found = {name: rule.because for name, rule in chart.rules.items()}
    return found | {name: refusal.because for name, refusal in chart.refusals.items()}


def _require_free(name: str, taken: Sequence[str], kind: str) -> None:
    if name in taken:
        raise TrainerError(
            f"{kind} '{name}' is in the book already: two of one name need a word that tells them"
            " apart"
        )


class ClubDesk:
    """The lead's book, key and doings.

    Attributes:
        book: The open book; None before one is opened.
    """

    def __init__(
        self, folder: Path, workspace: Workspace, now: Callable[[], str] = now_utc
    ) -> None:
        self._folder = folder
        self.workspace = workspace
        self.now = now
        self.book: ClubBook | None = None
        self._version: int | None = None
        self.design: StripDesign = DEFAULT_DESIGN
        """In which strips are printed."""

    @property
    def opened(self) -> ClubBook:
        """The open book.

        Raises:
            TrainerError: If none is open.
        """
        if self.book is None:
            raise TrainerError("no club book is open: open one or make one")
        return self.book

    @property
    def key(self) -> SigningKey:
        """The lead's key on this computer, made at first use."""
        return SigningKey.load_or_make(self._folder / CLUB_KEY_FILE)

    @property
    def latest(self) -> Path | None:
        """The book that was open last, if it is there still."""
        try:
            path = Path(read_text(self._folder / LATEST_FILE, _LONGEST_PATH).strip())
        except TrainerError:
            return None
        return path if path.is_file() else None

    def open(self, path: Path) -> None:
        """Open a book that is there.

        Raises:
            TrainerError: If it is none, or can't be used; the book open before stays open.
        """
        if not path.exists() and not backups_of(path):
            raise TrainerError(f"{path}: no such club book")
        self._use(ClubBook.open(path))

    def make(self, path: Path, club_name: str) -> None:
        """Begin a book.

        Raises:
            TrainerError: If a file is there already, the name is blank, or nothing can be written.
        """
        if path.exists():
            raise TrainerError(f"{path}: a file is there already; open it, or choose another name")
        if not club_name.strip():
            raise TrainerError("name the club first")
        self._use(ClubBook.open(path, club_name.strip()))

    def close(self) -> None:
        """Close the book."""
        if self.book is not None:
            self.book.close()
            self.book = None

    def head_line(self) -> str:
        """Return the book in one line."""
        book = self.opened
        tail = f"; for reading only: {book.read_only_reason}" if book.read_only_reason else ""
        return f"{book.club_name}: {book.path}{tail}"

    def has_moved(self) -> bool:
        """Return whether another connection wrote to the book since this was last asked."""
        if self.book is None:
            return False
        # Source: [SQLITE-PRAGMA] "PRAGMA data_version": cheap, and other programs' writes count.
        version = self.book.database.read("PRAGMA data_version")[0][0]
        before, self._version = self._version, version
        return before not in (None, version)

    def member_rows(self) -> list[tuple[str, ...]]:
        """Return the roster, one line for each member."""
        titles = {one.id: one.title for one in self.opened.aircraft()}
        rows = []
        for member in self.opened.members():
            on = [titles[name] for name in self.opened.aircraft_of(member.id)]
            key = "✓ enrolled" if member.public_key else "○ none yet"
            board = "✓ yes" if member.is_active else "✕ no"
            rows.append((member.name, member.pseudonym, key, ", ".join(on) or "—", board))
        return rows

    def aircraft_rows(self) -> list[tuple[str, ...]]:
        """Return the aircraft, one line each."""
        rows = []
        fits = {name: fit.title for name, fit in self.workspace.installations.items()}
        for one in self.opened.aircraft():
            required = self.opened.requirements(one.id)
            titles = ", ".join(each.title for each in required) or "nothing yet"
            days = sorted({each.valid_days for each in required})
            valid = ", ".join(f"{number} days" for number in days) or "—"
            fit = fits.get(one.installation_id, one.installation_id)
            rows.append((one.title, fit, str(one.stage), titles, valid))
        return rows

    def add_member(self, name: str, aircraft_ids: Sequence[str]) -> Member:
        """Enter a member who is to be ready for some aircraft."""
        name = name.strip()
        _require_free(name, [one.name for one in self.opened.members()], "member")
        member = self.opened.add_member(name, self.now())
        for one in aircraft_ids:
            self.opened.put_on_aircraft(member.id, one)
        return member

    def add_instructor(self, name: str) -> Instructor:
        """Enter an instructor."""
        name = name.strip()
        _require_free(name, [one.name for one in self.opened.instructors()], "instructor")
        return self.opened.add_instructor(name)

    def aircraft_entry(
        self, title: str, installation: str, stage: int, valid_days: int, wanted: Sequence[str]
    ) -> AircraftEntry:
        """Return an aircraft, or its next stage, with the competencies wanted; nothing is saved.

        Raises:
            TrainerError: If nothing is required.
        """
        required = [one for one in self.required(installation) if one.competency_id in wanted]
        if not required:
            raise TrainerError("tick at least one competency that the aircraft requires")
        kept = [
            Requirement(one.competency_id, one.title, valid_days, one.rules) for one in required
        ]
        known = {one.title: one.id for one in self.opened.aircraft()}
        words = title.strip() or self.workspace.installation(installation).title
        # A check taken without an assignment knows an aircraft only by its installation.
        ids = chain((installation, words), (f"{words} {number}" for number in count(2)))
        new_id = next(one for one in ids if one not in known.values())
        aircraft = Aircraft(known.get(words, new_id), words, installation, stage)
        return AircraftEntry(aircraft, tuple(kept), aircraft.id == new_id)

    def replacing_words(self, entry: AircraftEntry) -> str:
        """Say which aircraft of the book an entry would take the place of; nothing if none."""
        titles = {name: one.title for name, one in self.workspace.installations.items()}
        return replacing_words(
            self.opened, entry.aircraft, entry.required, now_utc=self.now(), titles=titles
        )

    def save_aircraft(self, entry: AircraftEntry) -> None:
        """Save an aircraft.

        Raises:
            TrainerError: If a field is impossible.
        """
        self.opened.set_aircraft(entry.aircraft, entry.required)

    def rule_words(self, installation: str, rules: Iterable[str]) -> list[str]:
        """Return the sentence of each rule; of one that is gone, as another installation has it."""
        fits = self.workspace.installations
        own = [fits[installation]] if installation in fits else []
        sentences = [rule_sentences(one.chart) for one in [*own, *fits.values()]]
        return [
            next(
                (one[rule] for one in sentences if rule in one),
                rule.replace("_", " "),
            )
            for rule in rules
        ]

    def required(self, installation: str) -> list[Requirement]:
        """Return all that an installation could require."""
        return self.workspace.requirements(installation, 365)

    def form_choices(self) -> list[tuple[str, str]]:
        """Return id and words of each form of the check that the club has."""
        return [
            (name, f"{name}  {one.title}") for name, one in self.workspace.check_plans().items()
        ]

    def lesson_choices(self) -> list[tuple[str, str]]:
        """Return id and words of each lesson; one that can't be read is left out."""
        found = []
        for number, path in enumerate(self.workspace.lesson_paths, 1):
            with suppress(TrainerError):
                lesson = self.workspace.lesson(path)
                found.append((lesson.id, f"{number}  {lesson.title}"))
        return found

    def member_card(self, path: Path) -> Card:
        """Return the card in a file, to be believed once its code is heard."""
        return read_card(read_file_bytes(path), "member_card")

    def enrol(self, member_id: int, card: Card, heard_code: str) -> Member:
        """Enrol a member's key."""
        return enrol_member(self.opened, member_id, card, heard_code)

    def write_book_card(self, path: Path) -> str:
        """Write the book card and return the code to read aloud."""
        key = self.key
        write_whole(path, write_card("book_card", self.opened.club_name, self.now(), key))
        return key.short_code

    def items_to_find(self, aircraft_id: str) -> str:
        """Return the installation whose items go with an assignment and aren't found here yet.

        Empty if none have to be found: the program brings those of its own aircraft.

        Raises:
            TrainerError: The aircraft's file isn't on this computer.
        """
        name = self.opened.one_aircraft(aircraft_id).installation_id
        is_own = bool(self.workspace.carried_text(name))
        return name if is_own and self.workspace.kept_bank(name) is None else ""

    def issue(
        self,
        member_id: int,
        aircraft_id: str,
        target: Path,
        *,
        lessons: Sequence[str],
        form: str,
        seed: int,
        due_day: str,
    ) -> None:
        """Enter an assignment and write its file; a club's own aircraft goes with its items.

        Raises:
            TrainerError: If the form or a lesson isn't there, or nothing can be written.
        """
        self.workspace.require_assignable(lessons, form)
        installation = self.opened.one_aircraft(aircraft_id).installation_id
        data = issue_assignment(
            self.opened, self.key, member_id, aircraft_id, lessons=tuple(lessons),
            check_form=form, check_seed=seed, issued_utc=self.now(),
            due_utc=f"{due_day}T23:59:59Z",
            installation_text=self.workspace.carried_text(installation),
            bank=self.workspace.carried_bank(installation),
        )  # fmt: skip
        write_whole(target, data)

    def brief(
        self, member_id: int, aircraft_id: str, competency_id: str, instructor: int, note: str
    ) -> None:
        """Record that a member was briefed."""
        self.opened.add_briefing(
            member_id, aircraft_id, competency_id,
            instructor_id=instructor, at_utc=self.now(), note=note.strip(),
        )  # fmt: skip

    def evidence(self, outcome_id: int | None) -> list[str]:
        """Return the check behind a cell, line by line; none if there was no check."""
        if outcome_id is None:
            return []
        return evidence_lines(cell_evidence(self.opened, outcome_id))

    def mark_seen(self, board: Board) -> None:
        """Remember the board as it is."""
        mark_seen(self.opened, board)

    def retention_days(self) -> int:
        """Return how long records are kept [days]."""
        return retention_days(self.opened)

    def order(self, kind: ReportKind, aircraft_id: str, member_id: int | None) -> ReportOrder:
        """Return what a report needs of the aircraft's installation, if its file is here."""
        installation = self.opened.one_aircraft(aircraft_id).installation_id
        fit = self.workspace.installations.get(installation)
        if fit is None:
            return ReportOrder(kind, aircraft_id, member_id, None, (), {})
        because = rule_sentences(fit.chart)
        cautions = (fit.note,) if fit.note else ()
        limits = tuple(fit.limits.values())
        suspect = partial(self._suspected, installation)
        return ReportOrder(kind, aircraft_id, member_id, limits, cautions, because, suspect)

    def _suspected(
        self, installation: str, attempts: Sequence[Attempt]
    ) -> tuple[Suspected, ...] | None:
        """Weigh answers for a report; None if their items would have to be found first."""
        workspace = self.workspace
        if any(one.item_id for one in attempts) and workspace.kept_bank(installation) is None:
            return None
        items, _ = workspace.items_answered(attempts, installation)
        return suspected_rules(attempts, items, installation, workspace.library(installation))

    def restore(self, backup: Path) -> str:
        """Put a backup in the book's place, open it, and say where the old book is kept.

        Raises:
            TrainerError: If the backup can't be used; the book is open as before.
        """
        path = self.opened.path
        self.close()
        try:
            kept = ClubBook.restore(path, backup)
        finally:
            self.open(path)
        return f"Restored from {backup.name}. The book as it was: {kept.name if kept else 'none'}"

    def recover(self, path: Path) -> str:
        """Bring back a damaged book, open it, and say what came back."""
        done = ClubBook.recover(path)
        self.open(path)
        source = done.restored_from.name if done.restored_from else "no backup"
        kept = done.damaged_kept_at.name if done.damaged_kept_at else "none"
        return (
            f"Recovered from {source}, with {done.salvaged} younger rows. The damaged file is "
            f"kept: {kept}"
        )

    def _use(self, book: ClubBook) -> None:
        self.close()
        self.book, self._version = book, None
        self.has_moved()
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            (self._folder / LATEST_FILE).write_text(str(book.path), "utf-8")
        except OSError:
            return  # only a convenience: the book itself is open
