"""New steps into a lesson's text, with everything else, comments too, left as it was written.

Steps are compared by what they say: an old step that is among the new ones keeps its lines and
the comments before it; comments of a step that goes stay before the next one.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

__all__ = ["with_steps_of"]


@dataclass(frozen=True, slots=True)
class _Block:
    """The lines of one step: comments and blank lines before it, and the step itself."""

    before: tuple[str, ...]
    lines: tuple[str, ...]
    data: Any


@dataclass(frozen=True, slots=True)
class _Parts:
    head: tuple[str, ...]
    blocks: tuple[_Block, ...]
    tail: tuple[str, ...]


def with_steps_of(text: str, new_text: str) -> str:
    """Return a lesson's text with the steps of another text in place of its own.

    Args:
        text: The lesson as it stands, with its comments.
        new_text: A lesson whose steps are wanted; written by `lesson.writer`.

    Returns:
        The merged text; `new_text` itself if the old one can't be taken apart.
    """
    old, new = _parts(text), _parts(new_text)
    if old is None or new is None:
        return new_text
    lines = [*old.head, *_merged(old.blocks, new.blocks), *old.tail]
    return "\n".join(lines) + "\n"


def _merged(old: tuple[_Block, ...], new: tuple[_Block, ...]) -> list[str]:
    match = SequenceMatcher(
        a=[repr(block.data) for block in old], b=[repr(block.data) for block in new], autojunk=False
    )
    lines: list[str] = []
    waiting: list[str] = []
    for tag, a0, a1, b0, b1 in match.get_opcodes():
        if tag == "equal":
            for block in old[a0:a1]:
                lines += [*waiting, *block.before, *block.lines]
                waiting = []
            continue
        waiting += [line for block in old[a0:a1] for line in block.before if line.strip()]
        for block in new[b0:b1]:
            lines += [*waiting, *block.lines]
            waiting = []
    return lines + waiting


def _parts(text: str) -> _Parts | None:
    """Return a text taken apart; None if its steps aren't a plain block list."""
    try:
        node = YAML(typ="safe", pure=True).compose(text)
    except (YAMLError, RecursionError, ValueError):
        return None
    steps = _steps_node(node)
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
        blocks.append(_Block(tuple(before), tuple(own), _data("\n".join(own))))
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


def _data(text: str) -> Any:
    try:
        return YAML(typ="safe", pure=True).load(text)
    except (YAMLError, RecursionError, ValueError):
        return text
