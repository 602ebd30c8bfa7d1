"""A club with four members at different points, for the tests of reports."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from trainer.charts.installation import LimitValue, Provenance
from trainer.records.attempt import Attempt
from trainer.records.check_outcome import CheckOutcome, FoundMisconception, SureAndWrong
from trainer.records.club_book import ClubBook
from trainer.records.club_import import ResultPreview, apply_result
from trainer.records.result import Result
from trainer.records.roster import Aircraft, Requirement
from trainer.session.annunciation import Annunciation, AxisAnnunciation, changed_cells

NOW = "2026-03-10T12:00:00Z"
TITLES = {
    "engaging": "Engaging and refusing to engage",
    "heading": "Turning onto a heading",
    "course": "Arming and capturing a course",
    "climb": "Climbing and levelling",
    "capture": "New altitude during capture",
    "approach": "Approach with glidepath",
    "go_around": "Going around",
    "recovery": "Level recovery",
    "disconnect": "Disconnecting and its alert",
    "minimum": "Minimum heights",
    "reversion": "Lost signals and reversion",
    "protection": "Speed protection",
}
WRONG_RULE = "Thinks that a mode key pressed while the mode is armed makes it active at once."


def build_attempt(member: int, number: int) -> Attempt:
    """Return an attempt about one of the competencies, right more often for some members."""
    competency = list(TITLES)[number % len(TITLES)]
    before = Annunciation("autopilot", AxisAnnunciation("heading_select"))
    actual = before.with_cell("lateral_armed", ("course_track",))
    predicted = actual if (number * 7 + member) % 9 > member else before
    wrong = changed_cells(predicted, actual)
    strips = (before.to_json(), predicted.to_json(), actual.to_json())
    rules = (f"{competency}.first_rule", f"{competency}.rule_{number % 3}")
    return Attempt(
        f"{member}-{number}", f"2026-02-{1 + number % 28:02d}T18:00:00Z", f"Member {member}",
        f"lesson_{competency}", TITLES[competency], "sister_one", 1 + number % 5, "after_key",
        "What will the strip read after the course key?", *strips, wrong, not wrong,
        "sure" if number % 2 else "guess", rules, 4.25, "0.1.0",
    )  # fmt: skip


def build_outcome(competency: str, verdict: Any, member: int) -> CheckOutcome:
    """Return the outcome of one member's check."""
    bad = verdict in {"not_yet", "needs_briefing"}
    sure = SureAndWrong(
        f"{member}-1",
        "asked for the strip after the course key with the course 8 degrees away, was sure of "
        "course track active; the strip read heading active, course track armed.",
    )
    found = FoundMisconception("armed_is_active", WRONG_RULE, (f"{member}-1", f"{member}-5"))
    return CheckOutcome(
        "sister_one", 1, competency, verdict, "2026-03-02T10:00:00Z", (f"{member}-1",),
        {f"{competency}.first_rule": "aa", f"{competency}.rule_1": "aa"},
        (sure,) if bad else (), (found,) if verdict == "needs_briefing" else (),
    )  # fmt: skip


_VERDICTS = {
    1: dict.fromkeys(TITLES, "ready"),
    2: {**dict.fromkeys(TITLES, "ready"), "course": "needs_briefing", "approach": "needs_briefing",
        "capture": "not_yet", "reversion": "undecided"},
    3: dict.fromkeys(list(TITLES)[:4], "needs_briefing"),
    4: {},
}  # fmt: skip


@pytest.fixture
def book(tmp_path: Path) -> Iterator[ClubBook]:
    """Return a club book with four members on one aircraft."""
    opened = ClubBook.open(tmp_path / "club.sqlite3", "Meadow Flying Club")
    requirements = [
        Requirement(name, title, 365, {f"{name}.first_rule": "aa", f"{name}.rule_1": "aa"})
        for name, title in TITLES.items()
    ]
    aircraft = Aircraft("sister_one", "First sister ship", "sister_one", 1)
    opened.set_aircraft(aircraft, requirements)
    for number, name in enumerate(("Robin Vale", "Bo Hill", "Ash Löwe", "Kim Lark"), 1):
        opened.add_member(name, "2026-01-05T09:00:00Z")
        opened.put_on_aircraft(number, "sister_one")
        outcomes = [
            build_outcome(one, verdict, number) for one, verdict in _VERDICTS[number].items()
        ]
        attempts = [build_attempt(number, at) for at in range(60 if number < 4 else 0)]
        result = Result(name, b"", None, NOW, "0.1.0", (), ())
        preview = ResultPreview(
            f"packet-{number}", opened.member(number), result, tuple(attempts), tuple(outcomes),
            (), (),
        )  # fmt: skip
        apply_result(opened, preview, NOW)
    yield opened
    opened.close()


@pytest.fixture
def limits() -> tuple[LimitValue, ...]:
    """Return limits of every provenance."""
    entered = Provenance("entered", "flight manual supplement 3.2", "Kim Lark", "2026-01-02")
    verified = Provenance("verified", "placard", "Kim Lark", "2026-01-02", "Ash Löwe")
    return (
        LimitValue("a", 800.0, "ft", "Minimum engagement height", entered),
        LimitValue("b", 200.0, "ft", "Minimum use height on approach", verified),
        LimitValue("c", 140.0, "kt", "Highest airspeed engaged"),
        LimitValue("d", 70.0, "kt", "Lowest airspeed engaged"),
        LimitValue("e", 30.0, "deg", "Steepest bank at engagement", Provenance(is_unknown=True)),
    )


@pytest.fixture
def reports(book: ClubBook, limits: tuple[LimitValue, ...]) -> dict[str, Any]:
    """Return one report of each kind."""
    from trainer.records.board_query import read_board
    from trainer.report.certificate import build_certificate
    from trainer.report.class_summary import build_summary, read_summary
    from trainer.report.member_brief import build_brief, read_brief
    from trainer.report.strip_quiz import QuizQuestion, build_quiz
    from trainer.session.strip_words import Choice, StripWords

    board = read_board(book, "sister_one", NOW)
    because = {"course.first_rule": "The course key arms while the course is not yet in reach."}
    brief = read_brief(
        book, 2, "sister_one", limits=limits, now_utc=NOW,
        cautions=("Answers given at home: nobody watched who sat at the keyboard.",),
    )  # fmt: skip
    first = build_attempt(1, 1)
    question = QuizQuestion(
        "In level flight at 3,000 ft on heading 090, course 120 selected, 4 NM away.",
        "The course key is pressed. What will the strip read?",
        Annunciation.from_json(first.before),
        Annunciation.from_json(first.actual),
        ("The course is outside the capture band, so the course key arms course track.",),
    )
    quiz = build_quiz(
        "Strip quiz", "First sister ship", [question] * 4,
        words=StripWords(
            {
                "lateral_active": (Choice("heading_select", "Heading", "Heading"),),
                "lateral_armed": (Choice("course_track", "Course", "Course"),),
            }
        ),
        made_utc=NOW, program_version="0.1.0",
    )  # fmt: skip
    return {
        "brief": build_brief(brief, "0.1.0"),
        "summary": build_summary(
            read_summary(book, "sister_one", because=because, now_utc=NOW), "0.1.0"
        ),
        "quiz": quiz,
        "certificate": build_certificate(book.club_name, book.member(1), board, "0.1.0"),
    }
