"""The questions that an aircraft's mode logic asks, and the answers given so far, as values.

Every option and every limit of a chart is one question, in the order of the rulebook. An answer
carries its provenance; answers become an `Installation` or a file, and go to and from plain JSON,
so that a draft is never lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

from trainer.charts.guard import signals_in
from trainer.charts.installation import (
    STATES,
    Installation,
    LimitValue,
    OptionValue,
    Provenance,
)
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import specialise
from trainer.errors import TrainerError

Kind = Literal["option", "limit"]
GUIDANCE_SECTION = 19
"""Stands for limits that no rule reads: they only shape how the guidance flies."""
SECTION_TITLES = {
    1: "Power and self-test",
    2: "Director key",
    3: "Engaging the autopilot",
    4: "Disconnecting",
    5: "Level recovery",
    6: "Mode keys",
    7: "Course and approach keys",
    8: "Lateral capture",
    9: "Glidepath",
    10: "Altitude arming and level-off",
    11: "Selected altitude in capture",
    12: "Up/down control and hand steering",
    13: "Go-around",
    14: "Change of source",
    15: "Loss of signal",
    16: "Minimum use height",
    17: "Speed protection",
    18: "Marks on the strip",
    GUIDANCE_SECTION: "How the guidance flies",
}


class AnswerError(TrainerError):
    """Answers that can't become an installation."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question: an option with its choices, or a limit with its range."""

    kind: Kind
    id: str
    words: str
    section: int
    default: str | float
    choices: Mapping[str, str]
    """Choice -> consequence; empty for a limit."""
    unit: str = ""
    low: float = 0.0
    high: float = 0.0

    @property
    def key(self) -> str:
        """Name of the question among both kinds."""
        return f"{self.kind}:{self.id}"

    @property
    def section_title(self) -> str:
        """Words for the rulebook's section."""
        return SECTION_TITLES.get(self.section, f"Section {self.section}")


@dataclass(frozen=True, slots=True)
class Answer:
    """A value and where it comes from."""

    value: str | float
    provenance: Provenance = Provenance()
    before: Answer | None = None
    """What was claimed until the value was changed; None once this value stands for itself."""


def questions_of(chart: ChartSpec) -> tuple[Question, ...]:
    """Return every option and limit of a chart as a question, in rulebook order.

    Example:
        >>> from trainer.charts.smallest import SMALLEST_CHART
        >>> from trainer.document import parse_document
        >>> from trainer.charts.loader import read_chart
        >>> lamp = read_chart(parse_document(SMALLEST_CHART))
        >>> [question.words for question in questions_of(lamp)]
        ['What does the key do while the lamp is on?']
    """
    options = [
        Question("option", one.id, one.question, one.section, one.default, one.choices)
        for one in chart.options.values()
    ]
    # Found once for all limits: this is asked for at every key that is typed into an answer.
    reading = [(signals_in(rule.guard), rule.section) for rule in chart.rules.values()]
    reading += [(signals_in(one.guard), one.section) for one in chart.refusals.values()]
    limits = [
        Question(
            "limit", one.id, one.label, _section_of(chart, one.id, reading), one.default, {},
            one.unit, one.low, one.high,
        )
        for one in chart.limits.values()
    ]  # fmt: skip
    return tuple(sorted([*options, *limits], key=lambda question: question.section))


def _section_of(chart: ChartSpec, limit: str, reading: Sequence[tuple[frozenset[str], int]]) -> int:
    """Return the section with the most rules that read a limit; of equals the first.

    Args:
        chart: The chart.
        limit: Id of the limit.
        reading: For each rule and refusal the signals that its guard reads, and its section.
    """
    signals = {s.id for s in chart.signals.values() if limit in (s.on.limit, s.off.limit)}
    sections = [section for read, section in reading if not signals.isdisjoint(read)]
    return min(sections, key=lambda one: (-sections.count(one), one), default=GUIDANCE_SECTION)


@dataclass(frozen=True, slots=True)
class Answers:
    """All answers for one aircraft, as far as they are known."""

    id: str
    title: str
    aircraft: str
    chart: str
    values: Mapping[str, Answer]
    """Question key -> answer; a question without one takes the chart's default."""
    note: str = ""

    def answer(self, question: Question) -> Answer:
        """Return the answer to a question, or the default as a placeholder."""
        return self.values.get(question.key, Answer(question.default))

    def with_answer(self, question: Question, answer: Answer) -> Answers:
        """Return the answers with one changed."""
        return replace(self, values={**self.values, question.key: answer})

    def to_json(self) -> dict[str, Any]:
        """Return the answers as JSON values."""
        return {
            "id": self.id,
            "title": self.title,
            "aircraft": self.aircraft,
            "chart": self.chart,
            "note": self.note,
            "values": {key: _answer_json(one) for key, one in self.values.items()},
        }

    @staticmethod
    def from_json(data: Any) -> Answers:
        """Return the answers of `to_json`'s form.

        Raises:
            AnswerError: It isn't of that form.
        """
        try:
            values = {str(key): _answer(one) for key, one in data["values"].items()}
            return Answers(
                str(data["id"]), str(data["title"]), str(data["aircraft"]), str(data["chart"]),
                values, str(data["note"]),
            )  # fmt: skip
        except (KeyError, TypeError, AttributeError, OverflowError) as error:
            raise AnswerError(f"not a draft of answers: {error!r}") from error


