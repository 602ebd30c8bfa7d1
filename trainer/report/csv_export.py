"""Attempts and check outcomes as CSV (RFC 4180), one row each, with a header.

A text that a spreadsheet would run as a formula gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from trainer.records.attempt import Attempt
from trainer.records.check_outcome import CheckOutcome
from trainer.session.annunciation import CELLS, Annunciation

_ATTEMPT_COLUMNS = (
    "id", "at_utc", "member", "lesson_id", "lesson_title", "installation_id", "prompt_number",
    "prompt_kind", "question", "is_right", "confidence", "wrong_cells", "rule_ids", "taken_s",
    "program_version", "said", "expected",
)  # fmt: skip
_OUTCOME_COLUMNS = (
    "member", "aircraft_id", "stage", "competency_id", "verdict", "at_utc", "evidence",
    "sure_and_wrong", "misconceptions",
)  # fmt: skip
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def attempts_csv(attempts: Iterable[Attempt]) -> str:
    """Return attempts as CSV; each strip takes one column for each cell.

    Lists are joined with `; `, and right answers are `1`.
    """
    strips = [f"{moment}_{cell}" for moment in ("before", "predicted", "actual") for cell in CELLS]
    rows = []
    for one in attempts:
        data = {**one.to_json(), "is_right": int(one.is_right)}
        row = [_text(data[name]) for name in _ATTEMPT_COLUMNS]
        for strip in (one.before, one.predicted, one.actual):
            annunciation = Annunciation.from_json(strip)
            row += [_text(annunciation.cell(cell)) for cell in CELLS]
        rows.append(row)
    return _csv((*_ATTEMPT_COLUMNS, *strips), rows)


def outcomes_csv(outcomes: Iterable[tuple[str, CheckOutcome]]) -> str:
    """Return check outcomes as CSV.

    Args:
        outcomes: Name of the member and outcome.
    """
    rows = [
        [
            _text(member),
            _text(one.aircraft_id),
            str(one.stage),
            _text(one.competency_id),
            one.verdict,
            one.at_utc,
            _text(one.evidence),
            _text([wrong.sentence for wrong in one.sure_and_wrong]),
            _text([found.sentence for found in one.misconceptions]),
        ]
        for member, one in outcomes
    ]
    return _csv(_OUTCOME_COLUMNS, rows)


def _text(value: object) -> str:
    if isinstance(value, list | tuple):
        value = "; ".join(str(item) for item in value)
    text = str(value)
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text


def _csv(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return stream.getvalue()
