"""What a member does with the club's files and with their own records, in words. No Qt here."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from trainer.charts.carried import KEPT, OwnAircraft
from trainer.errors import TrainerError
from trainer.records.assignment import (
    Assignment,
    AssignmentPreview,
    assignments,
    book_of_assignment,
    preview_assignment,
    take_assignment,
)
from trainer.records.backup import backups_of
from trainer.records.card import Card, read_card, trust_book, trusted_books, write_card
from trainer.records.packet import read_file_bytes
from trainer.records.result import write_result
from trainer.records.signing import MEMBER_KEY_FILE, SigningKey, short_code
from trainer.records.store import FILE_NAME, Store
from trainer.text_file import write_whole
from trainer.ui.lesson.recorder import now_utc, program_version

ASSIGNMENT_HEADS = ("Due", "Club", "Aircraft", "Check form", "Lessons")


class MemberExchange:
    """A member's key, assignments and results; every call opens the file of answers anew.

    Args:
        folder: Where records and keys are kept.
        now: The moment as text.
        own: Where an aircraft that an assignment brings is put; None: such a one is refused.

    Attributes:
        member: Name under which answers are stored.
    """

    def __init__(
        self,
        folder: Path,
        now: Callable[[], str] = now_utc,
        own: OwnAircraft | None = None,
    ) -> None:
        self._folder = folder
        self._own = own
        self.now = now
        self.member = "Me"

    @property
    def path(self) -> Path:
        """The file of answers."""
        return self._folder / FILE_NAME

    @property
    def key(self) -> SigningKey:
        """The member's key on this computer, made at first use."""
        return SigningKey.load_or_make(self._folder / MEMBER_KEY_FILE)

    @property
    def has_key(self) -> bool:
        """True once the key was made."""
        return (self._folder / MEMBER_KEY_FILE).exists()

    def write_member_card(self, target: Path) -> str:
        """Write the member card and return the code to read aloud."""
        key = self.key
        write_whole(target, write_card("member_card", self.member, self.now(), key))
        return key.short_code

    def book_card(self, path: Path) -> Card:
        """Return the book card in a file, to be believed once its code is heard."""
        return read_card(read_file_bytes(path), "book_card")

    def trust(self, card: Card, heard_code: str) -> None:
        """Trust a club's book."""
        with self._store() as store:
            trust_book(store, card, heard_code, self.now())

    def clubs(self) -> list[tuple[bytes, str]]:
        """Return key and words of each trusted club."""
        with self._store() as store:
            found = trusted_books(store)
        return [(key, f"{club} ({short_code(key)})") for key, club in found.items()]

    def look_at(self, path: Path) -> AssignmentPreview:
        """Return what an assignment file asks for; nothing is taken."""
        with self._store() as store:
            own = self.key.public_key
            return preview_assignment(store, read_file_bytes(path), own, self.now(), self._own)

    def take(self, preview: AssignmentPreview) -> None:
        """Take an assignment that was looked at."""
        with self._store() as store:
            take_assignment(store, preview, self.now())

    def count_answers(self) -> int:
        """Return how many answers are kept under the member's name."""
        with self._store() as store:
            return len(store.attempts(self.member))

    def assignments(self) -> list[Assignment]:
        """Return the assignments taken, the next due first."""
        with self._store() as store:
            return assignments(store)

    def write_result(self, target: Path, book_key: bytes | None, assignment_id: str | None) -> int:
        """Write the result for a club and return its size [bytes].

        Raises:
            TrainerError: If there is nothing to hand in, or the file can't be written.
        """
        with self._store() as store:
            if assignment_id is not None:
                book_key = book_of_assignment(store, assignment_id)
            if book_key is None:
                raise TrainerError("take a club's card first: the result is made for one club")
            if not store.shown_attempts(self.member, limit=1):
                kept_back = store.kept_back_words(self.member)
                raise TrainerError(
                    f"no answers of {self.member} can be handed in: there is no result yet. "
                    f"{kept_back}"
                )
            data = write_result(
                store, self.key, self.member, book_key=book_key, assignment_id=assignment_id,
                made_utc=self.now(), program_version=program_version(),
            )  # fmt: skip
        write_whole(target, data)
        return len(data)

    def kept_back_words(self) -> str:
        """Say how many answers aren't in what is written, because their check isn't over."""
        with self._store() as store:
            return store.kept_back_words(self.member)

    def export(self, target: Path) -> None:
        """Write all that is stored of the member."""
        with self._store() as store:
            data = store.export_member(self.member)
        write_whole(target, (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode())

    def delete(self) -> int:
        """Delete all that is stored of the member, in the backups too; return how many answers."""
        with self._store() as store:
            return store.delete_member(self.member)

    def back_up(self) -> str:
        """Make the day's backup and say so."""
        with self._store() as store:
            made = store.back_up(self.now()[:10])
        return f"{made.name} is made." if made else "Today's backup is there already."

    def backups(self) -> list[Path]:
        """Return the backups, newest first."""
        return backups_of(self.path)

    def restore(self, backup: Path) -> str:
        """Put a backup in the place of the file of answers, which nobody may have open."""
        kept = Store.restore(self.path, backup)
        return f"Restored from {backup.name}. The file as it was: {kept.name if kept else 'none'}"

    def recover(self) -> str:
        """Bring back a damaged file of answers and say what came back."""
        done = Store.recover(self.path)
        source = done.restored_from.name if done.restored_from else "no backup"
        return f"Recovered from {source}, with {done.salvaged} younger rows."

    def _store(self) -> Store:
        return Store.open(self.path)


def assignment_row(one: Assignment) -> tuple[str, ...]:
    """Return an assignment as a line of words."""
    lessons = ", ".join(one.lessons) or "none"
    craft = f"{one.aircraft_title}, stage {one.stage}"
    return one.due_utc[:10], one.club, craft, one.check_form, lessons


def taken_words(preview: AssignmentPreview) -> str:
    """Return what taking an assignment has done."""
    one, aircraft = preview.assignment, preview.aircraft
    words = f"The assignment of {one.club} is taken."
    if aircraft is None or aircraft.standing == "same":
        return words
    named = f"'{aircraft.installation.title}'"
    if aircraft.standing == "new":
        return f"{words} Its aircraft {named} is among your own now."
    kept = f"'{aircraft.own.folder.name}/{KEPT}'"
    return f"{words} The club's {named} has taken the place of yours, which is kept in {kept}."


def replace_words(preview: AssignmentPreview) -> str:
    """Return the question before an aircraft is replaced; empty if none is."""
    aircraft = preview.aircraft
    if aircraft is None or aircraft.standing != "replaces":
        return ""
    fit = aircraft.installation
    return (
        f"The assignment brings the club's file of '{fit.title}' ({fit.id}). You have an aircraft "
        "of that id with other content. The club's takes its place; yours is kept as a copy in "
        f"'{aircraft.own.folder.name}/{KEPT}' of the data folder. A check that is begun in it "
        "can't be gone on with. If you keep yours, nothing is taken."
    )


def rename_words(old: str, new: str, answers: int) -> str:
    """Return the question before answers are kept under the name on an assignment."""
    count = "1 answer stands" if answers == 1 else f"{answers} answers stand"
    return (
        f"The assignment is for '{new}', and you are '{old}' here: {count} under that name and "
        f"will stay there. A result holds the answers of one name, and the check is answered as "
        f"'{new}'. Keep answers as '{new}' from now on?"
    )
