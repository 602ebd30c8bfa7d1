"""What the instructor is told of a member's wrong rules. No Qt here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trainer.assessment.diagnosis.diagnosis import Evidence
from trainer.assessment.diagnosis.diagnosis_words import rule_words, verdict_words
from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.records.attempt import Attempt
from trainer.records.check_diagnosis import MemberDiagnosis
from trainer.session.annunciation import Annunciation
from trainer.session.strip_words import StripWords
from trainer.ui.look.words import CELL_TITLES

FINDING_HEADS = ("What", "Answers", "In words")
ANSWER_HEADS = ("When (UTC)", "How sure", "Question")
NO_ANSWERS = (
    "The book holds no answers of this member in this aircraft. Take a result file of the member"
    " first, on the page 'Exchange'."
)
ASK = (
    "Which wrong rules a member's answers point to, with the answers behind each. It is a guide for"
    " a talk, not a verdict; what no question touched can't be noticed."
)
_STANDING = {
    "documented": "The confusion is documented in its source.",
    "derived": "Plausible; no study of it is known. Confirm it with the member.",
}


@dataclass(frozen=True, slots=True)
class BeliefRow:
    """One line of the findings, with the answers behind it.

    Attributes:
        what: `Held`, `Suspected`, or which answers.
        sentence: The wrong rule, or what the line holds.
        advice: What to make of it.
        lesson: Id of the lesson that mends it; empty: none.
    """

    what: str
    sentence: str
    answers: tuple[Attempt, ...]
    advice: str = ""
    lesson: str = ""

    @property
    def line(self) -> tuple[str, str, str]:
        """The line of the table."""
        return self.what, str(len(self.answers)), self.sentence


def belief_rows(
    found: MemberDiagnosis, misconceptions: Mapping[str, Misconception]
) -> list[BeliefRow]:
    """Return all that is found, the most certain first, then the answers to look at."""
    rows = [
        _rule_row(found, what, one, misconceptions)
        for what, some in (("✗ Held", found.finding.held), ("? Suspected", found.finding.suspected))
        for one in some
    ]
    wrong = tuple(one for one, _ in found.used if not one.is_right)
    sure = found.sure_and_wrong
    rows.append(BeliefRow("Sure and wrong", "Answers given as sure that are wrong.", sure))
    rows.append(BeliefRow("All wrong", "Every wrong answer, whatever was thought.", wrong))
    if found.left_out:
        left = "Their lesson, or the aircraft, has changed since."
        rows.append(BeliefRow("Left out", left, found.left_out))
    return rows


def _rule_row(
    found: MemberDiagnosis, what: str, one: Evidence, known: Mapping[str, Misconception]
) -> BeliefRow:
    held = known[one.misconception]
    against = len(one.contradicting)
    advice = [
        f"Probability {one.probability:.2f}.",
        f"{against} right answer{'' if against == 1 else 's'} where it would show speak against it."
        if against
        else "No right answer speaks against it.",
        _STANDING.get(held.evidence, ""),
    ]
    return BeliefRow(
        what,
        rule_words(one, known),
        found.attempts_of(one.fitting),
        " ".join(advice).strip(),
        held.lesson,
    )


def verdict_line(found: MemberDiagnosis) -> str:
    """Return the verdict, and how many answers it rests on."""
    return verdict_words(found.finding)


def calibration_words(found: MemberDiagnosis) -> str:
    """Return how sureness and right answers went together."""
    labels = {"sure": "sure", "think_so": "think so", "guess": "guess"}
    parts = [
        f"{labels[row.confidence]}: {row.right} of {row.count} right"
        for row in found.calibration
        if row.count
    ]
    return f"By confidence: {'; '.join(parts)}." if parts else ""


def answer_row(one: Attempt) -> tuple[str, ...]:
    """Return an answer as a line of words."""
    return one.at_utc.replace("T", " ")[:16], one.confidence.replace("_", " "), one.question


def answer_detail(one: Attempt, words: StripWords) -> str:
    """Return an answer whole: where it was asked, what was said, what was read."""
    said, true = Annunciation.from_json(one.predicted), Annunciation.from_json(one.actual)
    cells: Sequence[str] = [name for name in one.wrong_cells if name in CELL_TITLES]
    told = "; ".join(
        f"{CELL_TITLES[name]}: said {words.content(name, said.cell(name)).lower()}, read "
        f"{words.content(name, true.cell(name)).lower()}"
        for name in cells
    )
    return f"{one.lesson_title}, {one.prompt_number}: {one.question} {told or 'All right'}."
