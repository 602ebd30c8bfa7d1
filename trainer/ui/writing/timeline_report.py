"""A flight's timeline as a report in the trainee's own strip design. No Qt here."""

from __future__ import annotations

from trainer.report.flight_debrief import Moment, build_flight_debrief
from trainer.report.page import Report
from trainer.session.strip_design import StripDesign
from trainer.ui.debrief.timeline import MARK_LABELS, Mark, Timeline
from trainer.ui.lesson.practice_words import exact_clock_words
from trainer.ui.look.words import StripWords


def timeline_report(
    timeline: Timeline,
    words: StripWords,
    design: StripDesign,
    *,
    made_utc: str,
    program_version: str,
) -> Report:
    """Return the report of what was flown.

    Args:
        timeline: What was flown.
        words: Of its strip.
        design: Whose strips are drawn.
        made_utc: This moment.
        program_version: For the footer.
    """
    return build_flight_debrief(
        f"{exact_clock_words(timeline.end_s)} min flown",
        timeline.aircraft_title,
        [_moment(mark) for mark in timeline.marks],
        words=words,
        made_utc=made_utc,
        program_version=program_version,
        design=design,
    )


def _moment(mark: Mark) -> Moment:
    at = exact_clock_words(mark.t_s)
    title = f"{mark.label} ({MARK_LABELS[mark.kind]})"
    if not mark.verdicts:
        is_own = mark.kind not in ("automatic", "reversion")
        return Moment(at, title, mark.reasons, mark.before, mark.after, is_own)
    return Moment(
        at, title, mark.reasons, mark.after, mark.after,
        predicted=mark.before, verdicts=mark.verdicts,
    )  # fmt: skip
