"""What the reports say."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader

from trainer.charts.provenance import NOT_FOR_USE
from trainer.records.board import PracticeSum
from trainer.records.board_query import read_board
from trainer.records.check_outcome import (
    CheckOutcome,
    FoundMisconception,
    SureAndWrong,
    WholeCheck,
)
from trainer.records.club_book import ClubBook
from trainer.records.club_privacy import delete_club_member
from trainer.records.club_sums import rule_sums
from trainer.records.error import UnknownEntryError
from trainer.report.certificate import NotReadyError, build_certificate
from trainer.report.class_summary import build_summary, read_summary, weakest_rules
from trainer.report.member_brief import build_brief, read_brief, read_unchecked
from trainer.report.render_pdf import render_pdf
from trainer.report.render_text import render_text
from trainer.report.standing import Suspected
from trainer.report.wording import limit_row

NOW = "2026-03-10T12:00:00Z"


def _brief(book: ClubBook, member: int, limits: Any = ()) -> str:
    facts = read_brief(book, member, "sister_one", limits=limits, cautions=(), now_utc=NOW)
    return " ".join(render_text(build_brief(facts, "0.1.0")).split())


def test_brief_puts_the_briefings_first(book: ClubBook) -> None:
    text = _brief(book, 2)
    order = [
        "1. Brief on the ground, then fly: Arming and capturing a course, Approach with glidepath: "
        "Thinks that a mode key",
        "2. Not shown yet: New altitude during capture",
        "3. Not shown yet: Lost signals and reversion",
    ]
    places = [text.index(item) for item in order]
    assert places == sorted(places)
    assert "Ready 8 of 12 competencies" in text
    assert "Arming and capturing a course: asked for the strip after the course key" in text
    assert "(4 answers: Arming and capturing a course, Approach with glidepath)" in text


def test_brief_of_a_ready_member_says_so(book: ClubBook) -> None:
    text = _brief(book, 1)
    assert "Nothing stands out: every competency is ready. For what that rests on" in text
    assert "No answer in the latest checks was sure and wrong." in text


def test_brief_of_a_beginner_says_the_same_reason_once(book: ClubBook) -> None:
    text = _brief(book, 4)
    assert "1. Not begun: Engaging and refusing to engage, Turning onto a heading" in text
    assert "Sure and wrong" in text


def test_brief_shows_limits_with_their_provenance_placeholders_first(
    book: ClubBook, limits: Any
) -> None:
    text = _brief(book, 1, limits)
    assert text.index("Minimum engagement height") < text.index("Highest airspeed engaged")
    assert text.index("Minimum use height on approach") < text.index("Highest airspeed engaged")
    assert "placeholder: nobody has entered it" in text
    assert "4 of 5 limits of First sister ship aren't signed by an instructor" in text
    assert f"(3 placeholders, 1 entered only): {NOT_FOR_USE}; what is learned" in text
    assert limit_row(limits[0]) == (
        "Minimum engagement height",
        "800 ft",
        "not signed: flight manual supplement 3.2, entered by Kim Lark 2026-01-02",
    )
    assert limit_row(limits[1])[2].endswith("verified by Ash Löwe")
    assert limit_row(limits[4])[1] == "not known"
    many = [replace(limits[0], id=str(n), label=f"Limit number {n}") for n in range(19)]
    assert all(f"Limit number {n}" in _brief(book, 1, many) for n in range(19))


def test_fullest_brief_fits_on_one_page_and_says_what_it_left_out(
    book: ClubBook, limits: Any
) -> None:
    facts = read_brief(
        book, 3, "sister_one", limits=limits * 4, cautions=("Caution. " * 30,) * 9, now_utc=NOW
    )
    long = "was sure of course track active while the strip read heading active, armed " * 4
    outcomes = tuple(
        CheckOutcome(
            "sister_one", 1, one.competency_id, "needs_briefing", NOW, ("3-1",), one.rules,
            (SureAndWrong("3-1", long),) * 9,
            tuple(FoundMisconception(f"m{n}", f"{one.title} {n} {long}", ("3-1",)) for n in "ab"),
        )
        for one in facts.board.requirements
    )  # fmt: skip
    cells = {key: replace(cell, status="needs_briefing", because=long)
             for key, cell in facts.board.cells.items()}  # fmt: skip
    fullest = replace(facts, outcomes=outcomes, board=replace(facts.board, cells=cells))
    report = build_brief(fullest, "0.1.0")
    assert len(PdfReader(io.BytesIO(render_pdf(report))).pages) == 1
    text = render_text(report)
    assert "and 104 more in the club book" in text
    assert text.count("Minimum use height on approach") == 4
    page = PdfReader(io.BytesIO(render_pdf(report))).pages[0].extract_text()
    assert "more in the installation" in page
    assert page.count("Minimum use height") == 4


def _fly_of(board: Any, check: WholeCheck | None, sentences: tuple[str, ...] = ()) -> Any:
    sure = tuple(SureAndWrong(f"{number}", one) for number, one in enumerate(sentences))
    return tuple(
        CheckOutcome("sister_one", 1, one.competency_id, "undecided", NOW, ("3-1",), one.rules,
                     sure, (), check)
        for one in board.requirements
    )  # fmt: skip


def test_brief_says_what_the_check_as_a_whole_came_to(book: ClubBook) -> None:
    facts = read_brief(book, 4, "sister_one", limits=(), cautions=(), now_utc=NOW)
    check = WholeCheck("fail", "A", 0, 15, ("go_around",), "open")
    for found, said, belief in (
        (facts.outcomes, "Latest check none yet", "No check yet."),
        (
            _fly_of(facts.board, check),
            "Latest check 2026-03-10, form A: not passed, 0 of 15 right; critical, not shown: go "
            "around",
            "none was named; too few answers to say that there is none",
        ),
        (
            _fly_of(facts.board, replace(check, believed="unexplained")),
            "0 of 15 right",
            "more answers are wrong than slips account for",
        ),
        (_fly_of(facts.board, None), "isn't on record", "None was named in the latest checks."),
    ):
        report = build_brief(replace(facts, outcomes=found), "0.1.0")
        text = " ".join(render_text(report).split())
        assert said in text
        assert belief in text
        assert "None was found" not in text


def test_brief_never_cuts_what_was_said_and_what_was_right(book: ClubBook, limits: Any) -> None:
    facts = read_brief(
        book, 3, "sister_one", limits=limits * 4, cautions=("Caution. " * 30,) * 9, now_utc=NOW
    )
    said = "lateral active: said course track, was heading select; vertical armed: said altitude, "
    said += "was nothing; alert: said autopilot disconnect, was minimum use height."
    sentence = f"{'In level flight at 3,000 ft on heading 090, ' * 9}. Then: key course. {said}"
    check = WholeCheck("fail", "A", 0, 15, (), "unexplained")
    found = _fly_of(facts.board, check, (sentence, sentence))
    report = build_brief(replace(facts, outcomes=found), "0.1.0")
    text = " ".join(render_text(report).split())
    assert text.count(f"… Then: key course. {said}") == 8
    assert "and 16 more in the club book" in text
    assert len(PdfReader(io.BytesIO(render_pdf(report))).pages) == 1


def test_limits_that_are_signed_or_not_known_here_are_not_called_unsigned(
    book: ClubBook, limits: Any
) -> None:
    text = _brief(book, 1, limits[1:2])
    assert "isn't signed" not in text
    assert "aren't signed" not in text
    text = _brief(book, 1, None)
    assert "Whether an instructor has signed the limits isn't known here" in text
    assert "signed by an instructor" not in text


def _critical(facts: Any) -> Any:
    """Return outcomes of which the ninth and tenth hold a critical answer that was wrong."""
    check = WholeCheck("fail", "A", 2, 15, ("minimum_use_height",), "open")
    situation = "On the approach course of Linnetfield, a little above the minimum use height"
    caution = f"{situation}. Then: nothing is pressed. alert: said quiet, was caution."
    plain = "Level at 3,000 ft; 5,000 ft is selected. Then: key heading. said a, was b."
    return tuple(
        replace(
            one, verdict="needs_briefing" if one.competency_id == "minimum" else "undecided",
            sure_and_wrong=(SureAndWrong(f"{number}", caution if one.competency_id == "minimum"
                                         else plain),),
        )
        for number, one in enumerate(_fly_of(facts.board, check))
    )  # fmt: skip


def test_brief_says_what_is_critical_before_all_else(book: ClubBook) -> None:
    facts = read_brief(book, 3, "sister_one", limits=(), cautions=(), now_utc=NOW)
    unsure = replace(facts.answers["3-1"], confidence="think_so", is_right=False,
                     wrong_cells=("lateral_armed",))  # fmt: skip
    facts = replace(facts, outcomes=_critical(facts), answers={"3-1": unsure})
    text = " ".join(render_text(build_brief(facts, "0.1.0")).split())
    assert "Not shown: minimum use height. Brief it before the flight." in text
    critical = text.index("Minimum heights, sure: On the approach course of Linnetfield, a little")
    told = text.index("Minimum heights, think so: What will the strip read after the course key?")
    assert critical < told < text.index("Sure and wrong, of the rest")
    assert "lateral armed: said" in text
    assert text.index("Sure and wrong, of the rest") < text.index("What to fly first")
    assert "…" not in text[critical : text.index("What to fly first")]


def test_a_verdict_that_rests_on_lessons_alone_is_told_as_no_check(book: ClubBook) -> None:
    text = _brief(book, 1)
    assert (
        "No check was taken in any competency: what is said of it rests on answers given in" in text
    )
    assert "Latest check no check, lessons only: 2026-03-02" in text
    board = read_board(book, "sister_one", NOW)
    unchecked = read_unchecked(book, 1, "sister_one")
    assert unchecked == {one.competency_id for one in board.requirements}
    report = build_certificate(
        book.club_name, book.member(1), board, "0.1.0", limits=(), unchecked=unchecked - {"climb"}
    )
    text = " ".join(render_text(report).split())
    assert "No check was taken in Engaging and refusing to engage, Turning onto a heading" in text
    assert text.count("no check, lessons only: 2026-03-02 on") == len(unchecked) - 1
    assert "stands in its book as ready" in text
    assert "was found ready" not in text


def test_verdicts_of_checks_and_those_whose_answers_are_gone_are_not_called_unchecked(
    book: ClubBook,
) -> None:
    facts = read_brief(book, 1, "sister_one", limits=(), cautions=(), now_utc=NOW)
    assert facts.unchecked
    checked = {name: replace(one, check_id="c") for name, one in facts.answers.items()}
    assert replace(facts, answers=checked).unchecked == frozenset()
    assert replace(facts, answers={}).unchecked == frozenset()


def test_certificate_says_in_a_sentence_that_its_limits_are_not_signed(
    book: ClubBook, limits: Any
) -> None:
    board = read_board(book, "sister_one", NOW)
    for found, words in (
        (limits, "4 of 5 limits of First sister ship aren't signed by an instructor"),
        (None, "isn't known here: the file of First sister ship isn't on this computer."),
    ):
        report = build_certificate(book.club_name, book.member(1), board, "1", limits=found)
        assert words in " ".join(render_text(report).split())


def test_suspected_rules_are_listed_as_suspected_with_their_answers(book: ClubBook) -> None:
    seen: list[Any] = []

    def suspect(attempts: Any) -> tuple[Suspected, ...]:
        seen.extend(attempts)
        return (Suspected("Nothing is shown below the minimum use height.", 2),)

    facts = read_brief(book, 3, "sister_one", limits=(), cautions=(), now_utc=NOW, suspect=suspect)
    text = " ".join(render_text(build_brief(facts, "0.1.0")).split())
    assert "Suspected, on 2 answers: Nothing is shown below the minimum use height." in text
    assert [one.at_utc for one in seen] == sorted(one.at_utc for one in seen)
    assert len(seen) == 60


def test_brief_needs_a_known_member(book: ClubBook) -> None:
    with pytest.raises(UnknownEntryError):
        _brief(book, 99)
    book.add_member("New One", NOW)
    assert "is not entered for this aircraft" in _brief(book, 5)


def test_summary_names_nobody(book: ClubBook) -> None:
    facts = read_summary(book, "sister_one", because={}, now_utc=NOW)
    text = render_text(build_summary(facts, "0.1.0"))
    for member in book.members():
        assert member.name not in text
        assert member.pseudonym in text


def test_summary_counts_members_and_misconceptions(book: ClubBook) -> None:
    facts = read_summary(book, "sister_one", because={}, now_utc=NOW)
    text = " ".join(render_text(build_summary(facts, "0.1.0")).split())
    assert "Members 4" in text
    assert "Ready in everything 1" in text
    (count,) = facts.misconceptions.values()
    assert count == 2


def test_sums_over_the_club_outlive_a_deleted_member(book: ClubBook) -> None:
    before = rule_sums(book, "sister_one")
    assert before["course.first_rule"].attempts == 15
    delete_club_member(book, 3)
    after = rule_sums(book, "sister_one")
    assert {rule: one.attempts for rule, one in after.items()} == {
        rule: one.attempts for rule, one in before.items()
    }


def test_a_rule_is_weak_only_on_enough_answers() -> None:
    sums = {
        "rarely": PracticeSum(9, 0, 0, ""),
        "weak": PracticeSum(100, 40, 5, ""),
        "few": PracticeSum(10, 4, 0, ""),
        "strong": PracticeSum(100, 95, 0, ""),
    }
    assert weakest_rules(sums) == ["weak", "few", "strong"]


def test_certificate_is_worded_as_a_training_record(book: ClubBook) -> None:
    board = read_board(book, "sister_one", NOW)
    report = build_certificate(book.club_name, book.member(1), board, "0.1.0")
    text = " ".join(render_text(report).split())
    assert "no licence, rating, endorsement, approval or permission to fly" in text
    assert "Valid to 2027-03-02" in text
    assert report == build_certificate(book.club_name, book.member(1), board, "0.1.0")


@pytest.mark.parametrize(("member", "word"), [(2, "Arming and capturing a course"), (4, "Going")])
def test_no_certificate_for_whom_is_not_ready(book: ClubBook, member: int, word: str) -> None:
    board = read_board(book, "sister_one", NOW)
    with pytest.raises(NotReadyError, match=word):
        build_certificate(book.club_name, book.member(member), board, "0.1.0")


def test_no_certificate_off_the_aircraft(book: ClubBook) -> None:
    book.set_active(1, is_active=False)
    board = read_board(book, "sister_one", NOW)
    with pytest.raises(NotReadyError, match="not entered"):
        build_certificate(book.club_name, book.member(1), board, "0.1.0")
