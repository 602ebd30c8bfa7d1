"""Words that several reports share."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.charts.installation import LimitValue
from trainer.records.attempt import Attempt
from trainer.records.board import Status
from trainer.records.check_outcome import Believed
from trainer.session.annunciation import CELLS, Annunciation

STATUS_WORDS: Mapping[Status, str] = {
    "ready": "ready",
    "in_progress": "in progress",
    "not_started": "not started",
    "needs_briefing": "needs a briefing",
    "expired": "expired",
}

BELIEVED_WORDS: Mapping[Believed, str] = {
    "sound": "none was named: no rule of the library fits the answers, and nothing speaks for one",
    "holds": "named below the competencies that they belong to",
    "unexplained": "none was named, yet more answers are wrong than slips account for; talk about "
    "it with the member",
    "open": "none was named; too few answers to say that there is none",
}
"""What the diagnosis of a check came to."""

_QUIET = frozenset({"none", "quiet"})
"""States of a cell that shows nothing."""


def day(moment_utc: str) -> str:
    """Return the date of a moment, or a dash."""
    return moment_utc[:10] or "–"


def cut(text: str, longest: int) -> str:
    """Return the text, cut at a word with an ellipsis if it is longer than `longest`.

    Example:
        >>> cut("altitude hold and more", 16)
        'altitude hold …'
    """
    if len(text) <= longest:
        return text
    return text[: longest - 1].rsplit(" ", 1)[0] + " …"


def situation_cut(sentence: str, longest: int, least: int = 16) -> str:
    """Return what was asked, said and seen, with only the situation shortened.

    What was said and what was right is what the reader needs, so it is never cut.

    Args:
        sentence: The whole.
        longest: What it is cut to, in characters.
        least: What is left of the situation at least, in characters.

    Example:
        >>> situation_cut("Level at 3,000 ft, far away. Then: key heading. said a, was b.", 52)
        'Level at 3,000 … Then: key heading. said a, was b.'
    """
    situation, then, rest = sentence.rpartition(" Then: ")
    if not then:
        return cut(sentence, longest)
    return cut(situation, max(longest - len(then + rest), least)) + then + rest


def limit_row(limit: LimitValue) -> tuple[str, str, str]:
    """Return a limit's name, value and provenance in words."""
    found = limit.provenance
    if found.state == "placeholder":
        origin = "placeholder: nobody has entered it"
    else:
        origin = f"{found.source}, entered by {found.entered_by} {found.date}".strip(", ")
        if found.state == "verified":
            origin += f", verified by {found.verified_by}"
        else:
            origin = f"not signed: {origin}"
    value = "not known" if found.is_unknown else f"{limit.value:g} {limit.unit}"
    return limit.label, value, origin


def attempt_words(attempt: Attempt) -> str:
    """Return what was asked, said and read, of an answer on record."""
    said, true = (Annunciation.from_json(one) for one in (attempt.predicted, attempt.actual))
    cells = "; ".join(
        f"{cell_title(cell).lower()}: said {cell_words(said, cell, {})}, "
        f"was {cell_words(true, cell, {})}"
        for cell in attempt.wrong_cells
        if cell in CELLS
    )
    told = cells or f"said {attempt.said}, was {attempt.expected}"
    return f"{attempt.question} {told}."


def cell_title(cell: str) -> str:
    """Return what a cell of the strip is called on paper.

    Example:
        >>> cell_title("lateral_armed")
        'Lateral armed'
    """
    if cell == "protection":
        return "Speed protection"
    return cell.replace("_", " ").capitalize()


def cell_words(annunciation: Annunciation, cell: str, labels: Mapping[str, str]) -> str:
    """Return a cell's content in the chart's words."""
    content = annunciation.cell(cell)
    states = (content,) if isinstance(content, str) else content
    words = [labels.get(state, state.replace("_", " ")) for state in states if state not in _QUIET]
    return ", ".join(words) or "–"


def strip_words(annunciation: Annunciation, labels: Mapping[str, str]) -> str:
    """Return a whole annunciation in one line, empty cells left out."""
    parts = [
        f"{cell_title(cell).lower()} {words}"
        for cell in CELLS
        for words in (cell_words(annunciation, cell, labels),)
        if words != "–"
    ]
    return "; ".join(parts)
