"""Entries of a club book: the book, members, aircraft, instructors, keys and briefings."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from trainer.app import Workspace
from trainer.cli.action import Action, now_utc, open_book
from trainer.cli.output import DONE, Output
from trainer.errors import TrainerError
from trainer.folders import data_folder
from trainer.records.board_change import replacing_words
from trainer.records.card import enrol_member, read_card, write_card
from trainer.records.club_book import ClubBook
from trainer.records.error import UnknownEntryError
from trainer.records.packet import read_file_bytes
from trainer.records.roster import Aircraft, Requirement
from trainer.records.signing import CLUB_KEY_FILE, SigningKey
from trainer.text_file import write_whole

VALID_DAYS = 365


def club_key() -> SigningKey:
    """Return the lead's key on this computer, made at first use."""
    return SigningKey.load_or_make(data_folder() / CLUB_KEY_FILE)


def _new(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    if arguments.book.exists():
        raise TrainerError(f"{arguments.book}: there already; nothing was changed")
    with ClubBook.open(arguments.book, arguments.name) as book:
        output.emit(
            {"kind": "book", "path": str(book.path), "club": arguments.name}, str(book.path)
        )
    return DONE


def _card(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    key = club_key()
    with open_book(arguments.book) as book:
        write_whole(arguments.file, write_card("book_card", book.club_name, now_utc(), key))
    text = f"{arguments.file}: read this code aloud to the members: {key.short_code}"
    output.emit({"kind": "card", "path": str(arguments.file), "code": key.short_code}, text)
    return DONE


def _add_member(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        for aircraft in arguments.aircraft:
            book.one_aircraft(aircraft)
        known = {one.name for one in book.members()}
        name = arguments.member
        member = book.member_named(name) if name in known else book.add_member(name, now_utc())
        for aircraft in arguments.aircraft:
            book.put_on_aircraft(member.id, aircraft)
    data = {"kind": "member", "member": member.name, "pseudonym": member.pseudonym}
    output.emit(data, f"{member.name} (in class reports: {member.pseudonym})")
    return DONE


def _require_meant(
    book: ClubBook,
    aircraft: Aircraft,
    required: Sequence[Requirement],
    arguments: argparse.Namespace,
    workspace: Workspace,
) -> None:
    """Refuse to put an aircraft in another one's place unless that is asked for."""
    titles = {name: one.title for name, one in workspace.installations.items()}
    replaced = replacing_words(book, aircraft, required, now_utc=now_utc(), titles=titles)
    if replaced and not arguments.replace:
        stage = book.one_aircraft(aircraft.id).stage
        raise TrainerError(
            f"{replaced} Nothing was changed: name a new aircraft with --id, say --stage "
            f"{stage + 1} for its next stage, or --replace if you mean it"
        )


def _add_aircraft(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    required = workspace.requirements(arguments.installation, arguments.valid_days)
    if arguments.competency:
        known = {one.competency_id: one for one in required}
        missing = [name for name in arguments.competency if name not in known]
        if missing:
            accepted = ", ".join(known)
            raise UnknownEntryError(
                f"no competency {missing[0]!r} that a check of this aircraft can show; accepted: "
                f"{accepted}"
            )
        required = [known[name] for name in arguments.competency]
    title = arguments.title or workspace.installation(arguments.installation).title
    name = arguments.id or arguments.installation
    aircraft = Aircraft(name, title, arguments.installation, arguments.stage)
    with open_book(arguments.book) as book:
        _require_meant(book, aircraft, required, arguments, workspace)
        book.set_aircraft(aircraft, required)
    for one in required:
        data = {"kind": "requirement", "competency": one.competency_id, "rules": len(one.rules)}
        output.emit(data, f"{one.title}: {len(one.rules)} rules")
    for one_title in workspace.never_checked(arguments.installation):
        data = {"kind": "not_required", "competency": one_title}
        output.emit(data, f"Not required, since no check asks about it: {one_title}")
    end = {"kind": "end", "aircraft": name, "stage": aircraft.stage, "requirements": len(required)}
    output.emit(end, f"{title}, stage {aircraft.stage}: {len(required)} competencies")
    return DONE


def _add_instructor(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        one = book.add_instructor(arguments.instructor)
    output.emit({"kind": "instructor", "instructor": one.name}, one.name)
    return DONE


def _brief(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        found = {one.name: one.id for one in book.instructors()}
        if arguments.instructor not in found:
            accepted = ", ".join(found) or "none yet"
            raise UnknownEntryError(f"no instructor {arguments.instructor!r}; accepted: {accepted}")
        required = [one.competency_id for one in book.requirements(arguments.aircraft)]
        book.one_aircraft(arguments.aircraft)
        if arguments.competency not in required:
            accepted = ", ".join(required)
            raise UnknownEntryError(
                f"{arguments.competency!r} is not required; accepted: {accepted}"
            )
        book.add_briefing(
            book.member_named(arguments.member).id, arguments.aircraft, arguments.competency,
            instructor_id=found[arguments.instructor], at_utc=now_utc(), note=arguments.note,
        )  # fmt: skip
    data = {"kind": "briefing", "member": arguments.member, "competency": arguments.competency}
    output.emit(data, f"{arguments.member}: briefed on {arguments.competency}")
    return DONE


def _enrol(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    card = read_card(read_file_bytes(arguments.file), "member_card")
    with open_book(arguments.book) as book:
        member = book.member_named(arguments.member or card.name)
        enrol_member(book, member.id, card, arguments.code)
    data = {"kind": "enrolled", "member": member.name, "code": card.short_code}
    output.emit(data, f"{member.name}: key {card.short_code} is enrolled")
    return DONE


def book_argument(parser: argparse.ArgumentParser) -> None:
    """Declare the book, which comes first everywhere."""
    parser.add_argument("book", type=Path, metavar="BOOK", help="the club book, a .sqlite3 file")


def _declare_new(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("--name", required=True, help="name of the club")


def _declare_card(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("file", type=Path, help="card file to write")


def _declare_member(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("member", metavar="MEMBER", help="name")
    parser.add_argument(
        "--aircraft", action="append", default=[], metavar="ID", help="is to be ready for this one"
    )


def _declare_aircraft(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("installation", metavar="INSTALLATION", help="the fit at this stage")
    parser.add_argument("--id", help="name in the book; the installation's if left out")
    parser.add_argument("--title", help="words for it; the installation's if left out")
    parser.add_argument("--stage", type=int, default=1, help="number of the fit, from 1")
    parser.add_argument("--valid-days", type=int, default=VALID_DAYS, help="validity [days]")
    parser.add_argument(
        "--competency", action="append", default=[], metavar="ID", help="require only these"
    )
    parser.add_argument(
        "--replace", action="store_true",
        help="put it in the place of another aircraft of this id, or go back a stage",
    )  # fmt: skip


def _declare_instructor(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("instructor", metavar="NAME", help="name")


def _declare_brief(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    for name in ("member", "aircraft", "competency"):
        parser.add_argument(name, metavar=name.upper())
    parser.add_argument("--instructor", required=True, help="who briefed")
    parser.add_argument("--note", required=True, help="what was said")


def _declare_enrol(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("file", type=Path, help="the member's card")
    parser.add_argument("code", help="the code that the member read aloud")
    parser.add_argument("--member", help="name in the book, if not the one on the card")


ACTIONS = {
    "new": Action("begin a club book", _declare_new, _new),
    "card": Action("write the book card and show its code", _declare_card, _card),
    "add-member": Action("enter a member", _declare_member, _add_member),
    "add-aircraft": Action(
        "enter an aircraft or its next stage with all it requires", _declare_aircraft, _add_aircraft
    ),
    "add-instructor": Action("enter an instructor", _declare_instructor, _add_instructor),
    "brief": Action("record a briefing", _declare_brief, _brief),
    "enrol": Action("enrol a member's key by its code", _declare_enrol, _enrol),
}
