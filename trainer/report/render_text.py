"""A report as plain text, for the terminal and for reading aloud."""

from __future__ import annotations

import textwrap

from trainer.report.page import (
    BarChart,
    Block,
    Bullets,
    Facts,
    Heading,
    PageBreak,
    Paragraph,
    Report,
    Signatures,
    Strips,
    Table,
)

WIDTH = 96
"""Longest line [characters]."""
_BAR = 30


def render_text(report: Report) -> str:
    """Return the report as text of at most `WIDTH` columns, but for words longer than that."""
    parts = [report.title.upper(), report.subtitle, "", _wrapped(report.caution)]
    for block in report.blocks:
        parts.append("")
        parts.append(_block(block))
    return "\n".join([*parts, "", report.footer, ""])


def _block(block: Block) -> str:
    match block:
        case Heading():
            return f"{block.text}\n{'-' * len(block.text)}"
        case Paragraph():
            return _wrapped(block.text)
        case Facts():
            longest = max((len(name) for name, _ in block.pairs), default=0)
            return "\n".join(f"{name.ljust(longest)}  {value}" for name, value in block.pairs)
        case Bullets():
            return "\n".join(_bullet(block, number) for number in range(len(block.items)))
        case Table():
            return _table(block)
        case BarChart():
            return _bars(block)
        case Strips():
            return _strips(block)
        case Signatures():
            return "\n\n".join(f"{'_' * 40}\n{role}" for role in block.roles)
        case PageBreak():
            return "=" * WIDTH


def _wrapped(text: str, first: str = "", later: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=later)


def _bullet(block: Bullets, number: int) -> str:
    first = f"{number + 1}. " if block.is_numbered else "- "
    return _wrapped(block.items[number], first, " " * len(first))


def _table(block: Table) -> str:
    """Lay out a table; cells wrap within their column's share of the width."""
    natural = [max(map(len, column)) for column in zip(block.columns, *block.rows, strict=True)]
    widths = natural
    room = WIDTH - 2 * (len(natural) - 1)
    if sum(natural) > room:
        weights = block.widths or (1,) * len(natural)
        widths = [max(4, room * weight // sum(weights)) for weight in weights]
    lines = _row(block.columns, widths)
    lines.append("  ".join("-" * width for width in widths))
    for row in block.rows:
        lines += _row(row, widths)
    return "\n".join(lines)


def _row(row: tuple[str, ...], widths: list[int]) -> list[str]:
    cells = [textwrap.wrap(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
    height = max(map(len, cells))
    padded = [cell + [""] * (height - len(cell)) for cell in cells]
    return [
        "  ".join(part.ljust(width) for part, width in zip(line, widths, strict=True)).rstrip()
        for line in zip(*padded, strict=True)
    ]


def _bars(block: BarChart) -> str:
    longest = max((len(bar.label) for bar in block.bars), default=0)
    lines = [block.title]
    for bar in block.bars:
        drawn = ("#" * round(bar.share * _BAR)).ljust(_BAR, ".")
        lines.append(f"{bar.label.ljust(longest)}  {drawn}  {bar.share:4.0%}  {bar.note}")
    return "\n".join(lines)


def _strips(block: Strips) -> str:
    lines = [_wrapped(block.lead)] if block.lead else []
    for picture in block.pictures:
        lines.append(_wrapped(picture.caption))
        lines += [_wrapped(lane, "  ", "    ") for lane in picture.lanes]
    return "\n".join(lines)
