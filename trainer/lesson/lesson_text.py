"""New steps into a lesson's text, with everything else, comments too, left as it was written.

A step that wasn't touched keeps its lines and the comments before it; comments of a step that
is changed stay with it, those of one that goes stay before the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from trainer.lesson.spec import Lesson, Start, Step
from trainer.lesson.writer import write_lesson

__all__ = ["with_minutes", "with_start", "with_steps"]


@dataclass(frozen=True, slots=True)
class _Block:
    """The lines of one step: comments and blank lines before it, and the step itself."""

    before: tuple[str, ...]
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Parts:
    head: tuple[str, ...]
    blocks: tuple[_Block, ...]
    tail: tuple[str, ...]


def with_steps(text: str, lesson: Lesson, steps: Sequence[Step]) -> str:
    """Return a lesson's text with other steps.

    Args:
        text: The lesson as it stands, with its comments.
        lesson: What the text was read as.
        steps: The steps wanted; one that equals a step of the lesson, line and all, keeps its
            text. One with the line of a step of the lesson takes that step's place.

    Returns:
        The merged text; all of it written anew if the old one can't be taken apart.
    """
    new_text = write_lesson(replace(lesson, steps=tuple(steps)))
    old, new = _parts(text), _parts(new_text)
    if old is None or new is None or len(old.blocks) != len(lesson.steps):
        return new_text
    blocks = dict(zip((step.line for step in lesson.steps), old.blocks, strict=True))
    known = {step.line: step for step in lesson.steps}
    order = [step.line for step in lesson.steps]
    lines = list(old.head)
    waiting: list[str] = []
    passed: set[int] = set()
    for step, made in zip(steps, new.blocks, strict=True):
        if step.line not in blocks or step.line in passed:
            lines += [*waiting, *_indented(made.lines, new, old)]
            waiting = []
            continue
        block = blocks[step.line]
        waiting += _comments_of_gone(order, step.line, steps, blocks, passed)
        passed.add(step.line)
        is_same = known[step.line] == step
        own = block.lines if is_same else _with_comments(block, _indented(made.lines, new, old))
        lines += [*waiting, *block.before, *own]
        waiting = []
    for line in order:
        if line not in passed:
            waiting += _comments(blocks[line])
    return "\n".join([*lines, *waiting, *old.tail]) + "\n"


def with_start(text: str, lesson: Lesson, start: Start) -> str:
    """Return a lesson's text with another start; comments inside the old one stay before it.

    Args:
        text: The lesson as it stands.
        lesson: What the text was read as.
        start: The start wanted.
    """
    new_text = write_lesson(replace(lesson, start=start))
    old, new = (_lines_of_key(one, "start") for one in (text, new_text))
    if old is None or new is None:
        return new_text
    lines, made = text.splitlines(), new_text.splitlines()
    inside = lines[old[0] : old[1]]
    comments = [line.strip() for line in inside if line.lstrip().startswith("#")]
    return "\n".join([*lines[: old[0]], *comments, *made[new[0] : new[1]], *lines[old[1] :]]) + "\n"


def with_minutes(text: str, minutes: float) -> str:
    """Return a lesson's text with another length; the text itself if it names none.

    Args:
        text: The lesson as it stands.
        minutes: The length wanted [min].

    Example:
        >>> print(with_minutes("minutes: 4  # about", 1.5), end="")
        minutes: 1.5  # about
    """
    place = _lines_of_key(text, "minutes")
    if place is None or place[1] - place[0] != 1:
        return text
    lines = text.splitlines()
    old = lines[place[0]]
    lines[place[0]] = f"minutes: {minutes:g}{_behind(old)}"
    return "\n".join(lines) + "\n"


def _comments_of_gone(
    order: list[int],
    line: int,
    steps: Sequence[Step],
    blocks: dict[int, _Block],
    passed: set[int],
) -> list[str]:
    """Return the comments of steps that stood before this one and are gone; each once."""
    wanted = {step.line for step in steps}
    found: list[str] = []
    for other in order[: order.index(line)]:
        if other not in wanted and other not in passed:
            passed.add(other)
            found += _comments(blocks[other])
    return found


def _comments(block: _Block) -> list[str]:
    return [line for line in (*block.before, *block.lines) if line.lstrip().startswith("#")]


def _with_comments(old: _Block, new: Sequence[str]) -> list[str]:
    """Return a step written anew with the comments that stood in and behind its old lines."""
    inside = [line for line in old.lines[1:] if line.lstrip().startswith("#")]
    behind = _behind(old.lines[0])
    first = f"{new[0]}{behind}" if behind else new[0]
    return [*inside, first, *new[1:]]


def _behind(line: str) -> str:
    """Return the comment behind a step in its own line, or an empty text."""
    place = line.find(" #")
    while place >= 0:
        try:
            bare = YAML(typ="safe", pure=True).load(line[:place])
            if bare == YAML(typ="safe", pure=True).load(line):
                return "  " + line[place:].strip()
        except YAMLError:
            pass
        place = line.find(" #", place + 1)
    return ""


def _indented(lines: Sequence[str], new: _Parts, old: _Parts) -> list[str]:
    """Return lines written anew as far to the right as the old ones stand."""
    here, there = (
        len(part.blocks[0].lines[0]) - len(part.blocks[0].lines[0].lstrip()) for part in (new, old)
    )
    return [f"{' ' * there}{line[here:]}" if line.strip() else line for line in lines]


def _lines_of_key(text: str, key: str) -> tuple[int, int] | None:
    """Return the first line of a key at the top and the line after its value."""
    node = _composed(text)
    if node is None or node.id != "mapping":
        return None
    lines = text.splitlines()
    for name, value in node.value:
        if name.value == key:
            last = _last_line(value, lines)
            while last > name.start_mark.line and _is_comment(lines[last]):
                last -= 1
            return name.start_mark.line, last + 1
    return None


def _composed(text: str) -> Any:
    try:
        return YAML(typ="safe", pure=True).compose(text)
    except (YAMLError, RecursionError, ValueError):
        return None


def _parts(text: str) -> _Parts | None:
    """Return a text taken apart; None if its steps aren't a plain block list."""
    steps = _steps_node(_composed(text))
    if steps is None or steps.flow_style or not steps.value:
        return None
    lines = text.splitlines()
    starts = [item.start_mark.line for item in steps.value]
    if any(not lines[start].lstrip().startswith("- ") for start in starts):
        return None
    first, last = steps.start_mark.line, _last_line(steps.value[-1], lines)
    ends = [*starts[1:], last + 1]
    blocks = []
    before = _comments_up(lines, starts[0], first)
    head_end = starts[0] - len(before)
    for start, end in zip(starts, ends, strict=True):
        body = lines[start:end]
        after = _trailing_comments(body)
        own = body[: len(body) - len(after)]
        blocks.append(_Block(tuple(before), tuple(own)))
        before = after
    tail = [*before, *lines[last + 1 :]]
    return _Parts(tuple(lines[:head_end]), tuple(blocks), tuple(tail))


def _steps_node(node: Any) -> Any:
    if node is None or node.id != "mapping":
        return None
    for key, value in node.value:
        if key.value == "steps" and value.id == "sequence":
            return value
    return None


def _last_line(item: Any, lines: list[str]) -> int:
    """Return the last line of a step; a block's end mark stands where the next thing begins."""
    end = item.end_mark
    last = int(end.line) if end.column else int(end.line) - 1
    last = min(last, len(lines) - 1)
    while last > item.start_mark.line and not lines[last].strip():
        last -= 1
    return last


def _comments_up(lines: list[str], start: int, least: int) -> list[str]:
    """Return the comment lines right above a step, not above the line of its list."""
    first = start
    while first > least and lines[first - 1].lstrip().startswith("#"):
        first -= 1
    return lines[first:start]


def _trailing_comments(body: list[str]) -> list[str]:
    count = 0
    while count < len(body) - 1 and _is_comment(body[len(body) - 1 - count]):
        count += 1
    return body[len(body) - count :]


def _is_comment(line: str) -> bool:
    return not line.strip() or line.lstrip().startswith("#")
