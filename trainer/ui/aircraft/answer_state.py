"""What the fields below an answer make of it: its state, what is wrong or missing. No Qt here."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Literal

from trainer.charts.installation import Provenance, ProvenanceState, day_fault
from trainer.charts.questionnaire import Answer, Question, problem_of, usable_value

Role = Literal["wrong", "caution", "right"]
STATE_LABELS: dict[str, str] = {
    "placeholder": "Placeholder: nobody has looked it up",
    "entered": "Entered from a source",
    "verified": "Entered, and verified by an instructor",
}
_ENTERED = {"source": "where it stands", "entered_by": "who entered it", "date": "the date"}


def today() -> date:
    """Return the day here: dates are written by people who look at their own calendar."""
    return datetime.now(UTC).astimezone().date()


def date_problem(text: str) -> str:
    """Return what is wrong with a date; empty if nothing is, or nothing stands there.

    Example:
        >>> date_problem("28.11.2026")
        "The date '28.11.2026' isn't a day; accepted: year-month-day, as 2026-11-28."
        >>> date_problem(" 2025-11-28 "), date_problem("")
        ('', '')
    """
    found, accepted = day_fault(text, today())
    return f"The date {found}; accepted: {accepted}." if found else ""


def answer_problem(question: Question, answer: Answer) -> str:
    """Return what is wrong with an answer as it was typed; empty if nothing is."""
    return problem_of(question, answer) or date_problem(answer.provenance.date)


def filled_state(where: Provenance) -> ProvenanceState:
    """Return the state that the filled fields speak for.

    Example:
        >>> filled_state(Provenance(source="supplement 2.1", entered_by="L"))
        'placeholder'
        >>> filled_state(Provenance("placeholder", "supplement 2.1", "L", "2026-11-28", "I"))
        'verified'
    """
    if _missing(where) or date_problem(where.date):
        return "placeholder"
    return "verified" if where.verified_by.strip() else "entered"


def carried(where: Provenance, before: Provenance) -> Provenance:
    """Return where an answer comes from, its empty fields as in another one.

    Who verified it is never carried over: that is a signature under one answer. Nor is a date
    that isn't one.
    """
    before = replace(before, date="" if date_problem(before.date) else before.date)
    empty = {name: getattr(before, name) for name in _ENTERED if not getattr(where, name).strip()}
    return replace(where, **empty)


def changed_answer(question: Question, old: Answer, new: Answer) -> Answer:
    """Return an answer as it may stand after a touch: a changed value takes no claim along.

    Who read or signed another value hasn't read or signed this one, so it falls back to a
    placeholder without the verifying name. What was claimed is kept beside it: with the old value
    it comes back, so that a slip of the hand costs nothing.

    Example:
        >>> height = Question("limit", "h", "Least height", 3, 800.0, {}, "ft", 0.0, 5000.0)
        >>> signed = Answer(35.0, Provenance("verified", "2.1", "L", "2026-11-28", "I"))
        >>> fallen = changed_answer(height, signed, Answer(60.0, signed.provenance))
        >>> fallen.provenance.state, fallen.provenance.verified_by, fallen.provenance.source
        ('placeholder', '', '2.1')
        >>> changed_answer(height, fallen, Answer(35.0, fallen.provenance)) == signed
        True
    """
    if new.value == old.value:
        stands = new.provenance.state != "placeholder"
        return replace(new, before=None if stands else old.before)
    if old.before is not None and new.value == old.before.value:
        return old.before
    if old.before is None and not _is_claimed(old.provenance):
        return new
    # A value that is no value, as an empty field, is nothing that could have been signed.
    is_usable = usable_value(question, old.value) == old.value
    before = old.before or (Answer(old.value, old.provenance) if is_usable else None)
    return Answer(new.value, unclaimed(new.provenance), before)


def unclaimed(where: Provenance) -> Provenance:
    """Return where an answer came from, as a placeholder that nobody has signed.

    >>> unclaimed(Provenance("verified", "2.1", "L", "2026-11-28", "I")).source
    '2.1'
    """
    return replace(where, state="placeholder", verified_by="")


def _is_claimed(where: Provenance) -> bool:
    return where.state != "placeholder" or bool(where.verified_by.strip())


def changed_words(question: Question, before: Answer) -> str:
    """Return why an answer stands for itself no longer, and what to do.

    Example:
        >>> height = Question("limit", "h", "Least height", 3, 800.0, {}, "ft", 0.0, 5000.0)
        >>> changed_words(height, Answer(35.0, Provenance("verified", "2.1", "L", "", "Bo Hill")))
        'Changed from 35 ft, which Bo Hill had signed: sign it again.'
    """
    value, where = value_words(question, before.value), before.provenance
    if where.state == "verified":
        return f"Changed from {value}, which {where.verified_by.strip()} had signed: sign it again."
    if where.state == "entered":
        return (
            f"Changed from {value}, which stood in {where.source.strip()}: look there again, then"
            f" choose '{STATE_LABELS['entered']}'."
        )
    return f"Changed from {value}, beside which {where.verified_by.strip()} was named to verify it."


def value_words(question: Question, value: str | float) -> str:
    """Return a value as the page shows it: a number with its unit, or the words of a choice."""
    if question.kind == "option":
        return f"'{choice_words(str(value))}'"
    return f"{value:g} {question.unit}" if isinstance(value, float) else f"{value}"


def choice_words(choice: str) -> str:
    """Return a choice's name in words.

    >>> choice_words("keeps_first_altitude")
    'Keeps first altitude'
    """
    return choice.replace("_", " ").capitalize()


def can_be_carried(before: Provenance) -> bool:
    """Return True if there is anything to be taken from another answer."""
    return any(getattr(before, name).strip() for name in _ENTERED)


def carried_words(before: Provenance) -> str:
    """Return what would be taken from another answer."""
    return ", ".join(text for name in _ENTERED if (text := getattr(before, name).strip()))


def state_words(question: Question, answer: Answer) -> tuple[str, Role]:
    """Return what is said below an answer, and how."""
    where = answer.provenance
    problem = answer_problem(question, answer)
    if problem:
        return problem, "wrong"
    filled = filled_state(where)
    if where.is_unknown:
        hint = " The fields are filled: take this tick away if it is known." * _is_more(where)
        return f"On the sheet of questions to ask.{hint}", "caution"
    if answer.before is not None:
        changed = changed_words(question, answer.before)
        return f"{changed} {_said(where)}{_still_missing(where)}", "caution"
    if _is_more(where):
        return f"The fields are filled: choose '{STATE_LABELS[filled]}'. {_said(where)}", "caution"
    if where.state == "placeholder":
        return f"{_said(where)}{_still_missing(where)}", "caution"
    names = (where.entered_by.strip().casefold(), where.verified_by.strip().casefold())
    if where.state == "verified" and names[0] == names[1]:
        same = "The same name has entered and verified it; another person should look."
        return f"Verified. {same}", "caution"
    return f"\N{CHECK MARK} {where.state.capitalize()}.", "right"


def _is_more(where: Provenance) -> bool:
    """Return True if the fields speak for more than the state that was chosen."""
    order = list(STATE_LABELS)
    return order.index(filled_state(where)) > order.index(where.state)


def _said(where: Provenance) -> str:
    if where.state == "placeholder":
        return "A placeholder: not for use in the aircraft."
    return f"It is {where.state} so far."


def _missing(where: Provenance) -> list[str]:
    return [words for name, words in _ENTERED.items() if not getattr(where, name).strip()]


def _still_missing(where: Provenance) -> str:
    """Return what a begun answer needs to count as entered."""
    has_begun = can_be_carried(where) or where.verified_by.strip()
    missing = _missing(where)
    return f" To be entered it needs {' and '.join(missing)}." if has_begun and missing else ""
