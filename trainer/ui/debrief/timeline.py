"""A flight as a timeline: curves, bands of modes, and marks with their reasons. No Qt here."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from trainer.assessment.answers.explain import explain_record
from trainer.charts.installation import Installation
from trainer.flight.types import FlightSample
from trainer.session.annunciation import CELLS, Annunciation
from trainer.session.record import StepRecord
from trainer.session.session import Session
from trainer.session.strip_content import Verdict
from trainer.ui.lesson.comparison import compared_cells, is_form, verdict
from trainer.ui.lesson.practice_words import clock_words, noticed_line
from trainer.ui.look.words import CELL_TITLES, StripWords, event_label
from trainer.ui.practice.flight_log import Call
from trainer.ui.practice.verify_drill import Noticed

MarkKind = Literal["key", "automatic", "reversion", "refused", "right", "wrong"]
MARK_LABELS: dict[MarkKind, str] = {
    "key": "key",
    "automatic": "by itself",
    "reversion": "reversion",
    "refused": "refused",
    "right": "call right",
    "wrong": "call not so",
}
_RUN_S = 2.0
LANES = ("engagement", "lateral_active", "lateral_armed", "vertical_active", "vertical_armed")
CURVES = (
    ("altitude_ft", "Altitude", "ft"),
    ("heading_deg", "Heading", "deg"),
    ("airspeed_kt", "Airspeed", "kt"),
    ("course_deviation", "Deviation", "of full scale"),
)


@dataclass(frozen=True, slots=True)
class Band:
    """A time during which a cell read the same."""

    cell: str
    start_s: float
    end_s: float
    label: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that happened at a moment."""

    t_s: float
    kind: MarkKind
    label: str
    reasons: tuple[str, ...]
    before: Annunciation
    after: Annunciation
    """Of a call: what was called, and what it read."""
    verdicts: Mapping[str, Verdict] = field(default_factory=dict)
    """Of a call that asked for the strip: what came of it, cell by cell."""

    @property
    def line(self) -> str:
        """The mark in one line of a list."""
        return f"{clock_words(self.t_s)}  {self.label} ({MARK_LABELS[self.kind]})"


@dataclass(frozen=True, slots=True)
class Timeline:
    """Everything that a debrief shows."""

    samples: tuple[FlightSample, ...]
    bands: tuple[Band, ...]
    marks: tuple[Mark, ...]
    start: Annunciation
    end_s: float
    aircraft_title: str = ""

    def curve(self, name: str) -> tuple[list[float], list[float]]:
        """Return times [s] and values of a sample's field, gaps as not-a-number."""
        times = [sample.t_s for sample in self.samples]
        values = [getattr(sample, name) for sample in self.samples]
        if name == "course_deviation":
            valid = [sample.course_valid for sample in self.samples]
            values = [v if ok else float("nan") for v, ok in zip(values, valid, strict=True)]
        if name == "heading_deg":
            values = _without_jumps(values)
        return times, values

    def annunciation_at(self, t_s: float) -> Annunciation:
        """Return what the strip read at a moment."""
        shown = self.start
        for mark in self.marks:
            if mark.t_s > t_s:
                break
            if mark.kind not in ("right", "wrong"):
                shown = mark.after
        return shown


def build_timeline(
    session: Session,
    calls: Iterable[Call],
    words: StripWords,
    noticed: Iterable[Noticed] = (),
) -> Timeline:
    """Return the timeline of a flight.

    Args:
        session: What was flown, with its trace.
        calls: Answers with their moments.
        words: The words of its strip.
        noticed: What came of the verify drill.
    """
    records = tuple(session.trace.records)
    start = records[0].before if records else session.annunciation
    marks = [_record_mark(record, session.installation) for record in records]
    marks += [_call_mark(call) for call in calls]
    marks += [_noticed_mark(one, session) for one in noticed]
    marks = _merged(sorted(marks, key=lambda mark: mark.t_s))
    bands = _bands(start, records, session.t_s, words)
    samples, title = tuple(session.trace.samples), session.installation.title
    return Timeline(samples, bands, tuple(marks), start, session.t_s, title)


