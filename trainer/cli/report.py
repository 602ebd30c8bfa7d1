"""`report ACTION`: pages for the instructor, the class, an evening on paper, and the record."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.app import Workspace
from trainer.cli.action import (
    Action,
    declare_actions,
    now_utc,
    open_book,
)
from trainer.cli.names import SHIP_OPTIONS, lesson_path, ship_id
from trainer.cli.output import DONE, Output
from trainer.cli.records_roster import book_argument
from trainer.errors import TrainerError
from trainer.parts import program_version
from trainer.records.board_query import read_board
from trainer.report.delivery import FORMS, form_of, render
from trainer.report.page import Report
from trainer.text_file import write_whole

if TYPE_CHECKING:
    from trainer.charts.installation import Installation, LimitValue
    from trainer.records.attempt import Attempt
    from trainer.report.member_brief import Suspect
    from trainer.report.standing import Suspected


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    declare_actions(parser, ACTIONS)


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Make the report."""
    return int(arguments.run(arguments, output, workspace))


def _brief(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    from trainer.report.member_brief import build_brief, read_brief

    with open_book(arguments.book) as book:
        member = book.member_named(arguments.member)
        fit = _fit(workspace, book.one_aircraft(arguments.aircraft).installation_id)
        facts = read_brief(
            book, member.id, arguments.aircraft, limits=_limits(fit),
            cautions=[fit.note] if fit and fit.note else [], now_utc=now_utc(),
            suspect=_suspect(workspace, fit.id, output) if fit else None,
        )  # fmt: skip
    return _deliver(build_brief(facts, program_version()), arguments, output)


def _fit(workspace: Workspace, installation: str) -> Installation | None:
    """Return an aircraft's file; None: it isn't on this computer."""
    return workspace.installations.get(installation)


def _limits(fit: Installation | None) -> tuple[LimitValue, ...] | None:
    return tuple(fit.limits.values()) if fit is not None else None


def _suspect(workspace: Workspace, installation: str, output: Output) -> Suspect:
    """Return how a member's answers are weighed; items of the bank are looked for if need be."""
    from trainer.report.standing import suspected_rules

    def suspect(attempts: Sequence[Attempt]) -> tuple[Suspected, ...]:
        if any(one.item_id for one in attempts) and workspace.kept_bank(installation) is None:
            output.message("making the items of the aircraft, once: some tens of seconds")
        items, _ = workspace.items_answered(attempts, installation)
        return suspected_rules(attempts, items, installation, workspace.library(installation))

    return suspect


def _summary(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    from trainer.report.class_summary import build_summary, read_summary

    with open_book(arguments.book) as book:
        chart = workspace.installation(book.one_aircraft(arguments.aircraft).installation_id).chart
        because = {name: rule.because for name, rule in chart.rules.items()}
        because |= {name: refusal.because for name, refusal in chart.refusals.items()}
        facts = read_summary(book, arguments.aircraft, because=because, now_utc=now_utc())
    return _deliver(build_summary(facts, program_version()), arguments, output)


def _quiz(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    from trainer.report.lesson_quiz import lesson_questions
    from trainer.report.strip_quiz import build_quiz, without_giveaways
    from trainer.session.strip_design import DEFAULT_DESIGN
    from trainer.session.strip_design_file import load_strip_design
    from trainer.session.strip_words import words_of_chart

    lesson = workspace.lesson(lesson_path(arguments.lesson, workspace))
    ship = ship_id(arguments.ship, workspace) if arguments.ship else lesson.installation
    fit = workspace.installation(ship)
    runner = workspace.start_lesson_without_trainee(lesson, fit.id)
    report = build_quiz(
        lesson.title, fit.title, without_giveaways(lesson_questions(runner)),
        words=words_of_chart(fit.chart), made_utc=now_utc(), program_version=program_version(),
        design=load_strip_design(arguments.design) if arguments.design else DEFAULT_DESIGN,
    )  # fmt: skip
    return _deliver(report, arguments, output)


def _certificate(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    from trainer.report.certificate import build_certificate
    from trainer.report.member_brief import read_unchecked

    with open_book(arguments.book) as book:
        member = book.member_named(arguments.member)
        board = read_board(book, arguments.aircraft, now_utc())
        report = build_certificate(
            book.club_name, member, board, program_version(),
            limits=_limits(_fit(workspace, board.aircraft.installation_id)),
            unchecked=read_unchecked(book, member.id, arguments.aircraft),
        )  # fmt: skip
    return _deliver(report, arguments, output)


def _deliver(report: Report, arguments: argparse.Namespace, output: Output) -> int:
    """Write the report to its file, or as text to stdout."""
    target: Path | None = arguments.output
    form = arguments.to or (form_of(target) if target else "text")
    if target is None and form == "pdf":
        raise TrainerError("a PDF needs a file: --output FILE.pdf")
    data = render(report, form)
    emitted = {"kind": "report", "title": report.title, "to": form, "bytes": len(data)}
    if target is None:
        text = data.decode()
        if output.as_json:
            output.emit({**emitted, "text": text}, "")
        else:
            sys.stdout.write(text)
    else:
        write_whole(target, data)
        output.emit({**emitted, "path": str(target)}, f"{target}: {len(data)} bytes")
    return DONE


def _form(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--to", choices=FORMS, help="form; by the file's ending if left out")
    parser.add_argument("--output", type=Path, help="write to this file instead of stdout")


def _declare_class(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("aircraft", metavar="AIRCRAFT", help="an aircraft of the book")
    _form(parser)


def _declare_member(parser: argparse.ArgumentParser) -> None:
    book_argument(parser)
    parser.add_argument("member", metavar="MEMBER", help="about whom")
    parser.add_argument("aircraft", metavar="AIRCRAFT", help="an aircraft of the book")
    _form(parser)


def _declare_quiz(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", metavar="LESSON", help="a lesson's id or number, or a file")
    parser.add_argument(*SHIP_OPTIONS, metavar="SHIP", help="ask about this ship, not its own")
    parser.add_argument("--design", type=Path, help="strip design in which the strips are drawn")
    _form(parser)


ACTIONS = {
    "brief": Action("one page about a member for the instructor", _declare_member, _brief),
    "summary": Action("where the club as a whole is weak", _declare_class, _summary),
    "quiz": Action("blank strips on paper with an answer sheet", _declare_quiz, _quiz),
    "certificate": Action("record of ground training", _declare_member, _certificate),
}
