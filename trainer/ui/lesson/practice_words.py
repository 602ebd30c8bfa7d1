"""What the window says about a practice: the lesson panel's text and the line of events. No Qt."""

from __future__ import annotations

from dataclasses import asdict

from trainer.assessment.answers.explain import explain_record, without_ids
from trainer.assessment.answers.tutor import Outcome, Tutor
from trainer.charts.spec import ChartSpec
from trainer.lesson.question import Prompt
from trainer.lesson.spec import Do
from trainer.session.annunciation import changed_cells
from trainer.session.record import StepRecord
from trainer.session.selectors import SELECTORS
from trainer.ui.lesson.comparison import compared_cells, verdict
from trainer.ui.lesson.lesson_end import BEGIN_AGAIN, steps_after
from trainer.ui.lesson.lesson_panel_text import LessonText
from trainer.ui.lesson.practice import Practice
from trainer.ui.look.words import CELL_TITLES, StripWords, capitalised, event_label
from trainer.ui.practice.controls import reference_words
from trainer.ui.practice.verify_drill import TIME_TO_NOTICE_S, Noticed

BUILD_HINT = (
    "Time stands still. Build the strip as it will read, then say how sure you are. Left and right"
    " move, up and down choose, digits pick a word, letters jump to it, = keeps a cell as it is"
    " now."
)
_CHOOSE = "Choose one, then say how sure you are. Arrow keys move, digits pick, letters jump."
CHOICE_HINT = f"Time stands still. {_CHOOSE}"
NUMBER_HINT = "Time stands still. Type the number, then say how sure you are."
KEY_HINT = f"Time stands still. The lower strip is the one to be reached. {_CHOOSE}"
FREE_HINT = (
    "Fly as you like: press keys, turn selectors, watch the strip. With 'Call it first' on, each"
    " key asks you what the strip will read before it acts. Ctrl+Z takes the last key or setting"
    " back; Ctrl+L makes a lesson of the flight."
)
LOOKING_HINT = (
    "You look back at {}. Enter flies on from there as a new branch; F5 goes back to where you"
    " were and runs on."
)
BEGIN_HINT = "Enter begins. Until then the keys and selectors of the aircraft are dead."
END_HINT = "Debrief (F9) shows this flight again, moment by moment, with each call."
STRAY_WORDS = (
    "{} was yours, the lesson didn't ask for it. It flies on with what you did, so its words and"
    " questions may not fit any more: answers from here on are not kept. F8 begins again."
)
_CAUSES = {"automatic": "by itself", "instructor": "by the instructor"}


def lesson_text(practice: Practice, words: StripWords) -> LessonText:
    """Return what the lesson panel shows now."""
    flyer = practice.flyer
    if isinstance(flyer, Tutor):
        text = LessonText(
            title=flyer.lesson.title,
            progress=_progress(flyer),
            notice=stray_words(practice),
            narration=flyer.narration or flyer.lesson.summary,
        )
    else:
        text = LessonText(
            title=flyer.title,
            progress=calls(flyer.outcomes),
            narration=flyer.narration or FREE_HINT,
        )
    values = {name: getattr(text, name) for name in ("title", "progress", "notice", "narration")}
    match flyer.phase:
        case "asking":
            values |= {"question": flyer.prompt.question if flyer.prompt else ""}
            values |= {"hint": asking_hint(flyer.prompt)}
        case "revealing":
            values |= {"question": flyer.prompt.question if flyer.prompt else ""}
            values |= {"hint": "Your answer is in. Time runs: watch the strip."}
        case "explained":
            values |= _explained(flyer.outcome, words)
        case "finished":
            values |= _finished(practice, words)
            if practice.verify is not None:
                values["details"] = (f"Verify: {practice.verify.record}.",)
        case _:
            values |= _running(practice)
    return LessonText(**values)


def _running(practice: Practice) -> dict[str, object]:
    values: dict[str, object] = {}
    if practice.looking is not None:
        values["next_step"] = "Fly on from here"
        values["hint"] = LOOKING_HINT.format(exact_clock_words(practice.looking.t_s))
    elif not practice.is_running:
        is_start = practice.session.t_s == 0.0
        values["next_step"] = "Begin" if is_start else "Run on"
        if practice.is_lesson and not practice.can_act:
            values["hint"] = BEGIN_HINT
    if practice.strayed is not None:
        values["other_step"] = f"{BEGIN_AGAIN}  F8"
    return values


def stray_words(practice: Practice) -> str:
    """Say what the trainee did that the lesson didn't ask for; empty if nothing."""
    done = practice.strayed
    if done is None:
        return ""
    if isinstance(done, Do):
        return STRAY_WORDS.format(event_label(practice.session.installation.chart, done.event))
    name = done.values[0][0]
    label = SELECTORS[name].label if name in SELECTORS else name.replace("_", " ")
    return STRAY_WORDS.format(capitalised(label))


def asking_hint(prompt: Prompt | None) -> str:
    """Return how a prompt is answered."""
    if prompt is None or prompt.form == "strip":
        return BUILD_HINT
    if prompt.target is not None:
        return KEY_HINT
    return CHOICE_HINT if prompt.form == "choice" else NUMBER_HINT


def rule_line(outcome: Outcome) -> str:
    """Return the rules behind an answer by id; empty: none acted."""
    names = outcome.rule_ids
    return f"{'Rule' if len(names) == 1 else 'Rules'}: {', '.join(names)}" if names else ""


def calls(outcomes: list[Outcome]) -> str:
    """Return the running record of calls."""
    if not outcomes:
        return "No calls yet"
    right = sum(outcome.score.is_right for outcome in outcomes)
    return f"{len(outcomes)} call{'s' if len(outcomes) > 1 else ''}, {right} right"


