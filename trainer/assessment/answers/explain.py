"""Why it happened, in sentences that name the rule: for the debrief after a prediction.

`explain` gives the short form, one sentence for each visible change. `explain_firing` gives the
whole reason of one rule: what was armed, which signals decided, and what would have gone on.
"""

from __future__ import annotations

from trainer.charts.guard import conjunctions
from trainer.charts.installation import Installation
from trainer.charts.spec import All, ChartSpec, Guard, In
from trainer.lesson.answer import Answer
from trainer.session.annunciation import CELLS, changed_cells
from trainer.session.marks import region_cell
from trainer.session.record import FiredRule, StepRecord

# A region that only supports another change says nothing by itself when the other one speaks.
_SECONDARY_ENDINGS = ("_arm_used", "_arm_ends")
_IDLE = "Nothing changes: no rule answers this key in these modes."


def explain(answer: Answer, installation: Installation) -> tuple[str, ...]:
    """Return the sentences of the rules behind an answer, the most visible change first.

    Example:
        >>> from trainer.app import Workspace
        >>> workspace = Workspace()
        >>> lesson = workspace.lesson(next(workspace.lessons_folder.glob("01-*.yaml")))
        >>> runner = workspace.start_lesson_without_trainee(lesson)
        >>> records = runner.advance(60.0)
        >>> from trainer.lesson.question import compute_answer
        >>> answer = compute_answer(runner.asked, runner.session)
        >>> explain(answer, runner.session.installation)[0]
        'The director key switches guidance on.'
    """
    sentences: dict[str, None] = {}
    if len(_keys(answer, installation)) > 1:
        return tuple(
            f"{installation.chart.events[record.event].label}: {sentence}"
            for record in answer.records
            for sentence in explain_record(record, installation) or (_IDLE,)
        )
    for record in answer.records:
        for sentence in explain_record(record, installation):
            sentences[sentence] = None
    if not sentences:
        return (_nothing(answer),)
    return tuple(sentences)


def _keys(answer: Answer, installation: Installation) -> list[StepRecord]:
    """Return the records of the keys pressed, one for each."""
    events = installation.chart.events
    return [r for r in answer.records if r.event in events and events[r.event].kind == "key"]


def explain_record(record: StepRecord, installation: Installation) -> tuple[str, ...]:
    """Return the sentences for one step: a refusal's reason, or each visible rule's because."""
    if record.refusal is not None:
        return (f"Refused: {record.refusal.reason}. {record.refusal.because}",)
    return tuple(dict.fromkeys(rule.because for rule in visible_rules(record, installation)))


def visible_rules(record: StepRecord, installation: Installation) -> list[FiredRule]:
    """Return the rules of a step that moved a cell of the strip, in reading order of the cells."""
    visible = set(changed_cells(record.before, record.after))
    fired = [
        rule
        for rule in record.rules
        if region_cell(installation.chart, rule.region) in visible
        and not rule.id.endswith(_SECONDARY_ENDINGS)
    ]
    fired.sort(key=lambda rule: CELLS.index(region_cell(installation.chart, rule.region)))
    return fired or list(record.rules)


def explain_details(answer: Answer, installation: Installation) -> tuple[str, ...]:
    """Return the whole reason of every visible rule behind an answer."""
    return tuple(
        explain_firing(rule, installation.chart)
        for record in answer.records
        for rule in visible_rules(record, installation)
    )


def explain_firing(fired: FiredRule, chart: ChartSpec) -> str:
    """Return the whole reason of one rule: because, armed, signals, otherwise, and the rule's id.

    Args:
        fired: The rule that fired, with the states it left and entered.
        chart: The specialised chart that it belongs to.
    """
    rule = chart.rules[fired.id]
    parts = [rule.because.rstrip(".")]
    armed = _armed(rule.guard, chart)
    if armed:
        parts.append(f"what was armed: {', '.join(armed)}")
    true, false = _deciding(rule.guard, chart)
    if true:
        parts.append(f"what decided: {', '.join(true)}")
    if false:
        parts.append(f"what was not so: {', '.join(false)}")
    parts.append(_otherwise(fired, chart))
    return f"{'; '.join(parts)} [{fired.id}]."


def _deciding(guard: Guard, chart: ChartSpec) -> tuple[list[str], list[str]]:
    """Return the labels of the signals that the guard asks for, and of those it asks to be off."""
    states = {region.id: frozenset(region.states) for region in chart.regions.values()}
    true: dict[str, None] = {}
    false: dict[str, None] = {}
    for literals, _ in conjunctions(guard, states):
        for name, value in literals:
            (true if value else false)[chart.signals[name].label] = None
    return list(true), list(false)


def _armed(guard: Guard, chart: ChartSpec) -> list[str]:
    """Return the modes whose being armed the guard asks for."""
    if isinstance(guard, In):
        region = chart.regions[guard.region]
        needs_armed = region.kind == "armed" and region.initial not in guard.states
        return [region.arms.replace("_", " ")] if needs_armed else []
    if isinstance(guard, All):
        return [name for part in guard.parts for name in _armed(part, chart)]
    return []


def _otherwise(fired: FiredRule, chart: ChartSpec) -> str:
    states = chart.regions[fired.region].states
    if fired.left == fired.entered:
        return f"{states[fired.left].label} goes on, with a new reference"
    left, entered = states[fired.left].label, states[fired.entered].label
    return f"otherwise it would have stayed at '{left}' instead of '{entered}'"


def _nothing(answer: Answer) -> str:
    if answer.elapsed_s < 1.0:
        return _IDLE
    return f"Nothing changes: no rule fires within {answer.elapsed_s:.0f} seconds."
