"""What a member does with their own answers: export, delete, check, back up, exchange."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from trainer.app import Workspace
from trainer.cli.action import Action, now_utc, today
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import TrainerError
from trainer.folders import data_folder
from trainer.parts import program_version
from trainer.records.assignment import (
    assignments,
    book_of_assignment,
    missing_aircraft_words,
    preview_assignment,
    take_assignment,
)
from trainer.records.card import read_card, trust_book, trusted_books, write_card
from trainer.records.error import CorruptStoreError, UnknownEntryError
from trainer.records.packet import read_file_bytes
from trainer.records.recovery import Recovery
from trainer.records.result import outcomes, write_result
from trainer.records.signing import MEMBER_KEY_FILE, SigningKey, same_code, short_code
from trainer.records.store import FILE_NAME, Store
from trainer.text_file import write_whole


def _nothing(_parser: argparse.ArgumentParser) -> None:
    """Declare no arguments."""


def _members(_arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    for name in workspace.store.members():
        output.emit({"kind": "member", "member": name}, name)
    return DONE


def _export_member(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    store, name = workspace.store, _member(arguments.member, workspace.store)
    data = store.export_member(name)
    _deliver(arguments, output, data["kind"], json.dumps(data, ensure_ascii=False) + "\n")
    _tell_kept_back(store, name)
    return DONE


def _delete_member(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    store, name = workspace.store, arguments.member
    held = len(store.attempts(name)) + len(outcomes(store, name))
    if not held:
        raise UnknownEntryError(f"no records of {name!r}; members: {', '.join(store.members())}")
    if not arguments.apply:
        text = f"{name}: {held} records would be deleted, here and in the backups; add --apply"
        output.emit({"kind": "would_delete", "member": name, "records": held}, text)
        return FINDINGS
    deleted = store.delete_member(name)
    data = {"kind": "deleted", "member": name, "attempts": deleted}
    output.emit(data, f"{name}: {deleted} answers deleted; counts without a name stay")
    return DONE


def _check(_arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    try:
        with Store.default() as store:
            store.check()
            path, reason = store.path, store.read_only_reason
    except CorruptStoreError as error:
        output.emit({"kind": "damaged", "detail": error.detail}, str(error))
        return FINDINGS
    output.emit({"kind": "sound", "path": str(path), "read_only": reason}, f"{path}: sound")
    return DONE


def _back_up(_arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    made = workspace.store.back_up(today())
    text = str(made) if made else "today's backup is there already"
    output.emit({"kind": "backup", "path": str(made) if made else None}, text)
    return DONE


def _restore(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    kept = Store.restore(data_folder() / FILE_NAME, arguments.backup)
    text = f"restored from {arguments.backup}" + (f"; the old file is {kept}" if kept else "")
    data = {"kind": "restored", "from": str(arguments.backup), "kept": str(kept) if kept else None}
    output.emit(data, text)
    return DONE


def _recover(_arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    emit_recovery(Store.recover(data_folder() / FILE_NAME), output)
    return DONE


def emit_recovery(done: Recovery, output: Output) -> None:
    """Print what a recovery did."""
    source, kept = done.restored_from, done.damaged_kept_at
    data = {
        "kind": "recovered",
        "from": str(source) if source else None,
        "salvaged": done.salvaged,
        "kept": str(kept) if kept else None,
    }
    words = f"recovered from {source or 'no backup'}, with {done.salvaged} younger rows"
    output.emit(data, words + (f"; the damaged file is {kept}" if kept else ""))


def csv_text(store: Store, member: str) -> str:
    """Return a member's answers as CSV, oldest first.

    Raises:
        UnknownEntryError: If there are no answers of that member.
    """
    from trainer.report.csv_export import attempts_csv

    return attempts_csv(reversed(store.shown_attempts(_member(member, store))))


def xapi_text(store: Store, member: str) -> str:
    """Return a member's answers and verdicts as xAPI statements, one on each line.

    Raises:
        UnknownEntryError: If there are no answers of that member.
    """
    from trainer.report.xapi import attempt_statement, json_lines, outcome_statement

    name = _member(member, store)
    statements = [attempt_statement(one) for one in reversed(store.shown_attempts(name))]
    statements += [outcome_statement(name, one) for one in outcomes(store, name)]
    return json_lines(statements)


def _csv(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    from trainer.report.csv_export import outcomes_csv

    store, name = workspace.store, _member(arguments.member, workspace.store)
    if arguments.outcomes:
        text = outcomes_csv((name, one) for one in outcomes(store, name))
    else:
        text = csv_text(store, name)
        _tell_kept_back(store, name)
    _deliver(arguments, output, "csv", text)
    return DONE


def _xapi(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    name = _member(arguments.member, workspace.store)
    _deliver(arguments, output, "xapi", xapi_text(workspace.store, name))
    _tell_kept_back(workspace.store, name)
    return DONE


def _card(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    key = _key()
    write_whole(arguments.file, write_card("member_card", arguments.member, now_utc(), key))
    text = f"{arguments.file}: read this code aloud to the training lead: {key.short_code}"
    output.emit({"kind": "card", "path": str(arguments.file), "code": key.short_code}, text)
    return DONE


def _trust_book(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    card = read_card(read_file_bytes(arguments.file), "book_card")
    trust_book(workspace.store, card, arguments.code, now_utc())
    output.emit({"kind": "trusted", "club": card.name}, f"{card.name} is trusted")
    return DONE


def _take_assignment(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    store, moment = workspace.store, now_utc()
    data = read_file_bytes(arguments.file)
    own = workspace.own_aircraft
    preview = preview_assignment(store, data, _key().public_key, moment, own)
    for change in preview.changes:
        output.emit({"kind": "change", "text": change}, change)
    if arguments.apply:
        take_assignment(store, preview, moment)
    end = {"kind": "end", "assignment": preview.assignment.id, "applied": arguments.apply}
    output.emit(end, "taken" if arguments.apply else "nothing taken yet: add --apply")
    return DONE


def _write_result(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    store = workspace.store
    name = _member(arguments.member, store)
    book_key = _book_key(store, arguments)
    if not store.shown_attempts(name, limit=1):
        text = (
            f"{arguments.file}: not written, it would be empty: the check isn't over; finish it, "
            "then write the result again"
        )
        output.emit({"kind": "empty", "path": str(arguments.file)}, text)
        return FINDINGS
    data = write_result(
        store, _key(), name, book_key=book_key, assignment_id=arguments.assignment,
        made_utc=now_utc(), program_version=program_version(),
    )  # fmt: skip
    write_whole(arguments.file, data)
    club = trusted_books(store).get(book_key, short_code(book_key))
    text = f"{arguments.file}: {len(data)} bytes, for {club}"
    emitted = {"kind": "result", "path": str(arguments.file), "bytes": len(data), "club": club}
    output.emit(emitted, text)
    _tell_kept_back(store, name)
    return DONE


def _assignments(_arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    for one in assignments(workspace.store):
        data = {"kind": "assignment", **one.to_json()}
        data.pop("installation_text", None)  # a whole file, which is among the aircraft
        output.emit(data, f"{one.id}  {one.club}: {one.aircraft_title}, due {one.due_utc[:10]}")
        if one.installation_id not in workspace.installations:
            folder = workspace.user_installations
            problem = workspace.user_problems.get(folder / f"{one.installation_id}.yaml", "")
            Output.message(missing_aircraft_words(one, folder, problem))
    return DONE


def _book_key(store: Store, arguments: argparse.Namespace) -> bytes:
    if arguments.assignment:
        return book_of_assignment(store, arguments.assignment)
    books = trusted_books(store)
    if arguments.book:
        books = {key: club for key, club in books.items() if same_code(arguments.book, key)}
    if len(books) == 1:
        return next(iter(books))
    known = ", ".join(f"{club} ({short_code(key)})" for key, club in trusted_books(store).items())
    raise TrainerError(f"say which club with --book CODE; trusted: {known or 'none yet'}")


def _member(name: str | None, store: Store) -> str:
    """Return the member asked for, or the only one there is."""
    known = store.members()
    if name is None and len(known) == 1:
        return known[0]
    if name is None or name not in known:
        found = f"no answers of {name!r}" if name else "several members, or none"
        raise UnknownEntryError(f"{found}; --member accepted: {', '.join(known) or 'none yet'}")
    return name


def _tell_kept_back(store: Store, member: str) -> None:
    words = store.kept_back_words(member)
    if words:
        Output.message(words)


def _key() -> SigningKey:
    return SigningKey.load_or_make(data_folder() / MEMBER_KEY_FILE)


def _deliver(arguments: argparse.Namespace, output: Output, kind: str, text: str) -> None:
    data = {"kind": "export", "what": kind}
    if arguments.output is None:
        output.emit({**data, "text": text}, text.rstrip("\n"))
        return
    raw = text.encode()
    write_whole(arguments.output, raw)
    place = str(arguments.output)
    output.emit({**data, "path": place, "bytes": len(raw)}, f"{place}: {len(raw)} bytes")


def _who(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--member", help="whose; may be left out where there is only one")


def _form(parser: argparse.ArgumentParser) -> None:
    _who(parser)
    parser.add_argument("--output", type=Path, help="write to this file instead of stdout")


def _csv_form(parser: argparse.ArgumentParser) -> None:
    _form(parser)
    parser.add_argument("--outcomes", action="store_true", help="verdicts of checks, not answers")


def _deletion(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("member", metavar="MEMBER", help="whose records")
    parser.add_argument("--apply", action="store_true", help="delete; without it, only say what")


def _backup(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("backup", type=Path, help="a file of the folder 'backups'")


def _card_file(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="card file to write")
    parser.add_argument("--member", required=True, help="your name, as the club knows you")


def _book_card(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="the club's book card")
    parser.add_argument("code", help="the code that the training lead read aloud")


def _assignment_file(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="assignment file from the training lead")
    parser.add_argument("--apply", action="store_true", help="take it; without it, only show it")


def _result_file(parser: argparse.ArgumentParser) -> None:
    _who(parser)
    parser.add_argument("file", type=Path, help="result file to write")
    parser.add_argument("--assignment", metavar="ID", help="the assignment that it answers")
    parser.add_argument("--book", metavar="CODE", help="code of the club's key, if several")


ACTIONS = {
    "members": Action("names under which answers are stored", _nothing, _members),
    "export-member": Action("all that is stored of a member, as JSON", _form, _export_member),
    "delete-member": Action("delete all of a member, backups too", _deletion, _delete_member),
    "check": Action("check every page of the file of answers", _nothing, _check),
    "back-up": Action("make today's backup", _nothing, _back_up),
    "restore": Action("put a backup in the file's place", _backup, _restore),
    "recover": Action("bring back a damaged file of answers", _nothing, _recover),
    "csv": Action("answers or verdicts as CSV", _csv_form, _csv),
    "xapi": Action("answers and verdicts as xAPI statements", _form, _xapi),
    "card": Action("write the member card and show its code", _card_file, _card),
    "trust-book": Action("trust a club's book by its code", _book_card, _trust_book),
    "assignments": Action("assignments taken on this computer", _nothing, _assignments),
    "take-assignment": Action("show and take an assignment", _assignment_file, _take_assignment),
    "write-result": Action("write the result file for the lead", _result_file, _write_result),
}
