"""Which questions suit a moment of a lesson, and each in its usual form."""

from __future__ import annotations

from trainer.charts.spec import ChartSpec
from trainer.lesson.question import FORMS
from trainer.lesson.spec import (
    Condition,
    Do,
    Inject,
    Predict,
    PromptKind,
    Set,
    Step,
    Wait,
    WaitUntil,
)
from trainer.lesson.story import Content, Moment, Story

LEAD_S = 20.0
"""How long before a change its question is put, if nothing else lies between."""
MARGIN_S = 30.0
"""How much longer than it took a question waits for its change."""
AFTER_S = 5.0
"""How long after a change a question for a moment looks."""
USUAL_S = 60.0
_AT_CHANGE: tuple[PromptKind, ...] = ("next_change", "after_time", "first_capture", "level_off")
_GOAL_CELLS = ("lateral_active", "vertical_active", "engagement")


def kinds_for(moment: Moment, story: Story) -> tuple[PromptKind, ...]:
    """Return the kinds of question that are about what happens at a moment, the usual one first."""
    cells = dict(moment.shows)
    step = story.lesson.steps[moment.step]
    if isinstance(step, Predict):
        return ()
    if moment.is_change:
        kinds: list[PromptKind] = ["next_change", "after_time"]
        if "lateral_active" in cells or "vertical_active" in cells:
            kinds.append("first_capture")
        if cells.get("vertical_active") == "altitude_capture":
            kinds.append("level_off")
        return tuple(kinds)
    match step:
        case Do():
            more: tuple[PromptKind, ...] = ("which_key",) if cells else ()
            goal: tuple[PromptKind, ...] = ("what_to_do",) if goal_of(moment.shows) else ()
            return ("after_key", "is_allowed", *more, *goal)
        case Set():
            return ("after_set",)
        case Inject(_, True):
            return ("after_fault",)
    return ()


def fits(kind: PromptKind, moment: Moment, story: Story) -> bool:
    """Return True if a question of a kind takes the place of what happens at a moment."""
    if moment.is_change:
        return kind in _AT_CHANGE
    match story.lesson.steps[moment.step]:
        case Do():
            return kind in ("after_key", "is_allowed", "which_key", "what_to_do")
        case Set():
            return kind == "after_set"
        case Inject(_, True):
            return kind == "after_fault"
    return False


def usual_question(kind: PromptKind, moment: Moment, story: Story, chart: ChartSpec) -> Predict:
    """Return a question of a kind about what happens at a moment, in its usual form."""
    step = story.lesson.steps[moment.step]
    key = step.event if isinstance(step, Do) else step.key if isinstance(step, Predict) else ""
    values = step.values if isinstance(step, Set | Predict) else ()
    fault = step.fault if isinstance(step, Inject | Predict) else ""
    goal = goal_of(moment.shows) if kind == "what_to_do" else None
    return Predict(
        kind,
        (key or _first_key(chart)) if kind in ("after_key", "is_allowed") else "",
        _horizon_s(kind, moment, story),
        shows=moment.shows if kind == "which_key" else (),
        values=values if kind == "after_set" else (),
        fault=fault if kind == "after_fault" else "",
        goal=goal,
        goal_words=goal_words(goal, chart) if goal is not None else "",
    )


def goal_of(shows: tuple[tuple[str, Content], ...]) -> Condition | None:
    """Return the condition that the changed cells read as they do now; None: nothing to reach."""
    cells = dict(shows)
    active = tuple(
        str(cells[cell]) for cell in _GOAL_CELLS[:2] if cells.get(cell) not in (None, "none")
    )
    engagement = cells.get("engagement")
    armed = [cells[cell] for cell in ("lateral_armed", "vertical_armed") if cell in cells]
    modes = tuple(mode for content in armed if not isinstance(content, str) for mode in content)
    goal = Condition(active=active, armed=modes, engagement=str(engagement) if engagement else None)
    return None if goal == Condition() else goal


def goal_words(goal: Condition, chart: ChartSpec) -> str:
    """Return a goal in words that can end the question 'What must you do, so that ...?'."""
    armed = {r.arms: r.label.removesuffix(" armed") for r in chart.regions.values() if r.arms}
    parts = [f"{chart.mode_label(mode).lower()} is active" for mode in goal.active]
    parts += [f"{armed.get(mode, mode).lower()} is armed" for mode in goal.armed]
    if goal.engagement:
        parts.append(f"the strip reads {chart.mode_label(goal.engagement).lower()}")
    return " and ".join(parts)


def lead_of(story: Story, moment: Moment) -> float:
    """Return when to ask about a change: some seconds before, after whatever came before it [s]."""
    earlier = [
        one.t_s
        for one in story.moments
        if one.is_change and one.step == moment.step and one.t_s < moment.t_s
    ]
    return round(max(story.began_s[moment.step], *earlier, moment.t_s - LEAD_S), 2)


def without_question(story: Story, number: int) -> list[Step]:
    """Return the steps that do what a question does, and ask nothing."""
    asked = story.lesson.steps[number]
    assert isinstance(asked, Predict)
    play = story.plays.get(number, asked)
    line = asked.line
    flown_s = round(story.ended_at(number) - story.began_s[number], 2)
    match play.kind:
        case "after_key":
            return [Do(play.key, line), *(Do(key) for key in play.then)]
        case "after_set":
            return [Set(play.values, line)]
        case "after_fault":
            return [Inject(play.fault, True, line)]
        case "next_change" if flown_s < play.horizon_s - 0.1:
            return [WaitUntil(Condition(change=True), play.horizon_s, line)]
    return [Wait(flown_s or play.horizon_s or 1.0, line)]


def _horizon_s(kind: PromptKind, moment: Moment, story: Story) -> float:
    if kind == "what_to_do":
        return 2.0
    if FORMS[kind] == "strip" and kind not in ("next_change", "after_time"):
        return 0.0
    if kind in ("which_key", "is_allowed"):
        return 0.0
    if not moment.is_change:
        return USUAL_S
    took_s = moment.t_s - lead_of(story, moment)
    return round(took_s + (AFTER_S if kind == "after_time" else MARGIN_S), 2)


def _first_key(chart: ChartSpec) -> str:
    return next(event.id for event in chart.events.values() if event.kind == "key")
