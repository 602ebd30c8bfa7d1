"""The training lead's longer jobs, each with its own opening of the book. No Qt here."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from trainer.charts.installation import LimitValue
from trainer.errors import TrainerError
from trainer.lesson.runner import LessonRunner
from trainer.records.board import Board
from trainer.records.board_change import (
    BoardChange,
    Call,
    board_changes,
    call_list,
    overdue,
    seen_statuses,
)
from trainer.records.board_query import read_board
from trainer.records.club_book import ClubBook
from trainer.records.club_import import FileImport, import_results, preview_result
from trainer.records.club_privacy import (
    apply_retention,
    delete_club_member,
    export_club_member,
    set_retention_days,
)
from trainer.records.packet import read_file_bytes
from trainer.report.certificate import build_certificate
from trainer.report.class_summary import build_summary, read_summary
from trainer.report.delivery import write_report
from trainer.report.lesson_quiz import lesson_questions
from trainer.report.member_brief import Suspect, build_brief, read_brief, read_unchecked
from trainer.report.page import Report
from trainer.report.strip_quiz import build_quiz, without_giveaways
from trainer.session.strip_design import StripDesign
from trainer.session.strip_words import words_of_chart
from trainer.text_file import write_whole

Progress = Callable[[object], None]
ReportKind = Literal["brief", "summary", "certificate"]
REPORTS: dict[ReportKind, str] = {
    "brief": "Checkout brief of a member",
    "summary": "Class summary, by pseudonym",
    "certificate": "Ground training record of a member",
}


@dataclass(frozen=True, slots=True)
class BoardPicture:
    """A board with what changed on it and whom to call."""

    board: Board
    changes: tuple[BoardChange, ...]
    calls: tuple[Call, ...]


@dataclass(frozen=True, slots=True)
class FilePreview:
    """What a result file would change, or why it is refused."""

    path: Path
    member: str
    changes: tuple[str, ...]
    warnings: tuple[str, ...]
    refusal: str
    """Empty if it would be taken."""


@dataclass(frozen=True, slots=True)
class ReportOrder:
    """What a report needs beside the book."""

    kind: ReportKind
    aircraft_id: str
    member_id: int | None
    limits: tuple[LimitValue, ...] | None
    """Those of the aircraft's installation; None: its file isn't on this computer."""
    cautions: tuple[str, ...]
    because: dict[str, str]
    """The sentence of each rule."""
    suspect: Suspect | None = None
    """Weighs a member's answers for wrong rules."""


def read_picture(path: Path, aircraft_id: str, now_utc: str) -> BoardPicture:
    """Return the board of an aircraft as it is now."""
    with ClubBook.open(path) as book:
        board = read_board(book, aircraft_id, now_utc)
        changes = board_changes(seen_statuses(book, aircraft_id), board)
        calls = call_list(board, overdue(book, aircraft_id, now_utc))
    return BoardPicture(board, changes, calls)


def preview_files(
    path: Path, files: Sequence[Path], book_key: bytes, now_utc: str, progress: Progress
) -> list[FilePreview]:
    """Verify result files one after the other; nothing is stored."""
    found = []
    with ClubBook.open(path) as book:
        for file in files:
            try:
                one = preview_result(book, read_file_bytes(file), book_key, now_utc)
                preview = FilePreview(file, one.member.name, one.changes, one.warnings, "")
            except TrainerError as error:
                preview = FilePreview(file, "", (), (), str(error))
            found.append(preview)
            progress(len(found))
    return found


def apply_files(
    path: Path, files: Sequence[Path], book_key: bytes, now_utc: str, progress: Progress
) -> list[FileImport]:
    """Take result files, each whole or not at all."""
    done: list[FileImport] = []

    def report(one: FileImport) -> None:
        done.append(one)
        progress(len(done))

    with ClubBook.open(path) as book:
        import_results(book, files, book_key, now_utc, report)
    return done


def back_up_book(path: Path, day: str) -> Path | None:
    """Make the day's backup; None if it is there already."""
    with ClubBook.open(path) as book:
        return book.back_up(day)


def check_book(path: Path) -> None:
    """Check every page of the book.

    Raises:
        CorruptStoreError: If it is damaged.
    """
    with ClubBook.open(path) as book:
        book.database.check()


def apply_retention_to(path: Path, days: int, now_utc: str) -> int:
    """Keep records so long from now on; return how many older answers were deleted."""
    with ClubBook.open(path) as book:
        set_retention_days(book, days)
        return apply_retention(book, now_utc)


def export_member_to(path: Path, member_id: int, target: Path) -> None:
    """Write all that the book holds of a member."""
    with ClubBook.open(path) as book:
        data = export_club_member(book, member_id)
    write_whole(target, (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode())


def delete_member_from(path: Path, member_id: int) -> None:
    """Delete a member with all their records, in the book and its backups."""
    with ClubBook.open(path) as book:
        delete_club_member(book, member_id)


def write_order(
    path: Path, order: ReportOrder, now_utc: str, program_version: str, target: Path
) -> None:
    """Write a report in the form of the file's ending.

    Raises:
        ValueError: A kind in `REPORTS` that `_report` doesn't make.
    """
    with ClubBook.open(path) as book:
        report = _report(book, order, now_utc, program_version)
    write_report(report, target)


def _report(book: ClubBook, order: ReportOrder, now_utc: str, program_version: str) -> Report:
    if order.kind == "summary":
        facts = read_summary(book, order.aircraft_id, because=order.because, now_utc=now_utc)
        return build_summary(facts, program_version)
    if order.member_id is None:
        raise TrainerError("choose the member that the report is about")
    if order.kind == "brief":
        brief = read_brief(
            book, order.member_id, order.aircraft_id,
            limits=order.limits, cautions=order.cautions, now_utc=now_utc, suspect=order.suspect,
        )  # fmt: skip
        return build_brief(brief, program_version)
    if order.kind == "certificate":
        board = read_board(book, order.aircraft_id, now_utc)
        member = book.member(order.member_id)
        return build_certificate(
            book.club_name, member, board, program_version, limits=order.limits,
            unchecked=read_unchecked(book, member.id, order.aircraft_id),
        )  # fmt: skip
    raise ValueError(f"no report is made for the kind '{order.kind}'")


def write_quiz(
    runner: LessonRunner, design: StripDesign, now_utc: str, program_version: str, target: Path
) -> None:
    """Fly a lesson and write its questions as a quiz on paper, its strips in a design."""
    fit = runner.session.installation
    report = build_quiz(
        runner.lesson.title, fit.title, without_giveaways(lesson_questions(runner)),
        words=words_of_chart(fit.chart), made_utc=now_utc, program_version=program_version,
        design=design,
    )  # fmt: skip
    write_report(report, target)
