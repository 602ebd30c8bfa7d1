"""What was flown, on paper: each change with its strip and its reason, each call with both strips.

The strips are drawn in the trainee's own design, so that paper and window read alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from trainer.report.page import Block, Bullets, Facts, Heading, Paragraph, Report, Strips
from trainer.report.strip_block import paper_look, strip_picture
from trainer.session.annunciation import Annunciation, changed_cells
from trainer.session.strip_content import Verdict
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.session.strip_svg import StripLook, StripShown
from trainer.session.strip_words import StripWords

_SHARE = 0.75


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened in a flight.

    Attributes:
        at: The moment in words.
        title: What it was.
        reasons: Sentences that say why.
        before: The strip before it.
        after: The strip after it.
        is_commanded: The pilot did it.
        predicted: What the trainee had called; None: nothing was asked.
        verdicts: What came of the call, cell by cell.
    """

    at: str
    title: str
    reasons: tuple[str, ...]
    before: Annunciation
    after: Annunciation
    is_commanded: bool = True
    predicted: Annunciation | None = None
    verdicts: Mapping[str, Verdict] = field(default_factory=dict)


def build_flight_debrief(
    title: str,
    aircraft_title: str,
    moments: Sequence[Moment],
    *,
    words: StripWords,
    made_utc: str,
    program_version: str,
    design: StripDesign = DEFAULT_DESIGN,
) -> Report:
    """Return the debrief of a flight as a report.

    Args:
        title: Of what was flown.
        aircraft_title: Whose logic it was.
        moments: In order of time.
        words: The chart's.
        made_utc: This moment, from the caller's clock.
        program_version: For the footer.
        design: Whose strips are drawn.
    """
    look = paper_look(words, design)
    blocks: list[Block] = [Facts(_facts(moments, design))]
    for moment in moments:
        blocks += [Heading(f"{moment.at}  {moment.title}"), *_told(moment, look)]
    if not moments:
        blocks.append(Paragraph("Nothing was done, and nothing changed."))
    return Report(f"Debrief: {title}", aircraft_title, tuple(blocks), made_utc, program_version)


def _facts(moments: Sequence[Moment], design: StripDesign) -> tuple[tuple[str, str], ...]:
    calls = [one for one in moments if one.predicted is not None]
    right = sum("wrong" not in one.verdicts.values() for one in calls)
    own = sum(not one.is_commanded for one in moments)
    return (
        ("Moments", str(len(moments))),
        ("Changed by itself", str(own)),
        ("Calls right", f"{right} of {len(calls)}"),
        ("Strip design", design.name),
    )


def _told(moment: Moment, look: StripLook) -> list[Block]:
    blocks: list[Block] = []
    pictures = []
    changed = frozenset(changed_cells(moment.before, moment.after))
    if moment.predicted is not None:
        said = StripShown(moment.predicted, verdicts=moment.verdicts)
        pictures.append(strip_picture("Called:", said, look, _SHARE))
    if changed or moment.predicted is not None:
        marks = frozenset() if moment.is_commanded else changed
        shown = StripShown(moment.after, marks)
        pictures.append(strip_picture("The strip read:", shown, look, _SHARE))
    if pictures:
        blocks.append(Strips("", tuple(pictures)))
    if moment.reasons:
        blocks.append(Bullets(moment.reasons))
    return blocks