def csv_text(timeline: Timeline) -> str:
    """Return the samples with what the strip read, as comma-separated values."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    names = ["t_s", "altitude_ft", "height_ft", "heading_deg", "bank_deg", "pitch_deg"]
    names += ["airspeed_kt", "vertical_speed_fpm", "course_deviation", "glidepath_deviation"]
    writer.writerow([*names, *CELLS])
    for sample in timeline.samples:
        shown = timeline.annunciation_at(sample.t_s)
        cells = [shown.cell(cell) for cell in CELLS]
        row = [f"{getattr(sample, name):.3f}" for name in names]
        writer.writerow(row + [c if isinstance(c, str) else " ".join(c) for c in cells])
    return stream.getvalue()


def _merged(marks: list[Mark]) -> list[Mark]:
    """Return the marks with a run of the same key that leaves the strip as it is made one."""
    merged: list[Mark] = []
    count = 1
    for mark in marks:
        if merged and _is_run(merged[-1], mark):
            count += 1
            words = f"{mark.label}, {count} times"
            merged[-1] = replace(merged[-1], label=words, t_s=mark.t_s)
        else:
            count = 1
            merged.append(mark)
    return merged


def _is_run(last: Mark, mark: Mark) -> bool:
    is_plain = mark.kind == "key" and last.before == last.after == mark.before == mark.after
    is_same = (last.kind, last.reasons) == (mark.kind, mark.reasons)
    return is_plain and is_same and mark.t_s - last.t_s < _RUN_S


def _record_mark(record: StepRecord, installation: Installation) -> Mark:
    if record.refusal is not None:
        kind: MarkKind = "refused"
    elif record.by == "reversion":
        kind = "reversion"
    else:
        kind = "key" if record.by == "pilot" else "automatic"
    is_event = record.event in installation.chart.events
    label = event_label(installation.chart, record.event) if is_event else _changed(record)
    reasons = explain_record(record, installation)
    return Mark(record.t_s, kind, label, reasons, record.before, record.after)


def _changed(record: StepRecord) -> str:
    cells = [c for c in CELLS if record.before.cell(c) != record.after.cell(c)]
    return ", ".join(CELL_TITLES[cell] for cell in cells) or "Nothing on the strip"


def _call_mark(call: Call) -> Mark:
    outcome = call.outcome
    said = verdict(outcome.score, outcome.prediction.confidence)
    verdicts: dict[str, Verdict] = {
        one.cell: "right" if one.is_right else "wrong"
        for one in outcome.score.cells
        if one.cell in CELLS
    }
    for cell in compared_cells(outcome.score, StripWords({}), outcome.prompt.options):
        if is_form(cell.cell):
            said = f"{said} You said: {cell.said}. Right: {cell.read}."
    return Mark(
        call.t_s,
        "right" if outcome.score.is_right else "wrong",
        f"Question {outcome.prompt.number}",
        (outcome.prompt.question, said, *outcome.explanation),
        outcome.prediction.annunciation,
        outcome.actual,
        verdicts,
    )


def _noticed_mark(noticed: Noticed, session: Session) -> Mark:
    said, role = noticed_line(noticed, session.installation.chart)
    kind: MarkKind = "right" if role == "right" else "wrong"
    nothing = Annunciation()
    label = f"Verify: {noticed.verdict.replace('_', ' ')}"
    return Mark(noticed.t_s, kind, label, (said,), nothing, nothing)


def _bands(
    start: Annunciation, records: Sequence[StepRecord], end_s: float, words: StripWords
) -> tuple[Band, ...]:
    bands = []
    for cell in LANES:
        value, since_s = start.cell(cell), 0.0
        changes = [(r.t_s, r.after.cell(cell)) for r in records]
        for t_s, after in [*changes, (end_s, None)]:
            if after == value:
                continue
            if t_s > since_s and value not in ("none", "no_guidance", ()):
                bands.append(Band(cell, since_s, t_s, words.content(cell, value)))
            value, since_s = after, t_s
    return tuple(bands)


def _without_jumps(angles_deg: list[float]) -> list[float]:
    """Return headings that go on past 360 instead of jumping, for a curve without a wall."""
    smooth: list[float] = []
    turns = 0.0
    for place, angle_deg in enumerate(angles_deg):
        if place and angle_deg - angles_deg[place - 1] > 180.0:
            turns -= 360.0
        elif place and angle_deg - angles_deg[place - 1] < -180.0:
            turns += 360.0
        smooth.append(angle_deg + turns)
    return smooth
