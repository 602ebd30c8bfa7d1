"""The printable sheet of open questions, for the avionics shop or the flight manual.

A model of lines, then plain text, Markdown or HTML; each says the same.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

from trainer.charts.questionnaire import (
    Answers,
    Question,
    open_questions,
    questions_of,
    usable_value,
)
from trainer.charts.spec import ChartSpec

CAUTION = (
    "For a training aid, not an approved device. The aircraft's own flight manual supplement"
    " decides; please name document, section and revision for every answer."
)


@dataclass(frozen=True, slots=True)
class SheetItem:
    """One open question as it stands on the sheet."""

    number: int
    words: str
    choices: tuple[str, ...]
    """Consequences to tick; empty for a number."""
    wanted: str
    """Unit and range of a number; empty for a choice."""
    assumed: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """All open questions of an aircraft."""

    title: str
    asked: tuple[SheetItem, ...]
    """Marked 'not known: ask'."""
    unconfirmed: tuple[SheetItem, ...]
    """Assumed by the program, confirmed by nobody."""


def sheet_of(answers: Answers, questions: tuple[Question, ...]) -> Sheet:
    """Return the sheet of what is still open.

    What is assumed is what the program flies: the default where a draft holds no usable value.
    """
    unknown, placeholders = open_questions(answers, questions)
    items = [_item(n, q, answers) for n, q in enumerate((*unknown, *placeholders), 1)]
    return Sheet(answers.title, tuple(items[: len(unknown)]), tuple(items[len(unknown) :]))


def _item(number: int, question: Question, answers: Answers) -> SheetItem:
    value = usable_value(question, answers.answer(question).value)
    if question.kind == "option":
        assumed = question.choices.get(str(value), str(value))
        return SheetItem(number, question.words, tuple(question.choices.values()), "", assumed)
    wanted = f"a number in {question.unit}, {question.low:g} to {question.high:g}"
    return SheetItem(number, question.words, (), wanted, f"{value:g} {question.unit}")


_PARTS = (("Not known: please answer", "asked"), ("Assumed: please confirm", "unconfirmed"))
_BLANKS = ("Answer", "Document, section, revision", "Name, date")


def sheet_text(sheet: Sheet) -> str:
    """Return the sheet as plain text."""
    lines = [f"Open questions: {sheet.title}", "", CAUTION]
    for heading, name in _PARTS:
        items: tuple[SheetItem, ...] = getattr(sheet, name)
        if not items:
            continue
        lines += ["", heading.upper()]
        for item in items:
            lines += ["", f"{item.number}. {item.words}"]
            lines += [f"   [ ] {words}" for words in item.choices]
            lines += [f"   ({item.wanted})"] if item.wanted else []
            lines.append(f"   Assumed now: {item.assumed}")
            lines += [f"   {blank}: {'_' * 40}" for blank in _BLANKS[bool(item.choices) :]]
    return "\n".join([*lines, *_nothing(sheet)]) + "\n"


def sheet_markdown(sheet: Sheet) -> str:
    """Return the sheet as Markdown."""
    lines = [f"# Open questions: {sheet.title}", "", CAUTION]
    for heading, name in _PARTS:
        items: tuple[SheetItem, ...] = getattr(sheet, name)
        lines += ["", f"## {heading}"] if items else []
        for item in items:
            lines += ["", f"**{item.number}. {item.words}**", ""]
            lines += [f"- [ ] {words}" for words in item.choices]
            lines += [f"- {item.wanted}"] if item.wanted else []
            lines.append(f"- Assumed now: {item.assumed}")
            lines += [f"- {blank}: " + "\\_" * 20 for blank in _BLANKS[bool(item.choices) :]]
    return "\n".join([*lines, *_nothing(sheet)]) + "\n"


def sheet_html(sheet: Sheet) -> str:
    """Return the sheet as one HTML page that prints on A4."""
    title = escape(f"Open questions: {sheet.title}")
    lines = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        f"<title>{title}</title><style>",
        "body{font:11pt/1.4 sans-serif;margin:2cm;max-width:17cm}"
        "section{break-inside:avoid;margin:0 0 1em}h3{font-size:11pt;margin:.8em 0 .2em}"
        "ul{list-style:none;padding-left:1em;margin:0}.blank{border-bottom:1px solid;"
        "display:inline-block;width:9cm}",
        f"</style></head><body><h1>{title}</h1><p>{escape(CAUTION)}</p>",
    ]
    for heading, name in _PARTS:
        items: tuple[SheetItem, ...] = getattr(sheet, name)
        lines += [f"<h2>{escape(heading)}</h2>"] if items else []
        for item in items:
            points = [f"&#9744; {escape(words)}" for words in item.choices]
            points += [escape(item.wanted)] if item.wanted else []
            points.append(f"Assumed now: {escape(item.assumed)}")
            points += [
                f'{blank}: <span class="blank">&nbsp;</span>'
                for blank in _BLANKS[bool(item.choices) :]
            ]
            rows = "".join(f"<li>{point}</li>" for point in points)
            lines.append(
                f"<section><h3>{item.number}. {escape(item.words)}</h3><ul>{rows}</ul></section>"
            )
    lines += [f"<p>{words}</p>" for words in _nothing(sheet) if words]
    return "\n".join([*lines, "</body></html>"]) + "\n"


def _nothing(sheet: Sheet) -> list[str]:
    return [] if sheet.asked or sheet.unconfirmed else ["", "Nothing is open."]


SHEET_FORMATS: dict[str, Callable[[Sheet], str]] = {
    ".html": sheet_html,
    ".md": sheet_markdown,
    ".txt": sheet_text,
}
"""Ending of a file name -> what writes it."""


def questions_sheet(answers: Answers, chart: ChartSpec, ending: str) -> str:
    """Return the sheet in the form that goes with a file name's ending; else as plain text."""
    return SHEET_FORMATS.get(ending, sheet_text)(sheet_of(answers, questions_of(chart)))
