"""Why it happened, in sentences that name the rule: for the debrief after a prediction."""

from __future__ import annotations

from trainer.charts.installation import Installation
from trainer.lesson.answer import Answer
from trainer.session.annunciation import CELLS, changed_cells
from trainer.session.marks import region_cell
from trainer.session.record import StepRecord

# A region that only supports another change says nothing by itself when the other one speaks.
_SECONDARY_ENDINGS = ("_arm_used", "_arm_ends")


def explain(answer: Answer, installation: Installation) -> tuple[str, ...]:
    """Return the sentences of the rules behind an answer, the most visible change first."""
    sentences: dict[str, None] = {}
    for record in answer.records:
        for sentence in explain_record(record, installation):
            sentences[sentence] = None
    if not sentences:
        return (_nothing(answer),)
    return tuple(sentences)


def explain_record(record: StepRecord, installation: Installation) -> tuple[str, ...]:
    """Return the sentences for one step: a refusal's reason, or each visible rule's because."""
    if record.refusal is not None:
        return (f"Refused: {record.refusal.reason}. {record.refusal.because}",)
    visible = set(changed_cells(record.before, record.after))
    fired = [
        rule
        for rule in record.rules
        if region_cell(installation.chart, rule.region) in visible
        and not rule.id.endswith(_SECONDARY_ENDINGS)
    ]
    fired.sort(key=lambda rule: CELLS.index(region_cell(installation.chart, rule.region)))
    chosen = fired or list(record.rules)
    return tuple(dict.fromkeys(rule.because for rule in chosen))


def _nothing(answer: Answer) -> str:
    if answer.elapsed_s < 1.0:
        return "Nothing changes: no rule answers this key in these modes."
    return f"Nothing changes: no rule fires within {answer.elapsed_s:.0f} seconds."
