"""A quiz on paper for an evening without computers: blank strips, then the answer sheet.

The answers are handed in; whoever calls has a session compute them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trainer.report.page import (
    Block,
    Bullets,
    Heading,
    PageBreak,
    Paragraph,
    Report,
    Strip,
    StripCell,
)
from trainer.report.wording import cell_title, cell_words, strip_words
from trainer.session.annunciation import Annunciation
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign


@dataclass(frozen=True, slots=True)
class QuizQuestion:
    """One question with its computed answer."""

    situation: str
    """What the aircraft does and what is selected."""
    question: str
    before: Annunciation
    actual: Annunciation
    because: tuple[str, ...]
    """Sentences of the rules that made the change."""


def without_giveaways(questions: Sequence[QuizQuestion]) -> list[QuizQuestion]:
    """Return the questions less those that show the answer of an earlier one.

    On paper everybody can look ahead: in a lesson, the strip before a question is often the
    answer of the question before it.
    """
    kept: list[QuizQuestion] = []
    for one in questions:
        answers = [earlier.actual for earlier in kept if earlier.actual != earlier.before]
        if one.before not in answers:
            kept.append(one)
    return kept


def build_quiz(
    title: str,
    aircraft_title: str,
    questions: Sequence[QuizQuestion],
    *,
    labels: Mapping[str, str],
    made_utc: str,
    program_version: str,
    design: StripDesign = DEFAULT_DESIGN,
) -> Report:
    """Return the quiz with its answer sheet on pages of their own.

    Args:
        title: Of the quiz.
        aircraft_title: Whose logic is asked about.
        questions: In order.
        labels: State id and its word, from the chart.
        made_utc: This moment, from the caller's clock.
        program_version: For the footer.
        design: Lanes and words of the strip.
    """
    blocks = _blocks(questions, {**labels, **design.words}, design)
    subtitle = f"{aircraft_title}: what will the strip read next?"
    return Report(title, subtitle, tuple(blocks), made_utc, program_version)


def _blocks(
    questions: Sequence[QuizQuestion], labels: Mapping[str, str], design: StripDesign
) -> list[Block]:
    blocks: list[Block] = [
        Paragraph(
            "Write into each blank strip what it will read. Write a dash into a cell that stays "
            "empty. Mark how sure you are: sure, think so, guess."
        ),
        Paragraph("Name: ____________________________     Date: ____________________"),
    ]
    for number, one in enumerate(questions, 1):
        blocks += _asked(number, one, labels, design)
    blocks += [PageBreak(), Heading("Answer sheet")]
    for number, one in enumerate(questions, 1):
        blocks += _answered(number, one, labels, design)
    return blocks


def _asked(
    number: int, one: QuizQuestion, labels: Mapping[str, str], design: StripDesign
) -> list[Block]:
    now = f"The strip reads: {strip_words(one.before, labels)}."
    lanes = _lanes(one.actual, labels, design, is_blank=True)
    title = f"{one.question}     sure / think so / guess"
    return [Strip(title, lanes, is_blank=True, lead=f"{number}. {one.situation} {now}")]


def _answered(
    number: int, one: QuizQuestion, labels: Mapping[str, str], design: StripDesign
) -> list[Block]:
    blocks: list[Block] = [Strip(f"{number}. {one.question}", _lanes(one.actual, labels, design))]
    if one.because:
        blocks.append(Bullets(one.because))
    return blocks


def _lanes(
    actual: Annunciation, labels: Mapping[str, str], design: StripDesign, *, is_blank: bool = False
) -> tuple[tuple[StripCell, ...], ...]:
    return tuple(
        tuple(
            StripCell(cell_title(cell), "" if is_blank else cell_words(actual, cell, labels))
            for cell in lane
        )
        for lane in design.lanes
    )
