"""Work with a club book: assignments, results, the board, retention, privacy, backups."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from trainer.app import Workspace
from trainer.cli.action import Action, end_of_day, now_utc, open_book, today
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.cli.records_member import emit_recovery
from trainer.cli.records_roster import book_argument, club_key
from trainer.errors import TrainerError
from trainer.records.assignment import issue_assignment
from trainer.records.backup import backups_of
from trainer.records.board_change import (
    board_changes,
    call_list,
    mark_seen,
    overdue,
    seen_statuses,
    words,
)
from trainer.records.board_json import board_lines, call_lines, change_lines
from trainer.records.board_query import read_board
from trainer.records.club_book import ClubBook
from trainer.records.club_import import apply_result, preview_result
from trainer.records.club_privacy import (
    apply_retention,
    delete_club_member,
    export_club_member,
    retention_days,
    set_retention_days,
)
from trainer.records.error import CorruptStoreError
from trainer.records.packet import read_file_bytes
from trainer.text_file import write_whole


def _issue(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    workspace.require_assignable(arguments.lesson, arguments.form)
    with open_book(arguments.book) as book:
        member = book.member_named(arguments.member)
        installation = book.one_aircraft(arguments.aircraft).installation_id
        bank = _bank_to_go_with(installation, workspace, output)
        data = issue_assignment(
            book, club_key(), member.id, arguments.aircraft,
            lessons=tuple(arguments.lesson), check_form=arguments.form,
            check_seed=arguments.seed, issued_utc=now_utc(), due_utc=end_of_day(arguments.due),
            installation_text=workspace.carried_text(installation), bank=bank,
        )  # fmt: skip
    write_whole(arguments.file, data)
    emitted = {"kind": "assignment", "path": str(arguments.file), "member": member.name}
    output.emit(emitted, f"{arguments.file}: for {member.name}, due {arguments.due}")
    return DONE


def _bank_to_go_with(installation: str, workspace: Workspace, output: Output) -> bytes:
    """Return the items of a club's own aircraft, so that its member needn't wait for them."""
    if workspace.carried_text(installation) and not workspace.carried_bank(installation):
        output.message("making the items of the aircraft, once: some tens of seconds")
        workspace.bank(installation)
    return workspace.carried_bank(installation)


def _import(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    refused = 0
    with open_book(arguments.book) as book:
        for path in arguments.files:
            try:
                _import_one(book, path, output, is_applied=arguments.apply)
            except TrainerError as error:
                refused += 1
                data = {"kind": "refused", "file": str(path), "reason": str(error)}
                output.emit(data, f"{path}: refused: {error}")
    taken = len(arguments.files) - refused
    end = {"kind": "end", "files": taken, "refused": refused, "applied": arguments.apply}
    verb = "taken" if arguments.apply else "would be taken (add --apply)"
    output.emit(end, f"{taken} {verb}, {refused} refused")
    return FINDINGS if refused else DONE


def _import_one(book: ClubBook, path: Path, output: Output, *, is_applied: bool) -> None:
    moment = now_utc()
    preview = preview_result(book, read_file_bytes(path), club_key().public_key, moment)
    if is_applied:
        apply_result(book, preview, moment)
    data = {
        "kind": "taken" if is_applied else "preview",
        "file": str(path),
        "member": preview.member.name,
        "attempts": len(preview.attempts),
        "outcomes": len(preview.outcomes),
        "changes": list(preview.changes),
        "warnings": list(preview.warnings),
    }
    lines = [f"{path}:", *preview.changes, *(f"caution: {one}" for one in preview.warnings)]
    output.emit(data, "\n  ".join(lines))


def _board(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        board = read_board(book, arguments.aircraft, now_utc())
        for data in board_lines(board):
            if data["kind"] == "cell":
                text = f"{data['member']}, {data['competency']}: {words(data['status'])}"
                output.emit(data, f"{text}: {data['because']}")
            else:
                output.emit(data, f"{data['ready']} of {data['members']} members ready")
        if arguments.changes or arguments.mark_seen:
            changes = board_changes(seen_statuses(book, arguments.aircraft), board)
            for change, data in zip(changes, change_lines(changes), strict=True):
                output.emit(data, f"changed: {change}")
        if arguments.mark_seen:
            mark_seen(book, board)
    return DONE


def _call_list(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    moment = now_utc()
    with open_book(arguments.book) as book:
        board = read_board(book, arguments.aircraft, moment)
        calls = call_list(board, overdue(book, arguments.aircraft, moment))
    for call, data in zip(calls, call_lines(calls), strict=True):
        output.emit(data, f"{call.member.name}: {'; '.join(call.reasons)}")
    return DONE


def _retention(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    deleted = None
    with open_book(arguments.book) as book:
        if arguments.days is not None:
            set_retention_days(book, arguments.days)
        days = retention_days(book)
        if arguments.apply:
            deleted = apply_retention(book, now_utc())
    tail = "" if deleted is None else f"; {deleted} answers deleted"
    data = {"kind": "retention", "days": days, "deleted": deleted}
    output.emit(data, f"records are kept {days} days{tail}")
    return DONE


def _delete_member(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        member = book.member_named(arguments.member)
        if not arguments.apply:
            text = f"{member.name}: all records would be deleted, backups too; add --apply"
            output.emit({"kind": "would_delete", "member": member.name}, text)
            return FINDINGS
        delete_club_member(book, member.id)
    text = f"{member.name}: deleted; sums without a name stay"
    output.emit({"kind": "deleted", "member": member.name}, text)
    return DONE


def _export_member(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        data = export_club_member(book, book.member_named(arguments.member).id)
    text = json.dumps(data, ensure_ascii=False)
    if arguments.output is None:
        output.emit(data, text)
        return DONE
    write_whole(arguments.output, f"{text}\n".encode())
    emitted = {"kind": "export", "what": data["kind"], "path": str(arguments.output)}
    output.emit(emitted, str(arguments.output))
    return DONE


def _check(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    try:
        with open_book(arguments.book) as book:
            book.database.check()
            path, reason = book.path, book.read_only_reason
    except CorruptStoreError as error:
        output.emit({"kind": "damaged", "detail": error.detail}, str(error))
        return FINDINGS
    output.emit({"kind": "sound", "path": str(path), "read_only": reason}, f"{path}: sound")
    return DONE


def _back_up(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    with open_book(arguments.book) as book:
        made = book.back_up(today())
    text = str(made) if made else "today's backup is there already"
    output.emit({"kind": "backup", "path": str(made) if made else None}, text)
    return DONE


def _restore(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    kept = ClubBook.restore(arguments.book, arguments.backup)
    text = f"restored from {arguments.backup}" + (f"; the old book is {kept}" if kept else "")
    data = {"kind": "restored", "from": str(arguments.backup), "kept": str(kept) if kept else None}
    output.emit(data, text)
    return DONE


def _recover(arguments: argparse.Namespace, output: Output, _workspace: Workspace) -> int:
    if not arguments.book.exists() and not backups_of(arguments.book):
        raise TrainerError(f"{arguments.book}: no such club book, and no backup of it")
    emit_recovery(ClubBook.recover(arguments.book), output)
    return DONE


def _declare_issue(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("member", metavar="MEMBER", help="for whom")
    parser.add_argument("aircraft", metavar="AIRCRAFT", help="on which aircraft of the book")
    parser.add_argument("file", type=Path, help="assignment file to write")
    parser.add_argument("--lesson", action="append", default=[], help="lesson id; may be repeated")
    parser.add_argument("--form", default="A", help="id of a form of the club's check")
    parser.add_argument("--seed", type=int, default=1, help="draws the check's questions")
    parser.add_argument("--due", required=True, help="day, as 2026-03-20")


def _declare_import(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE", help="result file")
    parser.add_argument("--apply", action="store_true", help="take them; without it, only show")


def _declare_board(parser: argparse.ArgumentParser) -> None:
    _declare_calls(parser)
    parser.add_argument("--changes", action="store_true", help="also what changed since last seen")
    parser.add_argument("--mark-seen", action="store_true", help="as --changes, then remember")


def _declare_calls(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("aircraft", metavar="AIRCRAFT", help="an aircraft of the book")


def _declare_retention(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("--days", type=int, help="set how long records are kept [days]")
    parser.add_argument("--apply", action="store_true", help="delete what is older")


def _declare_member(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("member", metavar="MEMBER", help="name")


def _declare_delete(parser: argparse.ArgumentParser) -> None:
    _declare_member(parser)
    parser.add_argument("--apply", action="store_true", help="delete; without it, only say what")


def _declare_export(parser: argparse.ArgumentParser) -> None:
    _declare_member(parser)
    parser.add_argument("--output", type=Path, help="write to this file instead of stdout")


def _declare_restore(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("backup", type=Path, help="a file of the folder 'backups'")


ACTIONS = {
    "issue": Action("write an assignment for a member", _declare_issue, _issue),
    "import": Action("show and take result files", _declare_import, _import),
    "board": Action("the readiness board of an aircraft", _declare_board, _board),
    "call-list": Action("whom to call next", _declare_calls, _call_list),
    "retention": Action("how long records are kept", _declare_retention, _retention),
    "delete-member": Action("delete a member, backups too", _declare_delete, _delete_member),
    "export-member": Action("all the book holds of a member", _declare_export, _export_member),
    "check": Action("check every page of the book", book_argument, _check),
    "back-up": Action("make today's backup", book_argument, _back_up),
    "recover": Action("bring back a damaged book", book_argument, _recover),
    "restore": Action("put a backup in the book's place", _declare_restore, _restore),
}
