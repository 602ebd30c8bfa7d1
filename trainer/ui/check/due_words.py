"""What the page of due practice says. No Qt here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from trainer.records.field_check import moment_of
from trainer.ui.check.due_desk import DueRule

WHAT_IT_IS = (
    "What comes up again is a rule, in a situation that you haven't met. When it is due follows"
    " from when you last had it right or wrong: a wrong answer, or a right guess, brings it back"
    " sooner. Every answer is explained."
)
NOTHING_MET = (
    "No rule of this aircraft has come up yet, so nothing is due. Fly a lesson (F2), or press"
    " 'Something new'."
)
_NEWLY_MET = 0.995
_SAID = {"sure": "sure", "think_so": "you thought so", "guess": "a guess"}


HEADS = ("When", "Last answer", "Rule")


def rule_row(one: DueRule, now: datetime) -> tuple[str, ...]:
    """Return a rule as a line of words: when it is due, how it went, what it says."""
    return due_words(one, now), "✓ right" if one.is_right else "✗ not so", one.sentence


def due_words(one: DueRule, now: datetime) -> str:
    """Return when a rule is due."""
    if not one.can_ask:
        return "Only in lessons"
    if one.is_due:
        return "● Due now"
    days = (one.state.due.date() - now.date()).days
    if days <= 0:
        return "○ Later today"
    return "○ Tomorrow" if days == 1 else f"○ In {days} days"


def why_words(one: DueRule, now: datetime) -> str:
    """Return why a rule is due, or isn't yet."""
    days = (now.date() - _day(one)).days
    when = "today" if days <= 0 else "yesterday" if days == 1 else f"{days} days ago"
    answer = "right" if one.is_right else "wrong"
    how = _SAID.get(one.last.confidence, one.last.confidence)
    met = f"Last met {when} in “{one.last.lesson_title}”: {answer}, {how}."
    if one.state.recall < _NEWLY_MET:
        met += f" The chance that you still know it is put at {100 * one.state.recall:.0f} %."
    if not one.can_ask:
        return f"{met} No situation of the practice shows this rule: fly its lesson again."
    return f"{met} It is due {_when_due(one, now)}."


def summary_words(rules: Sequence[DueRule], now: datetime) -> str:
    """Return how much is due, or what to do when nothing is."""
    if not rules:
        return NOTHING_MET
    due = sum(one.is_due for one in rules)
    if due:
        return f"{due} of {len(rules)} rules met {'is' if due == 1 else 'are'} due."
    coming = [one for one in rules if one.can_ask]
    if not coming:
        return "Nothing is due. Fly a lesson (F2), or press 'Something new'."
    first = min(coming, key=lambda one: one.state.due)
    return (
        f"Nothing is due. Next comes {_when_due(first, now)}: {first.sentence} To go on now, press"
        " 'Something new', or practise any rule of the list ahead of its time."
    )


def none_left(rule: str) -> str:
    """Return what is said where the bank has no item."""
    if rule:
        return "No situation of the practice shows this rule: fly its lesson again."
    return "Every situation was met. Practise what is due, or fly freely (F3)."


def _when_due(one: DueRule, now: datetime) -> str:
    if one.state.is_due:
        return "now"
    days = (one.state.due.date() - now.date()).days
    if days <= 0:
        return "later today"
    return "tomorrow" if days == 1 else f"in {days} days"


def _day(one: DueRule) -> date:
    return moment_of(one.last.at_utc).date()
