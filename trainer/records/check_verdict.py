"""What a finished check says: a verdict for each competency with its evidence, and why.

The check decides as a whole; a competency is `ready` only if the whole was passed, nothing of its
own speaks against it, and its own answers speak rather for a ready member than for one who isn't.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trainer.assessment.answers.confidence import CalibrationRow, calibration, calibration_sentence
from trainer.assessment.check.check import Check, CheckAnswer, CompetencyResult, Decided
from trainer.assessment.diagnosis.diagnosis import Answered, Diagnosis, Evidence, Finding
from trainer.assessment.diagnosis.diagnosis_words import rule_words, verdict_words
from trainer.assessment.diagnosis.hypotheses import Hypotheses
from trainer.assessment.items.bank import Bank
from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.records.attempt import Attempt
from trainer.records.check_outcome import (
    CheckOutcome,
    FoundMisconception,
    SureAndWrong,
    Verdict,
    WholeCheck,
)
from trainer.records.check_sitting import Sitting
from trainer.records.roster import Requirement
from trainer.session.annunciation import Annunciation, changed_cells

VERDICT_WORDS: dict[Verdict, str] = {
    "ready": "ready",
    "not_yet": "not yet",
    "undecided": "undecided",
    "needs_briefing": "needs a briefing",
}


@dataclass(frozen=True, slots=True)
class WrongAnswer:
    """A wrong answer of the check, to be looked at again.

    Attributes:
        number: Place in the check, from 1.
        rule: The wrong rule that foresees exactly this answer, if it was found; else empty.
        lesson: Id of the lesson that mends it; empty: none.
    """

    number: int
    answer: CheckAnswer
    rule: str
    lesson: str

    @property
    def is_sure(self) -> bool:
        """True if it was given as sure."""
        return self.answer.confidence == "sure"


@dataclass(frozen=True, slots=True)
class CheckReport:
    """All that is said at the end of a check."""

    decided: Decided
    outcomes: tuple[CheckOutcome, ...]
    finding: Finding
    diagnosis: tuple[str, ...]
    """The diagnosis in sentences."""
    calibration: tuple[CalibrationRow, ...]
    calibration_words: str
    wrong: tuple[WrongAnswer, ...]
    """Sure and wrong first, then in the order of the check."""


@dataclass(frozen=True, slots=True)
class CheckGround:
    """What a check stands on, besides its answers.

    Attributes:
        bank: The installation's item bank.
        misconceptions: Those in use in the installation, by id.
        requirements: What the installation requires, with the rules as they are now.
        lessons: Competency -> ids of its lessons, the first first.
    """

    bank: Bank
    misconceptions: Mapping[str, Misconception]
    requirements: Sequence[Requirement]
    lessons: Mapping[str, Sequence[str]]


def report_of(
    sitting: Sitting, check: Check, attempts: Sequence[Attempt], ground: CheckGround, at_utc: str
) -> CheckReport:
    """Return what a check says.

    Args:
        sitting: The check as it was begun.
        check: The check with its answers.
        attempts: The same answers as they are kept, in the same order.
        ground: What it stands on.
        at_utc: Moment of the verdict.
    """
    diagnosis = Diagnosis(Hypotheses(ground.bank))
    for one in check.answers:
        diagnosis.answer(one.item, one.answer)
    finding = diagnosis.finding()
    number = {one.item.id: place for place, one in enumerate(check.answers, 1)}
    held = {one.misconception: one for one in finding.held}
    rows = calibration([(one.confidence, one.is_right) for one in check.answers])
    wrong = [
        _wrong(number[one.item.id], one, held, ground) for one in check.answers if not one.is_right
    ]
    decided = check.outcome()
    attempt_id = {one.item_id: one.id for one in attempts}
    outcomes = tuple(
        _Outcome(sitting, check, decided, finding, ground, attempt_id).of(result, at_utc)
        for result in decided.competencies
    )
    return CheckReport(
        decided, outcomes, finding, _diagnosis_words(finding, ground.misconceptions, number), rows,
        calibration_sentence(rows), tuple(sorted(wrong, key=lambda one: not one.is_sure)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Outcome:
    """Makes the outcome of each competency."""

    sitting: Sitting
    check: Check
    decided: Decided
    finding: Finding
    ground: CheckGround
    attempt_id: Mapping[str, str]

    def of(self, result: CompetencyResult, at_utc: str) -> CheckOutcome:
        """Return the outcome of one competency."""
        own = [one for one in self.check.answers if one.item.competency == result.competency]
        named = self._named(result.competency)
        is_critical = any(one.item.critical in self.decided.critical_failed for one in own)
        rules = {one.competency_id: one.rules for one in self.ground.requirements}
        needs_briefing = is_critical or bool(named)
        return CheckOutcome(
            self.sitting.aircraft_id, self.sitting.stage, result.competency,
            self._verdict(result, needs_briefing=needs_briefing), at_utc,
            self._ids(own), rules.get(result.competency, {}),
            tuple(
                SureAndWrong(self.attempt_id[one.item.id], answer_words(one))
                for one in own
                if one.confidence == "sure" and not one.is_right
            ),
            named, self._whole(),
        )  # fmt: skip

    def _verdict(self, own: CompetencyResult, *, needs_briefing: bool) -> Verdict:
        if needs_briefing:
            return "needs_briefing"
        if own.decision == "fail":
            return "not_yet"
        return "ready" if self.check.is_ready(own) else "undecided"

    def _whole(self) -> WholeCheck:
        one = self.decided
        return WholeCheck(
            one.decision, self.sitting.form, one.right, one.right + one.wrong,
            one.critical_failed, self.finding.verdict,
        )  # fmt: skip

    def _named(self, competency: str) -> tuple[FoundMisconception, ...]:
        answered = {one.item.competency for one in self.check.answers}
        return tuple(
            FoundMisconception(
                one.misconception,
                rule_words(one, self.ground.misconceptions),
                self._ids(one.fitting),
            )
            for one in self.finding.held
            if competency
            == _place(self.ground.misconceptions[one.misconception], one.fitting, answered)
        )

    def _ids(self, answers: Sequence[Answered] | Sequence[CheckAnswer]) -> tuple[str, ...]:
        return tuple(self.attempt_id[one.item.id] for one in answers)


def _place(one: Misconception, fitting: Sequence[Answered], answered: set[str]) -> str:
    """Return the competency under which a wrong rule is told: its own if that was asked for."""
    return one.competency if one.competency in answered else fitting[0].item.competency


def _wrong(
    number: int, one: CheckAnswer, held: Mapping[str, Evidence], ground: CheckGround
) -> WrongAnswer:
    known = ground.misconceptions
    fits = [name for name, answer in one.item.answers.items() if answer == one.answer]
    told = [name for name in fits if name in held]
    mending = [known[name].lesson for name in (*told, *fits) if name in known]
    of_competency = ground.lessons.get(one.item.competency, ())
    lesson = next((name for name in (*mending, *of_competency) if name), "")
    return WrongAnswer(number, one, rule_words(held[told[0]], known) if told else "", lesson)


def answer_words(one: CheckAnswer) -> str:
    """Return what was asked, said and seen, for the instructor to read."""
    item = one.item
    wrong = changed_cells(one.answer, item.true)
    cells = "; ".join(
        f"{_plain(name)}: said {_content(one.answer, name)}, was {_content(item.true, name)}"
        for name in wrong
    )
    return f"{item.situation.words} Then: {item.stimulus.words}. {cells or 'all right'}."


def _content(annunciation: Annunciation, cell: str) -> str:
    content = annunciation.cell(cell)
    names = (content,) if isinstance(content, str) else content
    return _plain(", ".join(names)) or "nothing"


def _plain(name: str) -> str:
    return name.removesuffix("_ft").removesuffix("_deg").replace("_", " ")


def _diagnosis_words(
    finding: Finding, misconceptions: Mapping[str, Misconception], number: Mapping[str, int]
) -> tuple[str, ...]:
    said = [verdict_words(finding)]
    for lead, found in (("Held", finding.held), ("Suspected, too few answers", finding.suspected)):
        for one in found:
            fitting = ", ".join(str(number[a.item.id]) for a in one.fitting)
            against = len(one.contradicting)
            speaks = "right answer speaks" if against == 1 else "right answers speak"
            more = f"; {against} {speaks} against it" if against else ""
            answers = "answer" if len(one.fitting) == 1 else "the answers"
            said.append(
                f"{lead}: “{rule_words(one, misconceptions)}” Fits {answers} {fitting}{more}."
            )
    return tuple(said)
