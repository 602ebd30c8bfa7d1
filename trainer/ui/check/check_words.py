"""What the check's pages say. No Qt here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trainer.assessment.answers.confidence import CalibrationRow
from trainer.assessment.check.check_form import CheckPlan
from trainer.assessment.check.check_plan_file import NamedPlan
from trainer.records.check_sitting import ENDED_WITHOUT, SittingState
from trainer.records.check_verdict import VERDICT_WORDS, CheckReport, WrongAnswer
from trainer.ui.check.check_bank_worker import BankNews
from trainer.ui.lesson.confidence_row import CONFIDENCE_LABELS
from trainer.ui.lesson.lesson_panel_text import LessonText
from trainer.ui.lesson.practice_words import clock_words

WHAT_IT_IS = (
    "A record of training for your club. It is no examination for a licence, no airman test, and"
    " carries no loggable time. Your instructor decides what it counts for."
)
HOW_IT_GOES = (
    "Each item is a flown situation: look at the strip, the pictures and the numbers, build the"
    " strip as it will read, say how sure you are. Nothing is told until the end. The time is"
    " shown, not limited.\n\n"
    "Every answer is kept at once. You may stop, and go on later at the same item; so it does after"
    " a power cut. An answered item isn't shown again before the end."
)
WEIGHING = "All is answered. Weighing the answers."
GIVE_UP_WORDS = (
    "The check ends without a verdict; its answers stay on record. An assignment can be answered"
    " once only: for another check of it your training lead gives you another assignment."
)
CHECK_HINT = (
    "Build the strip, then say how sure you are. Left and right move, up and down choose, digits"
    " pick a word, letters jump to it, = keeps a cell as it is now. No answer can be changed later."
)
_MINUTES_OF_ITEM = 0.5
"""A guess that is told as one."""
_CRITICAL = "nothing critical (disconnect, level recovery, minimum heights) is wrong twice"
_AFTERWARDS = (
    "At the end you see every wrong answer with its reason, and the lesson that mends it. Who"
    " doesn't pass practises and is checked again."
)
_DECISIONS = {"pass": "passed", "fail": "not passed", ENDED_WITHOUT: "given up"}


def bank_words(news: BankNews) -> str:
    """Return how far the items of an aircraft are found."""
    if news.elapsed_s < 1.0:
        return "Looking for the items of this aircraft."
    time = clock_words(news.elapsed_s)
    if news.done >= 1.0:
        return (
            f"The items of this aircraft are found; a last look at rules that none shows: {time}."
        )
    return f"Finding the items of this aircraft: {news.done:.0%} in {time}. Then they are kept."


def identity_words(member: str, club: str = "") -> str:
    """Return what whoever begins a check confirms."""
    who = member.strip() or "the person named above"
    roster = f", as on the roster of {club}" if club else ""
    return f"I am {who}{roster}, and I answer alone"


STATE_HEADS = ("Begun (UTC)", "Member", "Aircraft, form", "Answers", "State")


def state_row(state: SittingState) -> tuple[str, ...]:
    """Return a check that was begun as a line of words."""
    one = state.sitting
    end = "○ open" if state.is_open else _DECISIONS.get(state.decision, state.decision)
    when = one.begun_utc.replace("T", " ")[:16]
    return when, one.member, f"{one.aircraft_title}, {one.form}", str(state.answered), end


def form_line(named: NamedPlan) -> str:
    """Return a form in a picker."""
    return f"{named.id}: {named.title}"


def plan_words(named: NamedPlan) -> str:
    """Return how long a check takes, what passes and what comes next; then its rates, and why."""
    first = f"{length_words(named.plan)} {_passing_words(named.plan)} {_AFTERWARDS}"
    return "\n\n".join(part for part in (first, named.words, named.rationale) if part)


def length_words(plan: CheckPlan) -> str:
    """Return how long a check takes.

    Example:
        >>> length_words(CheckPlan())
        'It takes some 6 to 20 minutes, if you need half a minute for an item.'
        >>> length_words(CheckPlan(fixed=30))
        'It takes some 15 minutes, if you need half a minute for an item.'
    """
    least, most = (plan.fixed, plan.fixed) if plan.fixed else (plan.least, plan.most)
    fewest, longest = round(least * _MINUTES_OF_ITEM), round(most * _MINUTES_OF_ITEM)
    time = f"{longest}" if fewest == longest else f"{fewest} to {longest}"
    more = "" if plan.each is None else ", and more where a competency is still open"
    return f"It takes some {time} minutes{more}, if you need half a minute for an item."


def _passing_words(plan: CheckPlan) -> str:
    rates = plan.rates
    whole = (
        f"with at least {plan.cut_of_fixed} of {plan.fixed} right"
        if plan.fixed
        else f"when you answer like somebody who gets {100 * rates.master:.0f} % right rather than"
        f" {100 * rates.nonmaster:.0f} %"
    )
    alone = "" if plan.each is not None else " no competency fails by itself"
    parts = [part for part in (alone, f" {_CRITICAL}") if part]
    return f"You pass {whole}, if{' and'.join(parts)}."


def item_text(number: int, plan: CheckPlan, situation: str, question: str) -> LessonText:
    """Return what the panel beside an item says: no hint, nothing about earlier answers."""
    return LessonText(
        title=f"Item {number} of {plan.longest}",
        narration=situation,
        question=question,
        hint=CHECK_HINT,
    )


def decision_words(report: CheckReport) -> tuple[str, str]:
    """Return the decision and its role."""
    if report.decided.decision == "pass":
        return "Passed", "right"
    return "Not passed", "wrong"


def competency_title(name: str, titles: Mapping[str, str]) -> str:
    """Return a competency's title, or what its id says.

    Example:
        >>> competency_title("go_around", {})
        'Go around'
    """
    return titles.get(name, name.replace("_", " ").capitalize())


def verdict_lines(report: CheckReport, titles: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Return competency, right answers and verdict of each competency asked."""
    count = {one.competency: (one.right, one.wrong) for one in report.decided.competencies}
    lines = []
    for one in report.outcomes:
        right, wrong = count[one.competency_id]
        title = competency_title(one.competency_id, titles)
        lines.append((title, f"{right} of {right + wrong} right", VERDICT_WORDS[one.verdict]))
    return lines


def calibration_line(row: CalibrationRow) -> tuple[str, str, str]:
    """Return a confidence, how many of its answers were right, and the range that fits."""
    return (
        CONFIDENCE_LABELS[row.confidence],
        f"{row.right} of {row.count} right",
        f"in the long run likely {100 * row.low:.0f} to {100 * row.high:.0f} %",
    )


WRONG_HEADS = ("Answer", "You were", "Asked")


def wrong_row(one: WrongAnswer, question: str) -> tuple[str, ...]:
    """Return a wrong answer as a line of words; `question` as it was asked."""
    confidence = CONFIDENCE_LABELS[one.answer.confidence].lower()
    came = question.partition(".")[0]
    return str(one.number), f"✗ {confidence}" if one.is_sure else confidence, came


def handing_in(is_assigned: bool, not_asked_for: Sequence[str] = ()) -> str:
    """Return what becomes of the verdicts.

    Args:
        is_assigned: True if the check answers an assignment.
        not_asked_for: Titles of the competencies that the assignment doesn't require.
    """
    if is_assigned:
        rest = ", ".join(not_asked_for)
        alone = f" Told here alone, since your club doesn't require it: {rest}." if rest else ""
        return (
            "The verdicts go with your next result: My attempts, Exchange with the club, Write"
            f" result. Your training lead then sees them on the readiness board.{alone}"
        )
    return "This check answers no assignment: its verdicts stay on this computer."
