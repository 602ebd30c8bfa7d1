"""Why it happened, in sentences that name the rule: for the debrief after a prediction.

`explain` gives the short form, one sentence for each visible change. `explain_firing` gives the
whole reason of one rule: what was armed, which signals decided, and what would have gone on.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from trainer.assessment.answers.facts import deciding_facts, state_without
from trainer.assessment.answers.idle import NO_RULE, idle_sentence
from trainer.assessment.answers.word_list import word_list
from trainer.charts.installation import Installation
from trainer.charts.spec import All, ChartSpec, Guard, In
from trainer.lesson.answer import Answer
from trainer.session.annunciation import CELLS, changed_cells
from trainer.session.marks import region_cell
from trainer.session.record import FiredRule, StepRecord
from trainer.session.strip_words import CELL_TITLES

_ID = re.compile(r" \[[A-Za-z0-9_.]+\](?=\.$)")
# What an armed cell loses along with another change; told unless that cell was called rightly.
_SECONDARY_ENDINGS = ("_arm_used", "_arm_ends")


def explain(
    answer: Answer,
    installation: Installation,
    right: Collection[str] = (),
    wrong: Collection[str] = (),
) -> tuple[str, ...]:
    """Return the sentences of the rules behind an answer, the most visible change first.

    Args:
        answer: The answer that was computed or flown.
        installation: The aircraft.
        right: Cells that were called rightly: what only went along with another change there
            needs no sentence.
        wrong: Cells that were called wrongly: where no rule moved one, that is said.

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
    chart = installation.chart
    moved = {region_cell(chart, rule.region) for one in answer.records for rule in one.rules}
    kept = kept_sentence(wrong, moved)
    sentences: dict[str, None] = {}
    if len(_keys(answer, installation)) > 1:
        told = [
            f"{chart.events[record.event].label}: {sentence}"
            for record in answer.records
            for sentence in explain_record(record, installation, right)
            or (idle_sentence(record, installation),)
        ]
        return (*told, kept) if kept else tuple(told)
    for record in answer.records:
        for sentence in explain_record(record, installation, right):
            sentences[sentence] = None
    if not sentences:
        return (_nothing(answer, installation),)
    return (*sentences, kept) if kept else tuple(sentences)


def kept_sentence(wrong: Collection[str], moved: Collection[str]) -> str:
    """Return what is to be said of cells called wrongly that no rule moved; empty: nothing.

    Args:
        wrong: Cells that were called wrongly.
        moved: Cells that a rule moved.

    Example:
        >>> kept_sentence(["alert", "lateral_active"], ["vertical_active"])
        'Lateral active and alert stay as they were: no rule moves them here.'
    """
    cells = [CELL_TITLES[cell].lower() for cell in CELLS if cell in wrong and cell not in moved]
    if not cells:
        return ""
    names = word_list(cells)
    stay = "stay as they were" if len(cells) > 1 else "stays as it was"
    them = "them" if len(cells) > 1 else "it"
    return f"{names[:1].upper()}{names[1:]} {stay}: no rule moves {them} here."


def _keys(answer: Answer, installation: Installation) -> list[StepRecord]:
    """Return the records of the keys pressed, one for each."""
    events = installation.chart.events
    return [r for r in answer.records if r.event in events and events[r.event].kind == "key"]


def explain_record(
    record: StepRecord, installation: Installation, right: Collection[str] = ()
) -> tuple[str, ...]:
    """Return the sentences for one step: a refusal's reason, or each visible rule's because.

    Args:
        record: The step.
        installation: The aircraft.
        right: Cells that were called rightly; see `explain`.
    """
    if record.refusal is not None:
        return (f"Refused: {record.refusal.reason}. {record.refusal.because}",)
    told = visible_rules(record, installation, right)
    return tuple(dict.fromkeys(rule.because for rule in told))


def visible_rules(
    record: StepRecord, installation: Installation, right: Collection[str] = ()
) -> list[FiredRule]:
    """Return the rules of a step that moved a cell of the strip, in reading order of the cells.

    A rule that only ends an arming is left out where its cell is among the cells called rightly.
    """
    cells = {rule.id: region_cell(installation.chart, rule.region) for rule in record.rules}
    visible = set(changed_cells(record.before, record.after))
    fired = [
        rule
        for rule in record.rules
        if cells[rule.id] in visible
        and not (rule.id.endswith(_SECONDARY_ENDINGS) and cells[rule.id] in right)
    ]
    fired.sort(key=lambda rule: CELLS.index(cells[rule.id]))
    return fired or list(record.rules)


def explain_details(answer: Answer, installation: Installation) -> tuple[str, ...]:
    """Return the whole reason of every rule behind an answer, so that none stands as a bare id."""
    return tuple(
        explain_firing(rule, installation.chart)
        for record in answer.records
        for rule in _visible_first(record, installation)
    )


def _visible_first(record: StepRecord, installation: Installation) -> list[FiredRule]:
    visible = visible_rules(record, installation)
    return visible + [rule for rule in record.rules if rule not in visible]


def explain_firing(fired: FiredRule, chart: ChartSpec) -> str:
    """Return the whole reason of one rule: because, armed, signals, without it, and the rule's id.

    The id stands last in square brackets; `without_ids` takes it out for those who don't write
    charts.

    Args:
        fired: The rule that fired, with what its guard read.
        chart: The specialised chart that it belongs to.
    """
    rule = chart.rules[fired.id]
    parts = [fired.because.rstrip(".")]
    armed = _armed(rule.guard, chart)
    if armed:
        parts.append(f"what was armed: {', '.join(armed)}")
    facts = deciding_facts(fired, chart)
    if facts.so:
        parts.append(f"what decided: {', '.join(facts.so)}")
    if facts.not_so:
        parts.append(f"what was not so: {', '.join(facts.not_so)}")
    parts.append(_otherwise(fired, chart))
    return f"{'; '.join(parts)} [{fired.id}]."


def without_ids(details: Iterable[str]) -> tuple[str, ...]:
    """Return reasons without the ids of their rules, as a member reads them.

    Example:
        >>> without_ids(["The key arms course; what decided: it lies ahead [course_armed]."])
        ('The key arms course; what decided: it lies ahead.',)
    """
    return tuple(_ID.sub("", one) for one in details)


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
    without = state_without(fired, chart)
    if not without:
        return f"'{left}' became '{entered}'"
    if without == fired.entered:
        return f"another rule would have made '{left}' into '{entered}' all the same"
    if without == fired.left:
        return f"without this rule '{left}' would have stayed instead of '{entered}'"
    other = states[without].label
    return f"without this rule '{left}' would have become '{other}', not '{entered}'"


def _nothing(answer: Answer, installation: Installation) -> str:
    if answer.elapsed_s < 1.0:
        return idle_sentence(answer.keys[-1], installation) if answer.keys else NO_RULE
    return f"Nothing changes: no rule fires within {answer.elapsed_s:.0f} seconds."