def event_line(record: StepRecord | None, chart: ChartSpec) -> tuple[str, str]:
    """Return the latest event in one line, and its meaning: quiet or caution."""
    if record is None:
        return "", "quiet"
    if record.refusal is not None:
        label = event_label(chart, record.event)
        return f"{label} refused: {record.refusal.reason}", "caution"
    cells = changed_cells(record.before, record.after)
    changed = ", ".join(CELL_TITLES[cell].lower() for cell in cells)
    new = f"new in {changed}" if changed else "no cell changed"
    when = f"{clock_words(record.t_s)}  "
    if record.by == "pilot":
        return f"{when}{event_label(chart, record.event)}: {new}", "quiet"
    if record.by == "reversion":
        return f"{when}Reversion: {new}", "caution"
    return f"{when}Changed {_CAUSES[record.by]}: {changed or 'no cell'}", "quiet"


def noticed_line(noticed: Noticed, chart: ChartSpec) -> tuple[str, str]:
    """Return what came of the verify drill, and its meaning."""
    match noticed.verdict:
        case "caught":
            return f"Caught after {noticed.after_s:.1f} s: {spoilt_words(noticed, chart)}", "right"
        case "missed":
            late = f"{TIME_TO_NOTICE_S:.0f} s are over"
            return f"Missed: {spoilt_words(noticed, chart)}, and {late}", "wrong"
        case "late":
            return f"Too late: {spoilt_words(noticed, chart)}", "wrong"
    return "False alarm: the last key or selector did what it should", "wrong"


def spoilt_words(noticed: Noticed, chart: ChartSpec) -> str:
    """Return what wasn't as asked."""
    if noticed.how == "dead":
        return f"the key {event_label(chart, noticed.what)} was dead"
    label = SELECTORS[noticed.what].label.lower()
    if noticed.how == "stuck":
        return f"the {label} didn't take a turn"
    return f"the {label} went too far"


def event_reasons(record: StepRecord | None, practice: Practice) -> str:
    """Return why the latest event did what it did; for a tool tip."""
    if record is None:
        return ""
    return "\n".join(explain_record(record, practice.session.installation))


def reference_line(practice: Practice) -> str:
    """Return the reference that the nudge keys change now."""
    vertical = practice.session.annunciation.vertical.active
    return reference_words(vertical, asdict(practice.session.references))


def clock_words(t_s: float) -> str:
    """Return simulated time as minutes and seconds.

    Example:
        >>> clock_words(75.2)
        '1:15'
    """
    return f"{int(t_s) // 60}:{int(t_s) % 60:02d}"


def exact_clock_words(t_s: float) -> str:
    """Return simulated time to the hundredth of a second: no step of the simulation is lost.

    Example:
        >>> exact_clock_words(75.2)
        '1:15.20'
    """
    hundredths = round(t_s * 100)
    return f"{hundredths // 6000}:{hundredths // 100 % 60:02d}.{hundredths % 100:02d}"


def _progress(runner: Tutor) -> str:
    if runner.phase == "finished" or not runner.prompt_count:
        return ""
    if runner.prompt is not None:
        return f"Question {runner.prompt.number} of {runner.prompt_count}"
    done = len(runner.outcomes)
    left = runner.prompt_count - done
    return f"{done} of {runner.prompt_count} questions done" if left else "All questions done"


def details_beyond(reasons: tuple[str, ...], details: tuple[str, ...]) -> tuple[str, ...]:
    """Return the details without what the reasons have said already.

    Example:
        >>> details_beyond(("It arms.",), ("It arms; a course lies ahead.", "It arms."))
        ('A course lies ahead.',)
    """
    beyond = []
    for detail in details:
        rest = detail
        for reason in reasons:
            rest = rest.removeprefix(reason.rstrip("."))
        rest = rest.lstrip(" .;,")
        if rest:
            beyond.append(capitalised(rest))
    return tuple(beyond)


def _explained(outcome: Outcome | None, words: StripWords) -> dict[str, object]:
    if outcome is None:
        return {}
    return {
        "narration": "",
        "question": outcome.prompt.question,
        "verdict": verdict(outcome.score, outcome.prediction.confidence),
        "is_right": outcome.score.is_right,
        "cells": compared_cells(outcome.score, words, outcome.prompt.options),
        "reasons": outcome.explanation,
        "details": details_beyond(outcome.explanation, without_ids(outcome.details)),
        "rules": rule_line(outcome),
        "next_step": "Go on",
    }


def _finished(practice: Practice, words: StripWords) -> dict[str, object]:
    outcomes = practice.flyer.outcomes
    right = sum(outcome.score.is_right for outcome in outcomes)
    main, other = steps_after(practice)
    return {
        "question": "Lesson finished",
        "verdict": f"{right} of {len(outcomes)} answers right",
        "is_right": right == len(outcomes),
        "reasons_title": "Look again",
        "reasons": tuple(miss_words(o, words) for o in outcomes if not o.score.is_right),
        "hint": END_HINT if outcomes else "",
        "next_step": main,
        "other_step": other,
    }


def miss_words(outcome: Outcome, words: StripWords) -> str:
    """Return a wrong answer in a paragraph: what was asked, each wrong cell, and why."""
    cells = compared_cells(outcome.score, words, outcome.prompt.options)
    came = "it read" if outcome.prompt.form == "strip" else "right is"
    wrong = [c for c in cells if not c.is_right]
    lines = [f"\N{BALLOT X} {c.title}: you said {c.said}, {came} {c.read}." for c in wrong]
    question = f"{outcome.prompt.number}  {outcome.prompt.question}"
    return "\n".join((question, *lines, " ".join(outcome.explanation)))
