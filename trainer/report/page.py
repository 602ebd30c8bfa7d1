"""A report as a value: a title, cautions and blocks; `text`, `html` and `pdf` render it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

CAUTION = (
    "Training aid only: not an approved device, no loggable time. The flight manual supplement, "
    "local rules and a licensed instructor decide."
)
"""Stands on every report."""


def footer_words(made_utc: str, program_version: str) -> str:
    """Return what stands at the foot of every page that the program makes.

    Example:
        >>> footer_words("2026-03-10T12:00:00Z", "0.1.0")
        'Made 2026-03-10 by mode-trainer 0.1.0'
    """
    return f"Made {made_utc[:10]} by mode-trainer {program_version}"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within the report."""

    text: str
    kind: Literal["heading"] = "heading"


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    text: str
    is_strong: bool = False
    kind: Literal["paragraph"] = "paragraph"


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with values, a few to a line."""

    pairs: tuple[tuple[str, str], ...]
    kind: Literal["facts"] = "facts"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list; numbered if the order matters."""

    items: tuple[str, ...]
    is_numbered: bool = False
    kind: Literal["bullets"] = "bullets"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under column titles."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[int, ...] = ()
    """Relative widths of the columns; empty for equal ones."""
    marks: tuple[str, ...] = ()
    """One status for each row, shown as a shape before the first column; empty for none."""
    may_be_cut: bool = False
    """On a page that must hold all, its last rows give way, and a line says how many."""
    kind: Literal["table"] = "table"


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: a share of a whole, with an interval."""

    label: str
    share: float
    """From 0 to 1."""
    low: float
    high: float
    """Ends of the interval around the share."""
    note: str
    """What stands at its end, for example '12 of 20'."""


@dataclass(frozen=True, slots=True)
class BarChart:
    """Bars below each other, with a title that says what they are."""

    title: str
    bars: tuple[Bar, ...]
    kind: Literal["bars"] = "bars"


@dataclass(frozen=True, slots=True)
class StripPicture:
    """A strip on paper in a trainee's design: filled in, or blank for an answer."""

    caption: str
    svg: str
    """The picture; it names no font."""
    lanes: tuple[str, ...]
    """The same as text, lane by lane."""
    share: float = 1.0
    """Of the width of the page."""


@dataclass(frozen=True, slots=True)
class Strips:
    """Strips that stay together on a page."""

    lead: str
    pictures: tuple[StripPicture, ...]
    kind: Literal["strips"] = "strips"


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign on."""

    roles: tuple[str, ...]
    kind: Literal["signatures"] = "signatures"


@dataclass(frozen=True, slots=True)
class PageBreak:
    """What follows begins on a new page."""

    kind: Literal["page_break"] = "page_break"


Block = Heading | Paragraph | Facts | Bullets | Table | BarChart | Strips | Signatures | PageBreak


@dataclass(frozen=True, slots=True)
class Report:
    """All of a report that does not depend on how it is rendered."""

    title: str
    subtitle: str
    blocks: tuple[Block, ...]
    made_utc: str
    """Moment of making, from the caller's clock."""
    program_version: str
    caution: str = CAUTION
    is_compact: bool = False
    """Small type, for what must fit on one page."""

    @property
    def footer(self) -> str:
        """What stands at the foot of every page."""
        return footer_words(self.made_utc, self.program_version)

    def to_json(self) -> dict[str, Any]:
        """Return the report as JSON values, for templates."""
        return {**asdict(self), "footer": self.footer}
