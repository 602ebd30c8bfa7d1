"""A quiz on paper for an evening without computers: blank strips, then the answer sheet.

The answers are handed in; whoever calls has a session compute them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.report.page import Block, Bullets, Heading, PageBreak, Paragraph, Report, Strips
from trainer.report.strip_block import paper_look, strip_picture
from trainer.session.annunciation import Annunciation
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.session.strip_svg import StripLook, StripShown
from trainer.session.strip_words import StripWords

_NOW_SHARE = 0.75
"""The strip that is only read is smaller than the one that is filled in."""


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
    words: StripWords,
    made_utc: str,
    program_version: str,
    design: StripDesign = DEFAULT_DESIGN,
) -> Report:
    """Return the quiz with its answer sheet on pages of their own.

    Args:
        title: Of the quiz.
        aircraft_title: Whose logic is asked about.
        questions: In order.
        words: The chart's.
        made_utc: This moment, from the caller's clock.
        program_version: For the footer.
        design: Whose strips are drawn.
    """
    blocks = _blocks(questions, paper_look(words, design))
    subtitle = f"{aircraft_title}: what will the strip read next?"
    return Report(title, subtitle, tuple(blocks), made_utc, program_version)


def _blocks(questions: Sequence[QuizQuestion], look: StripLook) -> list[Block]:
    blocks: list[Block] = [
        Paragraph(
            "Write into each blank strip what it will read. Write a dash into a cell that stays "
            "empty. Mark how sure you are: sure, think so, guess."
        ),
        Paragraph("Name: ____________________________     Date: ____________________"),
    ]
    blocks += [_asked(number, one, look) for number, one in enumerate(questions, 1)]
    blocks += [PageBreak(), Heading("Answer sheet")]
    for number, one in enumerate(questions, 1):
        caption = f"{number}. {one.question}"
        blocks.append(Strips("", (strip_picture(caption, StripShown(one.actual), look),)))
        if one.because:
            blocks.append(Bullets(one.because))
    return blocks


def _asked(number: int, one: QuizQuestion, look: StripLook) -> Strips:
    now = strip_picture("The strip reads now:", StripShown(one.before), look, _NOW_SHARE)
    caption = f"{one.question}     sure / think so / guess"
    blank = strip_picture(caption, StripShown(None), look)
    return Strips(f"{number}. {one.situation}", (now, blank))