def _answer_json(answer: Answer) -> dict[str, Any]:
    data = {"value": answer.value, "provenance": asdict(answer.provenance)}
    if answer.before is not None:
        data["before"] = _answer_json(replace(answer.before, before=None))
    return data


def _answer(data: Any) -> Answer:
    old = data.get("before")
    before = None if old is None else Answer(_plain(old["value"]), _provenance(old["provenance"]))
    return Answer(_plain(data["value"]), _provenance(data["provenance"]), before)


def _plain(value: Any) -> str | float:
    return float(value) if isinstance(value, int | float) else str(value)


def _provenance(data: Any) -> Provenance:
    where = Provenance(**data)
    texts = (where.source, where.entered_by, where.date, where.verified_by)
    if not all(isinstance(text, str) for text in texts) or where.state not in STATES:
        raise TypeError(f"{data} isn't where an answer comes from")
    return replace(where, is_unknown=bool(where.is_unknown))


def answers_of(installation: Installation) -> Answers:
    """Return an installation as answers."""
    values: dict[str, Answer] = {}
    for option in installation.options.values():
        values[f"option:{option.id}"] = Answer(option.choice, option.provenance)
    for limit in installation.limits.values():
        values[f"limit:{limit.id}"] = Answer(limit.value, limit.provenance)
    return Answers(
        installation.id, installation.title, installation.aircraft, installation.generic.id,
        values, installation.note,
    )  # fmt: skip


def installation_of(answers: Answers, generic: ChartSpec) -> Installation:
    """Return the answers as an installation that can be flown; nothing is checked."""
    options: dict[str, OptionValue] = {}
    limits: dict[str, LimitValue] = {}
    for question in questions_of(generic):
        answer = answers.answer(question)
        if question.kind == "option":
            options[question.id] = OptionValue(question.id, str(answer.value), answer.provenance)
        else:
            limits[question.id] = LimitValue(
                question.id, float(answer.value), question.unit, question.words, answer.provenance
            )
    chart = specialise(generic, {one.id: one.choice for one in options.values()})
    return Installation(
        answers.id, answers.title, "", answers.aircraft, chart, generic, options, limits,
        answers.note,
    )  # fmt: skip


def problem_of(question: Question, answer: Answer) -> str:
    """Return what is missing from an answer in plain words; empty if nothing is."""
    where = answer.provenance
    if question.kind == "option" and answer.value not in question.choices:
        return "Choose one of the answers."
    if question.kind == "limit" and not _is_inside(question, answer.value):
        low, high = f"{question.low:g}", f"{question.high:g}"
        return f"The value must be a number from {low} to {high} {question.unit}."
    if where.state not in STATES:
        return f"'{where.state}' is no state; accepted: {', '.join(STATES)}."
    if where.state == "placeholder":
        return ""
    if where.is_unknown:
        return "An answer that isn't known stays a placeholder."
    missing = [
        words
        for words, value in (
            ("where it stands", where.source),
            ("who entered it", where.entered_by),
            ("the date", where.date),
            ("who verified it", where.verified_by if where.state == "verified" else "-"),
        )
        if not value.strip()
    ]
    return f"Say {' and '.join(missing)}, or leave it a placeholder." if missing else ""


def usable_value(question: Question, value: str | float) -> str | float:
    """Return a value if the question accepts it, else the chart's default.

    A draft may hold what was typed by half; what is flown or printed is a value.

    >>> height = Question("limit", "height_ft", "Least height", 3, 800.0, {}, "ft", 0.0, 5000.0)
    >>> usable_value(height, 900.0), usable_value(height, "9oo")
    (900.0, 800.0)
    """
    return question.default if problem_of(question, Answer(value)) else value


def _is_inside(question: Question, value: str | float) -> bool:
    return isinstance(value, int | float) and question.low <= value <= question.high


def open_questions(
    answers: Answers, questions: tuple[Question, ...]
) -> tuple[tuple[Question, ...], tuple[Question, ...]]:
    """Return the questions marked 'not known: ask', and those that are still placeholders."""
    unknown = [q for q in questions if answers.answer(q).provenance.is_unknown]
    placeholders = [
        q
        for q in questions
        if answers.answer(q).provenance.state == "placeholder" and q not in unknown
    ]
    return tuple(unknown), tuple(placeholders)
