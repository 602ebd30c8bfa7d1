"""A club with answers, verdicts and files, and an asker that needs no dialogs."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pytestqt.qtbot import QtBot

from trainer.app import Workspace
from trainer.records.attempt import Attempt
from trainer.records.card import enrol_member, read_card, trust_book, write_card
from trainer.records.check_outcome import CheckOutcome, FoundMisconception, SureAndWrong
from trainer.records.club_book import ClubBook
from trainer.records.result import add_outcome, write_result
from trainer.records.roster import Aircraft
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.records.store import Store
from trainer.session.annunciation import Annunciation, changed_cells
from trainer.ui.window.background import Background

NOW = "2026-03-10T12:00:00Z"
NAMES = ("Bo Hill", "Cleo Marsh", "Robin Vale")
WRONG_RULE = "Thinks that a mode key pressed while armed makes the mode active at once."
SHIP = "ship_amber"


@dataclass
class ScriptedAsker:
    """Gives the answers it was told, in order; remembers what was asked."""

    files: list[Any] = field(default_factory=list)
    says_yes: bool = True
    asked: list[str] = field(default_factory=list)

    def save_file(self, title: str, *_: object) -> Path | None:
        return self._next(title)

    def open_file(self, title: str, *_: object) -> Path | None:
        return self._next(title)

    def open_files(self, title: str, *_: object) -> list[Path]:
        return self._next(title)

    def confirm(self, title: str, words: str, _yes: str) -> bool:
        self.asked.append(f"{title}: {words}")
        return self.says_yes

    def _next(self, title: str) -> Any:
        self.asked.append(title)
        return self.files.pop(0)


def build_attempt(member: str, number: int, rule: str) -> Attempt:
    """Return an answer; every third is wrong and sure."""
    before = Annunciation("autopilot")
    actual = before.with_cell("lateral_armed", ("course_track",))
    said = actual if number % 3 else before.with_cell("lateral_active", "course_track")
    wrong = changed_cells(said, actual)
    return Attempt(
        f"{member}-{number}", f"2026-03-0{1 + number % 7}T18:00:00Z", member, "first",
        "First flight", SHIP, number, "after_key", "What will the strip read after the key?",
        before.to_json(), said.to_json(), actual.to_json(), wrong, not wrong, "sure", (rule,),
        4.0, "0.1.0",
    )  # fmt: skip


@dataclass(frozen=True)
class World:
    """A lead's folder with a book of three members, and their result files."""

    folder: Path
    book_path: Path
    results: list[Path]
    """In the order of the names."""


def world_in(folder: Path) -> World:
    """Return the world of a folder that was filled."""
    results = [folder / f"{name.replace(' ', '-').lower()}.result.json" for name in NAMES]
    return World(folder, folder / "club.sqlite3", results)


def build_world(folder: Path, workspace: Workspace, ship: str = SHIP) -> World:
    """Return a world whose results are not taken yet."""
    key = SigningKey.load_or_make(folder / CLUB_KEY_FILE)
    required = workspace.requirements(ship, 365)
    title = workspace.installation(ship).title.split(",")[0]
    with ClubBook.open(folder / "club.sqlite3", "Meadow Flying Club") as book:
        book.set_aircraft(Aircraft(ship, title, ship, 1), required)
        book.add_instructor("Ada Reed")
        for number, name in enumerate(NAMES):
            member = book.add_member(name, "2026-01-05T09:00:00Z")
            book.put_on_aircraft(member.id, ship)
            own = SigningKey.from_seed(bytes([number]) * 32)
            card = read_card(write_card("member_card", name, NOW, own), "member_card")
            enrol_member(book, member.id, card, own.short_code)
            _write_result(folder, name, (own, key), required, ship)
    return world_in(folder)


def _write_result(
    folder: Path, name: str, keys: tuple[SigningKey, SigningKey], required: Any, ship: str
) -> None:
    own, key = keys
    with Store.open(folder / name / "attempts.sqlite3") as store:
        card = read_card(write_card("book_card", "Meadow Flying Club", NOW, key), "book_card")
        trust_book(store, card, key.short_code, NOW)
        for number in range(6):
            rule = next(iter(required[number % 2].rules))
            store.add(build_attempt(name, number, rule))
        for number, verdict in enumerate(("ready", "needs_briefing")[: NAMES.index(name)]):
            sure = SureAndWrong(f"{name}-0", "said course track active; it was armed.")
            found = FoundMisconception("armed_is_active", WRONG_RULE, (f"{name}-0",))
            is_bad = verdict == "needs_briefing"
            outcome = CheckOutcome(
                ship, 1, required[number].competency_id, verdict, "2026-03-08T10:00:00Z",
                (f"{name}-0", f"{name}-1"), required[number].rules,
                (sure,) if is_bad else (), (found,) if is_bad else (),
            )  # fmt: skip
            add_outcome(store, name, outcome)
        data = write_result(
            store, own, name, book_key=key.public_key, assignment_id=None,
            made_utc="2026-03-09T12:00:00Z", program_version="0.1.0",
        )  # fmt: skip
    (folder / f"{name.replace(' ', '-').lower()}.result.json").write_bytes(data)


def edited(path: Path) -> Path:
    """Return a copy of a result file in which one answer was changed."""
    packet = json.loads(path.read_text("utf-8"))
    text = json.dumps(packet).replace("after the key", "after no key")
    made = path.with_name(f"edited-{path.name}")
    made.write_text(text, "utf-8")
    return made


def idle(qtbot: QtBot, page: Any) -> None:
    """Wait until nothing is being done in the background."""
    workers = page.findChildren(Background)
    qtbot.waitUntil(lambda: not any(one.is_busy for one in workers), timeout=20_000)
